"""Clear-air multipath fading: ITU-R P.530-17 and the other method of P.530-18 and -19.

The two differ by up to ten times, so `occurrence` says which one stood. A specular null over
water is in neither: see `reflection`.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Method

METHODS = (
    Method("multipath, default", "ITU-R P.530", "17 (12/2017) sec. 2.3, dN1 and terrain roughness"),
    Method("multipath, with log K and dN75", "ITU-R P.530", "19 (09/2025) sec. 2.3"),
    Method("multipath, all percentages", "ITU-R P.530", "17 (12/2017) sec. 2.3.2"),
    Method("worst month to year", "ITU-R P.530", "17 (12/2017) sec. 2.3.4, limit the smaller"),
)
RANGES = {
    "frequency_ghz": (0.0, 45.0),  # P.530-18 sec. 2.3.1; its lower end is 15 / distance_km
    "distance_km": (5.0, 200.0),  # P.530-18: no multipath up to 5 km
}

CELL_FORMULAS = (
    "detailed_factor",
    "quick_factor",
    "detailed_occurrence_percent",
    "quick_occurrence_percent",
    "inclination_mrad",
    "path_height_m",
    "surface_reflection",
    "log_k_occurrence_percent",
    "deep_fading_percent",
    "transition_db",
    "transition_percent",
    "transition_q",
    "shallow_q",
    "shallow_fading_percent",
    "year_gain_db",
    "year_percent",
    "lowest_frequency_ghz",
)

NO_MULTIPATH_KM = 5.0  # P.530-18 and -19 sec. 2.3.1
SMALLEST_PERCENT = 1e-12  # keeps logarithms finite
LARGEST_TRANSITION_PERCENT = 99.0  # a transition above it (p0 over 1e5) has no meaning
METHOD_NAMES = ("none", "P.530-17 quick", "P.530-17 detailed", "P.530-19")


def inclination_mrad(*, distance_km, height1_m, height2_m):
    """Inclination of the path [mrad], antennas above sea level.

    >>> print(inclination_mrad(distance_km=30.0, height1_m=60, height2_m=90))
    1.0
    """
    return np.abs(height1_m - height2_m) / distance_km


def lowest_frequency_ghz(*, distance_km):
    """Lowest frequency for which P.530-18 states its method valid [GHz].

    >>> lowest_frequency_ghz(distance_km=30)
    0.5
    """
    return 15 / distance_km


def detailed_factor(*, dn1_n_per_km, roughness_m):
    """Geoclimatic factor K with the terrain's roughness. Source: ITU-R P.530-17 sec. 2.3.1.

    dn1_n_per_km: gradient of the lowest 65 m not exceeded in 1 % of the year (P.453), negative.
    >>> print(detailed_factor(dn1_n_per_km=-300, roughness_m=42))
    4.17483e-05
    """
    return 10 ** (-4.4 - 0.0027 * dn1_n_per_km) * (10 + roughness_m) ** -0.46


def quick_factor(*, dn1_n_per_km):
    """Geoclimatic factor K for quick planning. Source: ITU-R P.530-17 sec. 2.3.1.

    >>> print(quick_factor(dn1_n_per_km=-300))
    0.000162181
    """
    return 10 ** (-4.6 - 0.0027 * dn1_n_per_km)


def detailed_occurrence_percent(
    *, factor, distance_km, frequency_ghz, inclination_mrad, lower_height_m
):
    """Multipath occurrence p0 of the worst month [%], may exceed 100. Source: P.530-17 sec. 2.3.1.

    factor: from `detailed_factor`. lower_height_m: lower antenna above sea level.
    >>> print(detailed_occurrence_percent(factor=4.17483e-5, distance_km=30, frequency_ghz=6.5,
    ...     inclination_mrad=20 / 30, lower_height_m=60))
    10.4491
    """
    return (
        factor
        * distance_km**3.4
        * (1 + inclination_mrad) ** -1.03
        * frequency_ghz**0.8
        * 10 ** (-0.00076 * lower_height_m)
    )


def quick_occurrence_percent(
    *, factor, distance_km, frequency_ghz, inclination_mrad, lower_height_m
):
    """Multipath occurrence p0 of the worst month [%], quick. P.530-17, from memory.

    >>> print(quick_occurrence_percent(factor=1.62181e-4, distance_km=30, frequency_ghz=6.5,
    ...     inclination_mrad=20 / 30, lower_height_m=60))
    12.5841
    """
    return (
        factor
        * distance_km**3.1
        * (1 + inclination_mrad) ** -1.29
        * frequency_ghz**0.8
        * 10 ** (-0.00089 * lower_height_m)
    )


def path_height_m(*, distance_km, height1_m, height2_m, terrain_m):
    """Height h_c of the path over the mean terrain [m]. Source: P.530-19 sec. 2.3.1.

    >>> print(path_height_m(distance_km=30, height1_m=120, height2_m=80, terrain_m=30))
    61.176
    """
    return (height1_m + height2_m) / 2 - distance_km**2 / 102 - terrain_m


def surface_reflection(*, dn75, distance_km, frequency_ghz, path_height_m):
    """Surface reflection term v_sr [-]. Source: P.530-19 sec. 2.3.1.

    >>> print(surface_reflection(dn75=11.6, distance_km=30, frequency_ghz=8, path_height_m=61.176))
    0.00083
    """
    limit = dn75 * distance_km**1.5 * frequency_ghz**0.5 / 24730
    fall = np.exp(-path_height_m / (2.5 * np.sqrt(distance_km)))
    return np.minimum((dn75 / 50) ** 1.8 * fall, limit)


def log_k_occurrence_percent(
    *,
    log_k,
    surface_reflection,
    distance_km,
    frequency_ghz,
    inclination_mrad,
    lower_height_m,
    path_height_m,
):
    """Multipath occurrence p0 of the worst month [%]. Source: P.530-19 sec. 2.3.1.

    >>> print(log_k_occurrence_percent(log_k=-5.24, surface_reflection=0.000827, distance_km=30,
    ...     frequency_ghz=8, inclination_mrad=40 / 30, lower_height_m=80, path_height_m=61.17647))
    4.2804
    """
    # tanh by exp, which a spreadsheet formula and a cell share; held where it is 1 to 15 digits
    x = np.minimum(np.maximum((path_height_m - 147) / 125, -20), 20)
    tanh = 1 - 2 / (np.exp(2 * x) + 1)
    return (
        10**log_k
        * distance_km**3.51
        * (frequency_ghz**2 + 13) ** 0.447
        * 10
        ** (
            -0.376 * tanh
            - 0.334 * inclination_mrad**0.39
            - 0.00027 * lower_height_m
            + 17.85 * surface_reflection
        )
    )


def deep_fading_percent(*, occurrence_percent, fade_db):
    """Time in which a deep fade is exceeded [% of the worst month]. Source: P.530-17 sec. 2.3.1.

    >>> print(deep_fading_percent(occurrence_percent=10.4491, fade_db=30))
    0.0104491
    """
    return np.minimum(occurrence_percent * 10 ** (-fade_db / 10), 100)


def transition_db(*, occurrence_percent):
    """Fade at which the deep law takes over [dB]. Source: P.530-17 sec. 2.3.2.

    >>> print(transition_db(occurrence_percent=10.4491))
    26.223
    """
    return 25 + 1.2 * np.log10(np.maximum(occurrence_percent, SMALLEST_PERCENT))


def transition_percent(*, occurrence_percent, transition_db):
    """Time in which the transition fade is exceeded [%]. Source: P.530-17 sec. 2.3.2.

    >>> print(transition_percent(occurrence_percent=10.4491, transition_db=26.2229))
    0.02494
    """
    at = np.maximum(occurrence_percent, SMALLEST_PERCENT) * 10 ** (-transition_db / 10)
    return np.minimum(at, LARGEST_TRANSITION_PERCENT)


def transition_q(*, transition_db, transition_percent):
    """q_t of the shallow law. Source: P.530-17 sec. 2.3.2.

    >>> print(transition_q(transition_db=26.2229, transition_percent=0.02494))
    1.58614
    """
    x = transition_percent / 100
    share = np.where(x < 1e-5, x + x**2 / 2, -np.log(1 - x))
    q_at = -20 * np.log10(share) / transition_db
    amplitude = 10 ** (-transition_db / 20)
    return (q_at - 2) / ((1 + 0.3 * amplitude) * 10 ** (-0.016 * transition_db)) - 4.3 * (
        amplitude + transition_db / 800
    )


def shallow_q(*, transition_q, fade_db):
    """q_a of the shallow law. Source: P.530-17 sec. 2.3.2.

    >>> print(shallow_q(transition_q=1.58614, fade_db=10))
    4.27
    """
    amplitude = 10 ** (-fade_db / 20)
    return 2 + (1 + 0.3 * amplitude) * 10 ** (-0.016 * fade_db) * (
        transition_q + 4.3 * (amplitude + fade_db / 800)
    )


def shallow_fading_percent(*, shallow_q, fade_db):
    """Time in which a shallow fade is exceeded [% of the worst month]. Source: P.530-17 sec. 2.3.2.

    >>> print(shallow_fading_percent(shallow_q=4.27, fade_db=10))
    0.730
    """
    x = 10 ** (-shallow_q * fade_db / 20)
    return 100 * np.where(x < 1e-5, x - x**2 / 2, 1 - np.exp(-x))


def fading_percent(*, occurrence_percent, fade_db):
    """Time in which a fade is exceeded [% of the worst month], deep or shallow.

    fade_db: 0 or more. The branches meet within about 1 %. Source: P.530-17 sec. 2.3.2.
    >>> print(fading_percent(occurrence_percent=10.4491, fade_db=10))
    0.72822
    """
    fade_db = np.maximum(fade_db, 0.0)
    edge = transition_db(occurrence_percent=occurrence_percent)
    edge_percent = transition_percent(occurrence_percent=occurrence_percent, transition_db=edge)
    q_t = transition_q(transition_db=edge, transition_percent=edge_percent)
    q_a = shallow_q(transition_q=q_t, fade_db=np.minimum(fade_db, edge))
    shallow = shallow_fading_percent(shallow_q=q_a, fade_db=np.minimum(fade_db, edge))
    deep = deep_fading_percent(occurrence_percent=occurrence_percent, fade_db=fade_db)
    return np.where(occurrence_percent <= 0, 0.0, np.where(fade_db >= edge, deep, shallow))


def year_gain_db(*, latitude_deg, distance_km, inclination_mrad):
    """Logarithmic ratio of the worst month to the year [dB], at most 10.8.

    The limit is read as the smaller ("dG <= 10.8 dB"). Source: P.530-17 sec. 2.3.4.
    >>> print(year_gain_db(latitude_deg=45, distance_km=50, inclination_mrad=2))
    6.4921
    """
    swing = np.abs(np.cos(np.radians(2 * latitude_deg))) ** 0.7
    inner = np.where(np.abs(latitude_deg) <= 45, 1.1 + swing, 1.1 - swing)
    gain = (
        10.5
        - 5.6 * np.log10(inner)
        - 2.7 * np.log10(distance_km)
        + 1.7 * np.log10(1 + inclination_mrad)
    )
    return np.minimum(gain, 10.8)


def year_percent(*, worst_month_percent, year_gain_db):
    """Percentage of the year from that of the worst month [%]. Source: P.530-17 sec. 2.3.4.

    >>> print(year_percent(worst_month_percent=0.0104491, year_gain_db=6.6571))
    0.0022561
    """
    return worst_month_percent * 10 ** (-year_gain_db / 10)


class Occurrence(NamedTuple):
    """Arrays over hops; `method` indexes METHOD_NAMES, `factor` is K."""

    percent: np.ndarray
    factor: np.ndarray
    method: np.ndarray


def occurrence(
    *,
    distance_km,
    frequency_ghz,
    height1_m,
    height2_m,
    dn1_n_per_km,
    roughness_m=np.nan,
    log_k=np.nan,
    dn75=np.nan,
    terrain_m=np.nan,
):
    """Multipath occurrence p0 of each hop [% of the worst month], by what is known of the place.

    log_k, dn75 and terrain_m given: P.530-19; else roughness_m given: P.530-17 detailed; else
    P.530-17 quick. NaN stands for unknown. Heights above sea level; terrain_m: mean of the path.
    Up to 5 km the answer is 0.
    >>> o = occurrence(distance_km=[30.0, 4.0], frequency_ghz=6.5, height1_m=60.0, height2_m=80.0,
    ...     dn1_n_per_km=-300.0, roughness_m=[42.0, 42.0])
    >>> print(o.percent[0], METHOD_NAMES[o.method[0]], o.percent[1], METHOD_NAMES[o.method[1]])
    10.4491 P.530-17 detailed 0.0 none
    """
    d, f, h1, h2, dn1, rough, log_k, dn75, terrain = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(x, dtype=float))
            for x in (
                distance_km,
                frequency_ghz,
                height1_m,
                height2_m,
                dn1_n_per_km,
                roughness_m,
                log_k,
                dn75,
                terrain_m,
            )
        )
    )
    hop = {
        "distance_km": d,
        "frequency_ghz": f,
        "lower_height_m": np.minimum(h1, h2),
        "inclination_mrad": inclination_mrad(distance_km=d, height1_m=h1, height2_m=h2),
    }
    short = d <= NO_MULTIPATH_KM
    maps = ~np.isnan(log_k) & ~np.isnan(dn75) & ~np.isnan(terrain)
    detailed = ~maps & ~np.isnan(rough)

    quick_k = quick_factor(dn1_n_per_km=dn1)
    full_k = detailed_factor(dn1_n_per_km=dn1, roughness_m=np.where(detailed, rough, 0.0))
    percent = np.where(
        detailed,
        detailed_occurrence_percent(factor=full_k, **hop),
        quick_occurrence_percent(factor=quick_k, **hop),
    )
    factor = np.where(detailed, full_k, quick_k)
    if maps.any():
        log_k, dn75, terrain = (
            np.where(maps, x, y) for x, y in ((log_k, -4.5), (dn75, 1.0), (terrain, 0.0))
        )
        over = path_height_m(distance_km=d, height1_m=h1, height2_m=h2, terrain_m=terrain)
        v_sr = surface_reflection(dn75=dn75, distance_km=d, frequency_ghz=f, path_height_m=over)
        by_maps = log_k_occurrence_percent(
            log_k=log_k, surface_reflection=v_sr, path_height_m=over, **hop
        )
        percent, factor = np.where(maps, by_maps, percent), np.where(maps, 10**log_k, factor)
    method = np.where(short, 0, np.where(maps, 3, np.where(detailed, 2, 1)))
    return Occurrence(np.where(short, 0.0, percent), factor, method)
