"""The designer's own workbook with the edits made in place: formats, comments, other sheets stay."""

import io
import re
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from backhaul.design.edits import Edit, written
from backhaul.design.model import Design
from backhaul.report.design_difference import HEADS, Difference, change_rows
from backhaul.tables.names import squash

CHANGES_SHEET = "Changes"
CHANGED_FILL = "FFE9C46A"


def changed_workbook(source: Path, design: Design, changed: Design, edits: Sequence[Edit]) -> bytes:
    """The user's own workbook with changed cells marked and a sheet that lists them."""
    import openpyxl
    from openpyxl.styles import Font, PatternFill

    book = openpyxl.load_workbook(source)
    values = openpyxl.load_workbook(source, data_only=True)
    difference = Difference(design, changed)
    mark = PatternFill("solid", fgColor=CHANGED_FILL)
    segments = design.segments[0].table
    sheet = next(each for each in book if squash(each.title) == "segments")

    def put(row: int, column: str, value: Any) -> None:
        letters = segments.letters.get(column)
        if letters is None:
            place = sheet.max_column + 1
            sheet.cell(min(r.row for r in design.segments) - 1, place, column)
            letters = openpyxl.utils.get_column_letter(place)
            segments.letters[column] = letters
        cell = sheet[f"{letters}{row}"]
        cell.value = _cell_value(value)
        cell.fill = mark

    for row, cells in difference.cells.items():
        for column, value in cells.items():
            put(row, column, value)
    for row in difference.removed:
        for letters in segments.letters.values():
            sheet[f"{letters}{row}"].value = None
            sheet[f"{letters}{row}"].fill = mark
    below = max(row.row for row in design.segments)
    for cells in difference.inserted:
        below += 1
        for column, value in cells.items():
            put(below, column, value)
    for table, column_of in (("project", "value"), ("sites", None)):
        _set_other(book, table, column_of, design, difference, mark)
    listed = book.create_sheet(_free_title(book, CHANGES_SHEET))
    listed.append(HEADS)
    for row in change_rows(edits):
        listed.append(row)
    for cell in listed[1]:
        cell.font = Font(bold=True)
    for column, width in zip("ABCDEFGH", (12, 9, 16, 8, 18, 24, 40, 16), strict=True):
        listed.column_dimensions[column].width = width
    out = io.BytesIO()
    book.save(out)
    return with_cached(out.getvalue(), book, values)


def _set_other(book, table: str, column: str | None, design, difference, mark) -> None:
    sheet = next((each for each in book if squash(each.title) == table), None)
    if sheet is None:
        return
    if table == "project":
        place = design.project.table
        for name, value in difference.settings.items():
            row = design.project.rows.get(name, sheet.max_row + 1)
            sheet[f"{place.letters['setting']}{row}"].value = name
            cell = sheet[f"{place.letters[column]}{row}"]
            cell.value, cell.fill = _cell_value(value), mark
        return
    letters = next(iter(design.sites.values())).table.letters
    for row, cells in difference.sites.items():
        for name, value in cells.items():
            cell = sheet[f"{letters[name]}{row}"]
            cell.value, cell.fill = _cell_value(value), mark


def _cell_value(value: Any) -> Any:
    value = written(value)
    return ("yes" if value else "no") if isinstance(value, bool) else value


def _free_title(book: Any, wanted: str) -> str:
    title, number = wanted, 1
    while title in book.sheetnames:
        number += 1
        title = f"{wanted} {number}"
    return title


_FORMULA_CELL = re.compile(r'(<c r="([A-Z]+\d+)"[^>]*?)( t="\w+")?(>)(<f>.*?</f>)<v ?/?>(?:</v>)?')


def with_cached(data: bytes, book: Any, values: Any) -> bytes:
    """The package with the values that its formulas had: openpyxl stores none beside them."""
    source = zipfile.ZipFile(io.BytesIO(data))
    out = io.BytesIO()
    titles = {f"xl/worksheets/sheet{n}.xml": t for n, t in enumerate(book.sheetnames, 1)}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for item in source.infolist():
            part = source.read(item.filename)
            title = titles.get(item.filename)
            if title in values.sheetnames:
                known = values[title]
                part = _FORMULA_CELL.sub(
                    lambda match, known=known: _cached(match, known[match[2]].value),
                    part.decode(),
                ).encode()
            target.writestr(item, part)
    return out.getvalue()


def _cached(match: re.Match, value: Any) -> str:
    if value is None:
        return match[0]
    if isinstance(value, bool):
        kind, text = ' t="b"', str(int(value))
    elif isinstance(value, (int, float)):
        kind, text = "", repr(value)
    else:
        kind, text = ' t="str"', escape(str(value))
    return f"{match[1]}{kind}>{match[5]}<v>{text}</v>"
