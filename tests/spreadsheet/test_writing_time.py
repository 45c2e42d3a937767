"""Writing costs no more than 1.6 times of a bare openpyxl script with the same cells."""

import time
from datetime import datetime
from io import BytesIO

import openpyxl
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side

from backhaul.spreadsheet.cells import Calc, Input, Verdict
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.styles import FONT, LINE, LOOKS
from backhaul.spreadsheet.writer import write_book

SHEETS, ROWS = 10, 400
ALLOWED = 1.6


def ours() -> bytes:
    sheets = []
    for k in range(SHEETS):
        sheet = Sheet(f"Sheet {k}", "Title", [30, 12, 12, 10, 30])
        for r in range(ROWS):
            sheet.row(
                f"link number {r} of {k}",
                Input(f"i.{k}.{r}", 1.5 * r, "dB"),
                Calc(f"c.{k}.{r}", f"{{i.{k}.{r}}}*2-{{i.{k}.0}}", 3.0 * r, "dB"),
                Verdict("pass", f'IF({{c.{k}.{r}}}<0,"fail","pass")'),
                "common practice",
            )
        sheets.append(sheet)
    return write_book(Book(sheets, "T", datetime(2026, 1, 1)))


def bare() -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for role in ("text", "input", "calc", "verdict"):
        look = LOOKS[role]
        style = NamedStyle(name=f"bare {role}")
        style.font = Font(name=FONT, size=look.size_pt, color=look.ink, bold=look.bold)
        style.border = Border(bottom=Side(style="thin", color=LINE))
        style.alignment = Alignment(look.across, look.down, wrap_text=look.wrap, indent=look.indent)
        if look.fill:
            style.fill = PatternFill("solid", fgColor=look.fill)
        if role in ("input", "calc"):
            style.number_format = '0.00" dB"'
        book.add_named_style(style)
    roles = [f"bare {role}" for role in ("text", "input", "calc", "verdict", "text")]
    for k in range(SHEETS):
        sheet = book.create_sheet(f"Sheet {k}")
        sheet["A1"] = "Title"
        for r in range(ROWS):
            row = r + 2
            values = (
                f"link number {r} of {k}",
                1.5 * r,
                f"=B{row}*2-B2",
                f'=IF(C{row}<0,"fail","pass")',
                "common practice",
            )
            for column, (value, role) in enumerate(zip(values, roles, strict=True), 1):
                sheet.cell(row, column, value).style = role
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def seconds(write) -> float:
    start = time.process_time()
    write()
    return time.process_time() - start


def test_twenty_thousand_cells():
    pairs = [(seconds(ours), seconds(bare)) for _ in range(2)]
    assert min(pair[0] for pair in pairs) <= ALLOWED * min(pair[1] for pair in pairs)
