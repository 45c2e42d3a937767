"""One cell to one value, by its declared column; what cannot be used becomes a `Fault`."""

import re
import unicodedata
from collections.abc import Callable
from datetime import date, timedelta

from backhaul.spreadsheet.read_cells import BOOLEAN, EPOCH_1900, ERROR, NO_VALUE, Odd
from backhaul.spreadsheet.read_cells import DATE as DATE_CELL
from backhaul.tables.column import (
    CHOICE,
    DATE,
    INTEGER,
    LIST,
    NAME,
    NUMBER,
    NUMBERS,
    TEXT,
    WORD,
    YES_NO,
    Column,
)
from backhaul.tables.faults import POINTS_ONLY, Dialect, Fault, needs
from backhaul.tables.names import listed, plain, shown, squash
from backhaul.tables.number_cells import (
    DATE_TEXT,
    SEPARATORS,
    read_integer,
    read_number,
    read_numbers,
)

RAW = "raw"  # type of a column whose cells are read later, each by a column of its own
MAX_NAME = 200
MAX_TEXT = 32_000  # a cell of a spreadsheet holds 32,767 letters
INVISIBLE = "\u200b\u200c\u200d\u2060\ufeff"
#: columns in which "5/6" or "1-2" are usual, so that a date is what a spreadsheet made of them
MISTAKEN_FOR_DATES = frozenset(
    ("strand", "port", "to_port", "part", "to_part", "label", "antenna", "to_antenna")
)
YES = frozenset(("yes", "y", "true", "1", "x"))
NO = frozenset(("no", "n", "false", "0"))
_ERROR_TEXT = re.compile(
    r"#(REF!|N/A|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)|Err:\d{3}|#{3,}"
)
_ISO_DATE = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)", re.ASCII)
_DAY_AND_MONTH = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})", re.ASCII)
_WHOLE_AS_DECIMAL = re.compile(r"(\d+)\.0+")
_STRAND_RANGE = re.compile(r"\d+[-–,.:]\d+")
#: a spreadsheet's numbers of the days from 2000 to 2099; no cable has so many strands
DAY_NUMBERS = range(36_526, 73_051)
_NO_NAMES = frozenset(("-", "--", "–", "—", "n/a", "?"))

Parse = Callable[[object], object]


def parser(column: Column, choices: tuple[str, ...] = (), dialect: Dialect = POINTS_ONLY) -> Parse:
    """The function that reads one cell of a column: a value, None, `Fault` or `Remarked`."""
    make = {
        NUMBER: read_number,
        INTEGER: read_integer,
        TEXT: _text,
        NAME: _name,
        LIST: _list,
        YES_NO: _yes_no,
        CHOICE: _choice,
        DATE: _date,
        NUMBERS: read_numbers,
        WORD: _word,
        RAW: _raw,
    }[column.type]

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
                return Fault(f"the error {cell.shown}", needs(column), "correct the formula")
            if cell.what == NO_VALUE:
                return Fault(
                    f"the formula {shown(cell.shown)} without a value",
                    needs(column),
                    "open the file in a spreadsheet program and save it",
                )
        return make(cell, column, choices or column.choices, dialect)

    return parse


def _clean(text: str) -> str:
    text = text.strip()
    if not text.isascii():
        text = unicodedata.normalize("NFC", text.strip(INVISIBLE).strip())
    return text


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
    kept = "".join(sign if sign.isprintable() or sign == "\n" else " " for sign in text)
    return kept.strip() or None


def _raw(cell: object, _column: Column, _choices: tuple, _dialect: Dialect) -> object:
    return cell


def _date(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    """A date as it was written, if there is such a day; words such as "May 2026" are kept."""
    text = _text(cell, column, choices, dialect)
    if isinstance(text, str) and not _may_be_a_day(text):
        return Fault(f"{shown(text)}, a day that no calendar has", needs(column))
    return text


def _may_be_a_day(text: str) -> bool:
    """False only for a date in digits that is none in any order of day and month."""
    if found := _ISO_DATE.match(text):
        orders = [(found[1], found[2], found[3])]
    elif found := _DAY_AND_MONTH.fullmatch(text):
        orders = [(found[3], found[2], found[1]), (found[3], found[1], found[2])]
    else:
        return True
    for year, month, day in orders:
        try:
            date(int(year), int(month), int(day))
        except ValueError:
            continue
        return True
    return False


def _name(cell: object, column: Column, _choices: tuple, _dialect: Dialect) -> object:
    if isinstance(cell, Odd):
        return _odd_name(cell, column)
    if type(cell) is float:
        return plain(cell)
    if column.name in MISTAKEN_FOR_DATES and DATE_TEXT.fullmatch(cell):
        return _odd_name(Odd(DATE_CELL, cell), column)
    if not cell.isprintable():
        if any(not ch.isprintable() and not ch.isspace() for ch in cell):
            return Fault(f"a sign that cannot be printed in {shown(cell)}", needs(column))
        if "\n" in cell or "\r" in cell:
            return Fault(f"several lines, {shown(cell)}", f"{needs(column)} on one line")
    if cell.casefold() in _NO_NAMES:
        return Fault(shown(cell), needs(column), "leave the cell blank")
    most = MAX_TEXT if column.type == LIST else MAX_NAME  # of a list each name is short
    if len(cell) > most:
        return Fault(f"{len(cell):,} letters, {shown(cell)}", f"at most {most:,}")
    if whole := _WHOLE_AS_DECIMAL.fullmatch(cell):
        return whole[1]
    return " ".join(cell.split())


def _odd_name(cell: Odd, column: Column) -> Fault:
    if cell.what == DATE_CELL:
        example = {"strand": '"5/6" becomes 6 May', "path": '"1/2" becomes 1 February'}.get(
            column.name, '"1-2" becomes 1 February'
        )
        return Fault(
            f"the date {cell.shown}",
            needs(column),
            f"a spreadsheet took the entry for a date ({example}): format the cell as "
            "text and write it again",
        )
    if cell.what == BOOLEAN:
        return Fault(
            f"the logical value {cell.shown}",
            needs(column),
            "format the cell as text and write it again",
        )
    return Fault(shown(cell.shown), needs(column), "format the cell as text and write it again")


def _list(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    name = _name(cell, column, choices, dialect)
    if not isinstance(name, str):
        return name
    items = [item for item in SEPARATORS.split(name) if item]
    if not items:
        return Fault(shown(name), needs(column))
    items = [whole[1] if (whole := _WHOLE_AS_DECIMAL.fullmatch(item)) else item for item in items]
    if column.name == "strand":
        items = [item.lstrip("0") or "0" if item.isdecimal() else item for item in items]
        for item in items:
            if _STRAND_RANGE.fullmatch(item):
                pair = re.sub(r"[-–,.:]", "/", item)
                return Fault(shown(name), "strands separated by /", f"write {pair}")
            if item.isdecimal() and len(item) < MAX_NAME and int(item) in DAY_NUMBERS:
                day = EPOCH_1900.date() + timedelta(int(item))
                return _odd_name(Odd(DATE_CELL, f"{day} as the number {item}"), column)
    seen: set[str] = set()
    for item in items:
        if "," in item:
            return Fault(shown(name), needs(column), f"write {item.replace(',', '; ')}")
        if item in seen:
            return Fault(f"'{item}' twice in {shown(name)}", "each name once")
        if len(item) > MAX_NAME:
            return Fault(f"{len(item):,} letters, {shown(item)}", f"at most {MAX_NAME}")
        seen.add(item)
    return (cell,) if items == [cell] else tuple(items)  # one text, not a second like it


def _yes_no(cell: object, column: Column, _choices: tuple, _dialect: Dialect) -> object:
    word = squash(_as_text(cell, column))
    if word in YES or word in NO:
        return word in YES
    return Fault(shown(_as_text(cell, column)), needs(column))


def _choice(cell: object, column: Column, choices: tuple, _dialect: Dialect) -> object:
    """One of the declared words, in whatever case; an unknown one is left to the caller."""
    text = _as_text(cell, column)
    word = squash(text)
    for choice in choices:
        if squash(choice) == word:
            return choice
    for alias, choice in column.aliases.items():
        if squash(alias) == word:
            return choice
    return Fault(shown(text), listed(choices), unknown=(text, choices))


def _word(cell: object, column: Column, choices: tuple, dialect: Dialect) -> object:
    """A word that has one spelling in the trade, by the column's own function."""
    name = _name(cell, column, choices, dialect)
    if not isinstance(name, str):
        return name
    try:
        return column.spell(name)
    except ValueError:
        return Fault(shown(name), column.wanted)
