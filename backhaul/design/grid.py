"""What a source of any form hands over: sheets of cells, before anything is interpreted.

A cell is "" or None (blank), a text, a float, or an `Odd`: something that a spreadsheet can hold
and that is neither.
"""

from collections.abc import Sequence
from itertools import zip_longest
from typing import NamedTuple

MAX_COLUMNS = 256  # ours are 34; the rest is room for a designer's own columns
MAX_ROWS = 250_000  # 20,000 paths of 12 segments
MAX_CELLS = 4_000_000

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


class Grid(NamedTuple):
    """One sheet or one CSV: its columns, all of one length, and the numbers of its rows."""

    name: str
    file: str
    #: a sheet of a workbook (cells are quoted as F7), not a CSV (quoted by line and column)
    is_sheet: bool
    numbers: Sequence[int]
    columns: Sequence[Sequence[object]]
    #: the separator of a CSV allows a decimal comma
    decimal_comma: bool = False
    merges: tuple[Merge, ...] = ()
    hidden_rows: tuple[int, ...] = ()
    hidden: bool = False
    #: cells whose formula reads another workbook, as (row number, column number)
    external: tuple[tuple[int, int], ...] = ()
    remarks: tuple[str, ...] = ()

    def rows(self, most: int) -> list[tuple]:
        """The first rows."""
        return list(zip(*(column[:most] for column in self.columns)))


def in_columns(rows: Sequence[Sequence[object]], blank: object = None) -> list[Sequence]:
    """Columns of rows, short ones filled up.

    >>> in_columns([["a"], ["b", "c"]])
    [('a', 'b'), (None, 'c')]
    """
    if len(set(map(len, rows))) == 1:
        return list(zip(*rows))
    return list(zip_longest(*rows, fillvalue=blank))


def column_letters(number: int) -> str:
    """Letters of a column, from 1.

    >>> column_letters(1), column_letters(28)
    ('A', 'AB')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
