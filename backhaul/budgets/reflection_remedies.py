"""What keeps a hop off the nulls of the water's mirror: other heights, or a second antenna."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hops import Hops
from backhaul.budgets.water_reflection import WaterReflection
from backhaul.figures.arrays import number
from backhaul.physics import geometry
from backhaul.physics.mirror_search import TOLERANCE_M, best_heights, best_spacing
from backhaul.physics.profiles import clear_and_zone
from backhaul.physics.sampling import part_of, sampled
from backhaul.physics.water_hops import k_factors
from backhaul.physics.water_levels import deepest_fade, rays_at

#: A reflection that takes more than this is worth a remedy [dB]: rules of the project.
REFLECTION_DB = 3.0
#: Changes of an antenna's height that are tried [m]: what a mast usually leaves room for.
MOST_M = 10.0
CHANGES_M = np.concatenate(
    [np.arange(-10.0, -5.0), np.arange(-5.0, 5.25, 0.5), np.arange(6.0, 11.0)]
)
#: A dish is not mounted lower over its ground than this [m] (common practice).
LOWEST_MOUNT_M = 2.0
#: Fades are compared to this [dB].
_SAME_DB = 0.01
#: Two antennas one above the other stand at least so far apart, centre to centre, two dishes at
#: least a diameter, and at most so far on one mast [m]: common practice.
LEAST_SPACING_M, MOST_SPACING_M = 0.3, 8.0
#: Hops of one design for which remedies are sought: each takes a good part of a second.
MOST_SOUGHT = 24
#: Of a hop that holds, the same heights are looked at so far off [m].
_CORNERS = tuple((a * TOLERANCE_M, b * TOLERANCE_M) for a in (-1, 1) for b in (-1, 1))


class ReflectionRemedies(NamedTuple):
    """Arrays over hops; NaN where none was sought or found.

    change_m: of the first and of the far antenna, up positive. fade_db: deepest then, and where
    each end is mounted `TOLERANCE_M` off. least_db: the least that any tried heights leave.
    spacing_m: of a second antenna at the first and at the far end, below negative; spaced_db: what
    is left with it in the way that the end hears. beside_db: of a hop that holds as it stands, the
    deepest fade with its antennas mounted `TOLERANCE_M` off. is_sought: remedies were sought.
    """

    change_m: np.ndarray
    fade_db: np.ndarray
    tolerance_fade_db: np.ndarray
    least_db: np.ndarray
    spacing_m: np.ndarray
    spaced_db: np.ndarray
    beside_db: np.ndarray
    is_sought: np.ndarray


def reflection_remedies(
    hops: Hops, reflection: WaterReflection, worst_k: np.ndarray, *, seek: bool = True
) -> ReflectionRemedies:
    """Smallest change of both heights that holds the deepest fade, and spacings of two antennas.

    Heights keep the clearance that P.530 asks for, or reach it where it is missed. Without `seek`
    only hops that hold are looked at beside their heights.
    """
    count = len(hops.links)
    pairs, singles = np.full((4, count, 2), np.nan), np.full((4, count), np.nan)
    made = ReflectionRemedies(
        pairs[0],
        singles[0],
        singles[1],
        singles[2],
        pairs[1],
        pairs[2],
        singles[3],
        np.zeros(count, dtype=bool),
    )
    if reflection.swept is None:
        return made
    loss = np.nan_to_num(reflection.loss_db)
    _beside(made, reflection, np.flatnonzero(reflection.mirrored & (loss <= REFLECTION_DB)))
    deep = np.zeros(0, dtype=int)
    if seek:
        deep = np.flatnonzero(np.fmax(loss, made.beside_db) > REFLECTION_DB)
    made.is_sought[deep[:MOST_SOUGHT]] = True
    for hop in deep[:MOST_SOUGHT].tolist():
        _heights(made, hops, reflection, worst_k, hop)
        if np.isnan(made.fade_db[hop]):
            for end in hops.ends[hop]:
                if end.takes_second_antenna:
                    _spacing(made, hops, reflection, hop, end.number)
    return made


def _entries_of(reflection: WaterReflection, hop: int):
    own = np.flatnonzero(reflection.swept.hop == hop)
    return reflection.swept.at(own)


def _heights(made: ReflectionRemedies, hops: Hops, reflection, worst_k, hop: int) -> None:
    own = _entries_of(reflection, hop)
    permitted = _permitted(hops, float(worst_k[hop]), hop)
    found = best_heights(
        own.rays,
        group=np.zeros(len(own.hop), dtype=int),
        changes1_m=CHANGES_M,
        changes2_m=CHANGES_M,
        allowed_db=REFLECTION_DB,
        permitted=permitted[None],
        reflects=_hidden_by(reflection, own),
    )
    made.least_db[hop] = found.least_db[0]
    change = np.array([found.change1_m[0], found.change2_m[0]])
    if np.isnan(change).any() or not _holds(reflection, own, change):
        return
    made.change_m[hop] = change
    made.fade_db[hop] = found.fade_db[0]
    made.tolerance_fade_db[hop] = found.tolerance_fade_db[0]


def _holds(reflection: WaterReflection, own, change_m) -> bool:
    """Whether moved antennas hold the fade, with what may hide the water from them."""
    rays = own.rays._replace(
        height1_m=own.rays.height1_m + change_m[0], height2_m=own.rays.height2_m + change_m[1]
    )
    reflects = reflection.shores.reflects(own.hop, own.body, rays.height1_m, rays.height2_m)
    deep = deepest_fade(rays, reflects=reflects)
    return bool((np.nan_to_num(deep.fade_db) <= REFLECTION_DB + _SAME_DB).all())


def _hidden_by(reflection: WaterReflection, own):
    """What may hide the water from entries, None where nothing does as they stand.

    The search moves the antennas by metres; what it finds is confirmed with the shores.
    """
    rays = own.rays
    seen = reflection.shores.reflects(own.hop, own.body, rays.height1_m, rays.height2_m)
    if seen is None:
        return None
    k = k_factors(rays)
    entry = np.repeat(np.arange(len(own.hop)), 2 * k.shape[1])
    level = np.tile(np.stack([rays.water_low_m, rays.water_high_m], axis=1), (1, k.shape[1]))
    wide_k = np.repeat(k, 2, axis=1).ravel()
    place = rays_at(rays, owner=entry, k_factor=wide_k, level_m=level.ravel()).distance1_km
    known = ~np.isnan(place)
    if known.any() and seen(entry[known], wide_k[known], level.ravel()[known], place[known]).all():
        return None
    return seen


def _permitted(hops: Hops, worst_k: float, hop: int) -> np.ndarray:
    """Changes of both heights that keep P.530's clearance and the least mounting height."""
    mount = hops.height_m[hop] - hops.ground_m[hop]
    first, far = ((CHANGES_M >= 0) | (above + CHANGES_M >= LOWEST_MOUNT_M) for above in mount)
    ground = hops.ground
    place = int(np.searchsorted(ground.profiled, hop))
    samples = sampled(
        profile=part_of(ground.profile, hops=slice(place, place + 1)),
        water_m=ground.water_m[ground.rows_of(hop)],
    )
    profile = samples.profile
    inside = profile.inside
    share = (profile.distance_km / profile.length_km[0])[inside]
    ends = hops.height_m[hop][:, None]
    needed = []
    for k, fraction in (
        (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1),
        (worst_k, max(geometry.WORST_K_CLEARANCE_F1.values())),
    ):
        clear, zone = clear_and_zone(
            profile,
            height1_m=ends[0],
            height2_m=ends[1],
            frequency_ghz=hops.frequency_ghz[hop].min(),
            k_factor=np.array([k]),
        )
        needed.append((fraction * zone - clear)[inside])
    share, short = upper_hull(share, np.maximum(*needed))
    # the ray at a place rises by the share of each end's change: a straight line over the hop
    lift_by_far = CHANGES_M[:, None] * share
    clears = [(change * (1 - share) + lift_by_far >= short).all(axis=-1) for change in CHANGES_M]
    return first[:, None] & far & np.array(clears)


def upper_hull(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of points from left to right those that a straight line passes over last.

    A line that passes over them passes over all.

    >>> upper_hull(np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 2.0, 1.0, 2.0]))
    (array([0., 1., 3.]), array([0., 2., 2.]))
    """
    hull: list[tuple[float, float]] = []
    for place, height in zip(x.tolist(), y.tolist(), strict=True):
        while len(hull) > 1:
            (x0, y0), (x1, y1) = hull[-2:]
            if (y1 - y0) * (place - x1) > (height - y1) * (x1 - x0):
                break
            hull.pop()
        hull.append((place, height))
    points = np.array(hull, dtype=float).reshape(-1, 2)
    return points[:, 0], points[:, 1]


def _spacing(made: ReflectionRemedies, hops: Hops, reflection, hop: int, end: int) -> None:
    """Spacing of a second antenna at one end, for what it hears."""
    own = _entries_of(reflection, hop)
    heard = np.flatnonzero((own.way == 1 - end) | own.is_shared)
    own = own.at(heard)
    above = number(hops.height_m[hop, end] - hops.ground_m[hop, end])
    water = float(own.rays.water_high_m.max())
    lowest = max(
        -MOST_SPACING_M,
        LOWEST_MOUNT_M - above if above == above else -MOST_SPACING_M,
        water + LEAST_SPACING_M - float(hops.height_m[hop, end]),
    )
    best = (np.nan, np.inf)
    least = float(np.fmax(LEAST_SPACING_M, hops.diameter_m[hop, end]))
    for low, high in ((least, MOST_SPACING_M), (lowest, -least)):
        # below only where none above holds
        if high <= low or best[1] <= REFLECTION_DB:
            continue
        found = best_spacing(
            own.rays,
            group=np.zeros(len(own.hop), dtype=int),
            low_m=low,
            high_m=high,
            end=end + 1,
            reflects=_hidden_by(reflection, own),
        )
        if found.residual_db[0] < best[1]:
            best = float(found.spacing_m[0]), float(found.residual_db[0])
    if best[0] == best[0]:
        made.spacing_m[hop, end], made.spaced_db[hop, end] = best


def _beside(made: ReflectionRemedies, reflection: WaterReflection, hops: np.ndarray) -> None:
    """Deepest fade of hops that hold, with their antennas mounted a little off."""
    entries = reflection.swept
    own = np.flatnonzero(np.isin(entries.hop, hops))
    single = (entries.spacing1_m[own] == 0) & (entries.spacing2_m[own] == 0)
    own = own[single]
    if not len(own):
        return
    part = entries.at(own)
    for first, far in _CORNERS:
        rays = part.rays._replace(
            height1_m=part.rays.height1_m + first, height2_m=part.rays.height2_m + far
        )
        reflects = reflection.shores.reflects(part.hop, part.body, rays.height1_m, rays.height2_m)
        fade = deepest_fade(rays, reflects=reflects).fade_db
        np.fmax.at(made.beside_db, part.hop, np.where(np.isnan(fade), 0.0, fade))
