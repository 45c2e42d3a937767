"""Page breaks, so that what belongs together stands on one page where it fits."""

from collections.abc import Sequence
from typing import NamedTuple

from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.spreadsheet.row_height import ROW_PT, RowHeights, row_heights
from backhaul.spreadsheet.styles import role_of

#: Room on an A4 page in landscape within the margins that `printing` sets [pt]; of the height 4 pt
#: are spared, since programs round rows differently.
PAGE_WIDTH_PT, PAGE_HEIGHT_PT = 769.9, 510.5
#: The same of a page upright.
UPRIGHT_WIDTH_PT, UPRIGHT_HEIGHT_PT = 523.3, 757.0
PT_PER_CHARACTER = 5.25


class Block(NamedTuple):
    """Rows that belong together; `sections` are the rows at which it may be parted."""

    first: int
    sections: Sequence[int]
    last: int


def fit_pages(sheet: Sheet, blocks: Sequence[Block], again: Sequence[Row] = ()) -> None:
    """Begin a new page before a block or section that would else be torn.

    again: rows that print repeats at the head of every page.
    """
    room, heads = page_room_pt(sheet), sum(row_heights_pt(sheet, again))
    heights, tops = row_heights(tuple(sheet.columns)), [0.0]
    for row in sheet.rows:
        tops.append(tops[-1] + _height_pt(heights, row))

    def height(first: int, last: int) -> float:
        return tops[last] - tops[first - 1]

    used = height(1, blocks[0].first - 1) if blocks else 0.0
    for number, block in enumerate(blocks):
        whole = height(block.first, block.last)
        if used + whole <= room:
            used += whole
            continue
        if number:
            sheet.page_breaks.append(block.first - 1)
            used = heads
        used = _part(sheet, block, height, used, room)


def _part(sheet: Sheet, block: Block, height, used: float, room: float) -> float:
    """Break a block that takes more than what is left of a page; the room used on its last page."""
    starts = sorted({block.first, *block.sections})
    for first, last in zip(starts, [*(start - 1 for start in starts[1:]), block.last], strict=True):
        whole = height(first, last)
        if used + whole > room and used and first != block.first:
            sheet.page_breaks.append(first - 1)
            used = 0.0
        # where a long section ends depends on the program: the next begins a page
        used = room if whole > room else used + whole
    return used


def page_room_pt(sheet: Sheet) -> float:
    """Height of rows that a page takes, the sheet's scale counted [pt]."""
    return (PAGE_HEIGHT_PT if sheet.landscape else UPRIGHT_HEIGHT_PT) / _scale(sheet)


def row_heights_pt(sheet: Sheet, rows: Sequence[Row]) -> list[float]:
    """Heights that rows are given by the writer [pt]."""
    heights = row_heights(tuple(sheet.columns))
    return [_height_pt(heights, row) for row in rows]


def _scale(sheet: Sheet) -> float:
    """How much a sheet that is wider than the page is shrunk."""
    width = PAGE_WIDTH_PT if sheet.landscape else UPRIGHT_WIDTH_PT
    return min(1.0, width / (sum(sheet.columns[: sheet.width]) * PT_PER_CHARACTER))


def _height_pt(heights: RowHeights, row: Row) -> float:
    """Height that a row is given by the writer."""
    if row.height is not None:
        return row.height
    height, column = ROW_PT, 1
    for cell in row.cells:
        words = cell if isinstance(cell, str) else getattr(cell, "text", None)
        if words is None and isinstance(getattr(cell, "value", None), str):
            words = cell.value
        span = getattr(cell, "span", 1)
        if words and len(words) > 2:
            role = "text" if isinstance(cell, str) else role_of(cell, row.style)
            height = max(height, heights.of(words, role, column, span))
        column += span
    return height
