"""A CSV as people save it: found encoding, found separator, nothing guessed about values."""

import csv
import io
import re
from pathlib import Path

from backhaul.design.collector import Collector
from backhaul.design.columns import TABLES
from backhaul.design.grid import MAX_COLUMNS, MAX_ROWS, Grid
from backhaul.design.names import squash

MAX_BYTES = 100 * 2**20
MAX_FIELD = 32_767  # letters in a cell of a spreadsheet
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
    rows, numbers = _rows(text, separator, offset, refuse)
    if rows is None:
        return None
    if not rows:
        return refuse("nothing but blanks", "a row of heads and rows below it")
    return Grid(
        name, path.name, False, numbers, rows, decimal_comma=separator != ",",
        remarks=(remark,) if remark else (),
    )  # fmt: skip


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
            refuse("bytes that are text in no usual encoding", "text in UTF-8",
                   "save it as CSV in UTF-8")  # fmt: skip
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
            squash(cell) for line in head.splitlines() for cell in line.split(separator)
            if len(cell) < 200
        ]  # fmt: skip
        return sum(cell.strip('"') in known for cell in cells), len(cells)

    return max(SEPARATORS, key=score)


def _rows(text: str, separator: str, offset: int, refuse: _Refusal) -> tuple:
    """All rows that hold anything, and the line on which each begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[list[str]] = []
    numbers: list[int] = []
    line = 0
    try:
        everything = list(reader)
        if reader.line_num == len(everything):
            lines = range(1, len(everything) + 1)
        else:
            lines = _first_lines(text, separator)
    except csv.Error as error:
        line = reader.line_num
        found, remedy = _csv_error(str(error), line)
        return refuse(found, "rows of a CSV", remedy, line + offset), numbers
    if len(everything) > MAX_ROWS:
        everything, lines = _drop_blank(everything, lines)
        if len(everything) > MAX_ROWS:
            return refuse(f"{len(everything)} rows", f"at most {MAX_ROWS}", "split it"), numbers
    widest = max(map(len, everything), default=0)
    if widest > MAX_COLUMNS:
        line = next(n for n, row in zip(lines, everything) if len(row) > MAX_COLUMNS)
        return refuse(f"{widest} columns", f"at most {MAX_COLUMNS}", "", line + offset), numbers
    if all(map(any, everything)):
        rows, numbers = everything, list(lines)
    else:
        rows, numbers = _drop_blank(everything, lines)
    if offset:
        numbers = [number + offset for number in numbers]
    return rows, numbers


def _drop_blank(rows, lines) -> tuple[list, list]:
    kept = [(row, line) for row, line in zip(rows, lines) if any(row)]
    return [row for row, _ in kept], [line for _, line in kept]


def _first_lines(text: str, separator: str) -> list[int]:
    """Where each row begins, when quoted cells run over several lines."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before, lines = 0, []
    for _ in reader:
        lines.append(before + 1)
        before = reader.line_num
    return lines


def _csv_error(message: str, line: int) -> tuple[str, str]:
    """The csv module's complaint in the words of a designer."""
    if "field larger" in message:
        return "a cell of over 100,000 letters", "is a quotation mark left open above?"
    if "unexpected end" in message:
        return 'a quotation mark (") that is never closed', "close it, or write it twice"
    if "expected after" in message:
        return 'text after a closing quotation mark (")', "write the mark inside a cell twice"
    return f"a row that cannot be split ({message})", "save it as CSV again"
