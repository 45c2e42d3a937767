"""A design with profiles from elevation files, in the form that it came in."""

import csv
import io
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from backhaul.design.columns import TERRAIN
from backhaul.design.model import Design, Terrain
from backhaul.design.settings import US
from backhaul.elevation.profiles import Filled
from backhaul.errors import OutputError
from backhaul.report.changed_workbook import with_cached
from backhaul.safe_file import refuse_folder, write_beside_and_rename
from backhaul.tables.csv_source import read_text
from backhaul.tables.names import squash
from backhaul.tables.sources import CSV_SUFFIXES
from backhaul.tables.twins import cells_to_write, declared_names

_NAMES = declared_names(TERRAIN)
_TABLE = "terrain"
_HEAD_ROWS = 20
_XLSX = ".xlsx"


def check_place(source: Path, output: Path) -> None:
    """Raise OutputError where the design cannot be written in the form of that output."""
    suffix = output.suffix.lower()
    is_book = source.is_file() and source.suffix.lower() not in CSV_SUFFIXES
    if suffix in CSV_SUFFIXES or (is_book and suffix == _XLSX):
        return
    if is_book:
        raise OutputError(f"{output}: the design is a workbook; give the output .xlsx or .csv")
    if suffix:
        raise OutputError(f"{output}: give the output the name of a folder, or .csv")
    refuse_folder(output)


def write_terrain(source: Path, output: Path, design: Design, filled: Filled) -> None:
    """Write the design with its profiles. Raises OutputError where it cannot be written.

    source: the design that was read; output: an .xlsx for an .xlsx, a folder for tables, or a
    .csv that holds the terrain table alone.
    """
    suffix = output.suffix.lower()
    if suffix in CSV_SUFFIXES:
        write_beside_and_rename(output, lambda: _whole_table(filled), source=source)
    elif suffix == _XLSX:
        build = lambda: _changed_workbook(source, design, filled)  # noqa: E731
        write_beside_and_rename(output, build, source=source)
    else:
        _write_folder(source, output, design, filled)


def _new_rows(filled: Filled) -> Iterator[dict[str, Any]]:
    """The rows of all profiles from files, blank cells left out."""
    for profile in filled.profiles:
        if profile.terrain is not None:
            yield from _cells(profile.hop.names, profile.terrain)


def _cells(names: dict[str, Any], terrain: Terrain) -> Iterator[dict[str, Any]]:
    blank = (None,) * len(terrain.distance_m)
    errors = blank if terrain.error_m is None else np.asarray(terrain.error_m).tolist()
    for distance, ground, cover, surface, source, error in zip(
        np.asarray(terrain.distance_m).tolist(),
        np.asarray(terrain.ground_m).tolist(),
        np.asarray(terrain.cover_m).tolist(),
        np.asarray(terrain.surface).tolist(),
        terrain.source or blank,
        errors,
        strict=True,
    ):
        row = {
            **names,
            "distance_m": distance,
            "ground_m": ground,
            "cover_m": cover or None,
            "surface": surface,
            "source": source,
            "error_m": error,
        }
        yield {name: value for name, value in row.items() if value is not None and value == value}


def _replaced(design: Design, filled: Filled) -> set[int]:
    """Row numbers of the table whose hops have new profiles."""
    gone: set[int] = set()
    for profile in filled.profiles:
        old = profile.hop.terrain(design)
        if profile.terrain is not None and old is not None:
            gone.update(old.rows)
    return gone


def _whole_table(filled: Filled) -> bytes:
    """Every profile of the design as a table of its own, typed ones too."""
    found: list[dict[str, Any]] = []
    for profile in filled.profiles:
        terrain = profile.hop.terrain(filled.design)
        if terrain is not None:
            found += _cells(profile.hop.names, terrain)
    rows = _in_units_of((), filled.design, found)
    heads = [name for name in _NAMES.values() if any(name in row for row in rows)]
    return _csv_bytes([heads, *([_text(row.get(head)) for head in heads] for row in rows)], ",")


def _in_units_of(
    heads: Collection[str], design: Design, rows: Iterable[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Rows in SI as they stand under a table's own heads."""
    us = design.project.units == US
    return [cells_to_write(TERRAIN, row, heads, us=us) for row in rows]


def _text(value: Any, *, comma: bool = False) -> str:
    if isinstance(value, float):
        text = f"{value:.10g}"
        return text.replace(".", ",") if comma else text
    return "" if value is None else str(value)


def _csv_bytes(lines: list[list[str]], separator: str) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(lines)
    return out.getvalue().encode()


def _changed_csv(file: Path, design: Design, filled: Filled) -> bytes:
    """The table with the new rows in the place of the old ones; its separator stays."""
    text, separator = read_text(file)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    lines, numbers, begins = [], [], 1
    for cells in reader:
        lines.append(cells)
        numbers.append(begins)
        begins = reader.line_num + 1
    head = max(range(len(lines[:_HEAD_ROWS])), key=lambda place: _known(lines[place]))
    heads = [_NAMES.get(squash(cell), cell) for cell in lines[head]]
    rows = _in_units_of(heads, design, _new_rows(filled))
    for name in dict.fromkeys(name for row in rows for name in row):
        if name not in heads:
            heads.append(name)
            lines[head].append(name)
    comma = separator != ","
    made = [[_text(row.get(name), comma=comma) for name in heads] for row in rows]
    gone = _replaced(design, filled)
    places = [place for place, number in enumerate(numbers) if number in gone]
    at = places[0] if places else len(lines)
    before = [line for place, line in enumerate(lines[:at]) if place not in places]
    after = [line for place, line in enumerate(lines[at:], at) if place not in places]
    return _csv_bytes([*before, *made, *after], separator)


def _known(cells: list[Any]) -> int:
    return sum(isinstance(cell, str) and squash(cell) in _NAMES for cell in cells)


def _write_folder(source: Path, output: Path, design: Design, filled: Filled) -> None:
    """The tables of the design, that of the terrain among them."""
    if source.is_dir():
        files = [each for each in sorted(source.iterdir()) if each.suffix.lower() in CSV_SUFFIXES]
        tables = {each.name: each.read_bytes() for each in files}
        old = next((each for each in files if squash(each.stem) == _TABLE), None)
    else:
        tables, old = {"segments.csv": source.read_bytes()}, None
    if old is None:
        tables[f"{_TABLE}.csv"] = _whole_table(filled)
    else:
        tables[old.name] = _changed_csv(old, design, filled)
    output.mkdir(exist_ok=True)
    for name, data in tables.items():
        _write(output / name, data)


def _write(place: Path, data: bytes) -> None:
    write_beside_and_rename(place, lambda: data)


def _changed_workbook(source: Path, design: Design, filled: Filled) -> bytes:
    """The user's own workbook: rows of the terrain sheet are put in, all else stays."""
    import openpyxl

    book = openpyxl.load_workbook(source)
    values = openpyxl.load_workbook(source, data_only=True)
    sheet = next((each for each in book if squash(each.title) == _TABLE), None)
    if sheet is None:
        sheet = book.create_sheet(_TABLE)
        sheet.freeze_panes = "A2"
    rows = _in_units_of(_head_places(sheet)[1], design, _new_rows(filled))
    head, places = _heads(sheet, rows)
    free = _free_rows(sheet, head, _replaced(design, filled), places)
    for cells in rows:
        number = next(free)
        for name, value in cells.items():
            sheet.cell(number, places[name], value)
    out = io.BytesIO()
    book.save(out)
    return with_cached(out.getvalue(), book, values)


def _head_places(sheet: Any) -> tuple[int, dict[str, int], int]:
    """Row of the heads from 0 on, the column of each name, and the last column that is headed."""
    found = list(sheet.iter_rows(max_row=_HEAD_ROWS))
    head = max(range(len(found)), key=lambda n: _known([c.value for c in found[n]]), default=0)
    cells = found[head] if found else ()
    places = {
        _NAMES[squash(cell.value)]: cell.column
        for cell in cells
        if isinstance(cell.value, str) and squash(cell.value) in _NAMES
    }
    last = max((cell.column for cell in cells if cell.value is not None), default=0)
    return head, places, last


def _heads(sheet: Any, rows: list[dict[str, Any]]) -> tuple[int, dict[str, int]]:
    """Row of the heads, and the column of each name; those that lack are added."""
    from copy import copy

    from openpyxl.styles import Font

    head, places, last = _head_places(sheet)
    wanted = dict.fromkeys(name for row in rows for name in row)
    for name in sorted(wanted, key=list(_NAMES.values()).index):
        if name in places:
            continue
        last += 1
        places[name] = last
        made = sheet.cell(head + 1, last, name)
        beside = sheet.cell(head + 1, last - 1) if last > 1 else None
        if beside is None or not beside.has_style:
            made.font = Font(bold=True)
            continue
        for style in ("font", "fill", "border", "alignment"):
            setattr(made, style, copy(getattr(beside, style)))
    return head + 1, places


def _free_rows(sheet: Any, head: int, gone: set[int], places: dict[str, int]) -> Iterator[int]:
    """Rows to write to: first those of the profiles that are replaced, then below all others."""
    for number in gone:
        for column in places.values():
            sheet.cell(number, column).value = None
    filled = [
        row[0].row
        for row in sheet.iter_rows(min_row=head)
        if any(cell.value is not None for cell in row)
    ]
    below = max([head, *filled, *gone]) + 1
    yield from sorted(gone)
    while True:
        yield below
        below += 1
