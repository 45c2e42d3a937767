"""How far a figure may lie from what is written, by where it comes from: one table.

A spread is one standard deviation as an engineer would bet on it, not a tolerance. All of it is
common practice of planning offices, from memory: no standard states it. A figure of an offer's own
data sheet has the least.
"""

from typing import NamedTuple

from backhaul.units import PERCENT


class Spread(NamedTuple):
    """Of figures of one origin: in dB where they are levels, at most that of losses, else a share."""

    basis: str
    db: float
    percent: float
    why: str


DRAWN, SURVEYED = "drawn", "surveyed"
_SPREADS = (
    Spread("data sheet", 0.3, 2.0, "the maker answers for it"),
    Spread("standard", 0.3, 3.0, "what is sold to the standard lies inside its limits"),
    Spread("computed", 0.5, 5.0, "follows from figures of a standard"),
    Spread("common practice", 1.0, 12.0, "usual for the class, not of a maker"),
    Spread("from memory", 1.5, 20.0, "not looked up"),
    Spread("demo", 1.5, 20.0, "invented for a demo"),
    Spread(DRAWN, 1.0, 5.0, "measured on a drawing, not on site"),
)
BY_BASIS = {spread.basis: spread for spread in _SPREADS}
#: Figures that are unsure in their own way, by column: spread in the column's unit, or a share.
TERRAIN_M = 2.0
WATER_M = 0.3
RAIN_PERCENT = 20.0
DEMAND_PERCENT = 25.0

_LEVELS, _LOSS = ("dBm", "dBi"), "dB"


def spread_of(basis: str, unit: str, value: float) -> float:
    """One standard deviation of a figure, in its unit.

    >>> spread_of("from memory", "dBm", -80.0), spread_of("data sheet", "W", 50.0)
    (1.5, 1.0)
    >>> spread_of("common practice", "dB", 0.25), spread_of("common practice", "dB", 30.0)
    (0.03, 1.0)
    """
    found = BY_BASIS.get(basis, BY_BASIS["common practice"])
    share = abs(value) * found.percent / PERCENT
    if unit in _LEVELS:
        return found.db
    return min(found.db, share) if unit == _LOSS else share
