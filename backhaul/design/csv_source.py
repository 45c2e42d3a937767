"""A CSV as people save it: found encoding, found separator, nothing guessed about values."""

import csv
import io
import re
from collections.abc import Sequence
from itertools import compress
from pathlib import Path

from backhaul.design.collector import Collector
from backhaul.design.columns import TABLES
from backhaul.design.grid import MAX_CELLS, MAX_COLUMNS, MAX_ROWS, Grid, in_columns
from backhaul.design.names import squash

MAX_BYTES = 100 * 2**20
HEAD_ROWS = 20
SEPARATORS = (",", ";", "\t")
ZIP, OLE, PDF = b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF"
_SEPARATOR_LINE = re.compile(r"sep=(.)\r?\n?", re.IGNORECASE)


def read_csv(path: Path, name: str, collector: Collector) -> Grid | None:
    """The cells of one CSV file; None with a problem where it cannot be read."""
    refuse = _Refusal(path.name, name, collector)
    data = path.read_bytes() if path.stat().st_size <= MAX_BYTES else None
    if data is None:
        return refuse("more than 100 MiB", "a table of one design", "split the design")
    text, remark = _decode(data, refuse)
    if text is None:
        return None
    offset = 0
    if declared := _SEPARATOR_LINE.match(text):
        separator, offset = declared[1], 1
        text = text[declared.end() :]
    else:
        separator = _separator(text, name)
    found = _rectangle(text, separator) or _rows(text, separator, offset, refuse)
    if found is None:
        return None
    columns, numbers = found
    if len(columns) * len(numbers) > MAX_CELLS:
        return refuse(
            f"{len(columns) * len(numbers):,} cells",
            f"at most {MAX_CELLS:,}",
            "delete columns that are no part of the design",
        )
    if not columns:
        return refuse("nothing but blanks", "a row of heads and rows below it")
    if offset:
        numbers = [number + offset for number in numbers]
    return Grid(
        name,
        path.name,
        False,
        numbers,
        columns,
        decimal_comma=separator != ",",
        remarks=(remark,) if remark else (),
    )


class _Refusal:
    """Says what is wrong with the file and gives None."""

    def __init__(self, file: str, table: str, collector: Collector):
        self.file, self.table, self.collector = file, table, collector

    def __call__(self, found: str, needed: str, remedy: str = "", line: int = 0) -> None:
        where = f"{self.file}:{line}" if line else self.file
        self.collector.file_problem(where, found, needed, remedy, self.table)


def _decode(data: bytes, refuse: _Refusal) -> tuple[str | None, str]:
    """Text of a file and a remark on its encoding; None where it is no text."""
    if data.startswith((ZIP, OLE, PDF)):
        what = {ZIP: "a zip file or a workbook", OLE: "an old workbook", PDF: "a PDF"}[data[:4]]
        refuse(f"{what} under the name of a CSV", "text", "rename it to what it is")
        return None, ""
    remark = ""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif b"\0" in data[:4096] and len(data) % 2 == 0:
        # UTF-16 without its mark: Latin text has a zero in every other byte
        encoding = "utf-16-le" if data[1:200:2].count(0) > data[0:200:2].count(0) else "utf-16-be"
    else:
        encoding = "utf-8-sig"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        try:
            text = data.decode("cp1252")
            remark = "not UTF-8; read as Windows-1252"
        except UnicodeDecodeError:
            refuse(
                "bytes that are text in no usual encoding",
                "text in UTF-8",
                "save it as CSV in UTF-8",
            )
            return None, ""
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        refuse("a NUL byte", "text", "save it as CSV in UTF-8", line)
        return None, ""
    if not text.strip():
        refuse("an empty file", "a row of heads and rows below it")
        return None, ""
    return text, remark


def _separator(text: str, name: str) -> str:
    """The separator under which most heads are known; then the one that cuts most."""
    known = {squash(column.name) for column in TABLES.get(name, ())} | {"setting", "value"}
    head = "".join(line for line, _ in zip(io.StringIO(text, newline=""), range(HEAD_ROWS)))

    def score(separator: str) -> tuple[int, int]:
        cells = [
            squash(cell)
            for line in head.splitlines()
            for cell in line.split(separator)
            if len(cell) < 200
        ]
        return sum(cell.strip('"') in known for cell in cells), len(cells)

    return max(SEPARATORS, key=score)


def _rectangle(text: str, separator: str) -> tuple[list, Sequence[int]] | None:
    """Columns of a text without quotation marks whose rows are all of one length; else None.

    Cuts the whole text at once, three times as fast as row by row.
    """
    if '"' in text:
        return None
    lines = text.replace("\r\n", "\n")
    if "\r" in lines or lines.count("\n") >= MAX_ROWS:
        return None
    if not lines.endswith("\n"):
        lines += "\n"
    width = lines[: lines.index("\n")].count(separator) + 1
    if width > MAX_COLUMNS or width * lines.count("\n") > MAX_CELLS:
        return None
    cells = lines.replace("\n", f"{separator}\n{separator}").split(separator)
    del cells[-1]  # the text ends with a line's end
    height, rest = divmod(len(cells), width + 1)
    if rest or cells[width :: width + 1].count("\n") != height:
        return None
    return [cells[place :: width + 1] for place in range(width)], range(1, height + 1)


def _rows(
    text: str, separator: str, offset: int, refuse: _Refusal
) -> tuple[list, Sequence[int]] | None:
    """Columns of all rows that hold anything, and the line on which each row begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    if text.count(separator) > 2 * MAX_CELLS:
        return refuse(
            f"{text.count(separator):,} cells",
            f"at most {MAX_CELLS:,}",
            "delete columns that are no part of the design",
        )
    try:
        rows = list(reader)
        if reader.line_num == len(rows):
            lines: Sequence[int] = range(1, len(rows) + 1)
        else:
            lines = _first_lines(text, separator)
    except csv.Error as error:
        found, remedy = _csv_error(str(error))
        return refuse(found, "rows of a CSV", remedy, reader.line_num + offset)
    if not all(map(any, rows)):
        kept = list(map(any, rows))
        rows, lines = list(compress(rows, kept)), list(compress(lines, kept))
    if len(rows) > MAX_ROWS:
        return refuse(f"{len(rows):,} rows", f"at most {MAX_ROWS:,}", "split the design")
    widest = max(map(len, rows), default=0)
    if widest > MAX_COLUMNS:
        line = next(line for line, row in zip(lines, rows) if len(row) > MAX_COLUMNS)
        return refuse(f"{widest:,} columns", f"at most {MAX_COLUMNS}", line=line + offset)
    return in_columns(rows, ""), lines


def _first_lines(text: str, separator: str) -> list[int]:
    """Where each row begins, when quoted cells run over several lines."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before, lines = 0, []
    for _ in reader:
        lines.append(before + 1)
        before = reader.line_num
    return lines


def _csv_error(message: str) -> tuple[str, str]:
    """The csv module's complaint in the words of a designer."""
    if "field larger" in message:
        return "a cell of over 100,000 letters", "is a quotation mark left open above?"
    if "unexpected end" in message:
        return 'a quotation mark (") that is never closed', "close it, or write it twice"
    if "expected after" in message:
        return 'text after a closing quotation mark (")', "write the mark inside a cell twice"
    return f"a row that cannot be split ({message})", "save it as CSV again"
