"""What reading a cell can give besides its value: a fault, a remark; and what a column needs."""

from typing import NamedTuple

from backhaul.tables.column import (
    CHOICE,
    DATE,
    INTEGER,
    LIST,
    NUMBER,
    NUMBERS,
    TEXT,
    WORD,
    YES_NO,
    Column,
)
from backhaul.tables.names import listed


class Fault(NamedTuple):
    """Why a cell cannot be used."""

    found: str
    needed: str
    remedy: str = ""
    #: a name that is none of these names, so that the nearest can be quoted
    unknown: tuple[str, tuple[str, ...]] | None = None


class Remarked(NamedTuple):
    """A value that was read otherwise than it was written, and how to say so."""

    value: object
    message: str


class Dialect(NamedTuple):
    """What the source says about its numbers."""

    #: the separator is not the comma, so a comma is a decimal comma
    decimal_comma: bool = False
    #: the decimal sign that the source leaves no doubt of; three digits after another are unclear
    clear: str = ""


POINTS_ONLY = Dialect(clear=".")


def needs(column: Column) -> str:
    """What a column wants, in words."""
    if column.type in (NUMBER, INTEGER, NUMBERS):
        what = {NUMBER: "a number", INTEGER: "a whole number", NUMBERS: "numbers"}[column.type]
        unit = f" in {column.unit}" if column.unit else ""
        return what + unit
    if column.type == WORD:
        return column.wanted
    if column.type == YES_NO:
        return "yes or no"
    if column.type == CHOICE and column.choices:
        return listed(column.choices)
    return {LIST: "names separated by /", DATE: "a date as 2026-05-06"}.get(
        column.type, "a text" if column.type == TEXT else "a name"
    )
