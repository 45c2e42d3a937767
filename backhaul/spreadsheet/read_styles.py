"""Which cell styles of a workbook show dates or percent; nothing else of a style matters here."""

import re

from backhaul.spreadsheet.read_cells import DATE, PERCENT
from backhaul.spreadsheet.read_package import Package, parse_part

# ECMA-376 part 1, 18.8.30: built-in formats; 27 to 36 and 50 to 58 are dates in East Asia
BUILT_IN_DATES = frozenset((*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)))
BUILT_IN_PERCENT = frozenset((9, 10))
_QUOTED = re.compile(r'"[^"]*"|\\.|_.|\*.')
_BRACKETED = re.compile(r"\[(?!h+\]|m+\]|s+\])[^\]]*\]", re.IGNORECASE)
MAX_STYLES = 100_000


def cell_styles(package: Package, part: str) -> dict[int, str]:
    """DATE or PERCENT by the number of a cell style; all other styles are left out."""
    codes: dict[int, str] = {}
    formats: list[int] = []
    inside = False

    def start(name: str, attributes: dict) -> None:
        nonlocal inside
        name = name.rpartition(":")[2]
        if name == "numFmt" and not inside:
            codes[_whole(attributes.get("numFmtId"))] = attributes.get("formatCode", "")[:255]
        elif name == "cellXfs":
            inside = True
        elif name == "xf" and inside and len(formats) < MAX_STYLES:
            formats.append(_whole(attributes.get("numFmtId")))

    def end(name: str) -> None:
        nonlocal inside
        if name.rpartition(":")[2] == "cellXfs":
            inside = False

    parse_part(package, part, start, end)
    by_format = {number: kind_of_format(code) for number, code in codes.items()}
    styles = {}
    for place, number in enumerate(formats):
        if number in by_format:
            kind = by_format[number]
        else:
            kind = PERCENT if number in BUILT_IN_PERCENT else ""
            kind = DATE if number in BUILT_IN_DATES else kind
        if kind:
            styles[place] = kind
    return styles


def kind_of_format(code: str) -> str:
    r"""What a number format shows.

    >>> kind_of_format("d\\.m\\.yyyy"), kind_of_format("0.0%"), kind_of_format('0.0 "days"')
    ('date', 'percent', '')
    """
    bare = _BRACKETED.sub("", _QUOTED.sub("", code)).lower()
    if bare == "general":
        return ""
    if "%" in bare:
        return PERCENT
    return DATE if any(letter in bare for letter in "dmyhs") and "e+" not in bare else ""


def _whole(text: str | None) -> int:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else 0
