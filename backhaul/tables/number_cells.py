"""A cell of a number column: plain numbers, decimal commas, and why others cannot be used."""

import re

from backhaul.spreadsheet.read_cells import BOOLEAN, DATE, PERCENT, Odd
from backhaul.tables.column import Column
from backhaul.tables.faults import Dialect, Fault, Remarked, needs
from backhaul.tables.names import FEET, plain, shown, squash
from backhaul.units import M_PER_FT

SEPARATORS = re.compile(r"[;/+\s]+")  # of lists in a cell
#: Nearer to nothing than any figure of the trade, and no quotient by it overflows.
LEAST_NUMBER = 1e-100
MAX_NUMBER = 60  # letters of a number, its unit or thousands included
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+")
_THOUSANDS = re.compile(
    r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?|[-+]?[1-9]\d{0,2}(\.\d{3}){2,}(,\d+)?"
    r"|[-+]?[1-9]\d{0,2}\.\d{3},\d+|[-+]?[1-9]\d{0,2}(['’ ]\d{3})+([.,]\d+)?"
)
_SPACED_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}([\u00a0\u2007\u2009\u202f]\d{3})+([.,]\d+)?")
THREE_DIGITS = re.compile(r"[-+]?[1-9]\d{0,2}[.,]\d{3}")
_WITH_UNIT = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*([^\W\d_°%µ][\w/²³.]*|°\s*[CF]?|%|µ\w+|[\"'′″])")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
DATE_TEXT = re.compile(
    rf"\d{{1,2}}[-/ .]{_MONTH}(?:[-/ .]\d{{2,4}})?|{_MONTH}[-/ ]\d{{1,4}}"
    r"|\d{4}-\d{1,2}-\d{1,2}(?:[T ]\d.*)?|\d{1,2}([/.-])\d{1,2}\1(?:19|20)\d{2}"
    r"|(?:19|20)\d{2}/\d{1,2}/\d{1,2}",
    re.IGNORECASE,
)
_NUMBER_WORDS = frozenset(("n/a", "na", "-", "--", "?", "tbd", "tbc", "none", "nil", "unknown"))


def read_number(cell: object, column: Column, _choices: tuple, dialect: Dialect) -> object:
    if type(cell) is float:
        return _in_range(cell, column, cell)
    if isinstance(cell, Odd):
        return _odd_number(cell, column)
    if len(cell) > MAX_NUMBER:
        return Fault(shown(cell), needs(column))
    text = cell.replace("\u2212", "-")
    if _SPACED_THOUSANDS.fullmatch(text):
        text = "".join(ch for ch in text if not ch.isspace())
    if THREE_DIGITS.fullmatch(text) and text[-4] != dialect.clear:
        return _unclear(text, column)
    if not dialect.decimal_comma and _THOUSANDS.fullmatch(text):
        return _unclear(text, column)
    number = _float(text)
    if number is not None:
        return _in_range(number, column, cell)
    if _DECIMAL_COMMA.fullmatch(text):
        number = float(text.replace(",", "."))
        value = _in_range(number, column, cell)
        if isinstance(value, Fault) or dialect.decimal_comma:
            return value
        return Remarked(value, f"decimal comma: {shown(cell)} read as {plain(number)}")
    if _THOUSANDS.fullmatch(text):
        return _unclear(text, column)
    return _no_number(text, column)


def read_integer(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    value = read_number(cell, column, choices, dialect)
    number = value.value if isinstance(value, Remarked) else value
    if isinstance(number, Fault):
        return number
    if number != int(number):
        return Fault(f"'{plain(number)}'", needs(column))
    return int(number)


def read_numbers(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    """Several numbers in one cell."""
    if type(cell) is float:
        cell = plain(cell)
    if isinstance(cell, Odd):
        return _odd_number(cell, column)
    values = []
    for item in SEPARATORS.split(cell):
        value = read_number(item, column, choices, dialect) if item else None
        if isinstance(value, Fault):
            return value
        if value is not None:
            values.append(value.value if isinstance(value, Remarked) else value)
    return tuple(values) or Fault(shown(cell), needs(column))


def _float(text: str) -> float | None:
    """A plain number; Python's own reading takes more ("1_0", "nan", digits of other scripts)."""
    if not text.isascii() or "_" in text:
        return None
    try:
        number = float(text)
    except ValueError:
        return None
    return number if -1e300 < number < 1e300 else None


def _in_range(number: float, column: Column, cell: object) -> object:
    low, high = column.low, column.high
    if abs(number) < LEAST_NUMBER:
        number = 0.0
    if column.holds(number):
        return number + 0.0  # -0.0 is 0.0
    if low is not None and high is not None:
        limits = f" from {low:,.10g} to {high:,.10g}"
    else:
        limits = f" of at least {low:,.10g}" if high is None else f" of at most {high:,.10g}"
    found = shown(cell) if isinstance(cell, str) else f"'{plain(cell)}'"
    remedy = ""
    if column.name == "availability_percent" and number < 50:
        remedy = "99.9 % is written 99.9; a cell formatted as percent holds 0.999"
        if number <= 1:
            remedy += f"; did you mean {100 * number:g}?"
    return Fault(found, needs(column) + limits, remedy)


def _unclear(text: str, column: Column) -> Fault:
    """A number with separators that may be read in two ways, or are not wanted."""
    separators = [sign for sign in text if not sign.isalnum() and sign not in "+-"]
    if len(separators) == 1 and separators[0] in ".,":
        whole, decimal = text.replace(separators[0], ""), text.replace(separators[0], ".")
        decimal = decimal.rstrip("0").rstrip(".")
        return Fault(
            shown(text),
            f"{needs(column)}: this may be {whole} or {decimal}",
            f"write {whole} or {decimal}",
        )
    before, after = text, ""
    if len(set(separators)) > 1 and separators[-1] in ".,":
        before, _, after = text.rpartition(separators[-1])
    digits = "".join(sign for sign in before if sign.isdigit() or sign == "-")
    return Fault(
        shown(text),
        f"{needs(column)} without thousands separators",
        f"write {digits}.{after}" if after else f"write {digits}",
    )


def _odd_number(cell: Odd, column: Column) -> Fault:
    if cell.what == BOOLEAN:
        return Fault(f"the logical value {cell.shown}", needs(column))
    if cell.what == PERCENT:
        return _percent(cell.shown, column)
    if cell.what == DATE:
        return Fault(
            f"the date {cell.shown}",
            needs(column),
            "a spreadsheet took the entry for a date: format the cell as a number and "
            "write it again",
        )
    return Fault(shown(cell.shown), needs(column))


def _percent(text: str, column: Column) -> Fault:
    number = text.rstrip("% \u00a0")
    return Fault(shown(text), needs(column), f"write {number} in a cell without a percent format")


def _no_number(text: str, column: Column) -> Fault:
    if DATE_TEXT.fullmatch(text):
        return Fault(
            f"the date {shown(text)}",
            needs(column),
            "a spreadsheet took the entry for a date: format the cell as a number and "
            "write it again",
        )
    if text.casefold() in _NUMBER_WORDS:
        return Fault(shown(text), needs(column), "leave the cell blank")
    if text[0] == "=":
        return Fault(f"the formula {shown(text)}", needs(column), "write its value")
    if found := _WITH_UNIT.fullmatch(text):
        number, unit = found[1], found[2]
        if unit == "%":
            return _percent(text, column)
        remedy = f"write {number}"
        if squash(unit) != squash(column.unit):
            remedy = _in_feet_or_metres(number, unit, column) or (
                f"write it in {column.unit}, without the unit"
            )
        return Fault(shown(text), needs(column), remedy if column.unit else f"write {number}")
    return Fault(shown(text), needs(column))


def _in_feet_or_metres(text: str, unit: str, column: Column) -> str:
    """What to write for a length in feet in a column in metres, or the other way; '' for others."""
    length, stem = float(text.replace(",", ".")), column.name.rpartition("_")[0]
    if column.unit == "m" and (squash(unit) in ("ft", *FEET) or unit in ("'", "′")):
        return f"write {length * M_PER_FT:.7g}, or {text} in a column {stem}_ft"
    if column.unit == "ft" and unit == "m":
        return f"write {length / M_PER_FT:.7g}, or {text} in a column {stem}_m"
    return ""
