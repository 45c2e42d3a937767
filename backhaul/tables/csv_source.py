"""A CSV as people save it: found encoding, found separator, nothing guessed about values."""

import codecs
import csv
import io
import re
from array import array
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from pathlib import Path

from backhaul.errors import reason_of
from backhaul.spreadsheet.read_cells import MAX_CELLS, MAX_COLUMNS, MAX_ROWS, in_columns
from backhaul.tables.collector import Collector
from backhaul.tables.column import Column
from backhaul.tables.files import TooLarge, read_capped
from backhaul.tables.grid import Grid
from backhaul.tables.heads import HEAD_ROWS
from backhaul.tables.names import on_one_line, squash

MAX_BYTES = 32 * 2**20  # 120,000 rows of 20 columns are 10 MiB
MAX_LINES = 4 * MAX_ROWS  # blank ones included
CHUNK = 1 << 20
ROWS_AT_ONCE = 10_000  # read before they are turned into columns
SEPARATORS = (",", ";", "\t")
ZIP, OLE, PDF = b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF"
_SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)


class Refused(Exception):
    """Why a file cannot be read as a CSV, and on which line."""

    def __init__(self, found: str, needed: str, remedy: str = "", line: int = 0):
        self.found, self.needed, self.remedy, self.line = found, needed, remedy, line
        super().__init__(found)


def read_csv(
    path: Path,
    name: str,
    columns: Sequence[Column],
    collector: Collector,
    called: str | None = None,
) -> Grid | None:
    """The cells of one CSV file; None with a problem where it cannot be read.

    called: how messages call the file, if not by its name.
    """
    called = called or on_one_line(path.name)
    try:
        return _read(path, name, columns, called)
    except Refused as refused:
        where = f"{called}:{refused.line}" if refused.line else called
        collector.file_problem(where, refused.found, refused.needed, refused.remedy, name)
    except OSError as error:
        found = reason_of(error)
        collector.file_problem(called, found, "a file that can be read", table=name)
    return None


def read_text(path: Path, columns: Sequence[Column] = ()) -> tuple[str, str]:
    """All text of a CSV that was read before, and its separator; a `sep=` line is left out."""
    data = read_capped(path, MAX_BYTES)
    encoding, _ = _encoding(data)
    head = _head(data, encoding)
    text = data.decode(encoding)
    if declared := _SEPARATOR_LINE.match(head):
        return text[declared.end() :], declared[1]
    return text, _separator(head, columns)


def _read(path: Path, name: str, columns: Sequence[Column], called: str) -> Grid:
    try:
        data = read_capped(path, MAX_BYTES)
    except TooLarge:
        needed = f"at most {MAX_BYTES >> 20} MiB"
        raise Refused(f"more than {MAX_BYTES >> 20} MiB", needed, "split the table") from None
    encoding, remark = _encoding(data)
    head = _head(data, encoding)
    offset = 0
    if declared := _SEPARATOR_LINE.match(head):
        separator, offset = declared[1], 1
    else:
        separator = _separator(head, columns)
    stream = io.TextIOWrapper(io.BytesIO(data), encoding, newline="")
    del data
    if offset:
        stream.readline()
    numbers, widths, columns = _rows(stream, separator, offset)
    if not numbers:
        raise Refused("nothing but blanks", "a row of heads and rows below it")
    return Grid(
        name,
        called,
        False,
        numbers,
        columns,
        decimal_comma=separator != ",",
        widths=widths,
        remarks=(remark,) if remark else (),
    )


def _encoding(data: bytes) -> tuple[str, str]:
    """Encoding of a file and a remark on it."""
    if data.startswith((ZIP, OLE, PDF)):
        what = {ZIP: "a zip file or a workbook", OLE: "an old workbook", PDF: "a PDF"}[data[:4]]
        raise Refused(f"{what} under the name of a CSV", "text", "rename it to what it is")
    if not data.removeprefix(codecs.BOM_UTF8).strip():
        raise Refused("an empty file", "a row of heads and rows below it")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif guessed := _unmarked_utf_16(data[:400]):
        encoding = guessed
    else:
        encoding = "utf-8-sig"
    if _is_text(data, encoding):
        return encoding, ""
    if _is_text(data, "cp1252"):
        return "cp1252", "not UTF-8; read as Windows-1252"
    needed = "text in UTF-8"
    raise Refused("bytes that are text in no usual encoding", needed, "save it as CSV in UTF-8")


def _unmarked_utf_16(start: bytes) -> str | None:
    """UTF-16 without its mark: Latin text has a zero in every other byte, and only there."""
    low, high = start[0::2].count(0), start[1::2].count(0)
    if len(start) < 8 or max(low, high) < 0.4 * len(start) or min(low, high) > 0.1 * len(start):
        return None
    return "utf-16-le" if high > low else "utf-16-be"


def _is_text(data: bytes, encoding: str) -> bool:
    """Whether all of the bytes are text; looked at piece by piece, and refused with a NUL in it."""
    decoder = codecs.getincrementaldecoder(encoding)()
    lines = 1
    try:
        for start in range(0, len(data) + 1, CHUNK):
            is_last = start + CHUNK > len(data)
            text = decoder.decode(data[start : start + CHUNK], is_last)
            if "\0" in text:
                line = lines + text.count("\n", 0, text.index("\0"))
                raise Refused("a NUL byte", "text", "save it as CSV in UTF-8", line)
            lines += text.count("\n")
    except UnicodeDecodeError:
        return False
    return True


def _head(data: bytes, encoding: str) -> str:
    """The first lines, enough to tell the separator."""
    stream = io.TextIOWrapper(io.BytesIO(data[: CHUNK // 4]), encoding, "ignore", newline="")
    return "".join(line for line, _ in zip(stream, range(HEAD_ROWS)))


def _separator(head: str, columns: Sequence[Column]) -> str:
    """The separator under which most heads are known; then the one that cuts most."""
    known = {squash(column.name) for column in columns}

    def score(separator: str) -> tuple[int, int]:
        cells = [
            squash(cell)
            for line in head.splitlines()
            for cell in line.split(separator)
            if len(cell) < 200
        ]
        return sum(cell in known for cell in cells), len(cells)

    return max(SEPARATORS, key=score)


def _rows(
    stream: io.TextIOWrapper, separator: str, offset: int
) -> tuple[Sequence[int], Sequence[int], list[list[str]]]:
    """Of all rows that hold anything the line on which each begins, its width; and all columns."""
    numbers, widths = array("L"), array("L")
    columns: list[list[str]] = []
    rows: list[list[str]] = []
    reader = csv.reader(_lines(stream), delimiter=separator, strict=True)
    begins = 1
    widest = 0
    try:
        for cells in reader:
            if any(cells):
                numbers.append(begins + offset)
                widths.append(len(cells))
                rows.append(cells)
                if len(cells) > widest:
                    widest = len(cells)
                    _cap_width(cells, begins + offset)
                _cap_size(len(numbers), widest)
                if len(rows) == ROWS_AT_ONCE:
                    _lengthen(columns, rows, widest)
                    rows.clear()
            begins = reader.line_num + 1
    except csv.Error as error:
        found, remedy = _csv_error(str(error))
        raise Refused(found, "rows of a CSV", remedy, reader.line_num + offset) from None
    _lengthen(columns, rows, widest)
    return numbers, widths, columns


def _lengthen(columns: list[list[str]], rows: list[list[str]], widest: int) -> None:
    """Put rows below those that stand in the columns; short ones are filled up."""
    before = len(columns[0]) if columns else 0
    columns.extend([""] * before for _ in range(widest - len(columns)))
    for column, cells in zip_longest(columns, in_columns(rows, ""), fillvalue=()):
        column.extend(cells or [""] * len(rows))


def _cap_size(rows: int, widest: int) -> None:
    if rows > MAX_ROWS:
        raise Refused(f"more than {MAX_ROWS:,} rows", f"at most {MAX_ROWS:,}")
    if rows * widest > MAX_CELLS:
        raise Refused(
            f"more than {MAX_CELLS:,} cells",
            f"at most {MAX_CELLS:,}",
            "delete rows and columns that are no part of the table",
        )


def _cap_width(cells: list[str], line: int) -> None:
    if len(cells) > MAX_COLUMNS:
        raise Refused(f"{len(cells):,} columns", f"at most {MAX_COLUMNS}", line=line)


def _lines(stream: io.TextIOWrapper) -> Iterator[str]:
    """Lines, each of a length that a table may have."""
    longest = MAX_COLUMNS * 4000
    for number in range(1, MAX_LINES + 1):
        line = stream.readline(longest)
        if not line:
            return
        if len(line) == longest:
            raise Refused(f"a line of over {longest:,} letters", "rows of a CSV", line=number)
        yield line
    raise Refused(f"more than {MAX_LINES:,} lines", f"at most {MAX_ROWS:,} rows")


def _csv_error(message: str) -> tuple[str, str]:
    """The csv module's complaint in the words of a designer."""
    if "field larger" in message:
        return "a cell of over 100,000 letters", "is a quotation mark left open above?"
    if "unexpected end" in message:
        return 'a quotation mark (") that is never closed', "close it, or write it twice"
    if "expected after" in message:
        return 'text after a closing quotation mark (")', "write the mark inside a cell twice"
    return f"a row that cannot be split ({message})", "save it as CSV again"
