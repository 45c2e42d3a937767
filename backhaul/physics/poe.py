"""Power over Ethernet: the classes of IEEE 802.3 and what a source grants at its port.

A load of a higher class than its source grants is admitted at the power of the granted class. It
works on that where its real need lies within; the class numbers alone do not tell.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (Method("power over Ethernet", "IEEE 802.3 Clauses 33, 145", "2018; bt-2018"),)

RANGES = {
    # IEEE 802.3 Table 145-16: highest and lowest at the port of a source (from memory)
    "source_v": (44.0, 57.0),
    "poe_class": (0.0, 8.0),
}

#: Highest voltage at the port of a source [V] (IEEE 802.3 Tables 33-11 and 145-16; from memory).
POE_MAX_V = 57.0
#: Powers are printed rounded (12.95 as 13 W): comparisons allow this [W].
POWER_TOLERANCE_W = 0.1
#: Class granted where the voltage is too low for more (IEEE 802.3 Type 1).
_TYPE_1_CLASS, _TYPE_3_CLASS, _TYPE_4_CLASS = 3, 6, 8
#: What `granted_class` answers where the voltage is below that of any type.
NO_CLASS = -1


class PoeClass(NamedTuple):
    """A class of IEEE 802.3: what the source sets aside, what the load may take."""

    pairs: int
    source_w: float
    load_w: float
    source_min_v: float
    load_min_v: float
    #: one pair out, one back, at the longest channel
    pair_loop_ohm: float


#: IEEE 802.3-2018 Clause 33, IEEE 802.3bt-2018 Clause 145. Powers and voltages read in public
#: notes, resistances from memory; load_w = source_w - I^2 R bears both out.
POE_CLASSES = {
    0: PoeClass(2, 15.4, 12.95, 44.0, 37.0, 20.0),
    1: PoeClass(2, 4.0, 3.84, 44.0, 37.0, 20.0),
    2: PoeClass(2, 7.0, 6.49, 44.0, 37.0, 20.0),
    3: PoeClass(2, 15.4, 12.95, 44.0, 37.0, 20.0),
    4: PoeClass(2, 30.0, 25.5, 50.0, 42.5, 12.5),
    5: PoeClass(4, 45.0, 40.0, 50.0, 42.5, 12.5),
    6: PoeClass(4, 60.0, 51.0, 50.0, 42.5, 12.5),
    7: PoeClass(4, 75.0, 62.0, 52.0, 41.1, 12.5),
    8: PoeClass(4, 90.0, 71.3, 52.0, 41.1, 12.5),
}


def class_power(*, poe_class: Figure) -> Figure:
    """Order of a class by power: class 0 stands for 15.4 W as class 3 does.

    poe_class: number of the class.
    Valid: classes 0 to 8; -1 (none) stays -1, others go through.
    Source: IEEE 802.3-2018 Table 33-15.

    >>> print(class_power(poe_class=np.array([0, 3, 4])))
    [3 3 4]
    """
    return np.where(np.equal(poe_class, 0), _TYPE_1_CLASS, poe_class)


def granted_class(*, source_class: Figure, source_v: Figure) -> Figure:
    """Highest class that a port of this class grants at this voltage; -1 below 44 V.

    source_class: of the port, 0 to 8. source_v: the lowest at the port. Classes 4 to 6 want 50 V,
    7 and 8 want 52 V; with less only class 3 is granted. Above 57 V it is no PoE: over-voltage
    judges that. Source: IEEE 802.3-2018 Table 33-11, IEEE 802.3bt-2018 Table 145-16.
    Valid: source_class 0 to 8 or -1, source_v 44 to 57 V (RANGES); below 44 V and for NaN -1, above
    57 V the highest.

    >>> print(granted_class(source_class=np.array([8, 8, 8, 6, 2]),
    ...                     source_v=np.array([52.0, 50.0, 47.0, 54.0, 43.0])))
    [ 8  6  3  6 -1]
    """
    by_voltage = np.where(
        source_v >= POE_CLASSES[_TYPE_4_CLASS].source_min_v,
        _TYPE_4_CLASS,
        np.where(
            source_v >= POE_CLASSES[_TYPE_3_CLASS].source_min_v,
            _TYPE_3_CLASS,
            np.where(source_v >= POE_CLASSES[_TYPE_1_CLASS].source_min_v, _TYPE_1_CLASS, NO_CLASS),
        ),
    )
    return np.minimum(class_power(poe_class=source_class), by_voltage)


def assigned_class(*, load_class: Figure, source_class: Figure, source_v: Figure) -> Figure:
    """Class at which a load is admitted: its own, or the lower one that the port grants.

    Source: IEEE 802.3bt-2018 Clause 145 (demotion), read in an overview of a standards alliance.
    load_class, source_class: numbers of the classes.
    Valid: classes 0 to 8 or -1; -1 where the port grants none.

    >>> print(assigned_class(load_class=6, source_class=4, source_v=53.0))
    4
    """
    granted = granted_class(source_class=source_class, source_v=source_v)
    return np.minimum(class_power(poe_class=load_class), granted)


CELL_FORMULAS = ("class_power", "granted_class", "assigned_class")
