"""The designer's own workbook with the edits made in place: formats, comments, other sheets stay."""

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from backhaul.design.columns import SEGMENTS, SITES
from backhaul.design.edits import Edit, written
from backhaul.design.model import Design
from backhaul.design.settings import SETTINGS, US
from backhaul.report.design_difference import HEADS, Difference, change_rows
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.tables.names import squash
from backhaul.tables.table import Table
from backhaul.tables.twins import cells_to_write, twins

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
    us = changed.project.units == US
    sheet = next(each for each in book if squash(each.title) == "segments")
    head = min(row.row for row in design.segments) - 1
    segments = _Cells(sheet, design.segments[0].table, head, SEGMENTS, mark, us=us)
    for row, cells in difference.cells.items():
        segments.put(row, cells)
    for row in difference.removed:
        segments.clear(row)
    below = max(row.row for row in design.segments)
    for cells in difference.inserted:
        below += 1
        segments.put(below, cells)
    if difference.settings and design.project.table is not None:
        _set_settings(_sheet(book, "project"), design, difference, mark, us=us)
    if sites := list(design.sites.values()):
        head = min(site.row for site in sites) - 1
        changes = _Cells(_sheet(book, "sites"), sites[0].table, head, SITES, mark, us=us)
        for row, cells in difference.sites.items():
            changes.put(row, cells)
    listed = book.create_sheet(_free_title(book, CHANGES_SHEET))
    listed.append(HEADS)
    for row in change_rows(edits, design):
        listed.append(row)
    for cell in listed[1]:
        cell.font = Font(bold=True)
    for column, width in zip("ABCDEFGH", (12, 9, 16, 8, 18, 24, 40, 16), strict=True):
        listed.column_dimensions[column].width = width
    out = io.BytesIO()
    book.save(out)
    return with_cached(out.getvalue(), book, values)


class _Cells:
    """Cells of one table on its sheet, each marked when it is changed."""

    def __init__(self, sheet, table: Table, head: int, columns, mark, *, us: bool):
        self._sheet, self._head, self._columns = sheet, head, columns
        self._mark, self._us = mark, us
        self._letters = dict(table.letters or {})

    def put(self, row: int, cells: Mapping[str, Any]) -> None:
        """Figures in SI, in the units of the heads that there are; a head that lacks is added."""
        filled = [name for name, letters in self._letters.items() if self._is_filled(letters, row)]
        for name, value in cells_to_write(
            self._columns, cells, self._letters, filled, us=self._us
        ).items():
            self._set(self._column(name), row, _cell_value(value))

    def clear(self, row: int) -> None:
        for letters in self._letters.values():
            self._set(letters, row, None)

    def _is_filled(self, letters: str, row: int) -> bool:
        return self._sheet[f"{letters}{row}"].value is not None

    def _column(self, name: str) -> str:
        if name not in self._letters:
            place = self._sheet.max_column + 1
            self._sheet.cell(self._head, place, name)
            self._letters[name] = column_letters(place)
        return self._letters[name]

    def _set(self, letters: str, row: int, value: Any) -> None:
        cell = self._sheet[f"{letters}{row}"]
        cell.value, cell.fill = value, self._mark


def _sheet(book, table: str):
    return next(each for each in book if squash(each.title) == table)


def _set_settings(sheet, design: Design, difference: Difference, mark, *, us: bool) -> None:
    table, rows = design.project.table, design.project.rows
    moved = {n for n, t in twins(SETTINGS).items() if rows.get(n) == rows.get(t.column.name)}
    there = [name for name in rows if name not in moved]
    filled = [n for n in there if sheet[f"{table.letters['value']}{rows[n]}"].value is not None]
    settings = cells_to_write(SETTINGS, difference.settings, there, filled, us=us)
    for name, value in settings.items():
        row = rows.get(name, sheet.max_row + 1)
        sheet[f"{table.letters['setting']}{row}"].value = name
        cell = sheet[f"{table.letters['value']}{row}"]
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
