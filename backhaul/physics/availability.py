"""Outages put together: rain and multipath, modes, hops in series, paths that back each other up.

Propagation only: equipment, power and people are not in these figures.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import multipath_time, rain
from backhaul.units import DECIMALS, MINUTES_PER_YEAR, PERCENT

METHODS = (
    Method("outage of a hop", "ITU-R P.530", "19 (09/2025) sec. 2.4.1 and 2.3: sum of the two"),
)
RANGES = {"margin_db": (0.0, 80.0)}

CELL_FORMULAS = (
    "hop_outage_percent",
    "availability_percent",
    "minutes_per_year",
    "hop_target_percent",
)

POINTS_AT_ONCE = 12_000  # hops times modes: arrays that small are reused, not mapped anew
MOST_MARGIN_DB = 100.0
SEARCH_PARTS, SEARCH_ROUNDS = 64, 5  # of 0 to 100 dB: far below a hundredth of a dB


def hop_outage_percent(*, rain_percent: Figure, multipath_year_percent: Figure) -> Figure:
    """Share of the year in which a mode does not hold [%].

    Rain and multipath do not happen at once, so their shares add; both directions of a hop fade
    together and are not added. Source: ITU-R P.530 sec. 2.3, 2.4 and 7 (from memory).
    Valid: 0 to 100 each; held at 100, below 0 it goes on and means nothing.
    >>> print(hop_outage_percent(rain_percent=0.004, multipath_year_percent=0.0022))
    0.0062
    """
    return np.minimum(rain_percent + multipath_year_percent, 100)


def availability_percent(*, outage_percent: Figure) -> Figure:
    """Share of the year in which it holds [%].

    Valid: outage 0 to 100; outside it goes on linearly.
    Source: definition.

    >>> availability_percent(outage_percent=0.25)
    99.75
    """
    return 100 - outage_percent


def minutes_per_year(*, outage_percent: Figure) -> Figure:
    """Outage in a year of 365.25 days [min].

    Valid: outage 0 to 100; outside it goes on linearly.
    Source: definition, year of 365.25 days.

    >>> minutes_per_year(outage_percent=0.0625)
    328.725
    """
    return outage_percent / PERCENT * MINUTES_PER_YEAR


def hop_target_percent(*, path_target_percent: Figure, hops: Figure) -> Figure:
    """Availability that each hop must reach for the path to reach its own [%].

    hops: number of hops in series.
    Valid: target 0 to 100, one hop or more; 0 hops divide by zero. Exact where outages are small;
    the product of the hops then lies above the target.
    Source: sum of outages, ITU-R P.530-18 clause 7 (from memory).

    >>> print(hop_target_percent(path_target_percent=99.9, hops=2))
    99.95
    """
    return 100 - (100 - path_target_percent) / hops


class Fading(NamedTuple):
    """What fades a hop; arrays over hops that broadcast against the margins of its modes."""

    exceeded_0_01_db: np.ndarray
    frequency_exponent: np.ndarray
    occurrence_percent: np.ndarray
    year_gain_db: np.ndarray


class Outage(NamedTuple):
    """Shares of the year [%]; `bound` -1: rain truly less, 1: truly more than the figure."""

    rain_percent: np.ndarray
    multipath_percent: np.ndarray
    outage_percent: np.ndarray
    availability_percent: np.ndarray
    bound: np.ndarray


def outage(*, margin_db: Figure, fading: Figure) -> Figure:
    """Outage by rain and by multipath over the year with a flat fade margin.

    margin_db: after gas, diffraction and the allowance for reflection. Below 0 the mode never
    holds: 100 %.
    fading: what fades the hop, `Fading`.
    Valid: margin_db 0 to 80 (RANGES), fading of a hop as `rain.outage_percent` and
    `multipath_time.year_fading_percent` take it; below 0 the outage is 100 %, far above it stays at
    the bound of rain, 0.001 %, where `bound` is -1. NaN stays NaN.
    Source: ITU-R P.530-19 sec. 2.3 and 2.4.1, sum of the two.
    >>> f = Fading(22.1181, 0.30553, 0.0, 6.0)
    >>> o = outage(margin_db=np.array([30.0, -1.0]), fading=f)
    >>> print(o.outage_percent[0], o.availability_percent[1])
    0.0038467 0.0
    """
    margin_db = np.asarray(margin_db, dtype=float)
    if margin_db.size > POINTS_AT_ONCE and len(margin_db) > 1:
        return _outage_in_parts(margin_db, fading)
    fails = margin_db < 0
    by_rain = np.where(
        fails,
        100.0,
        rain.outage_percent(
            margin_db=margin_db,
            exceeded_0_01_db=fading.exceeded_0_01_db,
            frequency_exponent=fading.frequency_exponent,
        ),
    )
    by_multipath = np.where(fails, 100.0, _multipath_percent(margin_db, fading))
    total = hop_outage_percent(rain_percent=by_rain, multipath_year_percent=by_multipath)
    bound = np.where(fails, 0, rain.outage_bound(outage_percent=by_rain))
    return Outage(by_rain, by_multipath, total, availability_percent(outage_percent=total), bound)


def _multipath_percent(margin_db, fading):
    """Share of the year that multipath takes [%]; hops without any are left out of the work."""
    occurrence = np.asarray(fading.occurrence_percent)
    if margin_db.ndim == 2 and occurrence.shape == (len(margin_db), 1):
        some = ~(occurrence[:, 0] <= 0)
        if not some.all():
            percent = np.zeros_like(margin_db)
            if some.any():
                gain = np.broadcast_to(fading.year_gain_db, occurrence.shape)
                kept = fading._replace(occurrence_percent=occurrence[some], year_gain_db=gain[some])
                percent[some] = _multipath_percent(margin_db[some], kept)
            return percent
    year = multipath_time.year_fading_percent(
        occurrence_percent=fading.occurrence_percent,
        fade_db=margin_db,
        year_gain_db=fading.year_gain_db,
    )
    return np.minimum(year, 100.0)


def _outage_in_parts(margin_db, fading):
    """The same, some hops at a time, so that the arrays stay in the processor's cache."""
    hops = margin_db.shape[0]
    step = min(max(1, POINTS_AT_ONCE * hops // margin_db.size), hops - 1)
    shape = np.broadcast_shapes(margin_db.shape, *(np.shape(part) for part in fading))
    whole = Outage._make([*(np.empty(shape) for _ in range(4)), np.empty(shape, dtype=int)])
    for begin in range(0, hops, step):
        own = slice(begin, begin + step)
        part = outage(
            margin_db=margin_db[own],
            fading=Fading(
                *(
                    part[own] if np.ndim(part) == margin_db.ndim and len(part) == hops else part
                    for part in fading
                )
            ),
        )
        for column, piece in zip(whole, part):
            column[own] = piece
    return whole


def needed_margin_db(*, target_percent: Figure, fading: Figure) -> Figure:
    """Smallest flat fade margin that reaches an availability [dB]; NaN where none up to 100 dB.

    target_percent: below 99.999 (rain is not told apart beyond).
    fading: what fades the hop, `Fading`.
    Valid: target_percent 0 to 99.999; above, or where 100 dB do not reach it, NaN; where none is
    needed 0. To 1e-10 dB.
    Source: ITU-R P.530-19 sec. 2.3 and 2.4.1, solved by halving.
    >>> print(needed_margin_db(target_percent=99.99, fading=Fading(22.1181, 0.30553, 0.0, 6.0)))
    22.075
    """
    parts = np.broadcast_arrays(*fading, np.asarray(target_percent, dtype=float))
    fading, target = Fading(*parts[:4]), parts[4]
    wide = Fading(*(part[..., None] for part in fading))

    def is_reached(margin_db):
        return outage(margin_db=margin_db, fading=wide).availability_percent >= target[..., None]

    low, width = np.zeros((*target.shape, 1)), MOST_MARGIN_DB
    share = np.arange(SEARCH_PARTS + 1) / SEARCH_PARTS
    for search_round in range(SEARCH_ROUNDS):
        margin = low + width * share
        good = is_reached(margin)
        if not search_round:
            reached, enough_at_once = good[..., -1], good[..., 0]
        first = np.maximum(np.argmax(good, axis=-1), 1)[..., None]
        width = width / SEARCH_PARTS
        low = low + (first - 1) * width
    return np.where(enough_at_once, 0.0, np.where(reached, (low + width)[..., 0], np.nan))


def mode_at_target(
    *,
    rate_mbps: Figure,
    margin_db: Figure,
    availability_percent: Figure,
    margin_wanted_db: Figure,
    target_percent: Figure,
) -> Figure:
    """Index of the fastest mode that has the margin and the availability, and whether one has.

    Modes on the last axis; where none suffices the toughest (largest margin) is named. NaN stands
    for a mode that a radio does not have.
    Valid: one mode or more on the last axis, compared to 1e-6; a NaN rate, margin or target never
    suffices, and with nothing but NaN mode 0 is named and has not.
    Source: definition.
    >>> index, good = mode_at_target(rate_mbps=np.array([[30.0, 120.0, 300.0]]),
    ...     margin_db=np.array([[30.0, 18.0, 4.0]]), availability_percent=np.array([[99.9] * 3]),
    ...     margin_wanted_db=10.0, target_percent=99.9)
    >>> print(index[0], good[0])
    1 True
    """
    wanted = np.asarray(margin_wanted_db)[..., None], np.asarray(target_percent)[..., None]
    has_margin = np.round(margin_db, DECIMALS) >= np.round(wanted[0], DECIMALS)
    is_available = np.round(availability_percent, DECIMALS) >= np.round(wanted[1], DECIMALS)
    good = has_margin & is_available & ~np.isnan(rate_mbps)
    fastest = np.argmax(np.where(good, rate_mbps, -np.inf), axis=-1)
    toughest = np.argmax(np.where(np.isnan(margin_db), -np.inf, margin_db), axis=-1)
    any_good = good.any(axis=-1)
    return np.where(any_good, fastest, toughest), any_good
