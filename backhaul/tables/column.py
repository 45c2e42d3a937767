"""What a column of a table may hold: one type for designs and for catalogues."""

import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

NUMBER, INTEGER, NUMBERS, TEXT, NAME, LIST, YES_NO, CHOICE, DATE, WORD = (
    "number",
    "integer",
    "numbers",
    "text",
    "name",
    "list",
    "yes/no",
    "choice",
    "date",
    "word",
)

CORROSIVITY = ("C1", "C2", "C3", "C4", "C5", "CX")  # ISO 12944-2:2017


class Column(NamedTuple):
    """One column: how a cell of it is read and what may stand in it."""

    name: str
    type: str
    help: str = ""
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    #: other words for the choices
    aliases: Mapping[str, str] = {}
    required: bool = False
    #: what a blank cell means; None where it means nothing, or hangs on the rest
    default: Any = None
    #: of a WORD: its one spelling, by a function that raises ValueError; and what is wanted
    spell: Callable[[str], Any] | None = None
    wanted: str = ""

    @property
    def attribute(self) -> str:
        """Name of the record's field: the column's, but for the one that is a word of Python."""
        return "for_" if self.name == "for" else self.name

    def holds(self, number: float) -> bool:
        """Whether a number is within the limits of the column; NaN is not."""
        low = -math.inf if self.low is None else self.low
        return low <= number <= (math.inf if self.high is None else self.high)
