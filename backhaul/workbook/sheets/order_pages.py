"""Where the pages of a long list begin: never between a heading and its rows, or inside a group."""

from backhaul.workbook.cells import Head, Text
from backhaul.workbook.grid import Row, Sheet
from backhaul.workbook.sheets.page_fit import Block, fit_pages

_HEADINGS = ("heading", "head", "muted")
#: A row that belongs to the one above it, by the words in its second cell.
_FOLLOWS = ("must be", "offered", "change", "pieces of each")


def fit_sections(sheet: Sheet) -> None:
    """Break pages before headings and groups; a row with an empty first cell follows the last."""
    starts = [number for number, row in enumerate(sheet.rows, 1) if _begins(sheet, number, row)]
    if starts:
        fit_pages(sheet, [Block(starts[0], starts, len(sheet.rows))])


def _begins(sheet: Sheet, number: int, row: Row) -> bool:
    """A row that may stand first on a page."""
    if not row.cells or number == 1 or _is_heading(sheet.rows[number - 2]):
        return False
    if row.cells[0] in ("", None) or getattr(row.cells[0], "text", "x") == "":
        return False
    second = row.cells[1] if len(row.cells) > 1 else None
    return getattr(second, "text", second) not in _FOLLOWS


def _is_heading(row: Row) -> bool:
    first = row.cells[0] if row.cells else None
    if isinstance(first, Head):
        return True
    units = row.cells and all(
        isinstance(cell, Text) and cell.style in ("text small", "text right") for cell in row.cells
    )
    return bool(units) or (isinstance(first, Text) and first.style.split(" ")[0] in _HEADINGS)
