"""Where every cell stands: sheet names that the file takes, addresses of keys, formula texts."""

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from backhaul.errors import OutputError
from backhaul.spreadsheet.cells import Head, Range, SheetCell, Text, as_cell
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Book, Row, Sheet
from backhaul.spreadsheet.long_lists import MAX_ARGUMENTS, most_arguments, shortened
from backhaul.spreadsheet.styles import EMPTY

MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384  # ECMA-376 readers' common limits
MAX_FORMULA = 8_192
#: In a formula text `{cells of Chain|1|20}` stands for all cells of those rows of that sheet.
CELLS_OF = "cells of "
MAX_QUOTED = 255  # characters of a text inside a formula
MAX_SHEET_NAME = 31
_REFERENCE = re.compile(r"\{([^{}]*)\}(?::\{([^{}]*)\})?")
_QUOTED_TEXT = re.compile(r'"((?:[^"]|"")*)"')
_NOT_IN_A_NAME = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_PLAIN_NAME = re.compile(r"[A-Za-z_][A-Za-z_]*")
_NO_ROW = Row(())
_NEEDS_CARE = re.compile(r"(?i)[a-z]{1,3}\d+|r\d*c\d*|true|false")


class Spot(NamedTuple):
    """The place of a key: number of the sheet from 0, row and column from 1."""

    sheet: int
    row: int
    column: int


def sheet_names(wanted: Sequence[str]) -> list[str]:
    """Names that the file takes: legal, at most 31 characters, unique whatever the case.

    >>> sheet_names(["Air/1", "air 1", "history", ""])
    ['Air 1', 'air 1 (2)', 'history sheet', 'Sheet']
    """
    taken: set[str] = set()
    names = []
    for name in wanted:
        clean = _NOT_IN_A_NAME.sub(" ", name).strip().strip("'")[:MAX_SHEET_NAME].strip()
        if clean.casefold() == "history":  # kept by spreadsheet programs for themselves
            clean += " sheet"
        clean = clean or "Sheet"
        choice, number = clean, 1
        while choice.casefold() in taken:
            number += 1
            tail = f" ({number})"
            choice = clean[: MAX_SHEET_NAME - len(tail)] + tail
        taken.add(choice.casefold())
        names.append(choice)
    return names


def quoted(name: str) -> str:
    """A sheet name as formulas write it.

    >>> quoted("Light"), quoted("At a glance"), quoted("Owner's"), quoted("AB12")
    ('Light', "'At a glance'", "'Owner''s'", "'AB12'")
    """
    if _PLAIN_NAME.fullmatch(name) and not _NEEDS_CARE.fullmatch(name):
        return name
    return "'" + name.replace("'", "''") + "'"


def _empty_cell(row: Row) -> SheetCell | None:
    if None not in row.cells:
        return None
    if any(type(content) is Head for content in row.cells):
        return Head("")
    role = EMPTY.get(row.style)
    return Text("", role) if role else None


class Layout:
    """The place of every key, and the rows of every sheet with their cells in their columns.

    Placed cells are made anew whenever they are asked for: a district's would fill the memory.
    """

    def __init__(self, book: Book) -> None:
        self.names = sheet_names([sheet.name for sheet in book.sheets])
        self.prefixes = [quoted(name) + "!" for name in self.names]
        self.numbers = {sheet.name: n for n, sheet in enumerate(book.sheets)}
        if len(self.numbers) < len(book.sheets):
            raise OutputError("two sheets of the book have the same name")
        self.spots: dict[str, Spot] = {}
        self._sheets = book.sheets
        self._helpers = [_by_row(sheet) for sheet in book.sheets]
        for number, sheet in enumerate(book.sheets):
            self._note_keys(number, sheet)

    def _note_keys(self, number: int, sheet: Sheet) -> None:
        for r, row in enumerate(sheet.rows, 1):
            column = 1
            for content in row.cells:
                if not isinstance(content, tuple):
                    column += 1
                    continue
                if content.key:
                    self._note(content.key, Spot(number, r, column))
                column += content.span
            if column - 1 > len(sheet.columns):
                raise OutputError(
                    f"sheet {sheet.name}, row {r}: {column - 1} columns, but it has {len(sheet.columns)}"
                )
        for r, column, cell in sheet.helpers:
            if cell.key:
                self._note(cell.key, Spot(number, r, column))
        rows, columns = self.row_count(number), len(sheet.columns) + 1 + sheet.helper_columns
        if rows > MAX_ROWS or columns > MAX_COLUMNS:
            raise OutputError(f"sheet {sheet.name}: more rows or columns than a workbook holds")

    def row_count(self, number: int) -> int:
        """How many rows a sheet has, those of helpers included."""
        return max(len(self._sheets[number].rows), max(self._helpers[number], default=0))

    def rows(self, number: int) -> Iterator[tuple[Row, list[tuple[int, SheetCell]]]]:
        """The rows of a sheet, each with its cells in their columns, helpers behind."""
        for r in range(1, self.row_count(number) + 1):
            yield self._row(number, r), self.cells_of_row(number, r)

    def _row(self, number: int, r: int) -> Row:
        rows = self._sheets[number].rows
        return rows[r - 1] if r <= len(rows) else _NO_ROW

    def cells_of_row(self, number: int, r: int) -> list[tuple[int, SheetCell]]:
        """The cells of one row in their columns, helpers behind."""
        row = self._row(number, r)
        cells, column = [], 1
        empty = _empty_cell(row)
        for content in row.cells:
            cell = as_cell(content) if content is not None else empty
            if cell is None:
                column += 1
                continue
            cells.append((column, cell))
            column += cell.span
        cells.extend(self._helpers[number].get(r, ()))
        return cells

    def _note(self, key: str, spot: Spot) -> None:
        if key in self.spots:
            first = self.spots[key]
            raise OutputError(
                f"key {key!r} stands twice: {self.address(first)} and {self.address(spot)}"
            )
        self.spots[key] = spot

    def spot(self, key: str, user: str = "") -> Spot:
        """The place of a key."""
        found = self.spots.get(key)
        if found is None:
            raise OutputError(f"unknown key {key!r}" + (f" in {user}" if user else ""))
        return found

    def address(self, spot: Spot) -> str:
        """The full address of a place."""
        return f"{self.prefixes[spot.sheet]}{column_letters(spot.column)}{spot.row}"

    def link_target(self, to: str, user: str) -> str:
        """The full address of a key, or of the top of a sheet."""
        if to not in self.spots and to in self.numbers:
            return self.prefixes[self.numbers[to]] + "A1"
        return self.address(self.spot(to, user))

    def formula(self, text: str, sheet: int, user: str) -> str:
        """A formula text with addresses in the place of keys."""
        pieces = text.split("{")
        parts, begun = [pieces[0]], None
        for piece in pieces[1:]:
            key, _, rest = piece.partition("}")
            if key.startswith(CELLS_OF):
                parts.append(self.cells_of_sheet(key.removeprefix(CELLS_OF), user) + rest)
                continue
            spot = self.spots.get(key) or self.spot(key, user)
            if begun is not None and begun.sheet != spot.sheet:
                raise OutputError(f"a range to {key!r} leaves its sheet: {user}")
            if begun is None and spot.sheet != sheet:
                parts.append(self.prefixes[spot.sheet])
            parts.append(f"{column_letters(spot.column)}{spot.row}{rest}")
            begun = spot if rest == ":" else None
        resolved = shortened("".join(parts))
        if text[:1] == "=" or not text:
            raise OutputError(f"{user}: a formula text is not empty and has no '='")
        if len(resolved) > MAX_FORMULA:
            raise OutputError(f"{user}: formula longer than {MAX_FORMULA} characters")
        if resolved.count(",") >= MAX_ARGUMENTS and most_arguments(resolved) > MAX_ARGUMENTS:
            raise OutputError(f"{user}: a function of more than {MAX_ARGUMENTS} arguments")
        if len(resolved) > MAX_QUOTED and any(
            len(said) > MAX_QUOTED for said in _QUOTED_TEXT.findall(resolved)
        ):
            raise OutputError(f"{user}: a text of over {MAX_QUOTED} characters in a formula")
        return resolved

    def cells_of_sheet(self, rows: str, user: str) -> str:
        """All cells of some rows of a sheet, helpers included."""
        name, first, last = rows.split("|")
        number = self.numbers.get(name)
        if number is None:
            raise OutputError(f"unknown sheet {name!r} in {user}")
        sheet = self._sheets[number]
        columns = len(sheet.columns) + (1 + sheet.helper_columns if sheet.helper_columns else 0)
        return f"{self.prefixes[number]}$A${first}:${column_letters(columns)}${last}"

    def range_of(self, reference: Range | str, user: str) -> tuple[int, int, int, int, int]:
        """Sheet number, first row, first column, last row, last column of a range."""
        if isinstance(reference, Range):
            number = self.numbers[reference.sheet]
            return number, reference.first, reference.column, reference.last, reference.column
        match = _REFERENCE.fullmatch(reference)
        if not match:
            raise OutputError(f"{user}: {reference!r} is not a range of keys")
        first = self.spot(match[1], user)
        last = self.spot(match[2], user) if match[2] is not None else first
        if first.sheet != last.sheet:
            raise OutputError(f"range {reference!r} leaves its sheet: {user}")
        return first.sheet, first.row, first.column, last.row, last.column

    def absolute(self, reference: Range | str, user: str) -> str:
        """A range with its sheet and `$` signs, as charts want it."""
        number, top, left, bottom, right = self.range_of(reference, user)
        start = f"${column_letters(left)}${top}"
        end = f"${column_letters(right)}${bottom}"
        return self.prefixes[number] + (start if start == end else f"{start}:{end}")

    def cells_of(self, reference: Range | str, user: str) -> list[SheetCell | None]:
        """The cells of a range, row by row."""
        number, top, left, bottom, right = self.range_of(reference, user)
        found: list[SheetCell | None] = []
        beside = left > self._sheets[number].width
        for r in range(top, bottom + 1):
            by_column = dict(
                self._helpers[number].get(r, ()) if beside else self.cells_of_row(number, r)
            )
            found.extend(by_column.get(column) for column in range(left, right + 1))
        return found


def _by_row(sheet: Sheet) -> dict[int, list[tuple[int, SheetCell]]]:
    """Helpers of a sheet by their row."""
    rows: dict[int, list[tuple[int, SheetCell]]] = {}
    for r, column, cell in sheet.helpers:
        rows.setdefault(r, []).append((column, cell))
    return rows
