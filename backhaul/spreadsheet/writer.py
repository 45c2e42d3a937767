"""A book of plain cells becomes the bytes of an .xlsx file."""

import re
from io import BytesIO
from typing import TYPE_CHECKING

from backhaul.errors import OutputError
from backhaul.spreadsheet.cell_rules import colour_verdicts, limit_inputs, mark_held
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import HELPER_WIDTH, Book, Sheet
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.printing import set_up_page
from backhaul.spreadsheet.row_height import ROW_PT
from backhaul.spreadsheet.sheet_data import SharedText, SheetData
from backhaul.spreadsheet.styles import StyleNumbers
from backhaul.spreadsheet.written_package import finish

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

_SAFE_NAME = re.compile(r"[a-z]+(?:_[a-z0-9]+)+")  # never a cell address such as TX1 or FSL20


def write_book(book: Book) -> bytes:
    """The .xlsx file of a book; the same book gives the same bytes."""
    return _written(book)


def _written(book: Book) -> bytes:
    from openpyxl import Workbook

    layout = Layout(book)
    workbook = Workbook()
    workbook.remove(workbook.active)
    worksheets = [workbook.create_sheet(name) for name in layout.names]
    if not worksheets:
        raise OutputError("a book needs a sheet")
    styles = StyleNumbers(workbook, worksheets[0])
    texts = SharedText()
    written = []
    for number, (sheet, worksheet) in enumerate(zip(book.sheets, worksheets, strict=True)):
        data = SheetData(sheet, number, layout, styles, texts)
        written.append(data)
        _set_columns_and_view(worksheet, sheet)
        set_up_page(worksheet, sheet, book, max(len(sheet.rows), 1))
        mark_held(worksheet, data, sheet, layout)  # before the colour of what it covers
        colour_verdicts(worksheet, data)
        limit_inputs(worksheet, data, layout, number)
    _name_cells(workbook, book, layout)
    skeleton = BytesIO()
    workbook.save(skeleton)
    return finish(skeleton.getvalue(), book, written, texts.xml(), layout)


def _set_columns_and_view(worksheet: "Worksheet", sheet: Sheet) -> None:
    for column, width in enumerate(sheet.columns, 1):
        worksheet.column_dimensions[column_letters(column)].width = width
    for column in range(len(sheet.columns) + 2, len(sheet.columns) + 2 + sheet.helper_columns):
        worksheet.column_dimensions[column_letters(column)].width = HELPER_WIDTH
    worksheet.sheet_format.defaultRowHeight = ROW_PT
    worksheet.sheet_format.customHeight = True
    worksheet.sheet_view.showGridLines = False
    if sheet.frozen:
        row, columns = sheet.frozen
        worksheet.freeze_panes = f"{column_letters(columns + 1)}{row + 1}"
    if sheet.filtered:
        first, last = sheet.filtered
        worksheet.auto_filter.ref = f"A{first}:{column_letters(sheet.width)}{last}"
    if sheet.locked:
        protection = worksheet.protection
        protection.enable()
        # allowed all the same: widths, heights, sorting and filtering
        protection.formatColumns = protection.formatRows = False
        protection.sort = protection.autoFilter = False
    if sheet.tab_color:
        worksheet.sheet_properties.tabColor = sheet.tab_color


def _name_cells(workbook: "Workbook", book: Book, layout: Layout) -> None:
    from openpyxl.workbook.defined_name import DefinedName

    for name, key in book.names.items():
        if not _SAFE_NAME.fullmatch(name):
            raise OutputError(
                f"defined name {name!r}: wanted small letters and underscores, as in loss_max_db"
            )
        target = layout.absolute("{" + key + "}", f"defined name {name}")
        workbook.defined_names[name] = DefinedName(name, attr_text=target)
