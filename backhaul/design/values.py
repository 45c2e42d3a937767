"""One cell to one value, by its declared column; what cannot be used becomes a `Fault`."""

import re
import unicodedata
from collections.abc import Callable
from typing import NamedTuple

from backhaul.design.collector import shown
from backhaul.design.columns import (
    CHOICE, DATE, INTEGER, LIST, NAME, NUMBER, TEXT, YES_NO, Column,
)  # fmt: skip
from backhaul.design.grid import BOOLEAN, ERROR, NO_VALUE, PERCENT, Odd
from backhaul.design.grid import DATE as DATE_CELL
from backhaul.design.names import listed, plain, squash

RAW = "raw"  # type of a column whose cells are read later, each by a column of its own
MAX_NAME = 200
MAX_NUMBER = 60  # letters of a number, its unit or thousands included
MAX_TEXT = 32_000  # a cell of a spreadsheet holds 32,767 letters
INVISIBLE = "\u200b\u200c\u200d\u2060\ufeff"
#: columns in which "5/6" or "1-2" are usual, so that a date is what a spreadsheet made of them
MISTAKEN_FOR_DATES = frozenset(
    ("strand", "port", "to_port", "part", "to_part", "label", "antenna", "to_antenna")
)
YES = frozenset(("yes", "y", "true", "1", "x"))
NO = frozenset(("no", "n", "false", "0"))
OTHER_WORDS = {
    "hv": "VH", "v/h": "VH", "vertical": "V", "horizontal": "H", "seawater": "sea",
    "freshwater": "fresh", "ground": "land",
}  # fmt: skip
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?|[-+]?[1-9]\d{0,2}(\.\d{3}){2,}(,\d+)?"
                        r"|[-+]?[1-9]\d{0,2}\.\d{3},\d+|[-+]?[1-9]\d{0,2}(['’ ]\d{3})+([.,]\d+)?")  # fmt: skip
_SPACED_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}([\u00a0\u2007\u2009\u202f]\d{3})+([.,]\d+)?")
_THREE_DIGITS = re.compile(r"[-+]?[1-9]\d{0,2}[.,]\d{3}")
_WITH_UNIT = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*([^\W\d_°%µ][\w/²³.]*|°\s*[CF]?|%|µ\w+|[\"'′″])")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_DATE_TEXT = re.compile(
    rf"\d{{1,2}}[-/ .]{_MONTH}(?:[-/ .]\d{{2,4}})?|{_MONTH}[-/ ]\d{{1,4}}"
    r"|\d{4}-\d{1,2}-\d{1,2}(?:[T ]\d.*)?|\d{1,2}([/.-])\d{1,2}\1(?:19|20)\d{2}"
    r"|(?:19|20)\d{2}/\d{1,2}/\d{1,2}",
    re.IGNORECASE,
)
_ERROR_TEXT = re.compile(r"#(REF!|N/A|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)|Err:\d{3}|#{3,}")
_SEPARATORS = re.compile(r"[;/+\s]+")
_WHOLE_AS_DECIMAL = re.compile(r"(\d+)\.0+")
_STRAND_RANGE = re.compile(r"\d+[-–,.:]\d+")
_NUMBER_WORDS = frozenset(("n/a", "na", "-", "--", "?", "tbd", "tbc", "none", "nil", "unknown"))
_NO_NAMES = frozenset(("-", "--", "–", "—", "n/a", "?"))


class Fault(NamedTuple):
    """Why a cell cannot be used."""

    found: str
    needed: str
    remedy: str = ""
    #: a name that is none of these names, so that the nearest can be quoted
    unknown: tuple[str, tuple[str, ...]] | None = None


class Remarked(NamedTuple):
    """A value that was read otherwise than it was written, and how to say so."""

    value: object
    message: str


Parse = Callable[[object], object]


class Dialect(NamedTuple):
    """What the source says about its numbers."""

    #: the separator is not the comma, so a comma is a decimal comma
    decimal_comma: bool = False
    #: points and commas both stand in numbers of this file: three digits after either are unclear
    mixed: bool = False


def parser(column: Column, choices: tuple[str, ...] = (), dialect: Dialect = Dialect()) -> Parse:
    """The function that reads one cell of a column: a value, None, `Fault` or `Remarked`."""
    make = {
        NUMBER: _number, INTEGER: _integer, TEXT: _text, NAME: _name, LIST: _list,
        YES_NO: _yes_no, CHOICE: _choice, DATE: _date, RAW: _raw,
    }[column.type]  # fmt: skip

    def parse(cell: object) -> object:
        if cell is None:
            return None
        if isinstance(cell, str):
            cell = _clean(cell)
            if not cell:
                return None
            if cell[0] in "#E" and _ERROR_TEXT.fullmatch(cell):
                cell = Odd(ERROR, cell)
        if isinstance(cell, Odd):
            if cell.what == ERROR:
                return Fault(f"the error {cell.shown}", needs(column), "mend the formula")
            if cell.what == NO_VALUE:
                return Fault(f"the formula {shown(cell.shown)} without a value", needs(column),
                             "open the file in a spreadsheet program and save it")  # fmt: skip
        return make(cell, column, choices or column.choices, dialect)

    return parse


def needs(column: Column) -> str:
    """What a column wants, in words."""
    if column.type in (NUMBER, INTEGER):
        what = "a whole number" if column.type == INTEGER else "a number"
        unit = f" in {column.unit}" if column.unit else ""
        return what + unit
    if column.type == YES_NO:
        return "yes or no"
    if column.type == CHOICE and column.choices:
        return listed(column.choices)
    return {LIST: "names separated by /", DATE: "a date as 2026-05-06"}.get(
        column.type, "a text" if column.type == TEXT else "a name"
    )


def _clean(text: str) -> str:
    text = text.strip()
    if not text.isascii():
        text = unicodedata.normalize("NFC", text.strip(INVISIBLE).strip())
    return text


def _number(cell: object, column: Column, _choices: tuple, dialect: Dialect) -> object:
    if type(cell) is float:
        return _in_range(cell, column, cell)
    if isinstance(cell, Odd):
        return _odd_number(cell, column)
    if len(cell) > MAX_NUMBER:
        return Fault(shown(cell), needs(column))
    text = cell.replace("\u2212", "-")
    if _SPACED_THOUSANDS.fullmatch(text):
        text = "".join(ch for ch in text if not ch.isspace())
    if dialect.mixed and _THREE_DIGITS.fullmatch(text):
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
    if (low is None or number >= low) and (high is None or number <= high):
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
        return Fault(shown(text), f"{needs(column)}: this may be {whole} or {decimal}",
                     f"write {whole} or {decimal}")  # fmt: skip
    before, after = text, ""
    if len(set(separators)) > 1 and separators[-1] in ".,":
        before, _, after = text.rpartition(separators[-1])
    digits = "".join(sign for sign in before if sign.isdigit() or sign == "-")
    return Fault(shown(text), f"{needs(column)} without thousands separators",
                 f"write {digits}.{after}" if after else f"write {digits}")  # fmt: skip


def _odd_number(cell: Odd, column: Column) -> Fault:
    if cell.what == BOOLEAN:
        return Fault(f"the logical value {cell.shown}", needs(column))
    if cell.what == PERCENT:
        return _percent(cell.shown, column)
    if cell.what == DATE_CELL:
        return Fault(f"the date {cell.shown}", needs(column),
                     "a spreadsheet took the entry for a date: format the cell as a number and "
                     "write it again")  # fmt: skip
    return Fault(shown(cell.shown), needs(column))


def _percent(text: str, column: Column) -> Fault:
    number = text.rstrip("% \u00a0")
    return Fault(shown(text), needs(column),
                 f"write {number} in a cell without a percent format")  # fmt: skip


def _no_number(text: str, column: Column) -> Fault:
    if _DATE_TEXT.fullmatch(text):
        return Fault(f"the date {shown(text)}", needs(column),
                     "a spreadsheet took the entry for a date: format the cell as a number and "
                     "write it again")  # fmt: skip
    if text.casefold() in _NUMBER_WORDS:
        return Fault(shown(text), needs(column), "leave the cell blank")
    if text[0] == "=":
        return Fault(f"the formula {shown(text)}", needs(column), "write its value")
    if found := _WITH_UNIT.fullmatch(text):
        number, unit = found[1], found[2]
        if unit == "%":
            return _percent(text, column)
        same = squash(unit) == squash(column.unit)
        remedy = f"write {number}" if same else f"write it in {column.unit}, without the unit"
        return Fault(shown(text), needs(column), remedy if column.unit else f"write {number}")
    return Fault(shown(text), needs(column))


def _integer(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    value = _number(cell, column, choices, dialect)
    number = value.value if isinstance(value, Remarked) else value
    if isinstance(number, Fault):
        return number
    if number != int(number):
        return Fault(f"'{plain(number)}'", needs(column))
    return int(number)


def _as_text(cell: object, column: Column) -> str | Fault:
    """Any cell as a text, for names and remarks."""
    if type(cell) is float:
        return plain(cell)
    if isinstance(cell, Odd):
        return cell.shown
    return cell


def _text(cell: object, column: Column, _choices: tuple, _dialect: Dialect) -> object:
    text = _as_text(cell, column)
    if len(text) > MAX_TEXT:
        return Fault(f"a text of {len(text):,} letters", f"at most {MAX_TEXT:,}")
    if text.isprintable():
        return text
    kept = "".join(ch if ch.isprintable() or ch == " " else "\n" if ch == "\n" else " " for ch in text)
    return kept.strip() or None


def _raw(cell: object, _column: Column, _choices: tuple, _dialect: Dialect) -> object:
    return cell


def _date(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    return _text(cell, column, choices, dialect)


def _name(cell: object, column: Column, _choices: tuple, _dialect: Dialect) -> object:
    if isinstance(cell, Odd):
        return _odd_name(cell, column)
    if type(cell) is float:
        return plain(cell)
    if column.name in MISTAKEN_FOR_DATES and _DATE_TEXT.fullmatch(cell):
        return _odd_name(Odd(DATE_CELL, cell), column)
    if not cell.isprintable():
        if any(not ch.isprintable() and not ch.isspace() for ch in cell):
            return Fault(f"a sign that cannot be printed in {shown(cell)}", needs(column))
        if "\n" in cell or "\r" in cell:
            return Fault(f"several lines, {shown(cell)}", f"{needs(column)} on one line")
    if cell.casefold() in _NO_NAMES:
        return Fault(shown(cell), needs(column), "leave the cell blank")
    if len(cell) > MAX_NAME:
        return Fault(f"{len(cell):,} letters, {shown(cell)}", f"at most {MAX_NAME}")
    if whole := _WHOLE_AS_DECIMAL.fullmatch(cell):
        return whole[1]
    return " ".join(cell.split())


def _odd_name(cell: Odd, column: Column) -> Fault:
    if cell.what == DATE_CELL:
        example = {"strand": '"5/6" becomes 6 May', "path": '"1/2" becomes 1 February'}.get(
            column.name, '"1-2" becomes 1 February'
        )
        return Fault(f"the date {cell.shown}", needs(column),
                     f"a spreadsheet took the entry for a date ({example}): format the cell as "
                     "text and write it again")  # fmt: skip
    if cell.what == BOOLEAN:
        return Fault(f"the logical value {cell.shown}", needs(column),
                     "format the cell as text and write it again")  # fmt: skip
    return Fault(shown(cell.shown), needs(column), "format the cell as text and write it again")


def _list(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    name = _name(cell, column, choices, dialect)
    if not isinstance(name, str):
        return name
    items = [item for item in _SEPARATORS.split(name) if item]
    if not items:
        return Fault(shown(name), needs(column))
    items = [whole[1] if (whole := _WHOLE_AS_DECIMAL.fullmatch(item)) else item for item in items]
    if column.name == "strand":
        items = [item.lstrip("0") or "0" if item.isdecimal() else item for item in items]
        for item in items:
            if _STRAND_RANGE.fullmatch(item):
                pair = re.sub(r"[-–,.:]", "/", item)
                return Fault(shown(name), "strands separated by /", f"write {pair}")
    for item in items:
        if "," in item:
            return Fault(shown(name), needs(column), f"write {item.replace(',', '; ')}")
        if items.count(item) > 1:
            return Fault(f"'{item}' twice in {shown(name)}", "each name once")
    return tuple(items)


def _yes_no(cell: object, column: Column, _choices: tuple, _dialect: Dialect) -> object:
    word = squash(_as_text(cell, column))
    if word in YES or word in NO:
        return word in YES
    return Fault(shown(_as_text(cell, column)), needs(column))


def _choice(cell: object, column: Column, choices: tuple, _dialect: Dialect) -> object:
    """One of the declared words, in whatever case; an unknown one is left to the caller."""
    text = _as_text(cell, column)
    word = squash(text)
    word = squash(OTHER_WORDS.get(word, word))
    for choice in choices:
        if squash(choice) == word:
            return choice
    return Fault(shown(text), listed(choices), unknown=(text, choices))
