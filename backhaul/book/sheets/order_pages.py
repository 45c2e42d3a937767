"""Where the pages of the order list begin: heads repeated, no group of rows parted."""

from backhaul.book.sheets.page_flow import SMALL, Part, flow
from backhaul.spreadsheet.cells import Head, Text
from backhaul.spreadsheet.grid import Row, Sheet

_HEADINGS = ("heading", "head", "muted")
#: A row that belongs to the one above it, by the words in its second cell.
_FOLLOWS = ("must be", "offered", "change", "pieces of each")
#: Heads in the midst of a section, by the words in their first cell.
RUN_HEAD = "Run"


def fit_sections(sheet: Sheet, keep: float = SMALL) -> None:
    """Lay the sections on pages; a row with an empty first cell follows the last.

    keep: the share of a page up to which a section is not parted.
    """
    firsts = [number for number in range(2, len(sheet.rows) + 1) if _begins_section(sheet, number)]
    if not firsts:
        return
    starts = [number - 1 if _is_blank(sheet.rows[number - 2]) else number for number in firsts]
    ends = [*(start - 1 for start in starts[1:]), len(sheet.rows)]
    flow(sheet, [_part(sheet, start, end, keep) for start, end in zip(starts, ends, strict=True)])


def _part(sheet: Sheet, first: int, last: int, keep: float) -> Part:
    heads = [n for n in range(first, last + 1) if _is_head(sheet.rows[n - 1])]
    starts = [n for n in range(first + 1, last + 1) if _begins_group(sheet, n)]
    return Part(first, last, heads, starts, keep=keep)


def _begins_section(sheet: Sheet, number: int) -> bool:
    """A heading or head that stands under rows of figures."""
    row, above = sheet.rows[number - 1], sheet.rows[number - 2]
    return _is_heading(row) and not _is_heading(above) and _first_words(row) != RUN_HEAD


def _begins_group(sheet: Sheet, number: int) -> bool:
    """A row that may stand first on a page, under the heads."""
    row, above = sheet.rows[number - 1], sheet.rows[number - 2]
    if _is_blank(row) or _is_heading(row) or _is_heading(above) or not _first_words(row):
        return False
    if row.style == "strong":  # a result stays with what it is the result of
        return False
    second = row.cells[1] if len(row.cells) > 1 else None
    return getattr(second, "text", second) not in _FOLLOWS


def _first_words(row: Row) -> str:
    first = row.cells[0] if row.cells else ""
    return str(getattr(first, "text", first) or "")


def _is_blank(row: Row) -> bool:
    return not row.cells


def _is_head(row: Row) -> bool:
    first = row.cells[0] if row.cells else None
    return isinstance(first, Head) or (
        isinstance(first, Text) and first.style.split(" ")[0] == "head"
    )


def _is_heading(row: Row) -> bool:
    first = row.cells[0] if row.cells else None
    return _is_head(row) or (isinstance(first, Text) and first.style.split(" ")[0] in _HEADINGS)
