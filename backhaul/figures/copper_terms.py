"""The figures of a copper channel: its rate by length and temperature, its cords; and their verdicts."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.judgements import Judgement
from backhaul.figures.terms import ROW, Input
from backhaul.figures.verdicts import at_most
from backhaul.findings import PASS
from backhaul.physics import copper
from backhaul.units import DECIMALS

#: What stands for no rate in a comparison.
NO_RATE = 0


class ReachOf(NamedTuple):
    """Published reach of one cable at one rate."""

    rate_mbps: float
    row: Any

    FAMILIES = {"row": "copper_reach"}


LENGTH = Input("length_m", "Length", "m", ROW, digits=1)
REACH = Input("reach_m", "Reach at 20 °C", "m", "row", digits=1)


def reach_in_use(*, length_m: Any, fixed_length_m: Any, reaches: Sequence[Any]) -> Any:
    """Published reach that judges a channel [m]: of the fastest rate that it holds, else the longest.

    reaches: of the common rates, the fastest first; numbers or cells.

    >>> print(reach_in_use(length_m=60, fixed_length_m=90, reaches=(55, 100)))
    100
    """
    longest = reaches[0]
    for reach_m in reaches[1:]:
        longest = np.maximum(longest, reach_m)
    return _fastest(length_m, fixed_length_m, reaches, reaches, longest)


def rate_in_use(
    *, length_m: Any, fixed_length_m: Any, reaches: Sequence[Any], rates_mbps: Sequence[float]
) -> Any:
    """The fastest rate whose reach holds a channel [Mb/s], NO_RATE where none does.

    >>> print(rate_in_use(length_m=60, fixed_length_m=90, reaches=(55, 100), rates_mbps=(1e4, 1e3)))
    1000.0
    """
    return _fastest(length_m, fixed_length_m, reaches, rates_mbps, NO_RATE)


def _fastest(length_m, fixed_length_m, reaches, answers, otherwise) -> Any:
    found = otherwise
    length = np.round(length_m, DECIMALS)
    for reach_m, answer in reversed(list(zip(reaches, answers, strict=True))):
        limit = copper.reach_limit_m(reach_m=reach_m, fixed_length_m=fixed_length_m)
        found = np.where(length <= np.round(limit, DECIMALS), answer, found)
    return found


def cords_word(*, cords_m, cords_limit_m):
    """fail where the cords of a channel are longer than it bears.

    >>> print(cords_word(cords_m=12, cords_limit_m=10))
    fail
    """
    return at_most(value=cords_m, limit=cords_limit_m)


CORDS = Judgement(
    "cords",
    "Cords",
    "copper-reach",
    cords_word,
    {"cords_m": "cords_m", "cords_limit_m": "cords_limit_m"},
    missing=PASS,
)
