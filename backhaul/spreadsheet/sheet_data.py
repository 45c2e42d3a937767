"""The rows of a sheet as XML (ECMA-376, part 1, clause 18.3): each formula beside its value.

openpyxl stores no value beside a formula, so a reader that does not calculate shows blanks.
The rows are therefore written here; everything else of the file comes from openpyxl.
"""

import re
from collections.abc import Callable
from itertools import islice
from math import isfinite
from numbers import Integral, Real
from typing import Any
from zlib import compress

from backhaul.errors import OutputError
from backhaul.spreadsheet.cells import (
    Calc,
    Head,
    Input,
    Link,
    Number,
    SheetCell,
    Text,
    ToFill,
    Verdict,
)
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.row_height import MAX_ROW_PT, ROW_PT, RowHeights
from backhaul.spreadsheet.styles import (
    FOUND_WORDS,
    HELD_ROLES,
    StyleNumbers,
    number_format,
    role_of,
)

MAX_TEXT = 32_767  # characters in a cell; more are lost without a word by spreadsheet programs
MAX_LINKS = 65_530  # of a sheet, as spreadsheet programs take them; the words beyond stay
CUT_MARK = " … [cut]"
_WORDS_AT = {Text: 0, Head: 0, Link: 0, Verdict: 0, Number: 0, Input: 1, Calc: 2}
_ROWS_A_PIECE = 500
_QUICK = 1  # level of compression
# XML 1.0, production 2: everything else makes an unreadable file
_ILLEGAL = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_RISKY_START = ("=", "+", "-", "@", "\t", "'")


def clean(text: str) -> str:
    """Text that a cell can hold: legal characters, cut with a mark where it is too long.

    >>> clean("a" + chr(0xFFFE) + "b" + chr(11))
    'ab'
    """
    if not text.isprintable():
        text = _ILLEGAL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    return text if len(text) <= MAX_TEXT else text[: MAX_TEXT - len(CUT_MARK)] + CUT_MARK


def escape(text: str) -> str:
    """Text as XML character data.

    >>> escape("a<b & c")
    'a&lt;b &amp; c'
    """
    if "&" in text:
        text = text.replace("&", "&amp;")
    if "<" in text:
        text = text.replace("<", "&lt;")
    return text.replace(">", "&gt;") if ">" in text else text


def stored(value: Any, user: str) -> tuple[str, str]:
    """Type attribute and text of a value beside its formula.

    >>> stored(2.5, ""), stored("pass", ""), stored(True, "")
    (('', '2.5'), (' t="str"', 'pass'), (' t="b"', '1'))
    """
    kind = type(value)
    if kind is float and isfinite(value):
        return "", repr(value)
    if kind is str:
        return ' t="str"', escape(clean(value))
    if kind is bool:
        return ' t="b"', "1" if value else "0"
    if kind is int or isinstance(value, Integral):
        return "", str(int(value))
    if not isinstance(value, Real):
        shown = "no value" if value is None else f"{value!r} of type {kind.__name__}"
        raise OutputError(f"{user}: {shown}; wanted a number, text, True or False")
    number = float(value)
    if not isfinite(number):
        raise OutputError(f"{user}: {number} is not a figure that a cell can hold")
    return "", repr(number)


class SharedText:
    """The texts of the book, each stored once."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}
        self.uses = 0

    def number(self, text: str) -> int:
        """The number of a text."""
        self.uses += 1
        return self._numbers.setdefault(text, len(self._numbers))

    def xml(self) -> str:
        """The shared string part."""
        items = "".join(
            f'<si><t xml:space="preserve">{escape(clean(text))}</t></si>' for text in self._numbers
        )
        return (
            '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
            '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
            f'count="{self.uses}" uniqueCount="{len(self._numbers)}">{items}</sst>'
        )


class SheetData:
    """The rows of one sheet, and what its cells ask of the rest of the part."""

    def __init__(
        self, sheet: Sheet, number: int, layout: Layout, styles: StyleNumbers, texts: SharedText
    ) -> None:
        self._number = number
        self._layout = layout
        self._styles = styles
        self._texts = texts
        self._name = layout.names[number]
        self._width = len(sheet.columns)
        self._heights = RowHeights(sheet.columns)
        self._write: dict[type, Callable[[str, Any, str], str]] = {
            Text: self._text,
            Head: self._text,
            Number: self._number_cell,
            Input: self._number_cell,
            Calc: self._calc,
            Verdict: self._verdict,
            Link: self._link,
            ToFill: self._to_fill,
        }
        self.merged: list[str] = []
        self.links: list[tuple[str, str]] = []
        self.verdicts: list[tuple[int, int, int]] = []  # column, row, columns it spans
        self.typed: list[tuple[int, int, Input | ToFill]] = []
        self.held: list[tuple[int, int]] = []  # column, row of figures without a formula
        self.last_column = 1
        #: the rows, some hundred in each piece, compressed until they are written
        self.pieces: list[bytes] = []
        self.last_row = max(layout.row_count(number), 1)
        rows = enumerate(layout.rows(number), 1)
        while part := "".join([self._row(r, *placed) for r, placed in islice(rows, _ROWS_A_PIECE)]):
            self.pieces.append(compress(part.encode(), _QUICK))

    def _row(self, r: int, row: Row, cells: list[tuple[int, SheetCell]]) -> str:
        parts = []
        lines_pt = ROW_PT
        for column, cell in cells:
            role = role_of(cell, row.style)
            kind = type(cell)
            span = cell.span
            address = f"{column_letters(column)}{r}"
            parts.append(self._write[kind](address, cell, role))
            last = column + span - 1
            self.last_column = max(self.last_column, last)
            if span > 1:
                style = self._styles.number(role)
                parts.extend(
                    [
                        f'<c r="{column_letters(n)}{r}" s="{style}"/>'
                        for n in range(column + 1, last + 1)
                    ]
                )
                self.merged.append(f"{address}:{column_letters(last)}{r}")
            if isinstance(cell, Verdict):
                self.verdicts.append((column, r, span))
                if role in HELD_ROLES and cell.value in FOUND_WORDS:
                    self.held.append((column, r))
            elif kind is Number and role in HELD_ROLES:
                self.held.append((column, r))
            elif isinstance(cell, Input | ToFill):
                self.typed.append((column, r, cell))
            if row.height is None and column <= self._width and kind is not ToFill:
                words = cell[_WORDS_AT[kind]]
                if words.__class__ is str:
                    lines_pt = max(lines_pt, self._heights.of(words, role, column, span))
        height = row.height or min(lines_pt, MAX_ROW_PT)
        shown = f' ht="{height:.4g}" customHeight="1"' if height != ROW_PT else ""
        return f'<row r="{r}"{shown}>{"".join(parts)}</row>' if parts or shown else ""

    def _text(self, address: str, cell: Text | Head, role: str) -> str:
        return self._words(address, cell.text, role)

    def _words(self, address: str, text: str, role: str) -> str:
        if text.__class__ is not str:
            raise OutputError(f"{self._name}!{address}: {text!r} is not text")
        style = self._styles.number(role, "General", text.startswith(_RISKY_START))
        if not text:
            return f'<c r="{address}" s="{style}"/>'
        return f'<c r="{address}" s="{style}" t="s"><v>{self._texts.number(text)}</v></c>'

    def _number_cell(self, address: str, cell: Number | Input, role: str) -> str:
        value = cell.value
        if isinstance(value, str):
            return self._words(address, value, role)
        shown = cell.format or "General" if type(cell) is Input else cell.format
        style = self._styles.number(role, number_format(value, shown, cell.unit))
        if value is None and type(cell) is Input:
            return f'<c r="{address}" s="{style}"/>'
        kind, text = stored(value, f"{self._name}!{address}")
        return f'<c r="{address}" s="{style}"{kind}><v>{text}</v></c>'

    def _calc(self, address: str, cell: Calc, role: str) -> str:
        style = self._styles.number(role, number_format(cell.value, cell.format, cell.unit))
        return self._formula(address, style, cell)

    def _formula(self, address: str, style: int, cell: Calc | Verdict) -> str:
        user = f"{self._name}!{address}"
        if cell.key:
            user = f"{user} ({cell.key})"
        formula = escape(self._layout.formula(cell.formula, self._number, user))
        kind, text = stored(cell.value, user)
        return f'<c r="{address}" s="{style}"{kind}><f>{formula}</f><v>{text}</v></c>'

    def _verdict(self, address: str, cell: Verdict, role: str) -> str:
        if not cell.formula:
            return self._words(address, cell.value, role)
        return self._formula(address, self._styles.number(role), cell)

    def _link(self, address: str, cell: Link, role: str) -> str:
        target = self._layout.link_target(cell.to, f"{self._name}!{address}")
        if len(self.links) < MAX_LINKS:
            self.links.append((address, target))
        return self._words(address, cell.text, role)

    def _to_fill(self, address: str, cell: ToFill, role: str) -> str:
        shown = number_format(None, cell.format, cell.unit)
        return f'<c r="{address}" s="{self._styles.number(role, shown)}"/>'
