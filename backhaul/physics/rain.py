"""Attenuation by rain: ITU-R P.838-3 per kilometre, ITU-R P.530 along a hop.

Between 0.001 and 1 % of the time the method of P.530 holds. Outside it the answer is a bound:
"better than" 0.001 %, "worse than" 1 %; `outage_bound` tells which.
"""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("rain, specific attenuation", "ITU-R P.838", "3 (03/2005)"),
    Method("rain on a path", "ITU-R P.530", "18 (09/2021) sec. 2.4.1"),
)
RANGES = {
    "percent_of_time": (0.001, 1.0),  # P.530 sec. 2.4.1, step 5
    "frequency_ghz": (1.0, 100.0),  # P.838-3 from 1 GHz; P.530 sec. 2.4.1 to 100 GHz
    "distance_km": (0.0, 60.0),  # P.530 sec. 2.4.1
}

CELL_FORMULAS = (
    "polarized_k",
    "polarized_alpha",
    "specific_attenuation_db_per_km",
    "distance_factor",
    "exceeded_0_01_db",
    "frequency_exponent",
    "exceeded_db",
    "outage_percent",
    "outage_bound",
)

HORIZONTAL_DEG, VERTICAL_DEG = 0.0, 90.0
LARGEST_DISTANCE_FACTOR = 2.5  # P.530 sec. 2.4.1 step 3
FREQUENCY_MIN_GHZ = 1.0  # P.838-3; below, rain is nil
SMALLEST_DB = 1e-9  # stands for no rain or no margin, keeps logarithms finite

# ITU-R P.838-3 tables 1 to 4: (a, b, c) of each bell, then slope m and constant c.
K_H = (
    (
        (-5.33980, -0.10008, 1.13098),
        (-0.35351, 1.26970, 0.45400),
        (-0.23789, 0.86036, 0.15354),
        (-0.94158, 0.64552, 0.16817),
    ),
    -0.18961,
    0.71147,
)
K_V = (
    (
        (-3.80595, 0.56934, 0.81061),
        (-3.44965, -0.22911, 0.51059),
        (-0.39902, 0.73042, 0.11899),
        (0.50167, 1.07319, 0.27195),
    ),
    -0.16398,
    0.63297,
)
ALPHA_H = (
    (
        (-0.14318, 1.82442, -0.55187),
        (0.29591, 0.77564, 0.19822),
        (0.32177, 0.63773, 0.13164),
        (-5.37610, -0.96230, 1.47828),
        (16.1721, -3.29980, 3.43990),
    ),
    0.67849,
    -1.95537,
)
ALPHA_V = (
    (
        (-0.07771, 2.33840, -0.76284),
        (0.56727, 0.95545, 0.54039),
        (-0.20238, 1.14520, 0.26809),
        (-48.2991, 0.791669, 0.116226),
        (48.5833, 0.791459, 0.116479),
    ),
    -0.053739,
    0.83433,
)


def _fit(log_f, table):
    """P.838-3 eqs. (2) and (3)."""
    bells, slope, constant = table
    total = slope * log_f + constant
    for a, b, c in bells:
        total = total + a * np.exp(-(((log_f - b) / c) ** 2))
    return total


def coefficients(*, frequency_ghz: Figure, tilt_deg: Figure, elevation_deg: Figure = 0.0) -> Figure:
    """k and alpha of each hop, for any polarization.

    tilt_deg: 0 horizontal, 90 vertical, 45 circular. Below 1 GHz k is 0: no rain to speak of.
    Source: ITU-R P.838-3.
    Valid: 1 to 100 GHz (RANGES), to 1000 GHz by P.838-3 itself; below 1 GHz k is 0 and alpha that
    of 1 GHz.
    >>> k, alpha = coefficients(frequency_ghz=np.array([18.7]), tilt_deg=90.0)
    >>> print(k[0], alpha[0])
    0.083584 0.99571
    """
    frequency_ghz = np.asarray(frequency_ghz, dtype=float)
    log_f = np.log10(np.maximum(frequency_ghz, FREQUENCY_MIN_GHZ))
    pair = {
        "k_h": 10 ** _fit(log_f, K_H),
        "k_v": 10 ** _fit(log_f, K_V),
        "tilt_deg": tilt_deg,
        "elevation_deg": elevation_deg,
    }
    k = polarized_k(**pair)
    alpha = polarized_alpha(**pair, alpha_h=_fit(log_f, ALPHA_H), alpha_v=_fit(log_f, ALPHA_V), k=k)
    return np.where(frequency_ghz < FREQUENCY_MIN_GHZ, 0.0, k), alpha


def polarized_k(
    *, k_h: Figure, k_v: Figure, tilt_deg: Figure, elevation_deg: Figure = 0.0
) -> Figure:
    """k for a polarization between horizontal and vertical [-]. Source: P.838-3 eq. (4).

    k_h, k_v: horizontal and vertical.
    Valid: k of 0 or more, any tilt, elevation 0 to 90.

    >>> print(polarized_k(k_h=0.400108, k_v=0.384403, tilt_deg=45.0))
    0.392256
    """
    q = np.cos(np.radians(elevation_deg)) ** 2 * np.cos(np.radians(2 * tilt_deg))
    return (k_h + k_v + (k_h - k_v) * q) / 2


def polarized_alpha(
    *,
    k_h: Figure,
    k_v: Figure,
    alpha_h: Figure,
    alpha_v: Figure,
    k: Figure,
    tilt_deg: Figure,
    elevation_deg: Figure = 0.0,
) -> Figure:
    """alpha for a polarization between horizontal and vertical [-]. Source: P.838-3 eq. (5).

    k_h, k_v, alpha_h, alpha_v: horizontal and vertical. k: `polarized_k`.
    Valid: k above 0: 0 divides by zero. Any tilt, elevation 0 to 90.

    >>> print(polarized_alpha(k_h=0.400108, k_v=0.384403, alpha_h=0.88156, alpha_v=0.85522,
    ...     k=0.400108, tilt_deg=0.0))
    0.88156
    """
    q = np.cos(np.radians(elevation_deg)) ** 2 * np.cos(np.radians(2 * tilt_deg))
    return (k_h * alpha_h + k_v * alpha_v + (k_h * alpha_h - k_v * alpha_v) * q) / (2 * k)


def specific_attenuation_db_per_km(*, k: Figure, alpha: Figure, rain_mm_per_h: Figure) -> Figure:
    """Attenuation of rain per kilometre [dB/km]. Source: ITU-R P.838-3 eq. (1).

    k, alpha: `coefficients`.
    Valid: rain_mm_per_h 0 or more; below 0 NaN or a complex number.

    >>> print(specific_attenuation_db_per_km(k=0.400108, alpha=0.88156, rain_mm_per_h=40.0))
    10.339
    """
    return k * rain_mm_per_h**alpha


def distance_factor(
    *, distance_km: Figure, frequency_ghz: Figure, alpha: Figure, rain_mm_per_h: Figure
) -> Figure:
    """Effective share r of the path in rain [-], at most 2.5; distance_km above 0.

    The limit is set on the denominator, which turns negative on long paths with little rain.
    Beyond 27 km at a few GHz the printed law makes A0.01 fall by up to 9 % where rain grows.
    Source: ITU-R P.530-18 sec. 2.4.1.
    alpha: `coefficients`.
    Valid: 0 to 60 km, 1 to 100 GHz (RANGES), rain 0 or more; held at 2.5, beyond 60 km it goes on
    and a note says so.
    >>> print(distance_factor(distance_km=2, frequency_ghz=38, alpha=0.88156, rain_mm_per_h=42.0))
    1.0246
    """
    denominator = 0.477 * distance_km**0.633 * rain_mm_per_h ** (
        0.073 * alpha
    ) * frequency_ghz**0.123 - 10.579 * (1 - np.exp(-0.024 * distance_km))
    return 1 / np.maximum(denominator, 1 / LARGEST_DISTANCE_FACTOR)


def exceeded_0_01_db(
    *, rain_db_per_km: Figure, distance_km: Figure, distance_factor: Figure
) -> Figure:
    """Attenuation exceeded in 0.01 % of the year [dB]. Source: ITU-R P.530-18 sec. 2.4.1.

    distance_factor: `distance_factor`.
    Valid: figures of 0 or more, 0 to 60 km (RANGES); beyond it goes on.

    >>> print(exceeded_0_01_db(rain_db_per_km=10.793, distance_km=2, distance_factor=1.0246))
    22.117
    """
    return rain_db_per_km * distance_km * distance_factor


def frequency_exponent(*, frequency_ghz: Figure) -> Figure:
    """C0 of the time law [-]. Source: ITU-R P.530-18 sec. 2.4.1.

    The printed log10(f/10)^0.8 is read as 0.8 log10(f/10): the reading of the ITU-R Study Group 3
    code, and the more cautious. The other reading gives 2 to 4 % less at the ends of the range.
    Valid: 1 to 100 GHz (RANGES); held at its 10 GHz value below, as the clause has it.
    >>> print(frequency_exponent(frequency_ghz=38))
    0.30553
    """
    return 0.12 + 0.32 * np.log10(np.maximum(frequency_ghz, 10) / 10)


def exceeded_db(*, exceeded_0_01_db: Figure, frequency_exponent: Figure, percent: Figure) -> Figure:
    """Attenuation exceeded in a percentage of the year [dB].

    percent: 0.001 to 1, of the year. Source: ITU-R P.530-18 sec. 2.4.1.
    frequency_exponent: `frequency_exponent`.
    Valid: 0.001 to 1 % (RANGES); outside it goes on unbacked, 0 gives 0 with numpy's warning.
    >>> print(exceeded_db(exceeded_0_01_db=22.1181, frequency_exponent=0.30553, percent=0.1))
    8.327
    """
    c1 = 0.07**frequency_exponent * 0.12 ** (1 - frequency_exponent)
    c2 = 0.546 + 0.309 * frequency_exponent
    c3 = 0.043 + 0.096 * frequency_exponent
    return exceeded_0_01_db * c1 * percent ** -(c2 + c3 * np.log10(percent))


def outage_percent(
    *, margin_db: Figure, exceeded_0_01_db: Figure, frequency_exponent: Figure
) -> Figure:
    """Percentage of the year in which rain takes more than the margin [%], 0.001 to 1.

    Closed inverse of `exceeded_db`, held to its range; `outage_bound` tells where it was.
    Source: ITU-R P.530-18 sec. 2.4.1, solved for p.
    frequency_exponent: `frequency_exponent`.
    Valid: any margin; held between 0.001 and 1 %, where `outage_bound` says better or worse than.
    No rain gives 0.001.
    >>> print(outage_percent(margin_db=30, exceeded_0_01_db=22.1181, frequency_exponent=0.30553))
    0.0038467
    """
    c1 = 0.07**frequency_exponent * 0.12 ** (1 - frequency_exponent)
    c2 = 0.546 + 0.309 * frequency_exponent
    c3 = 0.043 + 0.096 * frequency_exponent
    u = np.log10(np.maximum(margin_db, SMALLEST_DB)) - np.log10(
        c1 * np.maximum(exceeded_0_01_db, SMALLEST_DB / 1e3)
    )
    # beyond the turning point of the law no time is left: the lower end of the range
    log_percent = (np.sqrt(np.maximum(c2**2 - 4 * c3 * u, 0)) - c2) / (2 * c3)
    return 10 ** np.minimum(np.maximum(log_percent, -3), 0)


def outage_bound(*, outage_percent: Figure) -> Figure:
    """Sign [-]: -1, truly less than the figure ("better than"); 1: truly more ("worse than"); else 0.

    Valid: 0.001 to 1 %; NaN gives 0.
    Source: ITU-R P.530-18 sec. 2.4.1, the range of its step 5.

    >>> print(outage_bound(outage_percent=0.001))
    -1
    """
    return np.where(outage_percent <= 0.001, -1, np.where(outage_percent >= 1, 1, 0))


def rain_height_m(*, latitude_deg: Figure) -> Figure:
    """Mean height of melting over the sea, by latitude [m]; north positive.

    Source: ITU-R P.839-2, from memory; later editions have a map instead.
    Valid: latitude -90 to 90; held at 0 near the poles.
    >>> print(rain_height_m(latitude_deg=np.array([0.0, 43.0, -41.0])))
    [5000. 3500. 3000.]
    """
    north = 5000 - 75 * np.maximum(latitude_deg - 23, 0)
    south = 5000 - 100 * np.maximum(-latitude_deg - 21, 0)
    return np.maximum(np.where(latitude_deg >= 0, north, south), 0)


def wet_snow_possible(*, height1_m: Figure, height2_m: Figure, rain_height_m: Figure) -> Figure:
    """Whether melting snow may add to the rain: its combined method is not computed here.

    height1_m, height2_m: antennas above sea level. rain_height_m: mean, by ITU-R P.839.
    Source: ITU-R P.530-18 sec. 2.4.2.
    Valid: any heights; NaN gives False, as no height is known.
    >>> print(wet_snow_possible(height1_m=900, height2_m=1200, rain_height_m=2800))
    True
    """
    lower, upper = np.minimum(height1_m, height2_m), np.maximum(height1_m, height2_m)
    return np.logical_and(upper > rain_height_m - 3600, lower < rain_height_m + 2400)
