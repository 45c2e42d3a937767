"""Over-voltage: the highest that a source gives against what a load or protector stands."""

from backhaul.methods import Figure, Method

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


CELL_FORMULAS = ("highest_mains_v", "highest_battery_v")
