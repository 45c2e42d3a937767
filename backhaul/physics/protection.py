"""What a conductor may carry, and whether a fault at its end trips the breaker in front of it.

A first estimate for planning. Choice and setting of protection, earthing and disconnection time
are for local codes and licensed practice.
"""

import math

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("current-carrying capacity", "IEC 60364-5-52 Table B.52.2; BS 7671 Table 4B1", "2009"),
    Method("least fault current", "IEC 60364-4-41; IEC 60909-0 voltage factor", "2005; 2016"),
    Method("instantaneous trip of a breaker", "IEC 60898-1 Table 2", "2015"),
)

RANGES = {
    # BS 7671 Table 4B1, thermoplastic 70 C: from 25 to 55 C of air; below 30 C nothing is gained
    "air_c": (-math.inf, 55.0),
}

#: Limit temperature of a conductor in PVC, and the air of the tables [C] (IEC 60364-5-52).
CONDUCTOR_LIMIT_C = 70.0
TABLE_AIR_C = 30.0
#: Lowest voltage that drives a fault, of the nominal (IEC 60909-0 Table 1, c min; from memory).
FAULT_VOLTAGE = 0.95
#: Instantaneous trip, multiples of the rated current: may and must (IEC 60898-1:2015 Table 2, read
#: in an engineering handbook page).
TRIP_RANGE = {"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)}
#: Preferred rated currents [A] (IEC 60898-1:2015 clause 5.3.2, read likewise).
PREFERRED_A = (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125)
#: Current into a short of a source that electronics or an exciter limit, of its rated current: 1.5
#: to 3, here the least (common practice; data sheets of supplies and inverters say more exactly).
LIMITED_MULTIPLE = 1.5
_LEAST_OHM = 1e-6


def air_factor(*, air_c: Figure) -> Figure:
    """Capacity of a 70 C conductor in this air, of that at 30 C.

    air_c: of the air around the cable. 1 at 30 C and below; 0 from 70 C. Above 55 C no table
    backs it (RANGES). Source: heat balance, sqrt((70 - T) / 40), which gives BS 7671 Table 4B1.
    Valid: up to 55 C (RANGES); above, the law goes on to 0 at 70 C, unbacked by the table; below 30
    C held at 1.

    >>> print(air_factor(air_c=40))
    0.866
    """
    warmth = (CONDUCTOR_LIMIT_C - air_c) / (CONDUCTOR_LIMIT_C - TABLE_AIR_C)
    return np.minimum(np.sqrt(np.maximum(warmth, 0)), 1)


def capacity_a(*, ampacity_a: Figure, air_c: Figure) -> Figure:
    """Current that a cable may carry in this air [A], alone and not bunched with others.

    ampacity_a: of the catalogue, at 30 C. Bunched circuits carry less: BS 7671 Table 4C1.
    Valid: ampacity 0 or more, air as in `air_factor`.
    Source: BS 7671 Table 4B1, by `air_factor`.

    >>> print(capacity_a(ampacity_a=24, air_c=40))
    20.8
    """
    return ampacity_a * air_factor(air_c=air_c)


def least_fault_a(*, nominal_v: Figure, loop_ohm: Figure, loop_reactance_ohm: Figure) -> Figure:
    """Least current of a fault at the far end [A].

    loop_ohm: out by the line and back by the earth conductor, both at their limit temperature of
    70 C (`feed_loop_ohm`). What lies upstream of the source lessens it further and is measured on
    site. Source: IEC 60364-4-41 clause 411, IEC 60909-0 (c min 0.95).
    Valid: resistances of 0 or more; a loop of nothing is taken as a millionth of an ohm.

    >>> print(least_fault_a(nominal_v=230, loop_ohm=6.64, loop_reactance_ohm=0.07))
    32.9
    """
    impedance_ohm = np.sqrt(loop_ohm**2 + loop_reactance_ohm**2)
    return FAULT_VOLTAGE * nominal_v / np.maximum(impedance_ohm, _LEAST_OHM)


def limited_a(*, output_w: Figure, nominal_v: Figure) -> Figure:
    """Current that a source limited by its electronics keeps up in a short [A].

    output_w: its rated power, at nominal_v. No loop, however short, draws more of it.
    Valid: power 0 or more, voltage above 0.
    Source: common practice, LIMITED_MULTIPLE of the rated current.

    >>> print(round(float(limited_a(output_w=960, nominal_v=48)), 1))
    30.0
    """
    return LIMITED_MULTIPLE * output_w / nominal_v


def trip_needed_a(*, breaker_a: Figure, trip_multiple: Figure) -> Figure:
    """Current at which a breaker surely trips at once [A].

    trip_multiple: the must of TRIP_RANGE, 5 for type B, 10 for type C.
    Valid: rating and multiple of TRIP_RANGE; others go on linearly.
    Source: IEC 60898-1:2015 Table 2.

    >>> print(trip_needed_a(breaker_a=16, trip_multiple=5))
    80
    """
    return breaker_a * trip_multiple


def largest_breaker_a(*, fault_a: Figure, trip_multiple: Figure) -> Figure:
    """Largest preferred rating that a fault current trips at once [A]; NaN if none; array code.

    Source: IEC 60898-1:2015 clause 5.3.2 and Table 2.
    trip_multiple: the must of TRIP_RANGE.
    Valid: trip_multiple of TRIP_RANGE; a fault that trips none, and NaN, give NaN, one that trips
    all gives 125 A.

    >>> largest_breaker_a(fault_a=[32.9, 80.0, 20.0], trip_multiple=5)
    array([ 6., 16., nan])
    """
    needed = trip_needed_a(
        breaker_a=np.array(PREFERRED_A, dtype=float), trip_multiple=trip_multiple
    )
    trips = needed <= np.round(np.asarray(fault_a, dtype=float), 6)[..., None]
    largest = np.max(np.where(trips, PREFERRED_A, 0.0), axis=-1)
    return np.where(largest > 0, largest, np.nan)


CELL_FORMULAS = (
    "air_factor",
    "capacity_a",
    "least_fault_a",
    "limited_a",
    "trip_needed_a",
)
