"""How a sheet prints: A4, fit to width, repeated head rows, header and footer."""

from typing import TYPE_CHECKING

from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.sheet_data import clean

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

A4 = 9  # ECMA-376, part 1, 18.3.1.63, paperSize
MARGIN_IN = 0.5
TOP_MARGIN_IN = 0.56  # and at the foot
HEADER_MARGIN_IN = 0.28
MAX_PART = 75  # header and footer hold 255 characters each, codes included


def literal(text: str) -> str:
    """Text of header or footer: `&` begins a code there, so it is doubled.

    >>> literal("Fish & reeds")
    'Fish && reeds'
    >>> len(literal("&" * 300))
    75
    """
    short = clean(" ".join(text.split()))
    doubled = short.replace("&", "&&")
    while _units(doubled) > MAX_PART:
        short = short[:-1]
        doubled = short.replace("&", "&&") + "…"
    return doubled


def _units(text: str) -> int:
    """Length as spreadsheet programs count it: signs beyond the first 65,536 are two."""
    return len(text) + sum(sign > "\uffff" for sign in text)


def set_up_page(worksheet: "Worksheet", sheet: Sheet, book: Book, last_row: int) -> None:
    """Everything about the printed page of one sheet."""
    worksheet.print_area = _print_area(sheet, last_row)
    if sheet.repeated_rows:
        worksheet.print_title_rows = "{}:{}".format(*sheet.repeated_rows)
    setup = worksheet.page_setup
    setup.paperSize = A4
    setup.orientation = "landscape" if sheet.landscape else "portrait"
    setup.fitToWidth = 1
    setup.fitToHeight = 1 if sheet.one_page else 0
    worksheet.sheet_properties.pageSetUpPr.fitToPage = True
    margins = worksheet.page_margins
    margins.left = margins.right = MARGIN_IN
    margins.top = margins.bottom = TOP_MARGIN_IN
    margins.header = margins.footer = HEADER_MARGIN_IN
    _set_header_and_footer(worksheet, sheet, book)
    _set_breaks(worksheet, sheet)


def _print_area(sheet: Sheet, last_row: int) -> str:
    """What is printed; of a sheet that is not, an empty cell, which programs leave out."""
    if not sheet.prints:
        return f"{column_letters(sheet.width + 1)}1"
    return f"A{sheet.first_printed}:{column_letters(sheet.width)}{last_row}"


def _set_header_and_footer(worksheet: "Worksheet", sheet: Sheet, book: Book) -> None:
    revision = f"Revision {book.revision}" if book.revision else ""
    parts = (
        (worksheet.oddHeader.left, literal(book.title)),
        (worksheet.oddHeader.right, literal(" · ".join(filter(None, (revision, book.date))))),
        (worksheet.oddFooter.left, literal(sheet.name)),
        (worksheet.oddFooter.center, literal(book.footer)),
        (worksheet.oddFooter.right, "Page &P of &N"),
    )
    for part, text in parts:
        if text:
            part.text, part.size = text, 8


def _set_breaks(worksheet: "Worksheet", sheet: Sheet) -> None:
    if not sheet.page_breaks:
        return
    from openpyxl.worksheet.pagebreak import Break

    for row in sheet.page_breaks:
        worksheet.row_breaks.append(Break(id=row))
