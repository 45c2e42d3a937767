"""Rows laid on pages: a small part stays whole, a long one goes on under its heads repeated."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from backhaul.book.sheets.page_fit import page_room_pt, row_heights_pt
from backhaul.spreadsheet.grid import GAP_PT, Row, Sheet

#: A part that takes no more than this share of a page begins a new one rather than being parted.
SMALL = 0.45
#: A long part begins at the foot of a page only where this many units of it find room there.
_LEAD = 3


class Part(NamedTuple):
    """Rows `first` to `last`, numbered from 1.

    heads: rows that are repeated where it goes on. starts: rows at which a page may begin.
    whole: never parted where it fits on a page. keep: the share of a page up to which it is not
    parted.
    """

    first: int
    last: int
    heads: Sequence[int] = ()
    starts: Collection[int] = ()
    whole: bool = False
    keep: float = SMALL


def flow(sheet: Sheet, parts: Sequence[Part], top: Sequence[Row] = ()) -> None:
    """Lay the rows of a sheet on pages; what stands before the first part begins the first page.

    `top` is put at the head of every page but the first.
    """
    if not parts:
        return
    rows = sheet.rows
    pages = _Pages(sheet, top, rows[: parts[0].first - 1])
    for part in parts:
        pages.add(rows, part)


class _Pages:
    def __init__(self, sheet: Sheet, top: Sequence[Row], before: Sequence[Row]):
        self.sheet, self.top = sheet, top
        self.room = page_room_pt(sheet)
        sheet.rows = []
        self.used, self.is_fresh = 0.0, True
        self._put(before)

    def add(self, rows: Sequence[Row], part: Part) -> None:
        """One part, parted where it must be."""
        units = _units(rows, part)
        heights = [self._height(unit) for unit in units]
        total = sum(heights)
        small = total <= (1.0 if part.whole else part.keep) * self.room
        least = total if small else sum(heights[:_LEAD])
        if self.used + least > self.room:
            self._new_page()
        heads = [_said_again(rows[number - 1]) for number in part.heads]
        for place, (unit, height) in enumerate(zip(units, heights, strict=True)):
            # the last does not stand alone on a page
            with_last = heights[-1] if 0 < place == len(units) - 2 else 0.0
            if self.used + height + with_last > self.room and not self.is_fresh:
                self._new_page()
                if place:
                    self._put(heads)
            self._put(unit)

    def _new_page(self) -> None:
        if self.is_fresh:
            return
        self.sheet.page_break()
        self.used = 0.0
        self._put(self.top)
        self.is_fresh = True

    def _put(self, rows: Sequence[Row]) -> None:
        if self.is_fresh and self.used == 0.0:
            while rows and not rows[0].cells and rows[0].height in (None, GAP_PT):
                rows = rows[1:]
        self.sheet.rows.extend(rows)
        self.used += self._height(rows)
        self.is_fresh = self.is_fresh and not rows

    def _height(self, rows: Sequence[Row]) -> float:
        return sum(row_heights_pt(self.sheet, rows))


def _said_again(row: Row) -> Row:
    """A head that is repeated: a key stands once in a book."""
    cells = (cell._replace(key="") if getattr(cell, "key", "") else cell for cell in row.cells)
    return row._replace(cells=tuple(cells))


def _units(rows: Sequence[Row], part: Part) -> list[Sequence[Row]]:
    """Rows between two starts."""
    marks = sorted({part.first, *(n for n in part.starts if part.first < n <= part.last)})
    ends = [*(mark - 1 for mark in marks[1:]), part.last]
    return [rows[first - 1 : last] for first, last in zip(marks, ends, strict=True)]
