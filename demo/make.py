"""Write the demo workbooks from the CSVs beside this file: python demo/make.py"""

import csv
from datetime import date, datetime
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter

HERE = Path(__file__).parent
TABLES = ("project", "sites", "segments", "paths", "terrain", "demand", "extras")
#: columns that stay text, whatever is in them: a spreadsheet would make "5/6" a date
TEXT_COLUMNS = {"strand", "port", "to_port", "label", "part", "to_part", "revision"}
WRAPPED = {"note", "description", "value", "title"}
WIDEST = 44
FONT, LINE_PT = "Arial", 13.5
HEAD = PatternFill("solid", fgColor="DCE6EA")
LINE = Side(style="thin", color="8AA0A8")
HAIR = Side(style="hair", color="B8C4C8")


def typed(column: str, text: str) -> str | float | int | date | None:
    """A cell as a spreadsheet holds it: numbers as numbers, dates as dates."""
    if text == "":
        return None
    if column in TEXT_COLUMNS:
        return text
    try:
        return date.fromisoformat(text)
    except ValueError:
        pass
    try:
        return int(text)
    except ValueError:
        pass
    try:
        return float(text)
    except ValueError:
        return text


def add_sheet(book: Workbook, source: Path) -> None:
    """One table as one sheet, with its head frozen and a line above every new path."""
    with source.open(newline="", encoding="utf-8") as file:
        heads, *rows = list(csv.reader(file))
    sheet = book.create_sheet(source.stem)
    sheet.append(heads)
    for row in rows:
        sheet.append([typed(name, text) for name, text in zip(heads, row, strict=True)])
    for cell in sheet[1]:
        cell.font, cell.fill = Font(name=FONT, bold=True), HEAD
        cell.border, cell.alignment = Border(bottom=LINE), Alignment(wrap_text=True)
    for number, row in enumerate(rows, start=2):
        is_new = heads[0] == "path" and number > 2 and row[0] != rows[number - 3][0]
        lines = max(-(-len(text) // WIDEST) for text in row)
        sheet.row_dimensions[number].height = LINE_PT * max(lines, 1)
        for name, cell in zip(heads, sheet[number], strict=True):
            cell.border = Border(top=LINE if is_new else HAIR)
            cell.font = Font(name=FONT, color="9C2A10" if "FAULT" in str(cell.value) else None)
            cell.alignment = Alignment(
                wrap_text=name in WRAPPED,
                vertical="top",
                horizontal="left"
                if name in TEXT_COLUMNS | {"value"}
                else "center"
                if name == "step"
                else None,
            )
            if name in TEXT_COLUMNS:
                cell.number_format = "@"
            elif isinstance(cell.value, date):
                cell.number_format = "yyyy-mm-dd"
    for place, name in enumerate(heads, start=1):
        longest = max([len(name), *(len(row[place - 1]) for row in rows)])
        sheet.column_dimensions[get_column_letter(place)].width = min(longest + 2, WIDEST)
    sheet.freeze_panes = {"segments": "D2", "project": "A2"}.get(source.stem, "B2")
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"


def make(folder: Path) -> Path:
    """Write the workbook of one folder of CSVs beside it."""
    book = Workbook()
    book.remove(book.active)
    for table in TABLES:
        source = folder / f"{table}.csv"
        if source.exists():
            add_sheet(book, source)
    book.active = book.sheetnames.index("segments")
    book.properties.title = f"{folder.name}: demo design, invented data"
    book.properties.creator = "demo/make.py"
    book.properties.created = datetime(2026, 3, 16)
    target = folder.with_suffix(".xlsx")
    book.save(target)
    return target


if __name__ == "__main__":
    for folder in sorted(path for path in HERE.iterdir() if (path / "segments.csv").exists()):
        print(make(folder).relative_to(HERE.parent))
