"""Twisted pairs and conductors: resistance, heat, reach and insertion loss."""

import math

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.units import M_PER_KM

METHODS = (
    Method("conductor resistance", "IEC 60228; ASTM B258", "2004; 2018"),
    Method("reach of warm twisted pairs", "TIA-568.2 Annex, horizontal length", "D (2018)"),
    Method("cords of a twisted-pair channel", "TIA-568.2 cord length formula", "D (2018)"),
    Method("heat of cable bundles with PoE", "TIA TSB-184-A; ISO/IEC TS 29125", "2017; 2017"),
)

#: Fixed cable in a 100 m channel with 10 m of cords [m] (TIA-568.2-D, ISO/IEC 11801-1).
FIXED_LENGTH_M = 90.0
#: Longest channel of four pairs, which has so much fixed cable [m] (likewise).
CHANNEL_M = 100.0

RANGES = {
    # TIA-568.2-D Annex: the table begins at 20 C (no gain below) and ends at 60 C.
    "cable_temperature_c": (-math.inf, 60.0),
    # TIA-568.2-D, cord length formula: fixed cable of a channel; shorter has no longer cords
    "fixed_m": (0.0, FIXED_LENGTH_M),
}

#: Rise of the resistance of copper [1/K, from 20 C]. IEC 60228 Annex, IEC 60909 (from memory);
#: the printed factors of IEC 60228:2004 Table B.1 follow 0.004 and differ by 0.4 % at 90 C.
COPPER_PER_K = 0.00393
REFERENCE_C = 20.0
#: Resistivity of annealed copper, 100 % IACS [ohm mm2/km] (ASTM B258).
COPPER_OHM_MM2_PER_KM = 17.241

#: Fixed length allowed at the mean temperature of the cable [C: m]. TIA-568.2-D Annex
#: (informative), from memory.
_TEMPERATURE_C = (20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0)
_UNSCREENED_M = (90.0, 89.0, 87.0, 85.5, 84.0, 81.7, 79.5, 77.2, 75.0)
_SCREENED_M = (90.0, 89.5, 88.5, 87.7, 87.0, 86.5, 85.5, 84.7, 83.0)


#: Length that 90 m of fixed cable and the cords, taken by their loss, may have together [m], and
#: how much more than fixed cable a cord of 24 or 26 AWG loses (TIA-568.2-D, from memory).
CORD_CHANNEL_M = 102.0
CORD_DERATING = {24: 0.2, 26: 0.5}
#: Longest cords of a channel, both ends together [m] (TIA-568 open-office table, from memory).
CORDS_MAX_M = {24: 27.0, 26: 21.0}

#: A cable in the midst of a bundle over the air, at the most by design [K] (TIA TSB-184-A, read in
#: notes of a standards group); inside to outside of a bundle (ISO/IEC TS 29125, likewise).
BUNDLE_RISE_MAX_K = 15.0
#: Source power above which the NEC limits bundles [W] (NFPA 70 725.144, read likewise).
BUNDLE_RULE_ABOVE_W = 60.0


def temperature_factor(*, temperature_c: Figure) -> Figure:
    """Resistance of a copper conductor over that at 20 C [-].

    Source: IEC 60228 Annex, IEC 60909: 1 + 0.00393 (T - 20).
    Valid: about -40 to 90 C (common practice); outside, the straight line goes on, unbacked.

    >>> print(temperature_factor(temperature_c=60))
    1.1572
    """
    return 1 + COPPER_PER_K * (temperature_c - REFERENCE_C)


def conductor_ohm_per_km(*, area_mm2: Figure) -> Figure:
    """Resistance of a solid conductor of annealed copper at 20 C [ohm/km].

    Valid: area_mm2 above 0; 0 divides by zero.
    Source: 100 % IACS, ASTM B258. IEC 60228 allows a little more: use its table for feeds.

    >>> print(conductor_ohm_per_km(area_mm2=awg_area_mm2(gauge=24)))
    84.2
    """
    return COPPER_OHM_MM2_PER_KM / area_mm2


def awg_area_mm2(*, gauge: Figure) -> Figure:
    """Area of a solid wire of the American wire gauge [mm2].

    gauge: number of the gauge. Valid: 0 to 36, of which the law is made; 00 is -1, beyond it goes on.
    Source: ASTM B258, diameter 0.127 mm x 92 ^ ((36 - n) / 39).

    >>> print(awg_area_mm2(gauge=24))
    0.205
    """
    return math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2


def pairs_loop_ohm(
    *, ohm_per_km: Figure, length_m: Figure, pairs: Figure, temperature_c: Figure
) -> Figure:
    """Resistance of a twisted-pair supply, out and back [ohm].

    ohm_per_km: one conductor at 20 C. pairs: 4 or 2, half of them each way, the two conductors
    of a pair side by side; 1 is the loop of a single pair, out on one conductor and back on the
    other. Source: IEEE 802.3-2018 Clauses 33 and 145 (from memory).
    Valid: length and resistance 0 or more, 1, 2 or 4 pairs; 0 pairs divide by zero, other numbers
    have no meaning on four-pair cable.

    >>> print(pairs_loop_ohm(ohm_per_km=93.8, length_m=100, pairs=2, temperature_c=20))
    9.38
    """
    factor = temperature_factor(temperature_c=temperature_c)
    return 2 * ohm_per_km * (length_m / M_PER_KM) * factor / pairs


def fixed_length_m(*, cable_temperature_c: Figure, screened: Figure) -> Figure:
    """Fixed cable allowed at a mean cable temperature [m]; array code.

    Straight lines between the rows of the table; 90 m below 20 C; above 60 C the slope of the
    last two rows goes on, which no standard backs (RANGES). Source: TIA-568.2-D Annex.
    screened: whether the cable has a screen.
    Valid: up to 60 C (RANGES); above, the slope of the last rows goes on, which a finding says.

    >>> fixed_length_m(cable_temperature_c=[10, 40, 58, 70], screened=False)
    array([90. , 84. , 75.88, 70.6 ])
    """
    warm_c = np.asarray(cable_temperature_c, dtype=float)

    def read(row_m):
        slope = (row_m[-1] - row_m[-2]) / (_TEMPERATURE_C[-1] - _TEMPERATURE_C[-2])
        beyond_c = np.maximum(warm_c - _TEMPERATURE_C[-1], 0)
        return np.interp(warm_c, _TEMPERATURE_C, row_m) + slope * beyond_c

    return np.where(screened, read(_SCREENED_M), read(_UNSCREENED_M))


def reach_limit_m(*, reach_m: Figure, fixed_length_m: Figure) -> Figure:
    """Longest channel at the temperature of its cable, cords included [m].

    reach_m: of the standard at 20 C. Source: TIA-568.2-D Annex, less what 90 m shrink by; a longer
    reach, of one pair, shrinks in the same proportion, since all of it is warm.
    Valid: fixed_length_m 0 to 90; above 90 m the reach would grow, which `fixed_length_m` does not
    give; below 0 where it is too warm for any.

    >>> print(reach_limit_m(reach_m=100.0, fixed_length_m=84.0))
    94.0
    >>> print(reach_limit_m(reach_m=1000.0, fixed_length_m=87.3))
    970.0
    """
    return np.where(
        reach_m > CHANNEL_M,
        reach_m * fixed_length_m / FIXED_LENGTH_M,
        reach_m - (FIXED_LENGTH_M - fixed_length_m),
    )


def cords_limit_m(*, fixed_m: Figure, cord_derating: Figure, cords_max_m: Figure) -> Figure:
    """Longest cords of a channel, both ends together [m].

    fixed_m: of fixed cable, 0 to 90. cord_derating: CORD_DERATING, 0.2 for 24 AWG and 0.5 for
    26 AWG. cords_max_m: CORDS_MAX_M. With more than 90 m of fixed cable the formula goes on and
    the channel limit judges. Source: TIA-568.2-D, C = (102 - H)/(1 + D) (from memory).
    Valid: fixed_m 0 to 90, cord_derating 0 or more; held between 0 and cords_max_m outside.

    >>> print(cords_limit_m(fixed_m=90, cord_derating=0.2, cords_max_m=27))
    10.0
    """
    by_loss_m = (CORD_CHANNEL_M - fixed_m) / (1 + cord_derating)
    return np.minimum(np.maximum(by_loss_m, 0), cords_max_m)


def cable_temperature_c(*, air_c: Figure, rise_k: Figure) -> Figure:
    """Temperature of a cable [C]. rise_k: of sun or bundle, 0 where it is buried or in a duct.

    Valid: any figures; above 60 C no table of reach holds (RANGES) and `copper-reach` says so.
    Source: common practice, 20 K in full sun.

    >>> print(cable_temperature_c(air_c=35, rise_k=20))
    55
    """
    return air_c + rise_k


def bundle_matters(*, source_w: Figure) -> Figure:
    """Whether a bundle of such cables needs its size looked up in the local code.

    source_w: of one source port. At 60 W and below none does in the US. Source: NFPA 70 725.144.
    Valid: source_w 0 or more; exactly 60 W does not. NaN gives False, as no power is known.

    >>> bundle_matters(source_w=90)
    True
    """
    return source_w > BUNDLE_RULE_ABOVE_W


CELL_FORMULAS = (
    "temperature_factor",
    "conductor_ohm_per_km",
    "awg_area_mm2",
    "pairs_loop_ohm",
    "reach_limit_m",
    "cords_limit_m",
    "cable_temperature_c",
    "bundle_matters",
)
