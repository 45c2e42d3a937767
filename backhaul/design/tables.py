"""A grid of cells to the columns of a declared table, column by column."""

import re
from collections.abc import Callable, Mapping, Sequence
from itertools import compress
from typing import NamedTuple

from backhaul.design.collector import Collector
from backhaul.design.columns import INTEGER, LIST, NAME, NUMBER, TEXT, Column
from backhaul.design.grid import Grid, column_letters
from backhaul.design.heads import find_heads
from backhaul.design.model import Table
from backhaul.design.values import RAW, Dialect, Fault, Remarked, needs, parser

#: names that need no closer look: no month at the front, no sign that could mean anything
_PLAIN_NAMES = re.compile(
    r"(?:(?:(?!(?i:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|err))[A-Za-z][\w-]{0,59})?\n)*",
    re.ASCII,
)
_PLAIN_NUMBERS = re.compile(r"[0-9.]*")


class Parsed(NamedTuple):
    """The rows of one table: a list a column, all of one length; a blank or faulty cell is None."""

    table: Table
    numbers: Sequence[int]
    columns: Mapping[str, Sequence]
    #: what is wrong with unusable cells, by column and place of the row
    faulty: Mapping[str, Mapping[int, Fault]]
    dialect: Dialect

    def __len__(self) -> int:
        return len(self.numbers)

    def column(self, name: str) -> Sequence:
        """A column; all blank where the table does not have it."""
        return self.columns.get(name) or [None] * len(self.numbers)

    def is_blank(self, place: int, name: str) -> bool:
        """Whether the cell was left blank, not merely unusable."""
        return self.column(name)[place] is None and place not in self.faulty.get(name, ())


def parse_table(
    grid: Grid,
    columns: Sequence[Column],
    collector: Collector,
    choices: Mapping[str, tuple[str, ...]] | None = None,
) -> Parsed | None:
    """Read the declared columns of a grid; None with a problem where it has no heads.

    Unusable cells are kept for `report_faults`: whether a cell is read at all may hang on others.
    """
    found = find_heads(grid, columns, collector)
    if found is None:
        return None
    head, places = found
    table = Table(
        grid.name,
        grid.file,
        {name: column_letters(place + 1) for name, place in places.items()}
        if grid.is_sheet
        else None,
    )
    numbers, cells = _below(grid, head, places)
    _remark_on_grid(grid, table, numbers, places, collector)
    _refuse_merges(grid, grid.numbers[head], places, collector)
    dialect = _dialect(grid, columns, cells)
    parsed: dict[str, Sequence] = {}
    faulty: dict[str, dict[int, Fault]] = {}
    for column in columns:
        if column.name not in places:
            continue
        raw = cells[column.name]
        if not any(raw) and 0.0 not in raw:
            continue
        parse = parser(column, (choices or {}).get(column.name, ()), dialect)
        values = None
        if column.type in (NUMBER, INTEGER):
            values = _plain_numbers(raw, column)
        elif column.type in (NAME, TEXT, LIST):
            values = _plain_names(raw, column)
        if values is None:
            values, bad = _values(raw, parse, table, numbers, column, collector)
            if bad:
                faulty[column.name] = bad
        parsed[column.name] = values
    read = Parsed(table, numbers, parsed, faulty, dialect)
    _require(read, columns, collector)
    return read


def report_faults(
    read: Parsed, collector: Collector, is_read: Callable[[str, int], bool] | None = None
) -> None:
    """Make problems of unusable cells, of all or of those that `is_read` names by column, place."""
    for name, faults in read.faulty.items():
        for place, fault in faults.items():
            if is_read is None or is_read(name, place):
                remedy = collector.nearest(*fault.unknown) if fault.unknown else fault.remedy
                collector.problem(
                    read.table, read.numbers[place], name, fault.found, fault.needed, remedy
                )


def _below(grid: Grid, head: int, places: Mapping[str, int]) -> tuple[list, dict[str, Sequence]]:
    """Row numbers and declared columns below the heads.

    Rows whose declared columns are all blank are remarks beside the table or nothing.
    """
    numbers = list(grid.numbers[head + 1 :])
    cells = {name: grid.columns[place][head + 1 :] for name, place in places.items()}
    if all(next(iter(cells.values()))):
        return numbers, cells
    kept = [any(map(_holds, row)) for row in zip(*cells.values())]
    return (
        list(compress(numbers, kept)),
        {name: tuple(compress(column, kept)) for name, column in cells.items()},
    )


def _holds(cell: object) -> bool:
    return cell is not None and not (isinstance(cell, str) and (not cell or cell.isspace()))


def _dialect(grid: Grid, columns: Sequence[Column], cells: Mapping[str, Sequence]) -> Dialect:
    """Whether points and commas both stand in the numbers of a file that allows commas."""
    if not grid.decimal_comma:
        return Dialect()
    comma = point = False
    for column in columns:
        if column.type in (NUMBER, RAW) and column.name in cells:
            texts = "\n".join(c for c in cells[column.name] if isinstance(c, str))
            comma = comma or re.search(r"^\s*[-+]?\d+,\d+\s*$", texts, re.MULTILINE) is not None
            point = point or re.search(r"^\s*[-+]?\d+\.\d+\s*$", texts, re.MULTILINE) is not None
    return Dialect(decimal_comma=True, mixed=comma and point)


def _plain_numbers(raw: Sequence, column: Column) -> list | None:
    """A column of nothing but plain numbers in range, read at once; else None."""
    kinds = set(map(type, raw))
    if kinds <= {float, type(None)}:
        values = [None if number is None else number + 0.0 for number in raw]  # no -0.0
    elif kinds == {str} and _PLAIN_NUMBERS.fullmatch("".join(raw)):
        try:
            values = [float(text) if text else None for text in raw]
        except ValueError:
            return None
    else:
        return None
    numbers = [value for value in values if value is not None]
    low, high = min(numbers, default=0.0), max(numbers, default=0.0)
    if column.low is not None and low < column.low:
        return None
    if column.high is not None and high > column.high:
        return None
    if column.type == INTEGER:
        if not all(map(float.is_integer, numbers)):
            return None
        return [None if value is None else int(value) for value in values]
    return values


def _plain_names(raw: Sequence, column: Column) -> list | None:
    """A column of nothing but plain names, read at once; else None."""
    different = set(raw)
    if set(map(type, different)) - {str, type(None)}:
        return None
    different -= {None, ""}
    lines = "".join(f"{name}\n" for name in different)
    if lines.count("\n") > len(different) or not _PLAIN_NAMES.fullmatch(lines):
        return None
    if column.type == LIST:
        lists = {name: (name,) for name in different} | {None: None, "": None}
        return list(map(lists.__getitem__, raw))
    return [name or None for name in raw]


def _values(raw, parse, table: Table, numbers, column: Column, collector: Collector):
    """A column cell by cell, every different cell read once; and its faulty cells by place."""
    memo = _Memo(parse)
    values = list(map(memo.__getitem__, raw))
    bad: dict[int, Fault] = {}
    if not memo.special:
        return values, bad
    for place, value in enumerate(values):
        if isinstance(value, Fault):
            values[place], bad[place] = None, value
        elif isinstance(value, Remarked):
            collector.note(table, numbers[place], column.name, value.message,
                           group=("comma", table.file, table.name), check="assumption")  # fmt: skip
            values[place] = value.value
    return values, bad


class _Memo(dict):
    """Reads each different cell once."""

    def __init__(self, parse):
        self.parse, self.special = parse, False

    def __missing__(self, cell):
        value = self[cell] = self.parse(cell)
        if isinstance(value, (Fault, Remarked)):
            self.special = True
        return value


def _require(read: Parsed, columns: Sequence[Column], collector: Collector) -> None:
    """Cells that no row may leave blank."""
    for column in columns:
        if not column.required:
            continue
        values = read.column(column.name)
        if None in values:
            bad = read.faulty.get(column.name, ())
            for place, value in enumerate(values):
                if value is None and place not in bad:
                    collector.problem(read.table, read.numbers[place], column.name, "a blank",
                                      needs(column))  # fmt: skip


def _remark_on_grid(grid: Grid, table: Table, numbers, places, collector: Collector) -> None:
    """Notes on what a sheet holds besides its cells."""
    for remark in grid.remarks:
        collector.note(table, 0, "", remark, where=grid.file, check="assumption")
    if grid.hidden:
        collector.note(table, 0, "", "the sheet is hidden; it was read", where=grid.name)
    hidden = sorted(set(grid.hidden_rows) & set(numbers))
    if hidden:
        collector.note(table, hidden[0], "", f"{len(hidden)} hidden rows were read as all others",
                       where=f"{grid.name}!{hidden[0]}")  # fmt: skip
    by_place = {place + 1: name for name, place in places.items()}
    rows = set(numbers)
    for row, number in grid.external:
        if row in rows and number in by_place:
            collector.note(table, row, by_place[number],
                           "the value comes from another workbook; read as last saved",
                           check="assumption", group=("external", table.file, table.name))  # fmt: skip


def _refuse_merges(grid: Grid, head_row: int, places, collector: Collector) -> None:
    """Merged cells hide all values but the first."""
    wanted = {place + 1 for place in places.values()}
    for merge in grid.merges:
        columns = wanted & set(range(merge.first_column, merge.last_column + 1))
        if columns and merge.last_row >= head_row:
            collector.file_problem(
                f"{grid.name}!{merge.text}", "merged cells", "one value in each cell",
                "unmerge them and fill every cell", grid.name,
            )  # fmt: skip
