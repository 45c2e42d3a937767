"""Twisted pairs and conductors: resistance, heat, reach and insertion loss."""

import math
from typing import NamedTuple

import numpy as np

from backhaul.methods import Method
from backhaul.units import M_PER_KM

METHODS = (
    Method("conductor resistance", "IEC 60228; ASTM B258", "2004; 2018"),
    Method("reach of warm twisted pairs", "TIA-568.2 Annex, horizontal length", "D (2018)"),
    Method("insertion loss of a copper channel", "ISO/IEC 11801", "2002 with A1, A2"),
)

RANGES = {
    # TIA-568.2-D Annex: the table begins at 20 C (no gain below) and ends at 60 C.
    "cable_temperature_c": (-math.inf, 60.0),
}

#: Rise of the resistance of copper [1/K, from 20 C]. IEC 60228 Annex, IEC 60909 (from memory);
#: the printed factors of IEC 60228:2004 Table B.1 follow 0.004 and differ by 0.4 % at 90 C.
COPPER_PER_K = 0.00393
REFERENCE_C = 20.0
#: Resistivity of annealed copper, 100 % IACS [ohm mm2/km] (ASTM B258).
COPPER_OHM_MM2_PER_KM = 17.241

#: Fixed cable in a 100 m channel with 10 m of cords [m] (TIA-568.2-D, ISO/IEC 11801-1).
FIXED_LENGTH_M = 90.0
#: Fixed length allowed at the mean temperature of the cable [C: m]. TIA-568.2-D Annex
#: (informative), from memory but for the 84 m at 40 C.
_TEMPERATURE_C = (20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
_UNSCREENED_M = (90.0, 89.0, 87.0, 85.5, 84.0, 81.7, 79.5, 77.2, 75.0)
_SCREENED_M = (90.0, 89.5, 88.5, 87.7, 87.0, 86.5, 85.5, 84.7, 83.0)


class ChannelClass(NamedTuple):
    """Coefficients of the insertion loss of a 100 m channel at 20 C, f in MHz."""

    category: str
    length_factor: float
    per_root_mhz: float
    per_mhz: float
    root_mhz: float
    connector_per_root_mhz: float
    connectors: int
    frequency_max_mhz: float
    floor_db: float


#: ISO/IEC 11801:2002 with A1 and A2, channel insertion loss (coefficients from memory; they give
#: the published limits of classes E and EA).
CHANNEL_CLASSES = {
    "D": ChannelClass("Cat 5e", 1.05, 1.9108, 0.0222, 0.20, 0.04, 4, 100.0, 4.0),
    "E": ChannelClass("Cat 6", 1.05, 1.82, 0.0169, 0.25, 0.02, 4, 250.0, 4.0),
    "EA": ChannelClass("Cat 6A", 1.05, 1.82, 0.0091, 0.25, 0.02, 4, 500.0, 4.0),
}


def temperature_factor(*, temperature_c):
    """Resistance of a copper conductor over that at 20 C.

    Source: IEC 60228 Annex, IEC 60909: 1 + 0.00393 (T - 20).

    >>> print(temperature_factor(temperature_c=60))
    1.1572
    """
    return 1 + COPPER_PER_K * (temperature_c - REFERENCE_C)


def conductor_ohm_per_km(*, area_mm2):
    """Resistance of a solid conductor of annealed copper at 20 C [ohm/km].

    Source: 100 % IACS, ASTM B258. IEC 60228 allows a little more: use its table for feeds.

    >>> print(conductor_ohm_per_km(area_mm2=awg_area_mm2(gauge=24)))
    84.2
    """
    return COPPER_OHM_MM2_PER_KM / area_mm2


def awg_area_mm2(*, gauge):
    """Area of a solid wire of the American wire gauge [mm2].

    Source: ASTM B258, diameter 0.127 mm x 92 ^ ((36 - n) / 39).

    >>> print(awg_area_mm2(gauge=24))
    0.205
    """
    return math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2


def pairs_loop_ohm(*, ohm_per_km, length_m, pairs, temperature_c):
    """Resistance of a twisted-pair supply, out and back [ohm].

    ohm_per_km: one conductor at 20 C. pairs: 4 or 2, half of them each way, the two conductors
    of a pair side by side; 1 is the loop of a single pair, out on one conductor and back on the
    other. Source: IEEE 802.3-2018 Clauses 33 and 145 (from memory).

    >>> print(pairs_loop_ohm(ohm_per_km=93.8, length_m=100, pairs=2, temperature_c=20))
    9.38
    """
    factor = temperature_factor(temperature_c=temperature_c)
    return 2 * ohm_per_km * (length_m / M_PER_KM) * factor / pairs


def fixed_length_m(*, cable_temperature_c, screened):
    """Fixed cable allowed at a mean cable temperature [m]; array code.

    Straight lines between the rows of the table; 90 m below 20 C; above 60 C the slope of the
    last two rows goes on, which no standard backs (RANGES). Source: TIA-568.2-D Annex.

    >>> fixed_length_m(cable_temperature_c=[10, 40, 58, 70], screened=False)
    array([90. , 84. , 75.88, 70.6 ])
    """
    warm_c = np.asarray(cable_temperature_c, dtype=float)

    def read(row_m):
        slope = (row_m[-1] - row_m[-2]) / (_TEMPERATURE_C[-1] - _TEMPERATURE_C[-2])
        beyond_c = np.maximum(warm_c - _TEMPERATURE_C[-1], 0)
        return np.interp(warm_c, _TEMPERATURE_C, row_m) + slope * beyond_c

    return np.where(screened, read(_SCREENED_M), read(_UNSCREENED_M))


def reach_limit_m(*, reach_m, fixed_length_m):
    """Longest channel at the temperature of its cable, cords included [m].

    reach_m: of the standard at 20 C. Source: TIA-568.2-D Annex, less what 90 m shrink by.

    >>> reach_limit_m(reach_m=100.0, fixed_length_m=84.0)
    94.0
    """
    return reach_m - (FIXED_LENGTH_M - fixed_length_m)


def insertion_loss_db(
    *,
    frequency_mhz,
    length_factor,
    per_root_mhz,
    per_mhz,
    root_mhz,
    connector_per_root_mhz,
    connectors,
    floor_db,
):
    """Limit of the insertion loss of a copper channel [dB].

    Coefficients: CHANNEL_CLASSES. floor_db: a smaller limit reverts to it.
    Valid: 1 MHz to frequency_max_mhz of the class. Source: ISO/IEC 11801:2002 with A1 and A2.

    >>> print(insertion_loss_db(
    ...     frequency_mhz=250, length_factor=1.05, per_root_mhz=1.82, per_mhz=0.0169,
    ...     root_mhz=0.25, connector_per_root_mhz=0.02, connectors=4, floor_db=4.0))
    35.9
    """
    root = np.sqrt(frequency_mhz)
    cable_db = length_factor * (per_root_mhz * root + per_mhz * frequency_mhz + root_mhz / root)
    return np.maximum(cable_db + connectors * connector_per_root_mhz * root, floor_db)


CELL_FORMULAS = (
    "temperature_factor",
    "conductor_ohm_per_km",
    "awg_area_mm2",
    "pairs_loop_ohm",
    "reach_limit_m",
    "insertion_loss_db",
)
