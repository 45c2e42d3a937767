"""A CSV of a design with the changed cells put in, its separator and its other rows kept."""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from backhaul.design.columns import TABLES
from backhaul.design.edits import written
from backhaul.design.model import Design
from backhaul.design.settings import SETTINGS, US
from backhaul.report.design_difference import Difference
from backhaul.tables.csv_source import read_text
from backhaul.tables.names import squash
from backhaul.tables.twins import cells_to_write, declared_names

_DECIMAL_COMMA = re.compile(r"^-?\d+,\d+$")


def _text(value: Any, *, comma: bool) -> str:
    value = written(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{value:.10g}"
        return text.replace(".", ",") if comma else text
    return str(value)


def changed_csv(file: Path, design: Design, changed: Design) -> bytes:
    """The bytes of a CSV with the cells changed, in UTF-8 with its own separator."""
    text, separator = read_text(file)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    lines: list[list[str]] = []
    numbers: list[int] = []
    begins = 1
    for cells in reader:
        lines.append(cells)
        numbers.append(begins)
        begins = reader.line_num + 1
    name = squash(file.stem) if squash(file.stem) in ("sites", "project") else "segments"
    difference = Difference(design, changed)
    comma = separator != "," and any(
        _DECIMAL_COMMA.match(cell) for cells in lines for cell in cells
    )
    head = _head_of(lines, name)
    heads = [squash(cell) for cell in lines[head]]
    if name == "project":
        names = [cells[heads.index("setting")] for cells in lines]
        settings = _in_units_of(name, difference.settings, names, changed, names)
        _set_settings(lines, heads, settings, comma=comma)
    else:
        by_number = dict(zip(numbers, lines, strict=True))
        for row, cells in difference.of_table(name).items():
            line = by_number[row]
            for column, value in _in_units_of(name, cells, lines[head], changed, line).items():
                place = _column(lines[head], heads, column)
                line.extend([""] * (place + 1 - len(line)))
                line[place] = _text(value, comma=comma)
        if name == "segments":
            gone = {id(by_number[row]) for row in difference.removed}
            lines = [line for line in lines if id(line) not in gone]
            for row in difference.inserted:
                cells = _in_units_of(name, row, lines[head], changed)
                _insert(lines, head, heads, cells, comma=comma)
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(lines)
    return out.getvalue().encode()


def _in_units_of(
    table: str,
    cells: Mapping[str, Any],
    heads: Sequence[str],
    design: Design,
    line: Sequence[str] = (),
) -> dict[str, Any]:
    """Figures in SI as cells in the units of the table's own heads."""
    columns = SETTINGS if table == "project" else TABLES[table]
    declared = declared_names(columns)
    filled = {declared.get(squash(head)) for head, cell in zip(heads, line) if cell.strip()}
    there = {declared.get(squash(head)) for head in heads}
    return cells_to_write(columns, cells, there, filled, us=design.project.units == US)


def _head_of(lines: list[list[str]], name: str) -> int:
    wanted = {"segments": "path", "sites": "site", "project": "setting"}[name]
    return next(n for n, cells in enumerate(lines) if wanted in map(squash, cells))


def _column(head: list[str], heads: list[str], column: str) -> int:
    if squash(column) not in heads:
        head.append(column)
        heads.append(squash(column))
    return heads.index(squash(column))


def _insert(lines, head: int, heads: list[str], cells: dict[str, Any], *, comma: bool) -> None:
    """A new row after the last of its path with a smaller step."""
    at_path, at_step = heads.index("path"), heads.index("step")
    place = len(lines)
    for n in range(len(lines) - 1, head, -1):
        line = lines[n]
        if len(line) <= max(at_path, at_step) or not line[at_step].strip():
            continue
        names = re.split(r"[;/+\s]+", line[at_path].strip())
        if cells["path"][0] in names and float(line[at_step].replace(",", ".")) < cells["step"]:
            place = n + 1
            break
    columns = {_column(lines[head], heads, name): value for name, value in cells.items()}
    row = [""] * len(heads)
    for column, value in columns.items():
        row[column] = _text(value, comma=comma)
    lines.insert(place, row)


def _set_settings(lines, heads: list[str], settings: Mapping[str, Any], *, comma: bool) -> None:
    at_name, at_value = heads.index("setting"), heads.index("value")
    for name, value in settings.items():
        line = next((each for each in lines if squash(each[at_name]) == squash(name)), None)
        if line is None:
            line = [""] * len(heads)
            line[at_name] = name
            lines.append(line)
        line[at_value] = _text(value, comma=comma)
