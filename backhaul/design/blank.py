"""The blank design: the sheets to fill in, with drop-downs from the catalogues."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from backhaul.design.blank_example import EXAMPLE
from backhaul.design.blank_lists import (
    CHOICES,
    KINDS_LIST,
    NEEDED,
    UNUSED,
    USE_LIST,
    fill_lists,
    part_list_formula,
)
from backhaul.design.columns import PROJECT, SEGMENTS, TABLES
from backhaul.design.kinds import KINDS
from backhaul.design.settings import METRIC, SETTINGS, US
from backhaul.safe_file import write_beside_and_rename
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.fixed_times import same_bytes
from backhaul.tables.column import (
    CHOICE,
    INTEGER,
    LIST,
    NAME,
    NUMBER,
    TEXT,
    YES_NO,
    Column,
)
from backhaul.tables.faults import needs
from backhaul.tables.names import listed
from backhaul.tables.twins import cells_to_write, in_us_units, twins

ROWS = 1000  # rows that have drop-downs and checks; more may be filled in
SITES_LIST, PATHS_LIST = "sites_list", "paths_list"
#: where a cell names something that another sheet holds
FROM_LISTS = {
    "site": SITES_LIST,
    "to_site": SITES_LIST,
    "to_part": "radios_list",
    "region": "regions_list",
    "surface": "surface_list",
    "antenna": "antennas_list",
    "to_antenna": "antennas_list",
    "backs_up": PATHS_LIST,
}
WIDE = {
    "note": 34,
    "part": 28,
    "title": 34,
    "help": 70,
    "description": 40,
    "value": 30,
    "setting": 24,
    "to_part": 24,
    "label": 16,
    "what": 24,
}
HEAD_FILL, UNUSED_FILL, NEEDED_FILL, VALUE_FILL = "1F4E5F", "D0D0D0", "FFE699", "FFFBE6"
VALUE_COLOUR = "1F3FBF"
NOT_LISTED = "That name is not in the list. Keep it if it is in a catalogue of your own."
HELP = (
    ("How to fill in this design", True),
    ("Only the sheet segments is needed; each of the others sharpens the result.", False),
    (
        (
            "segments: one row a piece, in the order in which the signal meets them, from the first site "
            "to the last. Rows with the same path are one path; step rises along it."
        ),
        False,
    ),
    (
        (
            "Choose the kind first: the drop-down of part then lists the parts of that kind, columns that "
            "the kind does not read turn grey, and cells that it cannot do without turn yellow."
        ),
        False,
    ),
    ("Heads carry the units. Write numbers alone: 96, not 96 m; 99.9, not 99.9 %.", False),
    ("strand, port and label are text: 5/6 stays 5/6. Keep that format when pasting.", False),
    (
        (
            "label names one physical thing: rows with one label are one thing, counted once, and agree "
            "in all but path, step, strand, port and note."
        ),
        False,
    ),
    ("sites, if filled, must hold every site that segments names.", False),
    ("terrain: one row a point, from the first end of a hop to the far end.", False),
    ("Delete what is not needed. Columns and sheets of your own are ignored with a note.", False),
    (
        (
            "A design is no work order. Laser light, height, mains, lightning, radio exposure and "
            "explosive air can hurt: local codes and licensed practice stand before it."
        ),
        False,
    ),
)


def write_blank(path: Path, catalog, example: bool = False, units: str = METRIC) -> None:
    """Write the design to fill in; with `example`, filled with a path that can be deleted.

    units: `metric`, or `US` for columns in feet. Written beside and renamed, so that an existing file is replaced only by a whole one.
    """
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.active)
    _help(book)
    us = units == US
    rows = EXAMPLE if example else {}
    settings = {row["setting"]: row["value"] for row in rows.get("project", ())}
    if us:
        settings["units"] = US
    _project(book, in_us_units(SETTINGS) if us else SETTINGS, _as_headed(SETTINGS, settings, us))
    for name, columns in TABLES.items():
        filled = [_as_headed(columns, row, us) for row in rows.get(name, ())]
        _table(book, name, in_us_units(columns) if us else columns, filled)
    fill_lists(book, catalog)
    _shade_segments(book["segments"])
    _define(book, SITES_LIST, "sites")
    _define(book, PATHS_LIST, "paths")
    book.active = book.sheetnames.index("segments")
    for sheet in book.worksheets:
        sheet.sheet_view.tabSelected = sheet.title == "segments"
    write_beside_and_rename(Path(path), lambda: same_bytes(book))


def _as_headed(columns: Sequence[Column], row: Mapping[str, object], us: bool) -> dict:
    """A row of the example as it stands under the heads, in whole feet where those are in feet."""
    if not us:
        return dict(row)
    paired = twins(columns)
    cells = cells_to_write(columns, row, (), us=True)
    whole = {twin.column.name for name, twin in paired.items() if name in row}
    return {name: round(cells[name]) if name in whole else cells[name] for name in cells}


def _help(book) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet("help")
    sheet.column_dimensions["A"].width = 100
    for row, (text, is_title) in enumerate(HELP, start=1):
        cell = sheet.cell(row, 1, text)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.row_dimensions[row].height = 24 if is_title else 15 * (1 + len(text) // 105)
        if is_title:
            cell.font = Font(bold=True, size=14)
    _page(sheet, portrait=True)


def _table(book, name: str, columns: Sequence[Column], rows) -> None:
    """One sheet: heads, formats, drop-downs and what rows there are."""
    sheet = book.create_sheet(name)
    _heads(sheet, columns)
    for place, column in enumerate(columns, start=1):
        letters = column_letters(place)
        if column.type in (NAME, LIST, TEXT, CHOICE):
            sheet.column_dimensions[letters].number_format = "@"  # 5/6 stays text
        area = f"{letters}2:{letters}{ROWS}"
        sheet.add_data_validation(_validation(column, name, area))
    for number, row in enumerate(rows, start=2):
        for place, column in enumerate(columns, start=1):
            if column.name in row:
                cell = sheet.cell(number, place, row[column.name])
                if isinstance(cell.value, str):
                    cell.number_format = "@"
    _page(sheet)


def _project(book, columns: Sequence[Column], values: Mapping[str, object]) -> None:
    """Settings one below the other, each with its unit and meaning."""
    from openpyxl.styles import Alignment, Font, PatternFill

    sheet = book.create_sheet("project")
    _heads(sheet, PROJECT)
    fill = PatternFill("solid", fgColor=VALUE_FILL)
    for number, column in enumerate(columns, start=2):
        sheet.cell(number, 1, column.name)
        cell = sheet.cell(number, 2, values.get(column.name))
        cell.fill, cell.font = fill, Font(color=VALUE_COLOUR)
        cell.alignment = Alignment(horizontal="left")
        if column.type not in (NUMBER, INTEGER):
            cell.number_format = "@"
        sheet.cell(number, 3, column.unit or None)
        sheet.cell(number, 4, column.help + _blank_is(column))
        sheet.add_data_validation(_validation(column, "project", f"B{number}"))
    _page(sheet)


def _heads(sheet, columns: Sequence[Column]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill

    fill, font = PatternFill("solid", fgColor=HEAD_FILL), Font(bold=True, color="FFFFFF")
    for place, column in enumerate(columns, start=1):
        cell = sheet.cell(1, place, column.name)
        cell.fill, cell.font = fill, font
        cell.alignment = Alignment(horizontal="center", vertical="center", wrap_text=True)
        width = WIDE.get(column.name, max(10, min(22, len(column.name) + 2)))
        sheet.column_dimensions[column_letters(place)].width = width
    sheet.row_dimensions[1].height = 30
    # the columns that tell one row from another stay in sight too
    frozen = {"segments": "D2", "project": "B2", "terrain": "D2"}.get(sheet.title, "B2")
    sheet.freeze_panes = frozen


def _validation(column: Column, table: str, area: str):
    """Range or drop-down of a column, with its help shown when a cell is entered."""
    from openpyxl.worksheet.datavalidation import DataValidation

    made = DataValidation(allow_blank=True, showInputMessage=True, sqref=area)
    made.promptTitle = column.name[:32]
    made.prompt = _prompt(column)[:255]
    source = None
    if column.name == "kind":
        source = KINDS_LIST
    elif table == "segments" and column.name == "part":
        source = part_list_formula("$C2")
    elif column.name in CHOICES and column.type in (CHOICE, YES_NO):
        source = CHOICES[column.name][0]
    elif column.name in FROM_LISTS and not (table == "sites" and column.name == "site"):
        source = FROM_LISTS[column.name]
    if source:
        made.type, made.formula1 = "list", source
        exact = column.type in (CHOICE, YES_NO)
        wanted = listed(KINDS) if column.name == "kind" else needs(column)
        _on_error(made, "stop" if exact else "warning", wanted if exact else NOT_LISTED)
    elif column.type in (NUMBER, INTEGER):
        made.type = "whole" if column.type == INTEGER else "decimal"
        made.operator = "between"
        made.formula1, made.formula2 = _limit(column.low, -1e9), _limit(column.high, 1e9)
        _on_error(made, "stop", f"{needs(column)}, {_range(column)}: the number alone")
    return made


def _on_error(validation, style: str, text: str) -> None:
    validation.showErrorMessage = True
    validation.errorStyle = style
    validation.errorTitle = validation.promptTitle
    validation.error = text[:225]


def _limit(value: float | None, otherwise: float) -> str:
    return f"{otherwise if value is None else value:.10g}"


def _range(column: Column) -> str:
    return f"{_limit(column.low, -1e9)} to {_limit(column.high, 1e9)}"


def _blank_is(column: Column) -> str:
    """What a blank cell stands for, where it is one figure."""
    if column.type not in (NUMBER, INTEGER) or column.default is None:
        return ""
    return f"; blank = {column.default:g}"


def _prompt(column: Column) -> str:
    text = column.help
    if column.unit:
        text += f" [{column.unit}]"
    if column.type in (NUMBER, INTEGER) and column.low is not None and column.high is not None:
        text += f", {_range(column)}"
    text += _blank_is(column)
    return text + ("; must be filled" if column.required else "")


def _shade_segments(sheet) -> None:
    """Grey what the row's kind does not read, yellow what it cannot do without."""
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import PatternFill

    last = column_letters(len(SEGMENTS))
    use = f"INDEX({USE_LIST},MATCH($C2,{KINDS_LIST},0),COLUMN())"
    for level, colour, more in (
        (UNUSED, UNUSED_FILL, ""),
        (NEEDED, NEEDED_FILL, ",LEN(TRIM(A2))=0"),
    ):
        formula = f"AND(ISNUMBER(MATCH($C2,{KINDS_LIST},0)),IFERROR({use},1)={level}{more})"
        rule = FormulaRule(formula=[formula], fill=PatternFill("solid", bgColor=colour))
        sheet.conditional_formatting.add(f"A2:{last}{ROWS}", rule)


def _define(book, name: str, sheet: str) -> None:
    from openpyxl.workbook.defined_name import DefinedName

    book.defined_names[name] = DefinedName(name, attr_text=f"{sheet}!$A$2:$A$300")


def _page(sheet, portrait: bool = False) -> None:
    sheet.page_setup.orientation = "portrait" if portrait else "landscape"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    if not portrait:
        sheet.print_title_rows = "1:1"
