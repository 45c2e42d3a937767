"""The sheet of lists behind the drop-downs of the blank design, and the names of its ranges."""

from collections.abc import Iterable, Sequence

from backhaul.design.columns import (
    POLARIZATIONS,
    PROVIDERS,
    ROUTES,
    SEGMENTS,
    SURFACES,
    WATER,
)
from backhaul.design.kinds import KINDS
from backhaul.design.lookup import COMMON, parts_for
from backhaul.design.settings import UNITS, WATERS
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.tables.column import CORROSIVITY

SHEET = "lists"
UNUSED, USED, NEEDED = 0, 1, 2
#: a name ends in _list so that it cannot be the address of a cell
KINDS_LIST, PARTS_LIST, PART_KINDS_LIST, USE_LIST = (
    "kinds_list",
    "parts_list",
    "part_kinds_list",
    "use_list",
)
CHOICES = {
    "polarization": ("polarization_list", POLARIZATIONS),
    "by": ("by_list", PROVIDERS),
    "route": ("route_list", ROUTES),
    "surface": ("surface_list", (*SURFACES, WATER)),
    "water": ("water_list", WATERS),
    "units": ("units_list", UNITS),
    "corrosivity": ("corrosivity_list", CORROSIVITY),
    "outdoor": ("yes_no_list", ("yes", "no")),
}


def fill_lists(book, catalog) -> None:
    """Write the sheet of lists and define a name for each of its ranges."""
    sheet = book.create_sheet(SHEET)
    names = iter(range(1, 100))
    by_kind = [(kind.name, part) for kind in KINDS.values() for part in parts_for(catalog, kind)]
    _put(book, sheet, next(names), KINDS_LIST, list(KINDS))
    _put(book, sheet, next(names), PART_KINDS_LIST, [kind for kind, _ in by_kind])
    _put(book, sheet, next(names), PARTS_LIST, [part for _, part in by_kind])
    _put(book, sheet, next(names), "radios_list", list(catalog.radios))
    _put(book, sheet, next(names), "antennas_list", list(catalog.antennas))
    _put(book, sheet, next(names), "regions_list", sorted({b.region for b in catalog.bands}))
    for name, choices in dict(CHOICES.values()).items():
        _put(book, sheet, next(names), name, choices)
    first = next(names)
    for place, column in enumerate(SEGMENTS):
        uses = [use_of(kind, column.name) for kind in KINDS.values()]
        _column(sheet, first + place, f"use of {column.name}", uses)
    last = first + len(SEGMENTS) - 1
    _name(book, USE_LIST, first, last, len(KINDS))
    sheet.sheet_state = "hidden"


def use_of(kind, column: str) -> int:
    """Whether a kind needs, reads or ignores a column of the segments."""
    required = {c.name for c in SEGMENTS if c.required}
    if column in required or column in kind.wanted:
        return NEEDED
    return USED if column in COMMON or column in kind.columns else UNUSED


def part_list_formula(kind_cell: str) -> str:
    """The parts of the kind that stands in a cell: one stretch of a list sorted by kind."""
    first = f"MATCH({kind_cell},{PART_KINDS_LIST},0)"
    last = f"{first}+COUNTIF({PART_KINDS_LIST},{kind_cell})-1"
    return f"INDEX({PARTS_LIST},{first}):INDEX({PARTS_LIST},{last})"


def _put(book, sheet, place: int, name: str, values: Sequence) -> None:
    _column(sheet, place, name, values)
    _name(book, name, place, place, len(values))


def _column(sheet, place: int, head: str, values: Iterable) -> None:
    for row, value in enumerate((head, *values), start=1):
        sheet.cell(row, place, value).data_type = "s" if isinstance(value, str) else "n"


def _name(book, name: str, first: int, last: int, count: int) -> None:
    from openpyxl.workbook.defined_name import DefinedName

    area = f"{SHEET}!${column_letters(first)}$2:${column_letters(last)}${max(count, 1) + 1}"
    book.defined_names[name] = DefinedName(name, attr_text=area)
