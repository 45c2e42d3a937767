"""How often the water's mirror takes more than a margin: the share of its levels and of k."""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.water_hops import k_factors, steps_of
from backhaul.physics.water_levels import POINTS_AT_ONCE, rays_at

METHODS = (
    Method("outage by the mirror", "two rays", "mean over levels, even, and over k: practice"),
    Method("second antenna over water", "ITU-R P.530", "sec. 6.2, selection, from memory"),
)
RANGES = {"margin_db": (0.0, 60.0), "spacing_m": (-30.0, 30.0)}
CELL_FORMULAS = ()

FINER_WITH_TWO = 4  # steps of the level: the better of two has its dips beside the nulls
FEWEST_LEVELS = 32


def reflection_outage_percent(
    hops: Figure,
    *,
    margin_db: Figure,
    spacing1_m: Figure = 0.0,
    spacing2_m: Figure = 0.0,
    reflects: Figure = None,
) -> Figure:
    """Share of water levels and k in which the mirror takes more than a margin [%].

    hops: `water_hops.hops_over_water`. margin_db: [hop] or [hop, mode], before the mirror is
    taken off; below 0 the answer is what the mirror adds, 0. The level counts evenly between low
    and high, k evenly as worst, 1, 4/3 and 3. Where the ends do not see each other nothing counts:
    that is diffraction. spacing: of a second antenna above the first at the end that receives,
    negative below; the better of the two counts. NaN margin gives NaN.
    reflects: as in `water_levels.deepest_fade`.
    Valid: margins 0 to 60 dB and spacings of 30 m either way (RANGES); larger ones go on. Where no
    level is seen 0.
    Source: two rays, ITU-R P.530-19 sec. 6.1; even spread of level and k common practice.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=60.0, height2_m=60.0, water_low_m=-2.5,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=11.0, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> print(reflection_outage_percent(hop, margin_db=np.array([[3.0, 10.0]]))[0].round())
    [24. 10.]
    """
    margin = np.asarray(margin_db, dtype=float)
    wide = margin.reshape(len(margin), -1)
    spacing1, spacing2 = (
        np.broadcast_to(np.asarray(s, dtype=float), hops.distance_km.shape)
        for s in (spacing1_m, spacing2_m)
    )
    two = (spacing1 != 0) | (spacing2 != 0)
    result = np.zeros(wide.shape)
    for chosen, law in ((~two, _by_phase), (two, _by_count)):
        index = np.flatnonzero(chosen)
        steps = np.maximum(steps_of(hops.at(index)), FEWEST_LEVELS)
        steps = np.where(hops.water_high_m[index] > hops.water_low_m[index], steps, 1)
        steps = steps * np.where(two[index] & (steps > 1), FINER_WITH_TWO, 1)
        for part in _parts(4 * (steps + 1)):
            own = index[part]
            seen = {"reflects": reflects, "index": own}
            result[own] = law(
                hops.at(own), wide[own], steps[part], (spacing1[own], spacing2[own]), seen
            )
    return np.where(np.isnan(wide), np.nan, 100 * result).reshape(margin.shape)


def _parts(sizes):
    """Indices of entries in parts of a bounded number of points."""
    chunk = np.cumsum(sizes) // POINTS_AT_ONCE
    return np.split(np.arange(sizes.size), np.flatnonzero(np.diff(chunk)) + 1)


def _points(hops, share, steps):
    """Entry, k and level of every point; `share` [point] of the range, `steps` points an entry."""
    k_all = k_factors(hops)
    owner = np.repeat(np.arange(steps.size), steps * k_all.shape[1])
    points = np.repeat(steps, k_all.shape[1])
    first = np.cumsum(points) - points
    place = np.arange(owner.size) - np.repeat(first, points)
    k = np.repeat(k_all.ravel(), points)
    low, high = hops.water_low_m[owner], hops.water_high_m[owner]
    return owner, k, low + share(place, owner) * (high - low), place


def _by_phase(hops, margin, steps, spacings, seen):
    """Within a step of the level the phase runs evenly: its share beyond the margin is exact."""
    owner, k, level, place = _points(hops, lambda place, own: place / steps[own], steps + 1)
    rays = rays_at(hops, owner=owner, k_factor=k, level_m=level, **seen)
    here = np.flatnonzero(place[1:] > 0)
    phase, amplitude = rays.phase_rad, rays.amplitude
    start, turn = phase[here], phase[here + 1] - phase[here]
    turn = np.where(np.abs(turn) > np.pi, (turn + np.pi) % (2 * np.pi) - np.pi, turn)
    middle = (amplitude[here] + amplitude[here + 1]) / 2
    own = owner[here]
    total = np.bincount(own, minlength=steps.size)
    result = np.empty(margin.shape)
    for mode in range(margin.shape[1]):
        deep = _half_width(middle, margin[own, mode])
        beyond = _share_beyond(start, turn, deep)
        beyond = np.where(np.isnan(beyond) | (margin[own, mode] < 0), 0.0, beyond)
        result[:, mode] = np.bincount(own, weights=beyond, minlength=steps.size)
    return result / total[:, None]


def _half_width(amplitude, margin_db):
    """Half width of the phases about a null in which more than the margin is lost [rad]."""
    least = 10 ** (-np.nan_to_num(margin_db) / 10)
    cosine = (1 + amplitude**2 - least) / np.maximum(2 * amplitude, 1e-12)
    return np.arccos(np.clip(cosine, -1, 1))


def _share_beyond(start, turn, half):
    """Share of the phases from start to start + turn that lie within half of an odd pi."""

    def passed(phase):
        cycles = np.floor(phase / (2 * np.pi))
        rest = phase - 2 * np.pi * cycles
        return cycles * 2 * half + np.clip(rest - (np.pi - half), 0, 2 * half)

    still = np.abs(turn) < 1e-9
    moved = np.where(still, 1.0, turn)
    inside = np.abs(start % (2 * np.pi) - np.pi) < half
    return np.where(still, inside, (passed(start + moved) - passed(start)) / moved)


def _by_count(hops, margin, steps, spacings, seen):
    """With two antennas the levels are counted one by one."""
    loss, owner = better_of_two(hops, steps=steps, spacings=spacings, seen=seen)
    total = np.bincount(owner, minlength=steps.size)
    result = np.empty(margin.shape)
    for mode in range(margin.shape[1]):
        beyond = (loss > margin[owner, mode]) & (margin[owner, mode] >= 0)
        result[:, mode] = np.bincount(owner, weights=beyond, minlength=steps.size)
    return result / total[:, None]


def better_of_two(
    hops: Figure, *, steps: Figure, spacings: Figure, seen: Figure, ends: Figure = False
) -> Figure:
    """Loss with the better antenna [dB] at every level and k, and its hop (flat arrays).

    NaN where neither sees the far end. ends: from the lowest to the highest level, else the
    middles of the steps.
    hops: `water_hops.hops_over_water`. steps: of the level, by hop. spacings: of the second
    antenna at end 1 and 2 [m], by hop. seen: what `rays_at` takes beside hop, k and level.
    Valid: one step or more a hop; spacing 0 stands for no second antenna.
    Source: ITU-R P.530 sec. 6.2 (from memory), selection.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=0.0,
    ...     water_high_m=0.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> loss_db, owner = better_of_two(hop, steps=np.array([1]), spacings=(np.zeros(1), np.zeros(1)),
    ...     seen={})
    >>> print(loss_db[0], owner)
    -0.82 [0 0 0 0]
    """
    if ends:
        owner, k, level, _ = _points(
            hops, lambda place, own: place / np.maximum(steps, 1)[own], steps + 1
        )
    else:
        owner, k, level, _ = _points(hops, lambda place, own: (place + 0.5) / steps[own], steps)
    best = rays_at(hops, owner=owner, k_factor=k, level_m=level, **seen).level_db
    for name, spacing in zip(("height1_m", "height2_m"), spacings):
        moved = np.flatnonzero(spacing)
        if moved.size:
            other = hops._replace(**{name: getattr(hops, name) + spacing})
            here = np.flatnonzero(spacing[owner] != 0)
            again = rays_at(
                other, owner=owner[here], k_factor=k[here], level_m=level[here], **seen
            ).level_db
            best[here] = np.fmax(best[here], again)
    return -best, owner


def deepest_fade_with_two(
    hops: Figure, *, spacing1_m: Figure = 0.0, spacing2_m: Figure = 0.0, reflects: Figure = None
) -> Figure:
    """Deepest fade [dB] where a second antenna stands spacing_m above the first, at either end.

    Negative: below; one that is flooded or sees nothing does not count. The better of the two is
    taken at every level and k. NaN where the first may be flooded or there is never sight.
    Source: vertical space diversity, ITU-R P.530 sec. 6.2 (from memory), selection.
    hops: `water_hops.hops_over_water`. reflects: as in `water_levels.deepest_fade`.
    Valid: spacings of 30 m either way (RANGES), larger ones go on; an antenna lifted through the
    ground or flooded does not count.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=-2.5,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> alone, two = (deepest_fade_with_two(hop, spacing2_m=spacing)[0] for spacing in (0.0, 5.0))
    >>> bool(alone > 20 > 8 > two)
    True
    """
    steps = FINER_WITH_TWO * steps_of(hops)
    spacings = [
        np.broadcast_to(np.asarray(s, dtype=float), steps.shape) for s in (spacing1_m, spacing2_m)
    ]
    deepest = np.full(steps.size, -np.inf)
    for part in _parts(4 * (steps + 1)):
        loss, owner = better_of_two(
            hops.at(part),
            steps=steps[part],
            spacings=[spacing[part] for spacing in spacings],
            seen={"reflects": reflects, "index": part},
            ends=True,
        )
        np.maximum.at(deepest, part[owner], np.where(np.isnan(loss), -np.inf, loss))
    flooded = ~(np.minimum(hops.height1_m, hops.height2_m) > hops.water_high_m)
    return np.where(flooded | ~np.isfinite(deepest), np.nan, np.maximum(deepest, 0.0))
