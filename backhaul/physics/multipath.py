"""How often clear-air multipath occurs: ITU-R P.530-17 and the other method of P.530-18 and -19.

The two differ by up to ten times, so `occurrence` says which one stood. A specular null over
water is in neither: see `reflection`.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("multipath, default", "ITU-R P.530", "17 (12/2017) sec. 2.3, dN1 and terrain roughness"),
    Method("multipath, with log K and dN75", "ITU-R P.530", "19 (09/2025) sec. 2.3"),
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
    "lowest_frequency_ghz",
)

NO_MULTIPATH_KM = 5.0  # P.530-18 and -19 sec. 2.3.1
METHOD_NAMES = ("none", "P.530-17 quick", "P.530-17 detailed", "P.530-19")


def inclination_mrad(*, distance_km: Figure, height1_m: Figure, height2_m: Figure) -> Figure:
    """Inclination of the path [mrad], antennas above sea level.

    Valid: distance_km above 0; 0 divides by zero.
    Source: ITU-R P.530-17 sec. 2.3.1.

    >>> print(inclination_mrad(distance_km=30.0, height1_m=60, height2_m=90))
    1.0
    """
    return np.abs(height1_m - height2_m) / distance_km


def lowest_frequency_ghz(*, distance_km: Figure) -> Figure:
    """Lowest frequency for which P.530-18 states its method valid [GHz].

    Valid: distance_km above 0; 0 divides by zero. Below that frequency `occurrence` still answers
    and a note says so.
    Source: ITU-R P.530-18 sec. 2.3.1.

    >>> lowest_frequency_ghz(distance_km=30)
    0.5
    """
    return 15 / distance_km


def detailed_factor(*, dn1_n_per_km: Figure, roughness_m: Figure) -> Figure:
    """Geoclimatic factor K with the terrain's roughness [-]. Source: ITU-R P.530-17 sec. 2.3.1.

    dn1_n_per_km: gradient of the lowest 65 m not exceeded in 1 % of the year (P.453), negative.
    Valid: dn1 -800 to 0 N/km, roughness 0 or more; outside it goes on, a roughness below -10 m
    gives NaN or a complex number.
    >>> print(detailed_factor(dn1_n_per_km=-300, roughness_m=42))
    4.17483e-05
    """
    return 10 ** (-4.4 - 0.0027 * dn1_n_per_km) * (10 + roughness_m) ** -0.46


def quick_factor(*, dn1_n_per_km: Figure) -> Figure:
    """Geoclimatic factor K for quick planning [-]. Source: ITU-R P.530-17 sec. 2.3.1.

    Valid: dn1 -800 to 0 N/km; outside the exponential goes on.

    >>> print(quick_factor(dn1_n_per_km=-300))
    0.000162181
    """
    return 10 ** (-4.6 - 0.0027 * dn1_n_per_km)


def detailed_occurrence_percent(
    *,
    factor: Figure,
    distance_km: Figure,
    frequency_ghz: Figure,
    inclination_mrad: Figure,
    lower_height_m: Figure,
) -> Figure:
    """Multipath occurrence p0 of the worst month [%], may exceed 100. Source: P.530-17 sec. 2.3.1.

    factor: from `detailed_factor`. lower_height_m: lower antenna above sea level.
    Valid: above 5 km to 200 km, up to 45 GHz (RANGES), inclination 0 or more; shorter hops go on
    here and get 0 in `occurrence`.
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
    *,
    factor: Figure,
    distance_km: Figure,
    frequency_ghz: Figure,
    inclination_mrad: Figure,
    lower_height_m: Figure,
) -> Figure:
    """Multipath occurrence p0 of the worst month [%], quick. P.530-17, from memory.

    factor: from `quick_factor`. lower_height_m: lower antenna above sea level.
    Valid: above 5 km to 200 km, up to 45 GHz (RANGES), inclination 0 or more; shorter hops go on
    here and get 0 in `occurrence`.
    Source: ITU-R P.530-17 sec. 2.3.1, from memory.

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


def path_height_m(
    *, distance_km: Figure, height1_m: Figure, height2_m: Figure, terrain_m: Figure
) -> Figure:
    """Height h_c of the path over the mean terrain [m]. Source: P.530-19 sec. 2.3.1.

    Valid: any figures; negative where the ground stands above the sagging path.

    >>> print(path_height_m(distance_km=30, height1_m=120, height2_m=80, terrain_m=30))
    61.176
    """
    return (height1_m + height2_m) / 2 - distance_km**2 / 102 - terrain_m


def surface_reflection(
    *, dn75: Figure, distance_km: Figure, frequency_ghz: Figure, path_height_m: Figure
) -> Figure:
    """Surface reflection term v_sr [-]. Source: P.530-19 sec. 2.3.1.

    dn75: gradient of the lowest 65 m by the clause's map [N units].
    Valid: dn75 and frequency_ghz 0 or more, distance_km above 0; held at the clause's limit, which
    falls with dn75, distance and frequency. 0 km divides by zero.

    >>> print(surface_reflection(dn75=11.6, distance_km=30, frequency_ghz=8, path_height_m=61.176))
    0.00083
    """
    limit = dn75 * distance_km**1.5 * frequency_ghz**0.5 / 24730
    fall = np.exp(-path_height_m / (2.5 * np.sqrt(distance_km)))
    return np.minimum((dn75 / 50) ** 1.8 * fall, limit)


def log_k_occurrence_percent(
    *,
    log_k: Figure,
    surface_reflection: Figure,
    distance_km: Figure,
    frequency_ghz: Figure,
    inclination_mrad: Figure,
    lower_height_m: Figure,
    path_height_m: Figure,
) -> Figure:
    """Multipath occurrence p0 of the worst month [%]. Source: P.530-19 sec. 2.3.1.

    log_k: of the clause's map [-]. surface_reflection: `surface_reflection`.
    Valid: above 5 km to 200 km, up to 45 GHz (RANGES), inclination 0 or more; shorter hops go on
    here and get 0 in `occurrence`.

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


class Occurrence(NamedTuple):
    """Arrays over hops; `method` indexes METHOD_NAMES, `factor` is K."""

    percent: np.ndarray
    factor: np.ndarray
    method: np.ndarray


def occurrence(
    *,
    distance_km: Figure,
    frequency_ghz: Figure,
    height1_m: Figure,
    height2_m: Figure,
    dn1_n_per_km: Figure,
    roughness_m: Figure = np.nan,
    log_k: Figure = np.nan,
    dn75: Figure = np.nan,
    terrain_m: Figure = np.nan,
) -> Figure:
    """Multipath occurrence p0 of each hop [% of the worst month], by what is known of the place.

    log_k, dn75 and terrain_m given: P.530-19; else roughness_m given: P.530-17 detailed; else
    P.530-17 quick. NaN stands for unknown. Heights above sea level; terrain_m: mean of the path.
    Up to 5 km the answer is 0.
    Valid: above 5 km to 200 km, up to 45 GHz (RANGES): up to 5 km 0 by the clause, beyond the rest
    the laws go on and a note says so.
    Source: ITU-R P.530-17 and -19 sec. 2.3.1.
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
    percent: Figure = np.where(
        detailed,
        detailed_occurrence_percent(factor=full_k, **hop),
        quick_occurrence_percent(factor=quick_k, **hop),
    )
    factor: Figure = np.where(detailed, full_k, quick_k)
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
    method: Figure = np.where(short, 0, np.where(maps, 3, np.where(detailed, 2, 1)))
    return Occurrence(np.where(short, 0.0, percent), factor, method)
