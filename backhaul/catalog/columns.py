"""Columns of catalogues, in the words of the trade; the types are those of every table."""

import re
from typing import Any

from backhaul.tables.column import (
    CHOICE,
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
from backhaul.tables.names import squash

_IP_CODE = re.compile(r"IP[0-6X][0-9X]")
_POE_CLASS = re.compile(r"(?:class)?([0-8])")
PLUGS = {squash(name): name for name in ("LC", "SC", "ST", "FC", "MPO", "MU", "LSH", "CS", "SN")}
CATEGORIES = {
    name.lower(): f"Cat {name}" for name in ("5", "5e", "6", "6A", "7", "7A", "8.1", "8.2")
}
POLISHES = ("UPC", "APC", "PC", "none")


def text(name: str, **options: Any) -> Column:
    return Column(name, TEXT, **options)


def name(name: str, **options: Any) -> Column:
    return Column(name, NAME, **options)


def number(name: str, unit: str, low: float, high: float, **options: Any) -> Column:
    return Column(name, NUMBER, "", unit, low, high, **options)


def integer(name: str, unit: str, low: int, high: int, **options: Any) -> Column:
    return Column(name, INTEGER, "", unit, low, high, **options)


def numbers(name: str, unit: str, low: float, high: float, **options: Any) -> Column:
    return Column(name, NUMBERS, "", unit, low, high, default=(), **options)


def names(name: str) -> Column:
    return Column(name, LIST, default=())


def flag(name: str) -> Column:
    return Column(name, YES_NO)


def choice(name: str, *choices: str, **options: Any) -> Column:
    return Column(name, CHOICE, choices=choices, **options)


def plug(name: str) -> Column:
    wanted = "a connector family such as LC or SC"
    return Column(name, WORD, spell=_plug, wanted=wanted)


def cable_end(name: str) -> Column:
    wanted = "a connector family and polish such as LC/UPC, or nothing for a bare end"
    return Column(name, WORD, spell=_end, wanted=wanted)


def ip_code(name: str) -> Column:
    return Column(name, WORD, spell=_ip, wanted="an IP code such as IP66")


def poe_class(name: str) -> Column:
    return Column(name, WORD, spell=_poe_class, wanted="a PoE class from 0 to 8, or passive")


def category(name: str, **options: Any) -> Column:
    wanted = "a cable category such as Cat 6A"
    return Column(name, WORD, spell=_category, wanted=wanted, **options)


def _plug(cell: str) -> str:
    return PLUGS.get(squash(cell), cell)


def _end(cell: str) -> str:
    """A family and a polish.

    >>> _end("lc / upc")
    'LC/UPC'
    """
    family, slash, polish = cell.partition("/")
    polish = polish.strip().upper()
    if not slash or not family.strip() or polish not in POLISHES[:3]:
        raise ValueError(cell)
    return f"{_plug(family.strip())}/{polish}"


def _category(cell: str) -> str:
    """One spelling: "Category 6A", "cat6a" and "6A" are "Cat 6A"; others stay as they are.

    >>> _category("cat-6a"), _category("CAT 8.1")
    ('Cat 6A', 'Cat 8.1')
    """
    bare = squash(cell).removeprefix("category").removeprefix("cat")
    return CATEGORIES.get(bare, cell)


def _ip(cell: str) -> str:
    codes = cell.upper().replace(" ", "")
    if not all(_IP_CODE.fullmatch(code) for code in codes.split("/")):
        raise ValueError(cell)
    return codes


def _poe_class(cell: str) -> int | str:
    if squash(cell) == "passive":
        return "passive"
    found = _POE_CLASS.fullmatch(squash(cell))
    if not found:
        raise ValueError(cell)
    return int(found[1])
