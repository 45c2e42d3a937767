"""A whole column of cells at once: every different cell is read once, plain ones without ado."""

import re
from array import array
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from backhaul.tables.column import INTEGER, LIST, NAME, NUMBER, TEXT, Column
from backhaul.tables.faults import POINTS_ONLY, Dialect, Fault, Remarked
from backhaul.tables.number_cells import MAX_NUMBER, THREE_DIGITS
from backhaul.tables.values import Parse

_PLAIN_NUMBERS = re.compile(r"[0-9.\n]*")
#: texts that need no closer look, one a line; a digit at the front may begin a date, and five of a
#: list are the number of one
_PLAIN = {
    LIST: re.compile(r"(?:(?:[A-Za-z][\w-]*+|[1-9][0-9]{0,3})\n)*+", re.ASCII),
    NAME: re.compile(r"(?:(?:[A-Za-z][\w -]*+|[1-9][0-9]{0,8})\n)*+", re.ASCII),
    TEXT: re.compile(r"(?:[A-Za-z][ -~]*+\n)*+"),
}
#: months may begin a date too, and Err:502 is an error of a spreadsheet
_DOUBTFUL = frozenset(
    ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec", "err")
)
_LONGEST_NAME = 200
_DECIMALS = re.compile(r"\s*[-+]?[\d.,]*([.,])\d+\s*")
_POINT_AND_THREE = re.compile(r"^[1-9][0-9]{0,2}\.[0-9]{3}$", re.MULTILINE)
MOST_FAULTS = 5_000  # different unusable cells of one column that are looked at
UNREAD = Fault(
    "a cell after very many unusable ones", "cells like those above", "correct those first"
)


class Faults(Mapping):
    """What is wrong with unusable cells by the place of the row; of a junk column that is all.

    Rows in turn that suffer from one fault are held as one run.
    """

    def __init__(self) -> None:
        self._first, self._after = array("L"), array("L")  # places of each run
        self._faults: list[Fault] = []

    def add(self, place: int, fault: Fault) -> None:
        """Places rise."""
        if self._faults and self._faults[-1] is fault and self._after[-1] == place:
            self._after[-1] += 1
            return
        self._first.append(place)
        self._after.append(place + 1)
        self._faults.append(fault)

    def __getitem__(self, place: int) -> Fault:
        run = bisect_right(self._first, place) - 1
        if run < 0 or place >= self._after[run]:
            raise KeyError(place)
        return self._faults[run]

    def __iter__(self) -> Iterator[int]:
        for first, after in zip(self._first, self._after, strict=True):
            yield from range(first, after)

    def __len__(self) -> int:
        return sum(self._after) - sum(self._first)


class ReadColumn(NamedTuple):
    """Values by row; blank and unusable cells are None. Special cells by place."""

    values: list
    faults: Mapping[int, Fault]
    remarks: dict[int, str]


def read_column(
    raw: Sequence, column: Column, parse: Parse, dialect: Dialect = POINTS_ONLY
) -> ReadColumn:
    """Read a column by a function that reads one cell."""
    different = dict.fromkeys(raw)  # in the order of the rows: sets of texts are slow to walk
    lookup = _plain(different, column, dialect)
    if lookup is not None:
        return ReadColumn(list(map(lookup.__getitem__, raw)), {}, {})
    if column.type in (NAME, TEXT) and _are_plain(different, column):
        return ReadColumn([cell or None for cell in raw], {}, {})
    lookup = _each(different, parse)
    values = list(map(lookup.__getitem__, raw))
    faults = Faults()
    remarks: dict[int, str] = {}
    if any(isinstance(value, (Fault, Remarked)) for value in lookup.values()):
        for place, value in enumerate(values):
            if isinstance(value, Fault):
                values[place] = None
                faults.add(place, value)
            elif isinstance(value, Remarked):
                values[place], remarks[place] = value.value, value.message
    return ReadColumn(values, faults, remarks)


def _each(different: dict, parse: Parse) -> dict:
    """Every cell read; those after very many unusable ones are unusable without a look."""
    faults = 0
    for cell in different:
        value = different[cell] = parse(cell) if faults < MOST_FAULTS else UNREAD
        faults += isinstance(value, Fault)
    return different


def _plain(different: Iterable, column: Column, dialect: Dialect) -> dict | None:
    """Values of cells that are all plain and in range; None where one needs a closer look."""
    if column.type in (NUMBER, INTEGER):
        cells = [cell for cell in different if cell not in (None, "")]
        found = _plain_numbers(cells, column, dialect)
    elif column.type == LIST and _are_plain(different, column):
        found = {name: (name,) for name in different}
    else:
        return None
    return found and found | {None: None, "": None}


def _plain_numbers(cells: list, column: Column, dialect: Dialect) -> dict | None:
    kinds = set(map(type, cells))
    if kinds == {float}:
        found = {cell: cell + 0.0 for cell in cells}  # no -0.0
    elif kinds == {str} and _PLAIN_NUMBERS.fullmatch(lines := "\n".join(cells)):
        if dialect.clear != "." and _POINT_AND_THREE.search(lines):
            return None
        try:
            found = {cell: float(cell) for cell in cells}
        except ValueError:
            return None
    else:
        return None
    if column.low is not None and min(found.values()) < column.low:
        return None
    if max(found.values()) > (1e300 if column.high is None else column.high):
        return None
    if column.type == INTEGER:
        if not all(map(float.is_integer, found.values())):
            return None
        return {cell: int(number) for cell, number in found.items()}
    return found


def _are_plain(different: Iterable, column: Column) -> bool:
    """Whether all texts of a column are what they look like."""
    cells = [cell for cell in different if cell not in (None, "")]  # 0.0 is a cell
    if set(map(type, cells)) != {str}:
        return False
    lines = "\n".join(cells) + "\n"
    return (
        _PLAIN[column.type].fullmatch(lines) is not None
        and lines.count("\n") == len(cells)
        and " \n" not in lines
        and "  " not in lines
        and max(map(len, cells)) <= _LONGEST_NAME
        and _DOUBTFUL.isdisjoint(name[:3].lower() for name in cells)
    )


def dialect_of(numbers: Sequence[Sequence], *, points: bool, decimal_comma: bool) -> Dialect:
    """Which decimal sign the numbers of a table leave no doubt of.

    points: the separator is the comma, so that a point can only be a decimal point.
    """
    if points:
        return POINTS_ONLY
    signs = {
        found[1]
        for column in numbers
        for cell in set(column)
        if isinstance(cell, str)
        and len(cell) <= MAX_NUMBER
        and (found := _DECIMALS.fullmatch(cell))
        and not THREE_DIGITS.fullmatch(cell.strip())
    }
    return Dialect(decimal_comma, signs.pop() if len(signs) == 1 else "")
