"""Rows of a comma CSV in which an unquoted decimal comma pushed the cells aside."""

import re
from collections.abc import Mapping, Sequence

from backhaul.tables.collector import Collector
from backhaul.tables.column import INTEGER, NUMBER, Column
from backhaul.tables.grid import Grid
from backhaul.tables.names import shown
from backhaul.tables.table import Table

_WHOLE = re.compile(r"\s*[-+]?\d+\s*")
_DIGITS = re.compile(r"\s*\d+\s*")
NEEDED = "as many cells as heads"


def shifted_rows(
    grid: Grid,
    head: int,
    places: Mapping[str, int],
    columns: Sequence[Column],
    collector: Collector,
) -> set[int]:
    """Places of rows that must not be read, each a problem; `head` is the place of the heads.

    With a comma as separator 6,9 is two cells: what follows stands under the wrong heads.
    """
    if grid.is_sheet or grid.decimal_comma or not grid.widths:
        return set()
    last = max(place for place, cells in enumerate(grid.columns) if str(cells[head]).strip())
    wide = [place for place in range(head + 1, len(grid.numbers)) if grid.widths[place] > last + 1]
    if not wide:
        return set()
    table = Table(grid.name, grid.file)
    beyond = grid.columns[last + 1 :]
    numbers = sorted(places[c.name] for c in columns if c.type in _NUMBERS and c.name in places)
    found = set()
    for place in wide:
        filled = [n for n, cells in enumerate(beyond, last + 2) if str(cells[place]).strip()]
        is_longer = grid.widths[place] > grid.widths[head]
        halves = _halves(grid, place, numbers, last) if filled or is_longer else None
        if not filled and halves is None:
            continue
        found.add(place)
        if not collector.has_room():
            continue
        column = halves + 1 if halves is not None else filled[0]
        what = shown(grid.columns[column - 1][place])
        if halves is not None:
            what += f" and {shown(grid.columns[column][place])} beside it"
        collector.problem(
            table,
            grid.numbers[place],
            f"column {column}",
            f"{what}, in a row of {grid.widths[place]} cells under {last + 1} heads",
            NEEDED,
            "is a decimal comma meant? write a point, or put the number between quotation marks",
        )
    return found


_NUMBERS = frozenset((NUMBER, INTEGER))


def _halves(grid: Grid, row: int, numbers: Sequence[int], last: int) -> int | None:
    """Place of the first number that may have been cut at its comma."""
    for place in numbers:
        if place < len(grid.columns) - 1 and place <= last:
            whole, rest = grid.columns[place][row], grid.columns[place + 1][row]
            if _WHOLE.fullmatch(whole) and _DIGITS.fullmatch(rest):
                return place
    return None
