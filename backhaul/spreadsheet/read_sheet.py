"""One sheet of a workbook to a grid of cells, streamed; values as last saved."""

import itertools
import re
from datetime import datetime, timedelta
from typing import Any

from backhaul.spreadsheet.column_letters import column_letters, column_number
from backhaul.spreadsheet.read_cells import (
    BOOLEAN,
    DATE,
    ERROR,
    MAX_CELLS,
    MAX_COLUMNS,
    MAX_ROWS,
    NO_VALUE,
    PERCENT,
    Merge,
    Odd,
    SheetCells,
    in_columns,
)
from backhaul.spreadsheet.read_package import (
    MAX_LETTERS,
    Package,
    Refused,
    Stop,
    long_text,
    parse_part,
)

MAX_MERGES = 10_000
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?")
_LETTERS = re.compile("[A-Z]{1,3}")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_EXTERNAL = re.compile(r"\[\d+\]")
MAX_SERIAL = 2_958_465  # 31 December 9999


def no_cells(title: str) -> Refused:
    """What a sheet without cells is: its table would be missed in silence."""
    return Refused(
        f"no cells behind the sheet '{title}'",
        "a whole .xlsx file",
        "open it in a spreadsheet program and save it again",
    )


def read_sheet(
    package: Package,
    part: str | None,
    title: str,
    strings: list[str],
    styles: dict[int, str],
    epoch: datetime,
) -> SheetCells:
    """The rows of a sheet that hold a value; `strings` and `styles` are the workbook's.

    part: None where the workbook lists a sheet of another kind. Raises `no_cells` without cells.
    """
    reader = _Reader(title, strings, styles, epoch)
    if part is not None:
        parse_part(package, part, reader.start, reader.end, reader.text)
    numbers, rows = reader.numbers, reader.rows
    if not reader.has_cells:
        raise no_cells(title)
    if any(a >= b for a, b in itertools.pairwise(numbers)):
        raise Refused(
            f"rows out of order in the sheet '{title}'",
            "a whole .xlsx file",
            "open it in a spreadsheet program and save it again",
        )
    return SheetCells(
        numbers,
        in_columns(rows),
        tuple(reader.merges),
        tuple(reader.hidden),
        reader.hidden_columns,
        tuple(reader.external),
    )


class _Reader:
    """Handlers of one sheet; elements outside the rows are looked at by name only."""

    def __init__(self, title: str, strings, styles, epoch: datetime):
        self.title, self.strings, self.styles, self.epoch = title, strings, styles, epoch
        self.numbers: list[int] = []
        self.rows: list[list] = []
        self.merges: list[Merge] = []
        self.hidden: list[int] = []
        self.external: list[tuple[int, int]] = []
        self.hidden_columns = self.has_cells = False
        self.columns: dict[str, int] = {}
        self.row_number = self.widest = 0
        self.row: list = []
        self.last_column = self.letters = 0
        self.column = 0  # of the cell that is being read, from 1; 0 outside cells
        self.type = self.style = None
        self.taking: list[str] | None = None
        self.value: str | None = None
        self.formula: str | None = None
        self.in_phonetic = False

    def start(self, name: str, attributes: dict) -> None:
        if name == "c":
            self._start_cell(attributes)
        elif name == "v":
            self.taking = []
        elif name == "row":
            self._start_row(attributes)
        elif name == "f":
            self.formula = ""
            self.taking = []
        elif name == "t":
            self.taking = None if self.in_phonetic else []
        elif name == "rPh":
            self.in_phonetic = True
        elif name == "sheetData":
            self.has_cells = True
        elif name == "mergeCell":
            self._merge(attributes.get("ref", ""))
        elif name == "col" and attributes.get("hidden") in ("1", "true"):
            self.hidden_columns = True
        elif ":" in name:
            self.start(name.rpartition(":")[2], attributes)

    def text(self, data: str) -> None:
        if self.taking is not None:
            self.taking.append(data)
            self.letters += len(data)
            if self.letters > MAX_LETTERS:
                raise long_text()

    def end(self, name: str) -> None:
        if name == "v":
            self.value = "".join(self.taking or ())
            self.taking = None
        elif name == "c":
            self._end_cell()
        elif name == "t":
            if self.taking is not None and self.column:
                self.value = (self.value or "") + "".join(self.taking)
            self.taking = None
        elif name == "f":
            self.formula = "".join(self.taking or ())
            self.taking = None
        elif name == "rPh":
            self.in_phonetic = False
        elif name == "row":
            self._end_row()
        elif ":" in name:
            self.end(name.rpartition(":")[2])

    def _start_row(self, attributes: dict) -> None:
        number = attributes.get("r")
        self.row_number = int(number) if number else self.row_number + 1
        self.row, self.last_column = [], 0
        if attributes.get("hidden") in ("1", "true"):
            self.hidden.append(self.row_number)

    def _end_row(self) -> None:
        if self.row:
            self.numbers.append(self.row_number)
            self.rows.append(self.row)
            self.row = []
            if self.row_number > 1_048_576 or len(self.rows) > MAX_ROWS:
                raise Refused(
                    f"more than {MAX_ROWS:,} rows in the sheet '{self.title}'",
                    f"at most {MAX_ROWS:,}",
                    "split the design",
                )

    def _start_cell(self, attributes: dict) -> None:
        reference = attributes.get("r")
        if reference:
            letters = reference.rstrip("0123456789")
            column = self.columns.get(letters)
            if column is None:
                if not _LETTERS.fullmatch(letters):
                    raise ValueError("cell reference")
                column = self.columns[letters] = column_number(letters)
        else:
            column = self.last_column + 1
        self.column = self.last_column = column
        self.type = attributes.get("t")
        self.style = attributes.get("s")
        self.value = self.formula = None
        self.letters = 0

    def _end_cell(self) -> None:
        value, kind = self.value, self.type
        cell: Any
        if value is None or value == "":
            cell = None
            if self.formula is not None and (kind != "str" or value is None):
                cell = Odd(NO_VALUE, "=" + self.formula[:100])
        elif kind == "s":
            cell = self.strings[int(value)]
        elif kind is None or kind == "n":
            cell = float(value)
            if self.style is not None and self.styles:
                special = self.styles.get(int(self.style))
                if special:
                    cell = self._special(cell, special)
            if type(cell) is float and not -1e300 < cell < 1e300:
                cell = value
        else:
            cell = self._typed(value, kind)
        if cell is not None and cell != "":
            self._put(cell)
        self.column = 0

    def _typed(self, value: str, kind: str):
        if kind == "b":
            return Odd(BOOLEAN, "TRUE" if value.strip() in ("1", "true") else "FALSE")
        if kind == "e":
            return Odd(ERROR, value)
        if kind == "d":
            return Odd(DATE, value)
        return unescape(value)

    def _special(self, number: float, special: str):
        if special == PERCENT:
            return Odd(PERCENT, f"{100 * number:g}%")
        if not 0 <= number <= MAX_SERIAL:
            return number
        moment = self.epoch + timedelta(days=number)
        if number < 1 and number:
            return Odd(DATE, f"{moment:%H:%M}")
        return Odd(DATE, f"{moment:%Y-%m-%d}" + (f"{moment: %H:%M}" if number % 1 else ""))

    def _put(self, cell: object) -> None:
        row, column = self.row, self.column
        if column > MAX_COLUMNS:
            raise Refused(
                f"a value in row {self.row_number}, column {column} of the sheet '{self.title}'",
                f"at most {MAX_COLUMNS} columns",
                "delete what lies so far out",
            )
        self.widest = max(self.widest, column)
        if (len(self.rows) + 1) * self.widest > MAX_CELLS:
            raise Refused(
                f"more than {MAX_CELLS:,} cells in the sheet '{self.title}'",
                f"at most {MAX_CELLS:,}, rows times columns",
                "delete what lies far out",
            )
        place = column - 1
        if place == len(row):
            row.append(cell)
        elif place > len(row):
            row.extend([None] * (place - len(row)))
            row.append(cell)
        elif row[place] is None:
            row[place] = cell
        else:
            where = f"{self.title}!{column_letters(column)}{self.row_number}"
            raise Refused(
                f"two values in one cell, {where}",
                "a workbook as a spreadsheet program saves it",
                "open it in a spreadsheet program and save it again",
            )
        if self.formula is not None and _EXTERNAL.search(self.formula):
            self.external.append((self.row_number, column))

    def _merge(self, reference: str) -> None:
        found = _RANGE.fullmatch(reference)
        if not found or not found[3]:
            return
        if len(self.merges) == MAX_MERGES:
            raise Stop
        self.merges.append(
            Merge(
                int(found[2]),
                int(found[4]),
                column_number(found[1]),
                column_number(found[3]),
                reference,
            )
        )


def unescape(text: str) -> str:
    r"""Undo the escapes of control characters, ECMA-376 part 1, 22.9.2.19.

    >>> unescape("a_x000A_b")
    'a\nb'
    """
    if "_x" not in text:
        return text
    return _ESCAPED.sub(lambda found: _sign(int(found[1], 16)), text)


def _sign(code: int) -> str:
    return "" if code == 0 or 0xD800 <= code < 0xE000 else chr(code)
