"""Where rows come from, so that a message can name the cell."""

from collections.abc import Collection, Mapping
from typing import NamedTuple


class Instead(NamedTuple):
    """The column that holds a quantity in place of the metric one."""

    name: str
    #: numbers of the rows in which it does; None where in all
    rows: Collection[int] | None = None


class Table(NamedTuple):
    """A table as it was found: its name, its file, where its columns stand."""

    name: str
    file: str
    #: spreadsheet column letters by column name; None for a CSV
    letters: Mapping[str, str] | None = None
    #: declared columns that it has
    heads: Collection[str] = ()
    #: by metric column: where its figures were written in other units
    instead: Mapping[str, Instead] = {}

    def __hash__(self) -> int:
        """Rows are told apart in sets; their columns cannot be hashed."""
        return hash((self.name, self.file))

    def cell(self, row: int, column: str) -> str:
        """The cell as its writer would look for it.

        >>> Table("segments", "path.xlsx", {"part": "F"}).cell(7, "part")
        'segments!F7'
        >>> Table("segments", "segments.csv").cell(7, "part")
        'segments.csv:7 part'
        >>> feet = {"length_m": Instead("length_ft", {7})}
        >>> Table("segments", "segments.csv", instead=feet).cell(7, "length_m")
        'segments.csv:7 length_ft'
        """
        column = self.written(row, column)
        if self.letters is None:
            return f"{self.file}:{row} {column}".rstrip()
        return f"{self.name}!{self.letters.get(column, '')}{row}"

    def written(self, row: int, column: str) -> str:
        """The column in which a row holds a quantity: its twin in other units, or itself."""
        other = self.instead.get(column)
        if other is not None and (other.rows is None or row in other.rows):
            return other.name
        return column
