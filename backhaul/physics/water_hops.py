"""Hops over water as arrays: their levels, the k to sweep and how finely."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import water
from backhaul.physics.free_space import wavelength_m
from backhaul.physics.water_strips import Strips, water_all_along

METHODS = (Method("levels and refraction that are swept", "ITU-R P.530", "19 (09/2025) sec. 6.1"),)
RANGES = {"levels_per_hop": (1, 4001)}

CELL_FORMULAS = ()

OTHER_K_FACTORS = (1.0, 4 / 3, 3.0)  # beside the worst one
STEPS_PER_CYCLE = 8  # of the path difference, so that each step holds one null at most
FEWEST_STEPS, MOST_STEPS = 32, 4000


class Hops(NamedTuple):
    """Hops over water: arrays of one length. Heights and levels share one datum."""

    distance_km: np.ndarray
    height1_m: np.ndarray
    height2_m: np.ndarray
    water_low_m: np.ndarray
    water_high_m: np.ndarray
    worst_k_factor: np.ndarray
    frequency_ghz: np.ndarray
    vertical: np.ndarray
    permittivity: np.ndarray
    deviation_m: np.ndarray
    beamwidth1_deg: np.ndarray
    beamwidth2_deg: np.ndarray
    strips: Strips

    def at(self, index):
        """The hops of an index array, repeated as it says."""
        return Hops(*(part[index] for part in self))


def hops_over_water(
    *,
    distance_km: Figure,
    height1_m: Figure,
    height2_m: Figure,
    water_low_m: Figure,
    water_high_m: Figure,
    worst_k_factor: Figure,
    frequency_ghz: Figure,
    vertical: Figure,
    salinity_g_per_kg: Figure,
    temperature_c: Figure = water.WATER_TEMPERATURE_C,
    deviation_m: Figure = 0.0,
    beamwidth1_deg: Figure = np.inf,
    beamwidth2_deg: Figure = np.inf,
    strips: Figure = None,
) -> Figure:
    """Hops as arrays of one length, with the permittivity of their water.

    A hop over two bodies of water is two entries, each with its own strips.

    deviation_m: 0 for calm water, a quarter of the significant wave height for rough.
    salinity_g_per_kg: 35 for sea, 0 for fresh water. strips: `water_strips.wet_strips`, one
    count a hop; water all along if None.
    worst_k_factor: `geometry.worst_k_factor`. vertical: polarization.
    Valid: water and heights on one datum, 0 to 40 g/kg and -4 to 40 C (`water`); a range given
    upside down is turned, NaN passes through.
    Source: ITU-R P.527-6 for the water.
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=2.0,
    ...     water_high_m=-2.5, worst_k_factor=0.6, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> print(hop.water_low_m[0], hop.permittivity[0])
    -2.5 (65.023-34.874j)
    """
    parts = np.broadcast_arrays(
        *np.atleast_1d(
            distance_km,
            height1_m,
            height2_m,
            water_low_m,
            water_high_m,
            worst_k_factor,
            frequency_ghz,
            vertical,
            salinity_g_per_kg,
            temperature_c,
            deviation_m,
            beamwidth1_deg,
            beamwidth2_deg,
        )
    )
    eps = water.permittivity(
        frequency_ghz=parts[6], salinity_g_per_kg=parts[8], temperature_c=parts[9]
    )
    numbers = [part.astype(float) for part in parts[:7]]
    numbers[3:5] = np.minimum(*numbers[3:5]), np.maximum(*numbers[3:5])
    rest = (p.astype(float) for p in parts[10:])
    strips = water_all_along(parts[0].size) if strips is None else strips
    return Hops._make([*numbers, parts[7].astype(bool), eps, *rest, strips])


def k_factors(hops: Figure) -> Figure:
    """k to sweep [hop, k].

    hops: `hops_over_water`.
    Valid: any hops; the worst k first.
    Source: worst k ITU-R P.530-19 sec. 2.2.2; 1, 4/3 and 3 common practice.
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=0.0,
    ...     water_high_m=0.0, worst_k_factor=0.6, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> print(k_factors(hop))
    [[0.6        1.         1.33333333 3.        ]]
    """
    count = hops.distance_km.size
    return np.column_stack([hops.worst_k_factor] + [np.full(count, k) for k in OTHER_K_FACTORS])


def steps_of(hops: Figure) -> Figure:
    """Number of steps of the level, by the change of the flat-earth path difference.

    hops: `hops_over_water`.
    Valid: distance and frequency above 0; held at 32 to 4000, 0 where the water stands still or its
    range is not known, 32 where another figure is not.
    Source: flat-earth path difference, ITU-R P.530 sec. 6.1.
    >>> hop = hops_over_water(distance_km=12.0, height1_m=20.0, height2_m=16.0, water_low_m=0.0,
    ...     water_high_m=[0.0, 1.0], worst_k_factor=0.6, frequency_ghz=5.8, vertical=False,
    ...     salinity_g_per_kg=35.0)
    >>> steps_of(hop).tolist()
    [0, 32]
    """
    span = hops.water_high_m - hops.water_low_m
    per_m = (
        2
        * (hops.height1_m + hops.height2_m - 2 * hops.water_low_m)
        / (1000 * hops.distance_km * wavelength_m(frequency_ghz=hops.frequency_ghz))
    )
    wanted = np.ceil(STEPS_PER_CYCLE * np.abs(span * per_m))
    wanted = np.where(np.isfinite(wanted), wanted, FEWEST_STEPS)
    return np.where(span > 0, np.clip(wanted, FEWEST_STEPS, MOST_STEPS), 0).astype(int)
