"""Formulas of a book in units of the US: what refers to a figure that is shown so gets it in SI.

The one place at which feet, miles and degrees of yellow and shown cells become SI again. Left as they are shown:
what is asked whether it holds a figure, what is compared with another figure of its unit, and what
stands in a list of figures that are paired (`SUMPRODUCT`) or counted.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from backhaul.book.us_sheet import UsSheet, typed
from backhaul.errors import OutputError
from backhaul.figures.us_units import Unit
from backhaul.spreadsheet.grid import Sheet

_KEY = r"\{([^{}]*)\}"
_REFERENCE = re.compile(_KEY)
#: Functions that ask for what is there, whatever its unit.
_AS_SHOWN = frozenset(("ISNUMBER", "ISBLANK", "ISTEXT", "ISERROR", "COUNT", "COUNTA", "COUNTIF"))
#: Lists of figures that are compared or paired one by one, or of which one is picked to be shown.
_PAIRED = frozenset(("SUMPRODUCT", "INDEX"))
#: Functions whose result has the unit of all that they are given.
_LIST = re.compile(rf"\b(MAX|MIN|SUM)\(((?:{_KEY})(?:[,:]{_KEY})*)\)".replace("([^{}]*)", "[^{}]*"))
_ALONE = re.compile(_KEY)
_NUMBER = r"-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?"
_SIGN = r"(?:<=|>=|<>|=|<|>)"
_TO_NUMBER = re.compile(rf"({_SIGN})({_NUMBER})(?![\w.*/+^{{(-])")
_TO_WORD = re.compile(rf'{_SIGN}"')
_TO_KEY = re.compile(rf"{_SIGN}{_KEY}(?![*/+^-])")
_BEFORE = re.compile(rf"{_KEY}{_SIGN}$")
_STARTS_A_TERM = re.compile(r"(?:^|[,(])$")


def refer_in_si(sheets: Iterable[Sheet]) -> None:
    """Rewrite every formula of the sheets, once all of them are laid out."""
    turned = {
        key: unit
        for sheet in sheets
        if isinstance(sheet, UsSheet)
        for key, unit in sheet.turned.items()
    }
    if not turned:
        return
    for sheet in sheets:
        for number, row in enumerate(sheet.rows):
            cells = tuple(_cell(cell, turned) for cell in row.cells)
            if cells != row.cells:
                sheet.rows[number] = row._replace(cells=cells)
        sheet.helpers[:] = [
            (row, column, _cell(cell, turned)) for row, column, cell in sheet.helpers
        ]


def _cell(cell: Any, turned: Mapping[str, Unit]) -> Any:
    for name in ("formula", "check"):
        text = getattr(cell, name, "") if isinstance(cell, tuple) else ""
        if text and "{" in text:
            own = turned.get(cell.key) if name == "formula" else None
            cell = cell._replace(**{name: in_si(text, turned, own)})
    return cell


def in_si(text: str, turned: Mapping[str, Unit], own: Unit | None = None) -> str:
    """A formula text that reads figures of SI from cells that show others.

    own: the unit that its cell shows. A formula that only repeats a figure of that unit does so.

    >>> from backhaul.figures.us_units import FAHRENHEIT, FOOT
    >>> units = {"a": FOOT, "b": FOOT, "t": FAHRENHEIT}
    >>> in_si("{a}*2+{x}", units), in_si("MAX({a},{b})", units)
    ('({a}*0.3048)*2+{x}', '(MAX({a},{b})*0.3048)')
    >>> in_si('IF({a}="",0,IF({a}<={b},1,2))', units), in_si("IF({a}>=30.48,1,2)", units)
    ('IF({a}="",0,IF({a}<={b},1,2))', 'IF({a}>=100.0,1,2)')
    >>> in_si("({a})/0.3048", units, FOOT), in_si("{t}-20", units)
    ('{a}', '(({t}-32)*0.5555555555555556)-20')
    """
    if own is not None and (same := _repeated(text, turned, own)) is not None:
        return same
    parts, place = [], 0
    while found := _REFERENCE.search(text, place):
        listed = _LIST.match(text, _start_of_call(text, found.start()))
        if (
            listed
            and listed.end() > found.start()
            and (unit := _one_unit(listed[2], turned, listed[1]))
        ):
            parts.append(text[place : listed.start()] + unit.si_text(listed[0]))
            place = listed.end()
            continue
        parts.append(text[place : found.start()])
        place = found.end()
        unit = turned.get(found[1])
        if unit is None:
            parts.append(found[0])
            continue
        is_range = text[place : place + 2] == ":{" or text[: found.start()].endswith("}:")
        around = _functions_around(text, found.start())
        as_shown = bool(around) and around[0] in _AS_SHOWN
        paired = "SUMPRODUCT" in around or (is_range and not _PAIRED.isdisjoint(around))
        compared = _TO_WORD.match(text, place) or _is_compared(text, found, turned)
        if as_shown or paired or compared:
            parts.append(found[0])
        elif is_range:
            raise OutputError(f"a range of figures in {unit.name} that no formula takes so: {text}")
        elif (number := _TO_NUMBER.match(text, place)) and _STARTS_A_TERM.search(
            text[: found.start()]
        ):
            parts.append(f"{found[0]}{number[1]}{typed(float(number[2]), unit)!r}")
            place = number.end()
        else:
            parts.append(unit.si_text(found[0]))
    return "".join(parts) + text[place:]


def _repeated(text: str, turned: Mapping[str, Unit], own: Unit) -> str | None:
    """The reference alone, where a formula shows nothing but a figure of its own unit."""
    for found in _ALONE.finditer(text):
        if turned.get(found[1]) == own and text == own.shown_text(found[0]):
            return found[0]
        break
    return None


def _one_unit(listed: str, turned: Mapping[str, Unit], function: str) -> Unit | None:
    """The unit of all cells in a list, where a function of them has it too."""
    units = {turned.get(key) for key in _REFERENCE.findall(listed)}
    if len(units) != 1 or None in units:
        return None
    (unit,) = units
    return None if unit is not None and unit.zero and function == "SUM" else unit


def _is_compared(text: str, found: re.Match, turned: Mapping[str, Unit]) -> bool:
    """Whether a reference is compared with another one of its unit, and nothing else is done."""
    unit = turned[found[1]]
    before, after = text[: found.start()], _TO_KEY.match(text, found.end())
    if after and turned.get(after[1]) == unit and _STARTS_A_TERM.search(before):
        return True
    first = _BEFORE.search(before)
    return bool(
        first
        and turned.get(first[1]) == unit
        and _STARTS_A_TERM.search(before[: first.start()])
        and not re.match(r"[*/+^-]", text[found.end() :])
    )


def _start_of_call(text: str, place: int) -> int:
    """Where the name of the function begins whose bracket opens just before a place."""
    name = re.search(r"[A-Z]+\($", text[:place])
    return name.start() if name else place


def _functions_around(text: str, place: int) -> list[str]:
    """Names of the functions whose arguments a place stands among, the nearest first."""
    found: list[str] = []
    depth, quoted = 0, False
    for at in range(place - 1, -1, -1):
        sign = text[at]
        if sign == '"':
            quoted = not quoted
        elif quoted or sign not in "()":
            continue
        elif sign == ")":
            depth += 1
        elif depth:
            depth -= 1
        elif name := re.search(r"[A-Z]+$", text[:at]):
            found.append(name[0])
    return found
