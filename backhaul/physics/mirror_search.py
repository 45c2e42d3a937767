"""What keeps a hop off the nulls of the water: spacing of a second antenna, or other heights."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import wavelength_m
from backhaul.physics.mirror_outage import FINER_WITH_TWO
from backhaul.physics.water_hops import k_factors, steps_of
from backhaul.physics.water_levels import POINTS_AT_ONCE, deepest_fade, rays_at

METHODS = (Method("spacing of two antennas", "two rays", "least worst residual over levels and k"),)
RANGES = {"spacing_m": (-30.0, 30.0), "change_m": (-30.0, 30.0)}
CELL_FORMULAS = ()

TRIES_PER_CYCLE = 16  # of the finest pattern over the spacing
MOST_TRIES = 200  # a range with more cycles than that is sampled more thinly
CLOSER_TRIES, CLOSER_ROUNDS = 4, 3
FEW_POINTS, SPACINGS_AT_ONCE = 8, 16  # of a sweep first; then in full, the most hopeful first
TIE_DB = 0.1  # spacings that leave as much: the smaller one is taken
TOLERANCE_M = 0.3  # of mounting; common practice
CONFIRMED_AT_ONCE, MOST_CONFIRMED = 8, 64
QUICK_LEVELS = 9


class Spacing(NamedTuple):
    """Arrays over groups; NaN where no spacing in the range was better than none."""

    spacing_m: np.ndarray
    residual_db: np.ndarray  # deepest fade with it
    alone_db: np.ndarray  # and with one antenna


def best_spacing(
    hops: Figure,
    *,
    group: Figure,
    low_m: Figure,
    high_m: Figure,
    end: Figure = 2,
    reflects: Figure = None,
) -> Figure:
    """Vertical spacing of a second antenna that leaves the least worst fade, in a range.

    group: number of the hop of each entry (0, 1, ...): the worst over its entries counts, that is
    both frequencies, both polarizations, every water. low_m, high_m: range of spacings, one or one
    a group; above the first antenna positive, below negative. A spacing that lies under water is
    no better than none. end: 1 or 2, the end that gets it. reflects: as in `deepest_fade`, called
    with the number of the entry.
    hops: `water_hops.hops_over_water`, an entry each.
    Valid: low_m below high_m within 30 m (RANGES), larger ones go on; an empty range and a hop that
    is never seen give NaN. Spacings within 0.1 dB count as alike.
    Source: two rays, ITU-R P.530-19 sec. 6.1; least worst residual, common practice.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=-2.5,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=[False, True],
    ...     salinity_g_per_kg=35.0)
    >>> found = best_spacing(hop, group=np.array([0, 0]), low_m=-5.0, high_m=8.0)
    >>> print(found.residual_db[0] < 6 < found.alone_db[0])
    True
    """
    group = np.asarray(group)
    count = group.max() + 1 if group.size else 0
    low, high = (np.broadcast_to(np.asarray(x, dtype=float), (count,)) for x in (low_m, high_m))
    rows = np.full((3, count), np.nan)
    for own in range(count):
        entries = np.flatnonzero(group == own)
        rows[:, own] = _best_spacing(hops.at(entries), entries, low[own], high[own], end, reflects)
    return Spacing(*rows)


def _best_spacing(hops, entries, low, high, end, reflects):
    seen = {"reflects": reflects, "index": entries}
    sweep = _Two(hops, end, seen)
    alone = sweep.worst(np.zeros(1))[0]
    if not np.isfinite(alone) or not high > low:
        return np.nan, np.nan, alone
    tries = _tries(hops, low, high, end)
    step = tries[1] - tries[0]
    best = _least(tries, sweep.least_of(tries))
    for _ in range(CLOSER_ROUNDS):
        step = step / CLOSER_TRIES
        near = np.clip(best + step * np.arange(-CLOSER_TRIES, CLOSER_TRIES + 1), low, high)
        best = _least(near, sweep.worst(near))
    left = float(sweep.worst(np.array([best]))[0])
    return (best, left, alone) if left < alone else (np.nan, np.nan, alone)


def _least(tries, residual):
    """The smallest spacing among those that leave the least, but for a tie."""
    good = np.flatnonzero(residual <= residual.min() + TIE_DB)
    return tries[good[np.abs(tries[good]).argmin()]]


def _tries(hops, low, high, end):
    """Spacings fine enough for the shortest null spacing of the entries."""
    far = hops.height1_m if end == 2 else hops.height2_m
    null = (
        1000
        * hops.distance_km
        * wavelength_m(frequency_ghz=hops.frequency_ghz)
        / (2 * np.maximum(far - hops.water_low_m, 0.1))
    )
    count = int(np.ceil(TRIES_PER_CYCLE * (high - low) / null.min())) + 1
    return np.linspace(low, high, int(np.clip(count, TRIES_PER_CYCLE, MOST_TRIES)))


class _Two:
    """The sweep of the first antenna, kept while second ones are tried."""

    def __init__(self, hops, end, seen):
        self.hops, self.seen = hops, seen
        self.name = f"height{end}_m"
        steps = np.maximum(FINER_WITH_TWO * steps_of(hops), 1)
        k_all = k_factors(hops)
        points = np.repeat(steps + 1, k_all.shape[1])
        self.owner = np.repeat(np.repeat(np.arange(steps.size), k_all.shape[1]), points)
        place = np.arange(points.sum()) - np.repeat(np.cumsum(points) - points, points)
        self.k = np.repeat(k_all.ravel(), points)
        low, high = hops.water_low_m[self.owner], hops.water_high_m[self.owner]
        self.level = low + place / steps[self.owner] * (high - low)
        self.first_db = rays_at(
            hops, owner=self.owner, k_factor=self.k, level_m=self.level, **seen
        ).level_db

    def least_of(self, spacings):
        """Deepest fade with each spacing that may be the best [dB]; infinite with the others.

        A fade at some of the points is never deeper than at all of them: who loses there is out.
        """
        at_least = np.nan_to_num(self.worst(spacings, every=FEW_POINTS))
        order = np.argsort(at_least, kind="stable")
        found = np.full(spacings.size, np.inf)
        for begin in range(0, order.size, SPACINGS_AT_ONCE):
            some = order[begin : begin + SPACINGS_AT_ONCE]
            if at_least[some[0]] > found.min() + TIE_DB:
                break
            found[some] = self.worst(spacings[some])
        return found

    def worst(self, spacings, every=1):
        """Deepest fade of all entries with each spacing [dB]; NaN where nothing is ever seen.

        every: so many of the points of the sweep are looked at.
        """
        size = self.owner[::every].size
        at_once = max(1, POINTS_AT_ONCE // size)
        return np.concatenate(
            [
                self._worst(spacings[begin : begin + at_once], slice(None, None, every))
                for begin in range(0, spacings.size, at_once)
            ]
        )

    def _worst(self, spacings, points):
        entries, tries = self.hops.distance_km.size, spacings.size
        many = self.hops.at(np.tile(np.arange(entries), tries))
        moved = getattr(many, self.name) + np.repeat(spacings, entries)
        many = many._replace(**{self.name: moved})
        owner = (self.owner[points] + entries * np.arange(tries)[:, None]).ravel()
        index = np.tile(self.seen["index"], tries)
        second = rays_at(
            many,
            owner=owner,
            k_factor=np.tile(self.k[points], tries),
            level_m=np.tile(self.level[points], tries),
            reflects=self.seen["reflects"],
            index=index,
        ).level_db.reshape(tries, -1)
        better = np.fmax(self.first_db[points], second)
        known = ~np.isnan(better).all(axis=1)
        lowest = np.min(np.where(np.isnan(better), np.inf, better), axis=1)
        return np.where(known, np.maximum(-lowest, 0.0), np.nan)


class Heights(NamedTuple):
    """Arrays over groups; NaN where no tried pair of heights holds the fade."""

    change1_m: np.ndarray  # up positive
    change2_m: np.ndarray
    fade_db: np.ndarray
    tolerance_fade_db: np.ndarray  # worst where each end is mounted TOLERANCE_M off
    least_db: np.ndarray  # least quick estimate of all pairs: what heights can do at best
    tried: np.ndarray  # pairs of heights looked at


def best_heights(
    hops: Figure,
    *,
    group: Figure,
    changes1_m: Figure,
    changes2_m: Figure,
    allowed_db: Figure = 3.0,
    permitted: Figure = None,
    reflects: Figure = None,
) -> Figure:
    """Smallest change of both heights that holds the deepest fade, also a little off.

    Every pair of changes1_m and changes2_m is tried, the smallest sum first; a pair that holds
    allowed_db at the heights and TOLERANCE_M beside them goes before one that only holds at the
    heights. permitted: [group, change1, change2], where clearance and mast allow it; all if None.
    group, reflects: as in `best_spacing`. Each pair found is confirmed by the full sweep.
    hops: `water_hops.hops_over_water`, an entry each.
    Valid: changes within 30 m (RANGES); where no pair holds, or none is permitted, NaN, with what
    heights can do at best. At most 64 pairs are confirmed.
    Source: two rays, ITU-R P.530-19 sec. 6.1; mounting tolerance 0.3 m common practice.
    >>> from backhaul.physics.water_hops import hops_over_water
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=-2.5,
    ...     water_high_m=2.0, worst_k_factor=4 / 3, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> steps = np.arange(-10.0, 10.5, 0.5)
    >>> found = best_heights(hop, group=np.array([0]), changes1_m=steps, changes2_m=steps)
    >>> print(found.fade_db[0] <= 3.0, found.tolerance_fade_db[0] <= 3.0)
    True True
    """
    group = np.asarray(group)
    count = group.max() + 1 if group.size else 0
    first, second = np.meshgrid(changes1_m, changes2_m, indexing="ij")
    order = np.lexsort(
        (np.minimum(abs(first), abs(second)).ravel(), (abs(first) + abs(second)).ravel())
    )
    pairs = np.column_stack((first.ravel()[order], second.ravel()[order]))
    rows = np.full((6, count), np.nan)
    for own in range(count):
        allowed = np.ones(len(pairs), dtype=bool)
        if permitted is not None:
            allowed = np.asarray(permitted[own], dtype=bool).ravel()[order]
        entries = np.flatnonzero(group == own)
        rows[:, own] = _best_heights(
            hops.at(entries), entries, pairs[allowed], allowed_db, reflects
        )
    return Heights(*rows)


def _moved(hops, changes):
    """The entries once for each pair of changes, pair by pair."""
    entries = hops.distance_km.size
    many = hops.at(np.tile(np.arange(entries), len(changes)))
    first, second = np.repeat(changes, entries, axis=0).T
    return many._replace(height1_m=many.height1_m + first, height2_m=many.height2_m + second)


def _best_heights(hops, entries, pairs, allowed_db, reflects):
    if not len(pairs):
        return (*[np.nan] * 5, 0)
    quick = _quick_fades(hops, entries, pairs, reflects)
    least = quick.min() if np.isfinite(quick).any() else np.nan
    hopeful = np.flatnonzero(quick <= allowed_db)[:MOST_CONFIRMED]
    spare = None
    for begin in range(0, hopeful.size, CONFIRMED_AT_ONCE):
        tried = pairs[hopeful[begin : begin + CONFIRMED_AT_ONCE]]
        fade = _full_fades(hops, entries, tried, reflects)
        holds = np.flatnonzero(fade <= allowed_db)
        if not holds.size:
            continue
        beside = _beside(hops, entries, tried[holds], reflects)
        for place, wide in zip(holds, np.maximum(beside, fade[holds])):
            found = (*tried[place], fade[place], wide, least, len(pairs))
            if wide <= allowed_db:
                return found
            if spare is None or wide < spare[3]:
                spare = found
    return spare or (*[np.nan] * 4, least, len(pairs))


def _beside(hops, entries, pairs, reflects):
    """Deepest fade where the ends are mounted off by the tolerance, worst of four [dB]."""
    offsets = np.array([(a, b) for a in (-1, 1) for b in (-1, 1)]) * TOLERANCE_M
    around = (pairs[:, None, :] + offsets).reshape(-1, 2)
    return _full_fades(hops, entries, around, reflects).reshape(len(pairs), -1).max(axis=1)


def _full_fades(hops, entries, pairs, reflects):
    """Deepest fade of all entries with each pair of changes [dB]; infinite where unknown."""
    called = None
    if reflects is not None:
        index = np.tile(entries, len(pairs))

        def called(own, *rest):
            return reflects(index[own], *rest)

    deep = deepest_fade(_moved(hops, pairs), reflects=called)
    dry = ~deep.mirrored & ~deep.flooded & ~deep.beyond_horizon
    fade = np.where(dry, 0.0, np.where(np.isnan(deep.fade_db), np.inf, deep.fade_db))
    return fade.reshape(len(pairs), -1).max(axis=1)


def _quick_fades(hops, entries, pairs, reflects):
    """The same from a few levels: the phase runs one way, a null between two is as deep as the
    amplitude there makes it."""
    at_once = max(1, POINTS_AT_ONCE // (entries.size * 4 * QUICK_LEVELS))
    return np.concatenate(
        [
            _quick(hops, entries, pairs[begin : begin + at_once], reflects)
            for begin in range(0, len(pairs), at_once)
        ]
    )


def _quick(hops, entries, pairs, reflects):
    many = _moved(hops, pairs)
    k_all = k_factors(many)
    shape = (*k_all.shape, QUICK_LEVELS)
    share = np.linspace(0, 1, QUICK_LEVELS)
    low, high = many.water_low_m, many.water_high_m
    level = np.broadcast_to((low[:, None] + (high - low)[:, None] * share)[:, None], shape)
    owner = np.broadcast_to(np.arange(shape[0])[:, None, None], shape)
    k = np.broadcast_to(k_all[:, :, None], shape)
    rays = rays_at(
        many,
        owner=owner.ravel(),
        k_factor=k.ravel(),
        level_m=level.ravel(),
        reflects=reflects,
        index=np.tile(entries, len(pairs)),
    )
    loss = np.where(np.isnan(rays.level_db), -np.inf, -rays.level_db).reshape(shape)
    order = np.floor((np.nan_to_num(rays.phase_rad) - np.pi) / (2 * np.pi)).reshape(shape)
    amplitude = np.nan_to_num(rays.amplitude).reshape(shape)
    between = np.maximum(amplitude[..., 1:], amplitude[..., :-1])
    null = -20 * np.log10(np.maximum(np.abs(1 - between), 1e-6))
    crossed = np.where(order[..., 1:] != order[..., :-1], null, -np.inf)
    worst = np.maximum(loss.max(axis=(1, 2)), crossed.max(axis=(1, 2)))
    flooded = np.minimum(many.height1_m, many.height2_m) <= high
    worst = np.where(flooded | ~np.isfinite(worst), np.inf, np.maximum(worst, 0.0))
    return worst.reshape(len(pairs), -1).max(axis=1)
