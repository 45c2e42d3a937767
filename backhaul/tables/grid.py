"""What a source of any form hands over: sheets of cells, before anything is interpreted."""

from collections.abc import Sequence
from typing import NamedTuple

from backhaul.spreadsheet.read_cells import Merge


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
    #: how many cells each row of a CSV was written with
    widths: Sequence[int] = ()
    merges: tuple[Merge, ...] = ()
    hidden_rows: tuple[int, ...] = ()
    hidden: bool = False
    #: cells whose formula reads another workbook, as (row number, column number)
    external: tuple[tuple[int, int], ...] = ()
    remarks: tuple[str, ...] = ()

    def rows(self, most: int) -> list[tuple]:
        """The first rows."""
        return list(zip(*(column[:most] for column in self.columns)))
