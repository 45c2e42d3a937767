"""What keeps a hop off the null of the water's mirror: another height, or a second antenna."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.mirror import rays_at, water_mirror
from backhaul.physics import geometry
from backhaul.physics.profiles import signed_raise
from backhaul.physics.water_levels import OTHER_K_FACTORS, deepest_fade_with_two

#: Changes of the far antenna's height that are tried [m]: what a mast usually leaves room for.
CHANGES_M = tuple(sorted(
    (sign * step for step in (*np.arange(0.5, 5.25, 0.5), *np.arange(6.0, 10.5, 1.0))
     for sign in (1, -1)), key=lambda change: (abs(change), -change),
))  # fmt: skip
#: A dish is not mounted lower over its ground than this [m] (common practice).
LOWEST_MOUNT_M = 2.0
#: Tries of a hop that the quick search proposes and the full sweep has to confirm.
ROUNDS = 6


class MirrorRemedy(NamedTuple):
    """Arrays over the hops asked for; NaN where none was found."""

    #: change of the far antenna's height, up positive, and the deepest fade then
    change_m: np.ndarray
    change_loss_db: np.ndarray
    #: vertical spacing of a second antenna at the far end; what is left with it, where computed
    spacing_m: np.ndarray
    spacing_loss_db: np.ndarray


def mirror_remedies(budget: Any, project: Any, indices: np.ndarray, *, allowed_db: float):
    """Smallest change of the far antenna that holds the deepest fade of hops to allowed_db.

    A lower height must keep the clearance that P.530 asks for. Each change found is confirmed by
    the same sweep as the hop itself.
    """
    mirror, hops = budget.mirror, budget.hops
    places = np.searchsorted(mirror.hop, indices)
    own = mirror.swept.at(places)
    changes = np.array(CHANGES_M)
    fades = _quick_fades(own, indices, changes, mirror.shores)
    room = lowering_room_m(budget)[indices]
    mount = hops.height_m[indices, 1] - hops.ground_m[indices, 1] - LOWEST_MOUNT_M
    lowest = -np.minimum(np.nan_to_num(room), np.nan_to_num(mount))
    fades[changes < np.minimum(lowest, 0.0)[:, None]] = np.inf
    found, left = np.full(len(indices), np.nan), np.full(len(indices), np.nan)
    for _ in range(ROUNDS):
        good = fades <= allowed_db
        pending = np.flatnonzero(np.isnan(found) & good.any(axis=1))
        if not len(pending):
            break
        choice = good[pending].argmax(axis=1)
        tried = hops.height_m.copy()
        tried[indices[pending], 1] += changes[choice]
        swept = water_mirror(
            hops._replace(height_m=tried), budget.worst_k, project, only=indices[pending],
            shores=mirror.shores,
        ).loss_db[indices[pending]]  # fmt: skip
        holds = swept <= allowed_db
        found[pending[holds]], left[pending[holds]] = changes[choice][holds], swept[holds]
        fades[pending, choice] = np.inf
    spacing = mirror.diversity_spacing_m[indices]
    spaced = np.full(len(indices), np.nan)
    rest = np.flatnonzero(np.isnan(found))
    if len(rest):
        spaced[rest] = deepest_fade_with_two(own.at(rest), spacing2_m=spacing[rest])
    return MirrorRemedy(found, left, spacing, spaced)


def lowering_room_m(budget: Any) -> np.ndarray:
    """How far the far antenna of each hop may come down within P.530's clearance [m]."""
    hops = budget.hops
    room = np.full(len(hops.links), np.nan)
    if hops.profile is None:
        return room
    index = hops.profiled
    common = {
        "profile": hops.profile, "height1_m": hops.height_m[index, 0],
        "height2_m": hops.height_m[index, 1],
        "frequency_ghz": hops.frequency_ghz[index].min(axis=1),
    }  # fmt: skip
    raises = [
        signed_raise(k_factor=k, fraction_f1=share, **common).second_m
        for k, share in (
            (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1),
            (budget.worst_k[index], geometry.WORST_K_CLEARANCE_F1["tropical"]),
        )
    ]
    room[index] = -np.maximum(*raises)
    return room


def _quick_fades(own, hop, changes, shores) -> np.ndarray:
    """Deepest fade [hop, change] from the two ends of the range of levels at each k [dB].

    The phase runs one way over the levels, so the deepest fade stands at an end, or at a null if
    the ends have one between them.
    """
    count = len(hop)
    wide = type(own)(*(part[:, None, None, None] for part in own))
    heights = wide.height2_m + changes[None, :, None, None]
    wide = wide._replace(height2_m=heights)
    k = np.stack([own.worst_k_factor, *(np.full(count, k) for k in OTHER_K_FACTORS)], axis=1)
    k = k[:, None, :, None]
    levels = np.stack([own.water_low_m, own.water_high_m], axis=1)[:, None, None, :]
    rays = rays_at(wide, k, levels)
    seen = ~np.isnan(rays.level_db)
    loss = np.where(seen, -rays.level_db, -np.inf)
    if shores is not None and len(shores):
        loss = np.where(_reflects(shores, hop, own, heights, k, levels, rays), loss, -np.inf)
    order = np.floor((np.nan_to_num(rays.phase_rad) - np.pi) / (2 * np.pi))
    crosses = (order[..., 0] != order[..., 1]) & np.isfinite(loss).any(axis=-1)
    amplitude = np.nan_to_num(rays.amplitude).max(axis=-1)
    null = -20 * np.log10(np.maximum(np.abs(1 - amplitude), 1e-6))
    worst = np.maximum(loss.max(axis=-1), np.where(crosses, null, -np.inf)).max(axis=-1)
    flooded = (heights[..., 0, 0] <= own.water_high_m[:, None]) | ~seen.any(axis=(2, 3))
    return np.where(flooded, np.inf, np.maximum(worst, 0.0))


def _reflects(shores, hop, own, heights, k, levels, rays) -> np.ndarray:
    shape = rays.level_db.shape
    tries = shape[1]
    reflects = shores.reflects(
        np.repeat(hop, tries), np.repeat(own.height1_m, tries), heights.reshape(-1)
    )
    if reflects is None:
        return np.ones(shape, dtype=bool)
    entry = np.broadcast_to(
        np.arange(shape[0] * tries).reshape(shape[0], tries, 1, 1), shape
    ).ravel()
    flat = [np.broadcast_to(values, shape).ravel() for values in (k, levels)]
    return reflects(entry, *flat, rays.distance1_km.ravel()).reshape(shape)
