"""What the formulas of a book say: functions, numbers, references, blanks; nothing is calculated."""

import re
from collections.abc import Collection, Iterator
from io import BytesIO
from typing import NamedTuple
from zipfile import ZipFile

from book_reading import load
from raw_cells import raw_cells, sheet_parts

# Functions that gave the same result in every program tried; INT, ABS and the rest of the
# arithmetic are in every edition of OpenFormula (ISO/IEC 26300-2, small group).
SAFE_FUNCTIONS = {
    "ABS",
    "ACOS",
    "AND",
    "ASIN",
    "ATAN",
    "CEILING",
    "COS",
    "COUNT",
    "COUNTA",
    "COUNTIF",
    "COUNTIFS",
    "DEGREES",
    "EXP",
    "FLOOR",
    "IF",
    "IFERROR",
    "INDEX",
    "INT",
    "ISERROR",
    "ISNUMBER",
    "LN",
    "LOG10",
    "MATCH",
    "MAX",
    "MIN",
    "MOD",
    "NOT",
    "OR",
    "PI",
    "POWER",
    "RADIANS",
    "ROUND",
    "ROUNDDOWN",
    "ROUNDUP",
    "SIN",
    "SQRT",
    "SUM",
    "SUMIF",
    "SUMIFS",
    "SUMPRODUCT",
    "TAN",
    "TEXT",
}


CELL = re.compile(r"<c\b([^>]*)>(<f\b[^>]*>[^<]*</f>)<v>([^<]*)</v></c>")


class Literal(NamedTuple):
    """A number written into a formula."""

    sheet: str
    address: str
    formula: str
    number: str


class Unsettled(NamedTuple):
    """A formula cell and what is wrong with it."""

    sheet: str
    address: str
    formula: str
    what: str


def _formulas(data: bytes) -> Iterator[tuple[str, str, str]]:
    """Sheet, address and text of every formula."""
    for sheet, cells in raw_cells(data).items():
        for address, cell in cells.items():
            if cell.formula is not None:
                yield sheet, address, cell.formula


def formula_count(data: bytes) -> int:
    """How many formula cells the workbook has."""
    return sum(1 for _ in _formulas(data))


def unsafe_functions(
    data: bytes, allowed: Collection[str] = SAFE_FUNCTIONS
) -> list[tuple[str, str, str]]:
    """(sheet, address, function) of every function outside the list."""
    found = []
    for sheet, address, formula in _formulas(data):
        for token in _tokens(formula):
            if token.type == "FUNC" and token.subtype == "OPEN":
                name = token.value.rstrip("(").upper()
                if name not in allowed:
                    found.append((sheet, address, name))
    return found


def literals(data: bytes) -> list[Literal]:
    """Every number written into a formula: each should be a constant of a published formula."""
    return [
        Literal(sheet, address, formula, token.value)
        for sheet, address, formula in _formulas(data)
        for token in _tokens(formula)
        if token.type == "OPERAND" and token.subtype == "NUMBER"
    ]


#: Styles of cells that somebody fills in by hand.
HAND_FILLED = ("backhaul to fill", "backhaul to fill text", "backhaul card fill")


def empty_references(data: bytes, by_hand: Collection[str] = HAND_FILLED) -> list:
    """Formulas that name a cell without content, those in a style of `by_hand` excepted.

    A range may hold empty cells, as a sum over a column with gaps does, but not only those.
    """
    book = load(data)
    found = []
    for sheet in book:
        for cell in formulas_of(sheet):
            for token in _tokens(cell.value):
                if token.type != "OPERAND" or token.subtype != "RANGE":
                    continue
                cells = list(_cells(book, sheet, token.value))
                if all(one.value is None and one.style not in by_hand for one in cells):
                    found.append(Unsettled(sheet.title, cell.coordinate, cell.value, token.value))
    return found


def blanks(data: bytes) -> list[Unsettled]:
    """Formula cells for which a program that does not calculate reads no value.

    A formula whose value is an empty text reads as blank too: it is not counted.
    """
    empty_text = set(_empty_texts(data))
    return [
        Unsettled(sheet, address, cell.formula, "blank")
        for sheet, cells in raw_cells(data).items()
        for address, cell in cells.items()
        if cell.formula is not None and cell.value is None and (sheet, address) not in empty_text
    ]


def _empty_texts(data: bytes) -> Iterator[tuple[str, str]]:
    with ZipFile(BytesIO(data)) as parts:
        for name, part in sheet_parts(parts).items():
            for cell in CELL.finditer(parts.read(part).decode()):
                if cell[3] == "" and 't="str"' in cell[1]:
                    yield name, re.search(r'\br="(\w+)"', cell[1])[1]


def formulas_of(sheet: object) -> Iterator[object]:
    for row in sheet.iter_rows():
        for cell in row:
            if cell.data_type == "f":
                yield cell


def _tokens(formula: str) -> list:
    from openpyxl.formula import Tokenizer

    return Tokenizer(formula).items


def _cells(book: object, sheet: object, reference: str) -> Iterator[object]:
    if reference in book.defined_names:
        reference = book.defined_names[reference].attr_text
    where, _, area = reference.rpartition("!")
    if where:
        sheet = book[where.strip("'").replace("''", "'")]
    found = sheet[area.replace("$", "")]
    rows = found if isinstance(found, tuple) else ((found,),)
    for row in rows:
        yield from row if isinstance(row, tuple) else (row,)
