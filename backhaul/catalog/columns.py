"""What a column of a catalogue may hold, and how the text of a cell becomes a value."""

import re
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from backhaul.catalog.names import normal

YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_LIST_BREAK = re.compile(r"[;/+\s]+")
_DECIMAL_COMMA = re.compile(r"[-+]?\d+,\d+")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+")
_IP_CODE = re.compile(r"IP[0-6X][0-9X]")
_POE_CLASS = re.compile(r"(?:class)?([0-8])")
LARGE = 1e9


class Column(NamedTuple):
    """One column: its name, what it may hold and the unit."""

    name: str
    kind: str
    unit: str = ""
    low: float = -LARGE
    high: float = LARGE
    choices: tuple[str, ...] = ()
    aliases: Mapping[str, str] = {}
    required: bool = False
    #: what a blank cell means; None where the contract gives it no meaning
    default: Any = None

    @property
    def attribute(self) -> str:
        """Name of the record's field: the column's, but for the one that is a word of Python."""
        return "for_" if self.name == "for" else self.name

    @property
    def needed(self) -> str:
        """What a cell of the column must hold, in words."""
        if self.kind in ("number", "integer", "numbers"):
            noun = {"number": "a number", "integer": "a whole number", "numbers": "numbers"}
            unit = f" in {self.unit}" if self.unit else ""
            return f"{noun[self.kind]}{unit} from {self.low:g} to {self.high:g}"
        if self.kind == "choice":
            return "one of " + ", ".join(self.choices)
        return _WORDS[self.kind]


_WORDS = {
    "text": "text",
    "flag": "yes or no",
    "plug": "a connector family such as LC or SC",
    "end": "a connector family and polish such as LC/UPC, or nothing for a bare end",
    "ip": "an IP code such as IP66",
    "poe class": "a PoE class from 0 to 8, or passive",
    "category": "a cable category such as Cat 6A",
}
PLUGS = {normal(name): name for name in ("LC", "SC", "ST", "FC", "MPO", "MU", "LSH", "CS", "SN")}
CATEGORIES = {
    name.lower(): f"Cat {name}" for name in ("5", "5e", "6", "6A", "7", "7A", "8.1", "8.2")
}
POLISHES = ("UPC", "APC", "PC", "none")


def text(name: str, **options: Any) -> Column:
    return Column(name, "text", **options)


def number(name: str, unit: str, low: float, high: float, **options: Any) -> Column:
    return Column(name, "number", unit, low, high, **options)


def integer(name: str, unit: str, low: int, high: int, **options: Any) -> Column:
    return Column(name, "integer", unit, low, high, **options)


def numbers(name: str, unit: str, low: float, high: float, **options: Any) -> Column:
    return Column(name, "numbers", unit, low, high, default=(), **options)


def flag(name: str) -> Column:
    return Column(name, "flag")


def choice(name: str, *choices: str, **options: Any) -> Column:
    return Column(name, "choice", choices=choices, **options)


def parser(column: Column, *, decimal_comma: bool = False) -> Callable[[str], Any]:
    """The function from a cell's text to a value; it raises ValueError on what cannot be used.

    >>> parser(number("max_db", "dB", 0, 60))("0.75")
    0.75
    >>> parser(numbers("rates_mbps", "Mbit/s", 1, 1e6))("100;1000")
    (100.0, 1000.0)
    >>> parser(choice("mode", "single", "multi"))("Single")
    'single'
    """
    if column.kind in ("number", "integer", "numbers"):
        return _number_parser(column, decimal_comma)
    if column.kind == "choice":
        known = {normal(name): name for name in column.choices}
        known.update({normal(name): meant for name, meant in column.aliases.items()})
        return _lookup(known)
    return _PARSERS[column.kind]


def _number_parser(column: Column, decimal_comma: bool) -> Callable[[str], Any]:
    low, high = column.low, column.high

    def one(cell: str) -> float:
        if decimal_comma and "," in cell:
            if not _DECIMAL_COMMA.fullmatch(cell) or _THOUSANDS.fullmatch(cell):
                raise ValueError(cell)  # 1,250 may be a thousand or one and a quarter
            cell = cell.replace(",", ".")
        if "_" in cell or not cell.isascii():
            raise ValueError(cell)
        value = float(cell)
        if not low <= value <= high:  # NaN fails here too
            raise ValueError(cell)
        return value

    def whole(cell: str) -> int:
        value = one(cell)
        if not value.is_integer():
            raise ValueError(cell)
        return int(value)

    def several(cell: str) -> tuple[float, ...]:
        return tuple([one(item) for item in _LIST_BREAK.split(cell) if item])

    return {"number": one, "integer": whole, "numbers": several}[column.kind]


def _lookup(known: Mapping[str, Any]) -> Callable[[str], Any]:
    def value(cell: str) -> Any:
        found = known.get(cell)
        if found is None:
            found = known.get(normal(cell))
        if found is None:
            raise ValueError(cell)
        return found

    return value


def _flag(cell: str) -> bool:
    try:
        return YES_NO[cell.lower()]
    except KeyError:
        raise ValueError(cell) from None


def _plug(cell: str) -> str:
    return PLUGS.get(normal(cell), cell)


def _end(cell: str) -> str:
    family, slash, polish = cell.partition("/")
    polish = polish.strip().upper()
    if not slash or not family.strip() or polish not in POLISHES[:3]:
        raise ValueError(cell)
    return f"{_plug(family.strip())}/{polish}"


def _category(cell: str) -> str:
    """One spelling: "Category 6A", "cat6a" and "6A" are "Cat 6A"; others stay as they are.

    >>> _category("cat-6a")
    'Cat 6A'
    """
    bare = normal(cell).removeprefix("category").removeprefix("cat")
    return CATEGORIES.get(bare, cell)


def _ip(cell: str) -> str:
    codes = cell.upper().replace(" ", "")
    if not all(_IP_CODE.fullmatch(code) for code in codes.split("/")):
        raise ValueError(cell)
    return codes


def _poe_class(cell: str) -> int | str:
    if normal(cell) == "passive":
        return "passive"
    found = _POE_CLASS.fullmatch(normal(cell))
    if not found:
        raise ValueError(cell)
    return int(found[1])


_PARSERS: dict[str, Callable[[str], Any]] = {
    "text": lambda cell: cell,
    "flag": _flag,
    "plug": _plug,
    "end": _end,
    "ip": _ip,
    "poe class": _poe_class,
    "category": _category,
}
