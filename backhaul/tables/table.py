"""Where rows come from, so that a message can name the cell."""

from collections.abc import Mapping
from typing import NamedTuple


class Table(NamedTuple):
    """A table as it was found: its name, its file, where its columns stand."""

    name: str
    file: str
    #: spreadsheet column letters by column name; None for a CSV
    letters: Mapping[str, str] | None = None

    def cell(self, row: int, column: str) -> str:
        """The cell as its writer would look for it.

        >>> Table("segments", "path.xlsx", {"part": "F"}).cell(7, "part")
        'segments!F7'
        >>> Table("segments", "segments.csv").cell(7, "part")
        'segments.csv:7 part'
        """
        if self.letters is None:
            return f"{self.file}:{row} {column}".rstrip()
        return f"{self.name}!{self.letters.get(column, '')}{row}"
