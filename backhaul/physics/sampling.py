"""Terrain looked at all along a hop: between typed rows too, with the water where it stands.

Rows are what somebody typed; the ground goes straight between them, water and cover stand from
their row to the next. Clearance and diffraction are taken from samples of that, so that verdicts do
not hang on how finely the same ground is typed.
"""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import geometry
from backhaul.physics.profiles import Profiles, clear_and_zone

METHODS = (Method("samples of a profile", "common practice", "every 50 m or d/200, the smaller"),)
RANGES = {"distance_km": (0.05, 1000.0)}
CELL_FORMULAS = ()

LARGEST_STEP_KM, SAMPLES = 0.05, 200  # common practice; P.1812 asks for 50 to 1000 points
LARGEST_GAP_KM, GAP_SHARE = 0.5, 20  # rows further apart than that say little: practice
POINTS_AT_ONCE = 400_000  # of samples: some 100 MB of arrays
CLOSER_ROUNDS = 30  # of the golden section: to a millionth of a step
_GOLDEN = (5**0.5 - 1) / 2

GROUND, COVER, WATER = 0, 1, 2


class Sampled(NamedTuple):
    """A fine profile; `wet` marks the points at which `profile.ground_m` is the water's surface."""

    profile: Profiles
    wet: np.ndarray


def sampled(*, profile: Figure, water_m: Figure = None) -> Figure:
    """Samples of typed profiles: every 50 m or 1/200 of the hop, and every typed row.

    profile: `profiles.profiles`. water_m: at each row the surface of the water that begins there
    and reaches to the next row, NaN for land; no water if None. Where cover begins or
    ends or water gives way to a cliff, both sides of the row stand as two points at one distance.
    Valid: a length of 0.05 to 1000 km (RANGES); any length gives 200 samples or more, NaN heights
    pass through.
    Source: common practice, a 50 m step; ITU-R P.1812 asks for 50 to 1000 points (from memory).
    >>> from backhaul.physics.profiles import profiles
    >>> p = profiles(distance_km=[0, 1, 2], ground_m=[10, -3, 12], count=[3])
    >>> s = sampled(profile=p, water_m=[np.nan, 0.5, np.nan])
    >>> print(s.profile.count[0], s.profile.ground_m[s.profile.distance_km == 1.5], s.wet.sum())
    201 [0.5] 100
    """
    level = np.full(profile.distance_km.shape, np.nan)
    if water_m is not None:
        level = np.broadcast_to(np.asarray(water_m, dtype=float), level.shape)
    wet = ~np.isnan(level)
    top = np.where(wet, level, profile.ground_m)
    length = profile.length_km
    pieces = np.maximum(np.ceil(np.round(length / _step_km(length), 9)), 1).astype(int)

    grid_hop = np.repeat(np.arange(length.size), pieces - 1)
    place = np.arange(grid_hop.size) - np.repeat(np.cumsum(pieces - 1) - (pieces - 1), pieces - 1)
    grid_km = (place + 1) * (length / pieces)[grid_hop]
    row_hop = profile.spread(np.arange(length.size))
    begin = np.cumsum(length + 1) - (length + 1)  # hops laid out one after the other
    row = np.searchsorted(
        profile.distance_km + begin[row_hop], grid_km + begin[grid_hop], side="right"
    )
    before = _before_each_row(profile, top, wet)

    # in the order of what stands first at one distance; each part rises, so sorting only merges
    parts = (
        (
            row_hop[before],
            profile.distance_km[before],
            *_along(profile, top, wet, before - 1, profile.distance_km[before]),
        ),
        (row_hop, profile.distance_km, top, profile.cover_m, wet),
        (grid_hop, grid_km, *_along(profile, top, wet, row - 1, grid_km)),
    )
    hop, km, ground, cover, water = (np.concatenate(column) for column in zip(*parts))
    order = np.argsort(km + begin[hop], kind="stable")
    is_grid = order >= km.size - grid_km.size
    km, hop, cover = km[order], hop[order], cover[order]
    # a sample on a row is that row
    twice = np.zeros(km.size, dtype=bool)
    twice[1:] = is_grid[1:] & (hop[1:] == hop[:-1]) & (km[1:] - km[:-1] < 1e-9)
    keep = ~twice
    count = np.bincount(hop[keep], minlength=length.size)
    start = np.cumsum(count) - count
    fine = Profiles(km[keep], ground[order][keep], cover[keep], start, count)
    return Sampled(fine, water[order][keep])


def _step_km(length_km):
    return np.minimum(LARGEST_STEP_KM, length_km / SAMPLES)


def _along(profile, top, wet, row, km):
    """Surface, cover and wetness at a distance in the stretch that begins at a row."""
    after = np.minimum(row + 1, top.size - 1)
    width = profile.distance_km[after] - profile.distance_km[row]
    share = np.where(width > 0, (km - profile.distance_km[row]) / np.where(width > 0, width, 1), 1)
    ground = top[row] + (top[after] - top[row]) * share
    return np.where(wet[row], top[row], ground), profile.cover_m[row], wet[row]


def _before_each_row(profile, top, wet):
    """Inner rows at which the surface or the cover makes a step."""
    rows = np.flatnonzero(profile.inside)
    surface, cover, _ = _along(profile, top, wet, rows - 1, profile.distance_km[rows])
    return rows[(surface > top[rows]) | (cover != profile.cover_m[rows])]


class Tightest(NamedTuple):
    """Arrays over hops; NaN (and GROUND) where a hop has no point between its ends."""

    ratio: np.ndarray  # clearance over the first Fresnel radius
    at_km: np.ndarray
    clearance_m: np.ndarray
    fresnel_m: np.ndarray
    kind: np.ndarray  # GROUND, COVER or WATER
    top_m: np.ndarray  # of what stands there, above the datum
    cover_m: np.ndarray  # how much of it is cover


def tightest_clearance(
    *,
    samples: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    k_factor: Figure,
) -> Figure:
    """Smallest clearance of each hop over its samples and between them, and what stands there.

    samples: from `sampled`. height1_m, height2_m: antennas above the datum of the ground. Between
    the samples beside the tightest one the place is sought out exactly, so that one more row on
    the same ground changes nothing. Source: ITU-R P.530 sec. 2.2.2.
    k_factor: of the effective earth radius.
    Valid: frequency_ghz and k_factor above 0; 0 gives NaN with numpy's warning, a hop without an
    inner point NaN.
    >>> from backhaul.physics.profiles import profiles
    >>> p = profiles(distance_km=[0, 40], ground_m=[0, 0], count=[2])
    >>> t = tightest_clearance(samples=sampled(profile=p), height1_m=60, height2_m=60,
    ...     frequency_ghz=6.5, k_factor=4 / 3)
    >>> print(t.ratio[0], t.at_km[0])  # 60 m less a bulge of 23.54 m, over 21.47 m
    1.698 20.0
    """
    profile = samples.profile
    hops = profile.start.shape
    height1, height2, ghz, k = (
        np.broadcast_to(np.asarray(x, dtype=float), hops)
        for x in (height1_m, height2_m, frequency_ghz, k_factor)
    )
    clear, zone = clear_and_zone(
        profile, height1_m=height1, height2_m=height2, frequency_ghz=ghz, k_factor=k
    )
    ratio = clear / zone
    worst = profile.largest(-ratio)
    point = profile.index_of(-ratio, worst)
    known = np.isfinite(worst)
    best = [np.where(known, x[point], np.nan) for x in (ratio, profile.distance_km, clear, zone)]
    owner = point.copy()
    for side in (-1, 0):
        low = np.clip(point + side, 0, ratio.size - 2)
        found = _between(profile, low, height1, height2, ghz, k)
        ends = profile.inside[low] & profile.inside[low + 1] & (low >= profile.start)
        better = known & ends & (found[0] < best[0])
        best = [np.where(better, new, old) for new, old in zip(found, best)]
        owner = np.where(better, low, owner)
    cover = np.where(known, profile.cover_m[owner], np.nan)
    kind = np.where(cover > 0, COVER, np.where(samples.wet[owner], WATER, GROUND))
    top = (
        geometry.ray_height_m(
            distance1_km=best[1],
            distance2_km=profile.length_km - best[1],
            height1_m=height1,
            height2_m=height2,
        )
        - best[2]
    )
    bulge = geometry.earth_bulge_m(
        distance1_km=best[1], distance2_km=profile.length_km - best[1], k_factor=k
    )
    return Tightest._make([*best, np.where(known, kind, GROUND), top - bulge, cover])


def _between(profile, low, height1, height2, ghz, k):
    """Least ratio between point `low` and the next, its place, clearance and Fresnel radius."""
    length = profile.length_km
    km = profile.distance_km[low], profile.distance_km[low + 1]
    ground = profile.ground_m[low], profile.ground_m[low + 1]
    width = km[1] - km[0]
    inner = np.where(width > 0, width, 1.0)

    def at(place):
        d1, d2 = place, length - place
        share = (place - km[0]) / inner
        surface = ground[0] + (ground[1] - ground[0]) * share + profile.cover_m[low]
        with np.errstate(invalid="ignore", divide="ignore"):
            ray = geometry.ray_height_m(
                distance1_km=d1, distance2_km=d2, height1_m=height1, height2_m=height2
            )
            clear = (
                ray - surface - geometry.earth_bulge_m(distance1_km=d1, distance2_km=d2, k_factor=k)
            )
            zone = geometry.fresnel_radius_m(distance1_km=d1, distance2_km=d2, frequency_ghz=ghz)
            return clear / zone, place, clear, zone

    left, right = km
    for _ in range(CLOSER_ROUNDS):
        first = right - _GOLDEN * (right - left)
        second = left + _GOLDEN * (right - left)
        lower = at(first)[0] < at(second)[0]
        left, right = np.where(lower, left, first), np.where(lower, second, right)
    return at((left + right) / 2)


def part_of(profile: Figure, *, hops: Figure) -> Figure:
    """The profiles of some hops (a slice), as profiles of their own.

    profile: `profiles.profiles`.
    Valid: a slice of one hop or more; an empty one raises IndexError.
    Source: arithmetic of the arrays.

    >>> from backhaul.physics.profiles import profiles
    >>> p = profiles(distance_km=[0, 1, 0, 3], ground_m=[5, 9, 0, 1], count=[2, 2])
    >>> part_of(p, hops=slice(1, 2)).ground_m.tolist()
    [0.0, 1.0]
    """
    start, count = profile.start[hops], profile.count[hops]
    rows = slice(start[0], start[-1] + count[-1])
    return Profiles(
        profile.distance_km[rows],
        profile.ground_m[rows],
        profile.cover_m[rows],
        start - start[0],
        count,
    )


def batches(*, profile: Figure, points_at_once: Figure = POINTS_AT_ONCE) -> Iterator[slice]:
    """Slices of hops whose samples together stay below a number of points (one hop at least).

    profile: `profiles.profiles`. points_at_once: samples at the most.
    Valid: points_at_once above 0; below, one hop a slice.
    Source: memory of the machine, no standard.

    >>> from backhaul.physics.profiles import profiles
    >>> p = profiles(distance_km=[0, 8] * 5, ground_m=[0] * 10, count=[2] * 5)
    >>> list(batches(profile=p, points_at_once=450))
    [slice(0, 2, None), slice(2, 4, None), slice(4, 5, None)]
    """
    length = profile.length_km
    points = np.ceil(length / _step_km(length)) + 2 * profile.count
    begin, total = 0, 0.0
    for hop, size in enumerate(points.tolist()):
        if hop > begin and total + size > points_at_once:
            yield slice(begin, hop)
            begin, total = hop, 0.0
        total += size
    if begin < length.size:
        yield slice(begin, length.size)


def in_batches(
    work: Callable[[Sampled, slice], Any], *, profile: Figure, water_m: Figure = None
) -> Figure:
    """What `work` makes of the samples of all hops, some at a time; joined as it returned them.

    work: called with the samples of a slice of hops and the slice, returns a NamedTuple of arrays
    over those hops.
    profile: `profiles.profiles`. water_m: as in `sampled`.
    Valid: one hop or more: without any, `work` is never called and IndexError is raised.
    Source: memory of the machine, no standard.
    >>> from backhaul.physics.profiles import profiles
    >>> p = profiles(distance_km=[0, 8] * 5, ground_m=[0] * 10, count=[2] * 5)
    >>> class Points(NamedTuple):
    ...     count: np.ndarray
    >>> in_batches(lambda own, hops: Points(own.profile.count), profile=p).count.tolist()
    [201, 201, 201, 201, 201]
    """
    level = None if water_m is None else np.asarray(water_m, dtype=float)
    parts = []
    for hops in batches(profile=profile):
        own = part_of(profile, hops=hops)
        rows = slice(profile.start[hops][0], profile.start[hops][0] + own.distance_km.size)
        parts.append(
            work(sampled(profile=own, water_m=None if level is None else level[rows]), hops)
        )
    return type(parts[0])(*(np.concatenate(column) for column in zip(*parts)))
