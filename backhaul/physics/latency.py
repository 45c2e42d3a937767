"""Delay of the signal on its way, one way; what devices and radios add is theirs to state."""

from backhaul.methods import Figure, Method

METHODS = (
    Method("delay of fiber", "group index over the speed of light", "SI 2019"),
    Method("delay of air", "ITU-R P.453 reference atmosphere", "14 (08/2019)"),
)

RANGES = {"group_index": (1.44, 1.50)}  # silica fiber, single-mode and multimode data sheets

#: Speed of light [km/us], exact by definition of the metre.
LIGHT_KM_PER_US = 0.299792458
#: Refractive index of air at sea level, N0 = 315 (ITU-R P.453; from memory).
AIR_INDEX = 1.000315


def fiber_delay_us(*, length_km: Figure, group_index: Figure) -> Figure:
    """Delay of a fiber run [us].

    group_index: about 1.468 on single-mode fiber at 1310 and 1550 nm.
    Valid: group_index 1.44 to 1.50 (RANGES); outside it goes on linearly.
    Source: group index over the speed of light; 1.468 from data sheets, common practice.

    >>> print(fiber_delay_us(length_km=10, group_index=1.468))
    48.97
    """
    return length_km * group_index / LIGHT_KM_PER_US


def air_delay_us(*, distance_km: Figure) -> Figure:
    """Delay of a radio hop in the air [us].

    Valid: distance_km 0 or more, near the ground; higher air is faster by up to 0.03 %.
    Source: ITU-R P.453-14, N0 = 315 (from memory).

    >>> print(air_delay_us(distance_km=10))
    33.37
    """
    return distance_km * AIR_INDEX / LIGHT_KM_PER_US


CELL_FORMULAS = ("fiber_delay_us", "air_delay_us")
