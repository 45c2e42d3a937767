"""One catalogue file to records: every problem collected, each with its file, line and column."""

import csv
import io
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from backhaul.catalog.columns import Column, number, parser
from backhaul.catalog.families import SPECTRA, Family
from backhaul.catalog.names import nearest, normal
from backhaul.errors import Problem
from backhaul.findings import NOTE, Finding

MAX_BYTES = 8_000_000
MAX_ROWS = 50_000
_WAVELENGTH = re.compile(r"(max|typical|min)dbkm(\d{3,4})(?:nm)?")
_NOT_CSV = {  # by the first bytes
    b"PK\x03\x04": "a spreadsheet or zip file",
    b"\xd0\xcf\x11\xe0": "an old or password-protected office file",
    b"\xff\xfe": "UTF-16 text",
    b"\xfe\xff": "UTF-16 text",
}


class Row(NamedTuple):
    """A record and the place that it was read from."""

    record: Any
    file: str
    line: int

    def where(self, column: str) -> str:
        return f"{self.file}:{self.line} {column}"


class Table(NamedTuple):
    """What one file gave."""

    rows: list[Row]
    problems: list[Problem]
    notes: list[Finding]


class Field(NamedTuple):
    """A column that the file has: where its cells go and how they are read."""

    place: int
    slot: int
    column: Column
    parse: Callable[[str], Any]
    wavelength_nm: int | None


def read_table(family: Family, path: Path, name: str) -> Table:
    """All rows of a file; `name` is how messages call it."""
    table = Table([], [], [])
    content = _content(path, name, table)
    if content is None:
        return table
    lines = _lines(content, name, table)
    try:
        _, header = next(lines)
    except StopIteration:
        if not table.problems:
            table.problems.append(Problem(name, "an empty file", "a heading row and rows"))
        return table
    decimal_comma = _delimiter(content) != ","
    fields = fields_of(family, header, name, table, decimal_comma=decimal_comma)
    if not table.problems:
        parse_rows(family, fields, lines, len(header), name, table)
    return table


def _content(path: Path, name: str, table: Table) -> str | None:
    needed = "a CSV file in UTF-8"
    try:
        if path.stat().st_size > MAX_BYTES:
            found = f"more than {MAX_BYTES // 1_000_000} MB"
            table.problems.append(Problem(name, found, needed, "divide it"))
            return None
        raw = path.read_bytes()
    except OSError as error:
        table.problems.append(Problem(name, str(error.strerror), "a file that can be read"))
        return None
    for start, what in _NOT_CSV.items():
        if raw.startswith(start):
            table.problems.append(Problem(name, what, needed, "save it as CSV UTF-8"))
            return None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        place = f"{name}:{line}"
        table.problems.append(
            Problem(place, "bytes that are not UTF-8", needed, "save it as CSV UTF-8")
        )
        return None


def _delimiter(content: str) -> str:
    r"""The one of `,` `;` tab that the heading row has most of.

    >>> _delimiter("part;max_db\nx;0,75")
    ';'
    """
    head = content.lstrip("\r\n").partition("\n")[0]
    return max(",;\t", key=head.count)


def _lines(content: str, name: str, table: Table) -> Iterator[tuple[int, list[str]]]:
    """Rows that hold anything, each with the line where it begins."""
    reader = csv.reader(
        io.StringIO(content, newline=""),
        delimiter=_delimiter(content),
        strict=True,
        skipinitialspace=True,
    )
    begins = 1
    try:
        for cells in reader:
            if any(cells):
                yield begins, cells
            begins = reader.line_num + 1
            if begins > MAX_ROWS:
                found = f"more than {MAX_ROWS} rows"
                table.problems.append(Problem(name, found, "a smaller catalogue"))
                return
    except csv.Error as error:
        table.problems.append(
            Problem(
                f"{name}:{reader.line_num}",
                str(error),
                "well-formed CSV",
                "look for a quotation mark that is not closed",
            )
        )


def fields_of(
    family: Family, header: list[str], name: str, table: Table, *, decimal_comma: bool = False
) -> list[Field]:
    """How each column of the file is read; faults and unread columns go into `table`."""
    slots = {normal(column.name): slot for slot, column in enumerate(family.columns)}
    found: dict[str, Field] = {}
    for index, title in enumerate(header):
        key = normal(title.strip())
        if not key:
            continue
        if key in found:
            table.problems.append(
                Problem(f"{name}:1 {title.strip()}", "the column twice", "each column once")
            )
            continue
        wavelength: int | None = None
        if (slot := slots.get(key)) is not None:
            column = family.columns[slot]
        elif family.spectra and (match := _WAVELENGTH.fullmatch(key)):
            slot, wavelength = SPECTRA.index(f"{match[1]}_db_km"), int(match[2])
            column = number(f"{match[1]}_db_km_{match[2]}", "dB/km", 0, 1000)
        else:
            table.notes.append(_unread(family, title.strip(), name))
            continue
        parse = parser(column, decimal_comma=decimal_comma)
        found[key] = Field(index, slot, column, parse, wavelength)
    for column in family.columns:
        if column.required and normal(column.name) not in found:
            table.problems.append(
                Problem(
                    f"{name}:1",
                    f"no column {column.name}",
                    f"a column {column.name}: {column.needed}",
                )
            )
    return list(found.values())


def _unread(family: Family, title: str, name: str) -> Finding:
    known = nearest(title, [column.name for column in family.columns], 1)
    hint = f"is {known[0]} meant?" if known else None
    return Finding(
        check="ignored",
        severity=NOTE,
        where=f"{name}:1 {title}",
        message=f"the column {title} is not one of {family.file} and is not read",
        remedy=hint,
    )


def parse_rows(
    family: Family,
    fields: list[Field],
    lines: Iterator[tuple[int, list[str]]],
    width: int,
    name: str,
    table: Table,
) -> None:
    """The fast way for a good row; a row that will not go that way is read again for its faults."""
    blank = [column.default for column in family.columns]
    plain = [(f.place, f.slot, f.parse) for f in fields if f.wavelength_nm is None]
    spectral = [f for f in fields if f.wavelength_nm is not None]
    required = [f.slot for f in fields if f.column.required]
    make, rows = family.record._make, table.rows
    seen: dict[tuple[str, ...], int] = {}
    for line, cells in lines:
        cells += [""] * (width - len(cells))
        values = blank.copy()
        try:
            for place, slot, parse in plain:
                cell = cells[place].strip()
                if cell:
                    values[slot] = parse(cell)
            if family.spectra:
                values += _spectra(spectral, cells)
        except ValueError:
            table.problems.extend(_faults(fields, cells, name, line))
            continue
        if len(cells) > width and any(cells[width:]):
            table.problems.append(
                Problem(
                    f"{name}:{line}",
                    f"{len(cells)} cells",
                    f"at most {width}, as in the heading row",
                )
            )
            continue
        if any(values[slot] is None for slot in required):
            table.problems.extend(_faults(fields, cells, name, line))
            continue
        row = Row(make(values), name, line)
        rows.append(row)
        table.problems.extend(_order_faults(family, row))
        key = tuple([normal(str(getattr(row.record, column))) for column in family.key])
        if (first := seen.setdefault(key, line)) != line:
            what = " ".join(str(getattr(row.record, column)) for column in family.key)
            table.problems.append(
                Problem(
                    row.where(family.key[-1]),
                    f"{what} again",
                    f"one row, as in line {first}",
                    "take one out",
                )
            )


def _spectra(fields: list[Field], cells: list[str]) -> list[dict[int, float]]:
    """Attenuation by wavelength: a blank typical is the maximum, a blank minimum 0."""
    given: list[dict[int, float]] = [{}, {}, {}]
    for field in fields:
        if field.wavelength_nm and (cell := cells[field.place].strip()):
            given[field.slot][field.wavelength_nm] = field.parse(cell)
    most, typical, least = given
    return [most, most | typical, dict.fromkeys(most, 0.0) | least]


def _faults(fields: list[Field], cells: list[str], name: str, line: int) -> Iterator[Problem]:
    for field in fields:
        cell = cells[field.place].strip()
        where = f"{name}:{line} {field.column.name}"
        if not cell:
            if field.column.required:
                yield Problem(where, "nothing", field.column.needed)
            continue
        try:
            field.parse(cell)
        except ValueError:
            yield Problem(where, repr(cell), field.column.needed)


def _order_faults(family: Family, row: Row) -> Iterator[Problem]:
    for columns in family.rising:
        given = [(c, v) for c in columns if (v := getattr(row.record, c)) is not None]
        for (low, small), (high, large) in pairwise(given):
            if small > large:
                yield Problem(row.where(high), f"{large:g}", f"at least {low} = {small:g}")
    if family.spectra:
        record = row.record
        for wavelength, least in record.min_db_km.items():
            typical = record.typical_db_km.get(wavelength, least)
            most = record.max_db_km.get(wavelength, typical)
            if not least <= typical <= most:
                yield Problem(
                    row.where(f"max_db_km_{wavelength}"),
                    f"{most:g}, typical {typical:g}, min {least:g}",
                    "min, typical and max in rising order",
                )
