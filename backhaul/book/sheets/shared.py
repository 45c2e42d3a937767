"""What several sheets ask alike: figures of sites, names in keys, known or not."""

from collections.abc import Iterable, Iterator, Mapping
from math import isnan
from typing import Any

from backhaul.book.formula_cells import NOT_KNOWN, number_format
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text

NO_LIMIT = "no limit"


def is_known(value: Any) -> bool:
    """Whether there is a figure.

    >>> is_known(None), is_known(float("nan")), is_known(0.0)
    (False, False, True)
    """
    return value is not None and not (isinstance(value, float) and isnan(value))


class Known(Mapping[str, bool]):
    """Which terms have a figure at one place of their arrays; looked at when asked for."""

    def __init__(self, values: Mapping[str, Any], place: int):
        self._values, self._place = values, place

    def __getitem__(self, name: str) -> bool:
        return is_known(self._values[name][self._place])

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)


def given_cell(
    key: str, given: str | None, value: Any, digits: int = 2, *, missing: str = NOT_KNOWN
) -> SheetCell:
    """A cell that shows a given; a value where it stands on no sheet; words where it is missing."""
    if not is_known(value):
        return Text(missing, "text right", key=key)
    if given:
        return Calc(key, f"{{{given}}}", float(value), format=number_format(digits))
    return Number(float(value), key=key, format=number_format(digits))


def any_of(function: str, keys: Iterable[str]) -> str:
    """Formula text of MAX, MIN or SUM over cells; of one cell, the cell.

    >>> any_of("MAX", ["a", "b", "a"]), any_of("MAX", ["a"])
    ('MAX({a},{b})', '{a}')
    """
    refs = [f"{{{key}}}" for key in (keys if function == "SUM" else dict.fromkeys(keys))]
    return refs[0] if len(refs) == 1 and function != "SUM" else f"{function}({','.join(refs)})"
