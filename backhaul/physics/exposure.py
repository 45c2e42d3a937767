"""Distance to keep from an antenna, and radio power in explosive atmospheres.

These figures warn; they do not license. Local law, the operator's safety officer and a licensed
assessment decide.
"""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("radio exposure", "ICNIRP guidelines", "2020, table 5 (whole body), from memory"),
    Method("radio exposure", "47 CFR 1.1310", "table 1; OET Bulletin 65 far-field formula"),
)
RANGES = {
    "icnirp_frequency_ghz": (0.4, 300.0),
    "cfr_frequency_ghz": (0.3, 100.0),
    "explosive_frequency_ghz": (9e-6, 60.0),
}

CELL_FORMULAS = (
    "icnirp_public_w_m2",
    "cfr_public_w_m2",
    "compliance_distance_m",
    "keep_away_m",
    "public_distance_m",
    "eirp_w",
)
#: Steps that a distance to keep is told in [1/m], and decimals at which it counts as the same.
_STEPS_PER_M, _SAME = 10, 6


def eirp_w(*, eirp_dbm: Figure) -> Figure:
    """Equivalent isotropically radiated power [W].

    Valid: any level; NaN stays NaN.
    Source: definition of the dBm.

    >>> print(eirp_w(eirp_dbm=36.0))
    3.98
    """
    return 10 ** ((eirp_dbm - 30) / 10)


def icnirp_public_w_m2(*, frequency_ghz: Figure) -> Figure:
    """Limit for the public, whole body, mean of 30 min [W/m2]. ICNIRP 2020, 0.4 to 300 GHz.

    Valid: 0.4 to 300 GHz (RANGES); below 0.4 GHz the straight line goes on and is stricter than the
    table, which is flat at 2 W/m2 there.
    Source: ICNIRP guidelines 2020 table 5, from memory.

    >>> print(icnirp_public_w_m2(frequency_ghz=5.8))
    10.0
    """
    return np.minimum(1000 * frequency_ghz / 200, 10.0)


def cfr_public_w_m2(*, frequency_ghz: Figure) -> Figure:
    """Limit for the public, mean of 30 min [W/m2]. 47 CFR 1.1310, 0.3 to 100 GHz.

    Valid: 0.3 to 100 GHz (RANGES); below 0.3 GHz the line goes on under the table's flat 2 W/m2,
    above 100 GHz the flat 10 W/m2 goes on.
    Source: 47 CFR 1.1310 table 1.

    >>> print(cfr_public_w_m2(frequency_ghz=0.915))
    6.10
    """
    return np.minimum(1000 * frequency_ghz / 150, 10.0)


def compliance_distance_m(
    *, eirp_dbm: Figure, limit_w_m2: Figure, duty: Figure = 1.0, reflection: Figure = 1.0
) -> Figure:
    """Distance from which the power density stays below the limit [m].

    Far-field formula; inside the near field it asks for more than needed. duty: share of time on
    air, over the averaging time. reflection: factor on the density, GROUND_REFLECTION at worst.
    Valid: limit_w_m2 above 0: 0 divides by zero. duty 0 to 1, reflection 1 to 2.56; beyond the
    beam's axis and inside the near field it asks for more than needed.
    Source: OET Bulletin 65, far-field formula (from memory).
    >>> print(compliance_distance_m(eirp_dbm=53, limit_w_m2=10))
    1.260
    """
    power_w = duty * reflection * 10 ** ((eirp_dbm - 30) / 10)
    return np.sqrt(power_w / (4 * limit_w_m2 * np.pi))


def public_distance_m(*, eirp_dbm: Figure, frequency_ghz: Figure) -> Figure:
    """Distance in front of an antenna at which the level for the public is met [m].

    The stricter of ICNIRP 2020 and 47 CFR 1.1310, in the far field.
    Valid: that of the two limits, 0.4 to 100 GHz (RANGES); NaN stays NaN.
    Source: ICNIRP guidelines 2020 table 5 (from memory); 47 CFR 1.1310 table 1.

    >>> print(public_distance_m(eirp_dbm=53.0, frequency_ghz=5.8))
    1.260
    """
    limit = np.minimum(
        icnirp_public_w_m2(frequency_ghz=frequency_ghz),
        cfr_public_w_m2(frequency_ghz=frequency_ghz),
    )
    return compliance_distance_m(eirp_dbm=eirp_dbm, limit_w_m2=limit)


def keep_away_m(*, eirp_dbm: Figure, frequency_ghz: Figure) -> Figure:
    """Distance to keep in front of an antenna, at which the level for the public is met [m].

    The stricter of ICNIRP 2020 and 47 CFR 1.1310, in the far field, rounded up to 0.1 m: whoever
    reads it stands no nearer than it was worked out.
    Valid: that of the two limits, 0.4 to 100 GHz (RANGES); NaN stays NaN.
    Source: ICNIRP guidelines 2020 table 5 (from memory); 47 CFR 1.1310 table 1; rounding up is
    common practice.

    >>> print(keep_away_m(eirp_dbm=53.0, frequency_ghz=5.8))
    1.3
    """
    distance = public_distance_m(eirp_dbm=eirp_dbm, frequency_ghz=frequency_ghz)
    return np.ceil(np.round(distance * _STEPS_PER_M, _SAME)) / _STEPS_PER_M
