"""Over-voltage: the highest that a source gives against what a load or protector stands."""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.poe import POE_MAX_V

METHODS = (
    Method("highest voltage of a source", "EN 50160; IEEE 802.3 Table 145-16", "2010; bt-2018"),
    Method("rating of a surge protector", "IEC 61643-11, -21; IEC 60364-5-53 clause 534", "2011"),
)

RANGES = {"nominal_v": (1.0, 1000.0)}  # low voltage, IEC 60038

#: Mains above its nominal value at the most (EN 50160:2010 clause 4.2.2: 10 %).
MAINS_RISE = 1.10
#: A battery on charge over its nominal value: lead-acid 2.40 V a cell of 2 V (common practice).
CHARGE_RISE = 1.20
#: A load without a stated maximum stands a source of this much above its own nominal value
#: (rule of ours: 28.8 V on a 24 V load is usual, 36 V is not).
NOMINAL_TOLERANCE = 1.25
#: From here direct current calls for protection against electric shock of its own kind [V]
#: (60 V DC, 120 V ripple-free: IEC 61558-1 and IEC 61201 as quoted in the IEC vocabulary).
DC_CAUTION_V = 60.0
DC_RIPPLE_FREE_V = 120.0
_DECIMALS = 6


def highest_mains_v(*, nominal_v: Figure) -> Figure:
    """Highest voltage of the mains [V].

    Source: EN 50160:2010 clause 4.2.2.
    Valid: mains of 1 to 1000 V (RANGES); outside it goes on linearly.

    >>> print(round(highest_mains_v(nominal_v=230), 6))
    253.0
    """
    return MAINS_RISE * nominal_v


def highest_battery_v(*, nominal_v: Figure) -> Figure:
    """Highest voltage of a battery on charge [V].

    nominal_v: 2 V a cell of lead-acid; for other kinds state output_max_volts.
    Valid: 1 to 1000 V (RANGES) of lead-acid; other chemistries differ and state their own.
    Source: common practice, 2.40 V a cell on charge.

    >>> print(round(highest_battery_v(nominal_v=48), 6))
    57.6
    """
    return CHARGE_RISE * nominal_v


def highest_source_v(
    *, kind: Figure, nominal_v: Figure, stated_max_v: Figure, is_on_charge: Figure
) -> Figure:
    """Highest voltage that a source gives [V]; array code.

    kind: AC, DC, PoE or passive. stated_max_v: output_max_volts or max_volts of the port, which
    rules where it is not NaN. is_on_charge: a battery hangs on a DC output. Else AC + 10 %, DC on
    charge x 1.2, PoE 57 V, passive and regulated DC their nominal value. Another kind gives NaN.

    >>> highest_source_v(kind=["AC", "DC", "PoE", "passive", "DC"],
    ...                  nominal_v=[230, 48, 48, 24, 24],
    ...                  stated_max_v=[np.nan, np.nan, np.nan, np.nan, 28.2],
    ...                  is_on_charge=[False, True, False, False, True])
    array([253. ,  57.6,  57. ,  24. ,  28.2])
    """
    kind, nominal, stated = np.asarray(kind), np.asarray(nominal_v), np.asarray(stated_max_v)
    direct = np.where(is_on_charge, highest_battery_v(nominal_v=nominal), nominal)
    usual = np.where(kind == "AC", highest_mains_v(nominal_v=nominal), np.nan)
    usual = np.where(kind == "DC", direct, usual)
    usual = np.where(kind == "PoE", POE_MAX_V, usual)
    usual = np.where(kind == "passive", nominal, usual)
    return np.where(np.isnan(stated), usual, stated)


def is_over_voltage(
    *, highest_v: Figure, source_nominal_v: Figure, load_max_v: Figure, load_nominal_v: Figure
) -> Figure:
    """Whether a source gives more than a load stands; array code.

    highest_v: of the source. load_max_v: its stated maximum; where NaN, the nominal voltage of the
    source may be up to 1.25 x that of the load. Exactly the limit is no over-voltage; unknown
    figures are none either.

    >>> is_over_voltage(highest_v=[50.4, 57.6, 57.6], source_nominal_v=[48, 48, 48],
    ...                 load_max_v=[30, 60, np.nan], load_nominal_v=[24, 24, 48])
    array([ True, False, False])
    """
    stated = np.asarray(load_max_v, dtype=float)
    limit_v = np.where(
        np.isnan(stated), NOMINAL_TOLERANCE * np.asarray(load_nominal_v, dtype=float), stated
    )
    given_v = np.where(np.isnan(stated), source_nominal_v, highest_v)
    return np.round(given_v - limit_v, _DECIMALS) > 0


def protector_suits(
    *, protector_supply: Figure, max_v: Figure, line_supply: Figure, line_highest_v: Figure
) -> Figure:
    """Whether a protector is of the line's kind and stands its highest voltage for good.

    protector_supply, line_supply: AC or DC (PoE is DC). max_v: continuous voltage of the protector;
    NaN, like an unknown line, does not suit. Source: IEC 61643-11 (continuous operating voltage),
    IEC 60364-5-53 clause 534: at least 1.1 x the nominal voltage (from memory).

    >>> protector_suits(protector_supply=np.array(["AC", "AC", "DC"]), max_v=np.array([275, 150, 60]),
    ...                 line_supply=np.array(["AC", "AC", "DC"]),
    ...                 line_highest_v=np.array([253, 253, 57.6]))
    array([ True, False,  True])
    """
    return np.logical_and(
        protector_supply == line_supply, np.round(max_v - line_highest_v, _DECIMALS) >= 0
    )


CELL_FORMULAS = ("highest_mains_v", "highest_battery_v")
