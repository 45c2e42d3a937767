"""What a sheet holds as it was saved, before anything is interpreted.

A cell is "" or None (blank), a text, a float, or an `Odd`: something that a spreadsheet can hold
and that is neither.
"""

from collections.abc import Sequence
from datetime import datetime
from itertools import zip_longest
from typing import NamedTuple

MAX_COLUMNS = 256  # a wide table has 40; the rest is room for columns of one's own
MAX_ROWS = 250_000
MAX_CELLS = 3_000_000  # rows times the widest, 200 MB at the worst

# day 0 of the two date systems, ECMA-376 part 1, 18.17.4.1
EPOCH_1900, EPOCH_1904 = datetime(1899, 12, 30), datetime(1904, 1, 1)
DATE, PERCENT, BOOLEAN, ERROR, NO_VALUE = "date", "percent", "boolean", "error", "no value"


class Odd(NamedTuple):
    """A cell that is neither text nor number: what it is and how it is shown."""

    what: str
    shown: str


class Merge(NamedTuple):
    """A merged range, rows and columns from 1."""

    first_row: int
    last_row: int
    first_column: int
    last_column: int
    text: str


class SheetCells(NamedTuple):
    """The rows of a sheet that hold a value, as columns of one length."""

    numbers: Sequence[int]
    columns: Sequence[Sequence[object]]
    merges: tuple[Merge, ...] = ()
    hidden_rows: tuple[int, ...] = ()
    has_hidden_columns: bool = False
    #: cells whose formula reads another workbook, as (row number, column number)
    external: tuple[tuple[int, int], ...] = ()


def in_columns(rows: Sequence[Sequence[object]], blank: object = None) -> list[Sequence]:
    """Columns of rows, short ones filled up.

    >>> in_columns([["a"], ["b", "c"]])
    [('a', 'b'), (None, 'c')]
    """
    if len(set(map(len, rows))) == 1:
        return list(zip(*rows))
    return list(zip_longest(*rows, fillvalue=blank))
