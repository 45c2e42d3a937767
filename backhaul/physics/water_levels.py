"""The deepest fade of hops over water, swept over the range of the level and of refraction."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.geometry import EARTH_RADIUS_KM
from backhaul.physics.reflection import (
    diversity_spacing_m,
    null_spacing_m,
    two_ray,
    with_share,
)
from backhaul.physics.water_hops import OTHER_K_FACTORS, k_factors, steps_of
from backhaul.physics.water_strips import (
    wet_share,
)

METHODS = (
    Method("sweep of water levels", "ITU-R P.530", "19 (09/2025) sec. 6.1; k worst, 1, 4/3, 3"),
)
RANGES = {"fade_db": (0.0, 120.0)}  # two equal rays leave nothing; held there

CELL_FORMULAS = ()

POINTS_AT_ONCE = 400_000
CLOSER_POINTS, CLOSER_ROUNDS = 6, 2  # finds the deepest level to a 36th of a step


class DeepestFade(NamedTuple):
    """Arrays over hops. NaN where an antenna may be flooded or the ends never see each other."""

    fade_db: np.ndarray  # loss against free space, 0 or more
    water_m: np.ndarray  # level at which it stands
    k_factor: np.ndarray  # and k
    distance1_km: np.ndarray  # of the mirror point from end 1: is that water?
    grazing_deg: np.ndarray
    path_difference_wavelengths: np.ndarray
    null_spacing1_m: np.ndarray  # move of antenna 1 from null to null, there
    null_spacing2_m: np.ndarray
    diversity_spacing1_m: np.ndarray
    diversity_spacing2_m: np.ndarray
    step_m: np.ndarray  # of the level; nulls between two steps are sought out exactly
    flooded: np.ndarray  # an antenna is not above the highest level
    beyond_horizon: np.ndarray  # somewhere in the sweep the ends do not see each other
    mirrored: np.ndarray  # somewhere in the sweep there is a mirror


def deepest_fade(hops: Figure, *, reflects: Figure = None) -> Figure:
    """Deepest fade of each hop over its range of water levels at k = worst, 1, 4/3 and 3.

    The level moves in steps of an eighth of a cycle of the path difference or finer (32 steps at
    least), and every null between two steps is found by its phase, so that none slips through.
    The reflected ray is weighted by the part of its Fresnel zone that is wet (`water_strips`).
    reflects: called with arrays (index of the hop, k_factor, level_m, distance1_km) it says where
    both antennas see the water at that place; everywhere if None.
    hops: `water_hops.hops_over_water`.
    Valid: 1 to 4001 levels a hop (RANGES): finer patterns than that are sampled at 4001 and
    between. NaN where an antenna may be flooded or nothing is ever seen.
    Source: two rays, ITU-R P.530-19 sec. 6.1; k of 1, 4/3 and 3 common practice.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=-2.5,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> deep = deepest_fade(hop)
    >>> print(deep.fade_db[0], deep.water_m[0], deep.k_factor[0])
    26.12 -0.65 3.0
    """
    steps = steps_of(hops)
    sizes = (len(OTHER_K_FACTORS) + 1) * (steps + 1)
    chunk = np.cumsum(sizes) // POINTS_AT_ONCE
    groups = np.split(np.arange(steps.size), np.flatnonzero(np.diff(chunk)) + 1)
    parts = [_deepest(hops.at(index), steps[index], index, reflects) for index in groups]
    return DeepestFade(*(np.concatenate(column) for column in zip(*parts)))


def rays_at(
    hops: Figure,
    *,
    owner: Figure,
    k_factor: Figure,
    level_m: Figure,
    reflects: Figure = None,
    index: Figure = None,
) -> Figure:
    """Two rays of hop `owner` at each level (flat arrays), the reflected one by its wet share.

    index: what `reflects` calls each of the hops; their own number if None.
    owner: index of the hop. k_factor: of the effective earth radius.
    Valid: levels below both antennas; NaN where they do not see each other.
    Source: two rays, ITU-R P.530-19 sec. 6.1.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=-2.0,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> many = np.zeros(2, dtype=int)
    >>> print(*rays_at(hop, owner=many, k_factor=np.full(2, 4 / 3), level_m=np.array([-2.0, 2.0])).level_db)
    -15.99 4.92
    """
    own = hops.at(owner)
    rays = two_ray(
        distance_km=own.distance_km,
        height1_m=own.height1_m - level_m,
        height2_m=own.height2_m - level_m,
        k_factor=k_factor,
        frequency_ghz=own.frequency_ghz,
        vertical=own.vertical,
        permittivity=own.permittivity,
        deviation_m=own.deviation_m,
        beamwidth1_deg=own.beamwidth1_deg,
        beamwidth2_deg=own.beamwidth2_deg,
    )
    if own.strips.whole and reflects is None:
        return rays
    called = owner if index is None else index[owner]

    def seen(point, km):
        return reflects(called[point], k_factor[point], level_m[point], km)

    share = wet_share(
        strips=own.strips,
        distance1_km=rays.distance1_km,
        distance2_km=own.distance_km - rays.distance1_km,
        effective1_m=rays.effective1_m,
        effective2_m=rays.effective2_m,
        frequency_ghz=own.frequency_ghz,
        radius_km=EARTH_RADIUS_KM * k_factor,
        seen=None if reflects is None else seen,
    )
    return with_share(rays, share=share)


def _grid(hops, steps):
    """Hop, k and level of every point of the sweep, level by level, k by k, hop by hop."""
    k_all = k_factors(hops)
    points = np.repeat(steps + 1, k_all.shape[1])
    first = np.cumsum(points) - points
    place = np.arange(points.sum()) - np.repeat(first, points)
    owner = np.repeat(np.repeat(np.arange(steps.size), k_all.shape[1]), points)
    k = np.repeat(k_all.ravel(), points)
    share = place / np.maximum(steps, 1)[owner]
    low, high = hops.water_low_m[owner], hops.water_high_m[owner]
    return owner, k, low + share * (high - low), place


def _deepest(hops, steps, index, reflects):
    owner, k, level, place = _grid(hops, steps)
    seen = {"reflects": reflects, "index": index}
    rays = rays_at(hops, owner=owner, k_factor=k, level_m=level, **seen)
    null_owner, null_k, null_level = _nulls(hops, owner, k, level, place, rays.phase_rad, seen)
    at_nulls = rays_at(hops, owner=null_owner, k_factor=null_k, level_m=null_level, **seen)
    owner, k, level = (
        np.concatenate(pair) for pair in ((owner, null_owner), (k, null_k), (level, null_level))
    )
    rays = type(rays)(*(np.concatenate(pair) for pair in zip(rays, at_nulls)))

    loss = _loss_db(rays)
    deepest = np.full(steps.size, -np.inf)
    np.maximum.at(deepest, owner, loss)
    where = np.full(steps.size, loss.size)
    np.minimum.at(where, owner, np.where(loss == deepest[owner], np.arange(loss.size), loss.size))

    flooded = ~(np.minimum(hops.height1_m, hops.height2_m) > hops.water_high_m)
    unseen = np.zeros(steps.size, dtype=bool)
    unseen[owner[np.isnan(rays.level_db)]] = True
    known = np.isfinite(deepest) & ~flooded
    where = np.where(known, where, 0)
    step = (hops.water_high_m - hops.water_low_m) / np.maximum(steps, 1)
    level, k = _closer(hops, seen, level[where], k[where], deepest, step)
    best = rays_at(hops, owner=np.arange(steps.size), k_factor=k, level_m=level, **seen)

    spacings = [
        formula(distance_km=hops.distance_km, frequency_ghz=hops.frequency_ghz, far_effective_m=far)
        for formula in (null_spacing_m, diversity_spacing_m)
        for far in (best.effective2_m, best.effective1_m)
    ]
    figures = (
        np.maximum(-best.level_db, 0.0),
        level,
        k,
        best.distance1_km,
        best.grazing_deg,
        best.path_difference_wavelengths,
        *spacings,
    )
    return DeepestFade._make(
        [
            *(np.where(known, each, np.nan) for each in figures),
            step,
            flooded,
            unseen & ~flooded,
            known,
        ]
    )


def _loss_db(rays):
    """Loss against free space [dB]; -inf where there is no mirror or no sight."""
    mirrored = ~np.isnan(rays.level_db) & (rays.amplitude > 0)
    return np.where(mirrored, -rays.level_db, -np.inf)


def _closer(hops, seen, level, k, loss, step):
    """Level and k of the deepest fade, sought once more between the steps beside the best one:
    near the horizon it stands at no null."""
    hop = np.arange(level.size)
    shares = np.linspace(-1, 1, 2 * CLOSER_POINTS + 1)
    for _ in range(CLOSER_ROUNDS):
        tried = np.clip(
            level[:, None] + step[:, None] * shares,
            hops.water_low_m[:, None],
            hops.water_high_m[:, None],
        )
        owner, many_k = np.repeat(hop, shares.size), np.repeat(k, shares.size)
        rays = rays_at(hops, owner=owner, k_factor=many_k, level_m=tried.ravel(), **seen)
        found = _loss_db(rays).reshape(tried.shape)
        place = found.argmax(axis=1)
        better = found[hop, place] > loss
        level = np.where(better, tried[hop, place], level)
        loss = np.maximum(loss, found[hop, place])
        step = step / CLOSER_POINTS
    return level, k


def _nulls(hops, owner, k, level, place, phase, seen):
    """Hop, k and level of each null between two levels of the sweep."""
    order = np.floor((np.nan_to_num(phase) - np.pi) / (2 * np.pi))  # nulls passed so far
    known = ~np.isnan(phase)
    here = np.flatnonzero((place[1:] > 0) & known[1:] & known[:-1] & (order[1:] != order[:-1]))
    target = np.pi + 2 * np.pi * np.maximum(order[here], order[here + 1])
    low, high = level[here], level[here + 1]
    slope = (phase[here + 1] - phase[here]) / (high - low)
    at = low + (target - phase[here]) / slope
    owner, k = owner[here], k[here]
    for _ in range(2):  # the phase is nearly straight within a step
        found = rays_at(hops, owner=owner, k_factor=k, level_m=at, **seen).phase_rad
        at = np.clip(at + np.nan_to_num(target - found) / slope, low, high)
    return owner, k, at
