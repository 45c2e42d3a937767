"""What keeps a hop off the null of the water's mirror: another height, or a second antenna."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.water_reflection import rays_at, water_reflection
from backhaul.physics import geometry
from backhaul.physics.mirror_outage import deepest_fade_with_two
from backhaul.physics.profiles import signed_raise
from backhaul.physics.water_levels import OTHER_K_FACTORS

#: Changes of an antenna's height that are tried [m]: what a mast usually leaves room for.
CHANGES_M = tuple(
    sorted(
        (
            sign * step
            for step in (*np.arange(0.5, 5.25, 0.5), *np.arange(6.0, 10.5, 1.0))
            for sign in (1, -1)
        ),
        key=lambda change: (abs(change), -change),
    )
)
#: A dish is not mounted lower over its ground than this [m] (common practice).
LOWEST_MOUNT_M = 2.0
#: Tries of a hop that the quick search proposes and the full sweep has to confirm.
ROUNDS = 6


#: Which antennas are moved, in the order in which they are tried: first and far end.
WAYS = {"far": (0, 1), "first": (1, 0), "both": (1, 1)}


class ReflectionRemedy(NamedTuple):
    """Arrays over the hops asked for; NaN and "" where none was found."""

    #: "far", "first" or "both"; change of height, up positive; the deepest fade then
    end: np.ndarray
    change_m: np.ndarray
    change_loss_db: np.ndarray
    #: vertical spacing of a second antenna at the far end; what is left with it, where computed
    spacing_m: np.ndarray
    spacing_loss_db: np.ndarray


def reflection_remedies(budget: Any, project: Any, indices: np.ndarray, *, allowed_db: float):
    """Smallest change of height that holds the deepest fade of hops to allowed_db.

    The far antenna is tried, else the first one, else both alike. A lower height must keep the
    clearance that P.530 asks for. Each change found is confirmed by the sweep of the hop itself.
    """
    reflection = budget.reflection
    own = reflection.swept.at(np.searchsorted(reflection.hop, indices))
    end = np.full(len(indices), "", dtype="<U5")
    found, left = np.full(len(indices), np.nan), np.full(len(indices), np.nan)
    room = lowering_room_m(budget)
    for way, moved in WAYS.items():
        rest = np.flatnonzero(np.isnan(found))
        if len(rest):
            found[rest], left[rest] = _search(
                budget,
                project,
                indices[rest],
                own.at(rest),
                room[way][indices[rest]],
                moved,
                allowed_db,
            )
            end[rest[~np.isnan(found[rest])]] = way
    spacing = reflection.diversity_spacing_m[indices]
    spaced = np.full(len(indices), np.nan)
    rest = np.flatnonzero(np.isnan(found))
    if len(rest):
        spaced[rest] = deepest_fade_with_two(own.at(rest), spacing2_m=spacing[rest])
    return ReflectionRemedy(end, found, left, spacing, spaced)


def _search(budget, project, indices, own, room, moved, allowed_db):
    """Change of height of the moved antennas [m] and the fade with it, NaN where none holds."""
    hops, reflection = budget.hops, budget.reflection
    changes, moved = np.array(CHANGES_M), np.array(moved)
    fades = _quick_fades(own, indices, changes, moved, reflection.shores)
    above = hops.height_m[indices] - hops.ground_m[indices] - LOWEST_MOUNT_M
    mount = np.where(moved > 0, np.nan_to_num(above), np.inf).min(axis=1)
    lowest = -np.minimum(np.nan_to_num(room), mount)
    fades[changes < np.minimum(lowest, 0.0)[:, None]] = np.inf
    found, left = np.full(len(indices), np.nan), np.full(len(indices), np.nan)
    for _ in range(ROUNDS):
        good = fades <= allowed_db
        pending = np.flatnonzero(np.isnan(found) & good.any(axis=1))
        if not len(pending):
            break
        choice = good[pending].argmax(axis=1)
        tried = hops.height_m.copy()
        tried[indices[pending]] += changes[choice][:, None] * moved
        swept = water_reflection(
            hops._replace(height_m=tried),
            budget.worst_k,
            project,
            only=indices[pending],
            shores=reflection.shores,
        ).loss_db[indices[pending]]
        holds = swept <= allowed_db
        found[pending[holds]], left[pending[holds]] = changes[choice][holds], swept[holds]
        fades[pending, choice] = np.inf
    return found, left


def lowering_room_m(budget: Any) -> dict[str, np.ndarray]:
    """How far antennas of each hop may come down within P.530's clearance [m], by WAYS."""
    hops = budget.hops
    room = {way: np.full(len(hops.links), np.nan) for way in WAYS}
    if hops.profile is None:
        return room
    index = hops.profiled
    common = {
        "profile": hops.profile,
        "height1_m": hops.height_m[index, 0],
        "height2_m": hops.height_m[index, 1],
        "frequency_ghz": hops.frequency_ghz[index].min(axis=1),
    }
    median, worst = (
        signed_raise(k_factor=k, fraction_f1=share, **common)
        for k, share in (
            (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1),
            (budget.worst_k[index], geometry.WORST_K_CLEARANCE_F1["tropical"]),
        )
    )
    for way, name in (("far", "second_m"), ("first", "first_m"), ("both", "both_m")):
        room[way][index] = -np.maximum(getattr(median, name), getattr(worst, name))
    return room


def _quick_fades(own, hop, changes, moved, shores) -> np.ndarray:
    """Deepest fade [hop, change] from the two ends of the range of levels at each k [dB].

    The phase runs one way over the levels, so the deepest fade stands at an end, or at a null if
    the ends have one between them.
    """
    count = len(hop)
    wide = type(own)(*(part[:, None, None, None] for part in own))
    step = changes[None, :, None, None]
    heights = wide.height1_m + moved[0] * step, wide.height2_m + moved[1] * step
    wide = wide._replace(height1_m=heights[0], height2_m=heights[1])
    k = np.stack([own.worst_k_factor, *(np.full(count, k) for k in OTHER_K_FACTORS)], axis=1)
    k = k[:, None, :, None]
    levels = np.stack([own.water_low_m, own.water_high_m], axis=1)[:, None, None, :]
    rays = rays_at(wide, k, levels)
    seen = ~np.isnan(rays.level_db)
    loss = np.where(seen, -rays.level_db, -np.inf)
    if shores is not None and len(shores):
        loss = np.where(_reflects(shores, hop, heights, k, levels, rays), loss, -np.inf)
    order = np.floor((np.nan_to_num(rays.phase_rad) - np.pi) / (2 * np.pi))
    crosses = (order[..., 0] != order[..., 1]) & np.isfinite(loss).any(axis=-1)
    amplitude = np.nan_to_num(rays.amplitude).max(axis=-1)
    null = -20 * np.log10(np.maximum(np.abs(1 - amplitude), 1e-6))
    worst = np.maximum(loss.max(axis=-1), np.where(crosses, null, -np.inf)).max(axis=-1)
    lower = np.minimum(*heights)[..., 0, 0]
    flooded = (lower <= own.water_high_m[:, None]) | ~seen.any(axis=(2, 3))
    return np.where(flooded, np.inf, np.maximum(worst, 0.0))


def _reflects(shores, hop, heights, k, levels, rays) -> np.ndarray:
    shape = rays.level_db.shape
    tries = shape[1]
    reflects = shores.reflects(
        np.repeat(hop, tries),
        *(np.broadcast_to(height, (*shape[:2], 1, 1)).ravel() for height in heights),
    )
    if reflects is None:
        return np.ones(shape, dtype=bool)
    entry = np.broadcast_to(
        np.arange(shape[0] * tries).reshape(shape[0], tries, 1, 1), shape
    ).ravel()
    flat = [np.broadcast_to(values, shape).ravel() for values in (k, levels)]
    return reflects(entry, *flat, rays.distance1_km.ravel()).reshape(shape)
