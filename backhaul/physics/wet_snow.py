"""Melting snow along a hop, with the rain: the combined method of ITU-R P.530-18 sec. 2.4.2.

Just under the rain height melting snow takes up to 3.5 times what rain takes. The rain height of a
day spreads about its mean; the method weighs 49 heights.
"""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import rain

METHODS = (
    Method("wet snow and rain", "ITU-R P.530", "18 (09/2021) sec. 2.4.2; weights of P.2001-5"),
)
RANGES = {
    "percent": (0.001, 1.0),  # of the rain law, P.530 sec. 2.4.1; see `combined_exceeded_db`
    "rain_height_m": (0.0, 6000.0),
    "rain_probability_percent": (0.5, 20.0),
}
CELL_FORMULAS = ("snow_multiplier",)

LAYER_M = 1200  # of melting below the rain height
SLICE_M = 100
OFFSET_M = np.arange(-2400, 2401, SLICE_M)
# Weights of rain heights 2400 to 0 m off the mean: ITU-R P.2001-5 table C.2.1, read in the
# reference code of that Recommendation; with their mirror image they add up to 1.
_HALF_WEIGHTS = (
    *(0.000555, 0.000802, 0.001139, 0.001594, 0.002196, 0.002978, 0.003976, 0.005227, 0.006764),
    *(0.008617, 0.010808, 0.013346, 0.016225, 0.019419, 0.022881, 0.026542, 0.030312, 0.034081),
    *(0.037724, 0.041110, 0.044104, 0.046583, 0.048439, 0.049589, 0.049978),
)
WEIGHTS = np.array(_HALF_WEIGHTS + _HALF_WEIGHTS[-2::-1])

RAIN_ALONE_BELOW_M = 3600  # higher end that far below the mean rain height
NOTHING_ABOVE_M = 2400  # lower end that far above it
# P0 comes from a map (P.837-5); from 2 to 8 % the answer moves by less than 0.002 dB.
RAIN_PROBABILITY_PERCENT = 5.0
LARGEST_FACTOR = 4.0  # more than the peak of the multiplier, 3.53
SEARCH_STEPS = 40  # halvings: below a thousandth of a dB
LEVEL_M = 1e-3  # ends that close are a level path
HOPS_AT_ONCE = 4000


def snow_multiplier(*, above_rain_height_m: Figure) -> Figure:
    """How many times rain's attenuation a place takes, by its height over the rain height [-].

    0 above it, 1 more than 1200 m below. Source: ITU-R P.530-18 sec. 2.4.2 (P.2001-5 annex C.2).
    Valid: any height; 0 above the rain height, 1 more than 1200 m below.
    >>> print(snow_multiplier(above_rain_height_m=-200.0))
    3.4561
    """
    x = np.minimum(np.maximum(above_rain_height_m, -LAYER_M), 0)
    a = 4 * (1 - np.exp(x / 70)) ** 2
    melting = a / (1 + (1 - np.exp(-((x / 600) ** 2))) ** 2 * (a - 1))
    return np.where(
        above_rain_height_m > 0, 0, np.where(above_rain_height_m < -LAYER_M, 1, melting)
    )


def path_multiplier(*, height1_m: Figure, height2_m: Figure, rain_height_m: Figure) -> Figure:
    """Mean of the multiplier along a hop [-], in slices of 100 m as the method has it.

    height1_m, height2_m: antennas above sea level; the rain height of one day. All broadcast.
    Source: ITU-R P.530-18 sec. 2.4.2.
    Valid: any heights; NaN stays NaN.
    >>> print(path_multiplier(height1_m=700.0, height2_m=1900.0, rain_height_m=2000.0))
    1.9086
    """
    below = np.minimum(height1_m, height2_m) - np.asarray(rain_height_m, dtype=float)
    above = np.maximum(height1_m, height2_m) - rain_height_m
    level = above - below < LEVEL_M
    span = np.where(level, 1.0, above - below)
    total = np.clip(-LAYER_M - below, 0, span)  # in rain
    for top in range(0, -LAYER_M, -SLICE_M):
        low, high = np.maximum(below, top - SLICE_M), np.minimum(above, top)
        inside = np.maximum(high - low, 0)
        total = total + inside * snow_multiplier(above_rain_height_m=(low + high) / 2)
    return np.where(level, snow_multiplier(above_rain_height_m=(below + above) / 2), total / span)


def _factors(height1_m, height2_m, rain_height_m):
    """Path multiplier [hop, rain height of a day]; 1 where rain stands alone."""
    h1, h2, mean = (
        np.asarray(x, dtype=float)[..., None] for x in (height1_m, height2_m, rain_height_m)
    )
    factors = path_multiplier(height1_m=h1, height2_m=h2, rain_height_m=mean + OFFSET_M)
    alone = np.maximum(h1, h2) <= mean - RAIN_ALONE_BELOW_M
    return np.where(alone, 1.0, np.where(np.minimum(h1, h2) > mean + NOTHING_ABOVE_M, 0, factors))


def _rain_time_percent(loss_db, exceeded_0_01_db, frequency_exponent, probability):
    """Time in which rain alone takes more [%], up to the probability of rain.

    The law of P.530 goes on below 0.001 % to its turning point, where no time is left.
    """
    c1 = 0.07**frequency_exponent * 0.12 ** (1 - frequency_exponent)
    c2 = 0.546 + 0.309 * frequency_exponent
    c3 = 0.043 + 0.096 * frequency_exponent
    ratio = np.maximum(loss_db, rain.SMALLEST_DB) / (c1 * np.maximum(exceeded_0_01_db, 1e-6))
    root = c2**2 - 4 * c3 * np.log10(ratio)
    log_percent = (np.sqrt(np.maximum(root, 0)) - c2) / (2 * c3)
    return np.where(root < 0, 0.0, np.minimum(10 ** np.minimum(log_percent, 2), probability))


def _combined_time_percent(loss_db, factors, exceeded_0_01_db, frequency_exponent, probability):
    loss = loss_db[..., None] / np.maximum(factors, 1e-6)
    wide = (np.asarray(x)[..., None] for x in (exceeded_0_01_db, frequency_exponent, probability))
    time = _rain_time_percent(loss, *wide)
    return np.sum(np.where(factors > 0, time, 0.0) * WEIGHTS, axis=-1)


def combined_outage_percent(
    *,
    margin_db: Figure,
    exceeded_0_01_db: Figure,
    frequency_exponent: Figure,
    height1_m: Figure,
    height2_m: Figure,
    rain_height_m: Figure,
    rain_probability_percent: Figure = RAIN_PROBABILITY_PERCENT,
) -> Figure:
    """Share of the year in which rain and wet snow take more than a margin [%].

    margin_db: [hop] or [hop, mode]; the others a hop. exceeded_0_01_db: of rain alone.
    rain_height_m: mean rain height over the sea (P.839), whose map is not in this code.
    Below 0.001 % a bound like that of rain: `rain.outage_bound` tells. NaN stays NaN.
    Source: ITU-R P.530-18 sec. 2.4.2; time law P.2001-5 annex C, its wording in P.530 from memory.
    frequency_exponent: `rain.frequency_exponent`.
    Valid: held between 0.001 and 1 %, rain heights 0 to 6000 m, probability 0.5 to 20 % (RANGES);
    no rain gives 0.001.
    >>> common = {"exceeded_0_01_db": 15.62, "frequency_exponent": 0.2017, "height1_m": 400.0,
    ...     "height2_m": 450.0}
    >>> print(combined_outage_percent(margin_db=15.6, rain_height_m=5000.0, **common))
    0.0100
    """
    parts = (exceeded_0_01_db, frequency_exponent, height1_m, height2_m, rain_height_m)
    margin = np.asarray(margin_db, dtype=float)
    hop = [np.asarray(x, dtype=float) for x in (*parts, rain_probability_percent)]
    shape = np.broadcast_shapes(margin.shape[:1], *(x.shape for x in hop))
    hop = [np.broadcast_to(x, shape).reshape(-1) for x in hop]
    modes = int(np.prod(margin.shape[1:], dtype=int))
    wide = np.broadcast_to(margin, shape + margin.shape[1:]).reshape(hop[0].size, modes)
    result = np.empty(wide.shape)
    for begin in range(0, wide.shape[0], HOPS_AT_ONCE):
        own = slice(begin, begin + HOPS_AT_ONCE)
        a001, exponent, h1, h2, mean, probability = (x[own] for x in hop)
        factors = _factors(h1, h2, mean)
        for mode in range(wide.shape[1]):
            time = _combined_time_percent(wide[own, mode], factors, a001, exponent, probability)
            time = np.where(a001 <= 0, 0.0, time)
            known = ~np.isnan(wide[own, mode] + a001 + exponent + h1 + h2 + mean)
            result[own, mode] = np.where(known, np.clip(time, 0.001, 1.0), np.nan)
    return result.reshape(shape + margin.shape[1:])


def combined_exceeded_db(
    *,
    exceeded_0_01_db: Figure,
    frequency_exponent: Figure,
    percent: Figure,
    height1_m: Figure,
    height2_m: Figure,
    rain_height_m: Figure,
    rain_probability_percent: Figure = RAIN_PROBABILITY_PERCENT,
) -> Figure:
    """Attenuation by rain and wet snow exceeded in a percentage of the year [dB]; all broadcast.

    percent: 0.001 to 1. Others as in `combined_outage_percent`. 0 where nothing fades that long.
    frequency_exponent: `rain.frequency_exponent`.
    Valid: 0.001 to 1 % (RANGES); outside it goes on unbacked, 0 % gives 0 with numpy's warning.
    Source: ITU-R P.530-18 sec. 2.4.2; time law P.2001-5 annex C, its wording in P.530 from memory.
    >>> print(combined_exceeded_db(exceeded_0_01_db=20.86, frequency_exponent=0.2358, percent=0.01,
    ...     height1_m=400.0, height2_m=450.0, rain_height_m=2000.0))
    27.2
    """
    parts = np.broadcast_arrays(
        *(
            np.asarray(x, dtype=float)
            for x in (exceeded_0_01_db, frequency_exponent, percent, height1_m, height2_m)
        ),
        np.asarray(rain_height_m, dtype=float),
        np.asarray(rain_probability_percent, dtype=float),
    )
    a001, exponent, percent, h1, h2, mean, probability = parts
    factors = _factors(h1, h2, mean)
    low = np.zeros(a001.shape)
    high = LARGEST_FACTOR * rain.exceeded_db(
        exceeded_0_01_db=a001, frequency_exponent=exponent, percent=np.minimum(percent, 0.001)
    )
    for _ in range(SEARCH_STEPS):
        middle = (low + high) / 2
        more = _combined_time_percent(middle, factors, a001, exponent, probability) > percent
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    known = ~np.isnan(a001 + exponent + percent + h1 + h2 + mean)
    return np.where(known, np.where(high < 1e-6, 0.0, high), np.nan)
