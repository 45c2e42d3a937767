"""How high a row must be for its words, which spreadsheet programs do not all find out."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import column_pt, line_count

ROW_PT = 12.8
LINE_SPACING = 1.24  # line height of the standard font over its size
ROW_MARGIN_PT = 1.6
INDENT_PT = 7.0
MAX_ROW_PT = 409.0


class _Place(NamedTuple):
    """Room for words of a role in certain columns; `surely` characters fit into one line."""

    surely: float
    room_pt: float
    size_pt: float
    bold: bool
    line_pt: float


class RowHeights:
    """Heights that words ask for on a sheet of these column widths."""

    def __init__(self, columns: Sequence[float]) -> None:
        self._columns = columns
        self._places: dict[tuple[str, int, int], _Place] = {}

    def of(self, words: str, role: str, column: int, span: int) -> float:
        """Height of words of a role that begin in a column and span some."""
        place = self._places.get((role, column, span)) or self._add(role, column, span)
        lines = 1
        if len(words) > place.surely or "\n" in words:
            lines = line_count(words, place.room_pt, place.size_pt, bold=place.bold)
        return lines * place.line_pt + ROW_MARGIN_PT

    def _add(self, role: str, column: int, span: int) -> _Place:
        look = LOOKS[role]
        width = sum(self._columns[column - 1 : column - 1 + span])  # merged: one padding
        room = column_pt(width) - look.indent * INDENT_PT
        place = _Place(
            room / look.size_pt if look.wrap else float("inf"),
            room,
            look.size_pt,
            look.bold,
            look.size_pt * LINE_SPACING,
        )
        self._places[role, column, span] = place
        return place


@lru_cache(maxsize=32)
def row_heights(columns: tuple[float, ...]) -> RowHeights:
    """The heights of a sheet of these columns, found out once however often they are asked for."""
    return RowHeights(columns)
