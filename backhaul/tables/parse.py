"""A grid of cells to the columns of a declared table, column by column."""

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import compress
from typing import NamedTuple

from backhaul.spreadsheet.column_letters import column_letters
from backhaul.tables.collector import Collector
from backhaul.tables.column import INTEGER, LIST, NUMBER, NUMBERS, Column
from backhaul.tables.columnwise import dialect_of, read_column
from backhaul.tables.faults import Dialect, Fault, needs
from backhaul.tables.grid import Grid
from backhaul.tables.heads import find_heads, repeated_heads
from backhaul.tables.names import shown
from backhaul.tables.shifted import shifted_rows
from backhaul.tables.table import Table
from backhaul.tables.twins import fold, twins
from backhaul.tables.values import RAW, parser

_NUMERIC = frozenset((NUMBER, INTEGER, NUMBERS, RAW))


class Parsed(NamedTuple):
    """The rows of one table: a list a column, all of one length; a blank or faulty cell is None."""

    table: Table
    numbers: Sequence[int]
    columns: Mapping[str, Sequence]
    #: names of the columns that hold anything
    filled: Collection[str]
    #: what is wrong with unusable cells, by column and place of the row
    faulty: Mapping[str, Mapping[int, Fault]]
    dialect: Dialect

    def __len__(self) -> int:
        return len(self.numbers)

    def column(self, name: str) -> Sequence:
        """A declared column; all blank where the table does not have it."""
        return self.columns[name]

    def is_blank(self, place: int, name: str) -> bool:
        """Whether the cell was left blank, not merely unusable."""
        return self.columns[name][place] is None and place not in self.faulty.get(name, ())


def parse_table(
    grid: Grid,
    columns: Sequence[Column],
    collector: Collector,
    choices: Mapping[str, tuple[str, ...]] | None = None,
) -> Parsed | None:
    """Read the declared columns of a grid; None with a problem where it has no heads.

    The grid gives its cells up. Unusable cells are kept for `report_faults`: whether a cell is
    read at all may hang on others.
    """
    paired = twins(columns)
    declared = (*columns, *(twin.column for twin in paired.values()))
    found = find_heads(grid, declared, collector, {t.column.name: n for n, t in paired.items()})
    if found is None:
        return None
    head, places = found
    paired = {name: twin for name, twin in paired.items() if twin.column.name in places}
    declared = (*columns, *(twin.column for twin in paired.values()))
    table = Table(
        grid.name,
        grid.file,
        {name: column_letters(place + 1) for name, place in places.items()}
        if grid.is_sheet
        else None,
        frozenset(places),
    )
    left_out = shifted_rows(grid, head, places, declared, collector)
    left_out |= repeated_heads(grid, head, places, collector)
    numbers, cells = _below(grid, head, places, left_out)
    _remark_on_grid(grid, table, numbers, places, collector)
    _refuse_merges(grid, grid.numbers[head], places, collector)
    dialect = dialect_of(
        [cells[c.name] for c in declared if c.type in _NUMERIC and c.name in cells],
        points=not grid.is_sheet and not grid.decimal_comma,
        decimal_comma=grid.decimal_comma,
    )
    blank = [None] * len(numbers)
    parsed: dict[str, Sequence] = {}
    faulty: dict[str, Mapping[int, Fault]] = {}
    held: set[str] = set()
    for column in declared:
        raw = cells.pop(column.name, ())
        parsed[column.name] = blank
        if not any(raw) and 0.0 not in raw:
            continue
        parse = parser(column, (choices or {}).get(column.name, ()), dialect)
        values, faults, remarks = read_column(raw, column, parse, dialect)
        if values.count(None) < len(values):  # else the blank column serves
            parsed[column.name] = values
        held.add(column.name)
        if faults:
            faulty[column.name] = faults
        for place, message in remarks.items():
            collector.note(
                table,
                numbers[place],
                column.name,
                message,
                check="assumption",
                group=("comma", table.file, table.name),
            )
    if paired:
        held |= {name for name, twin in paired.items() if twin.column.name in held}
        table = fold(table, numbers, paired, parsed, faulty, collector)
    filled = [column.name for column in columns if column.name in held]
    read = Parsed(table, numbers, parsed, filled, faulty, dialect)
    _require(read, columns, collector)
    return read


def report_faults(
    read: Parsed, collector: Collector, is_read: Callable[[str, int], bool] | None = None
) -> None:
    """Make problems of unusable cells, of all or of those that `is_read` names by column, place."""
    for name, faults in read.faulty.items():
        for place, fault in faults.items():
            if (is_read is None or is_read(name, place)) and collector.has_room():
                remedy = collector.nearest(*fault.unknown) if fault.unknown else fault.remedy
                collector.problem(
                    read.table, read.numbers[place], name, fault.found, fault.needed, remedy
                )


def _below(
    grid: Grid, head: int, places: Mapping[str, int], left_out: Collection[int]
) -> tuple[Sequence[int], dict[str, Sequence]]:
    """Row numbers and declared columns below the heads.

    Rows whose declared columns are all blank are remarks beside the table or nothing.
    """
    numbers = grid.numbers[head + 1 :]
    cells = {}
    columns = list(grid.columns)
    if isinstance(grid.columns, list):
        grid.columns.clear()  # a column's cells are let go once it is read
    for name, place in places.items():
        cells[name], columns[place] = columns[place][head + 1 :], ()
    del columns
    if all(next(iter(cells.values()))) and not left_out:
        return numbers, cells
    kept = [any(map(_holds, row)) for row in zip(*cells.values())]
    for place in left_out:
        kept[place - head - 1] = False
    return (
        list(compress(numbers, kept)),
        {name: tuple(compress(column, kept)) for name, column in cells.items()},
    )


def _holds(cell: object) -> bool:
    return cell is not None and not (isinstance(cell, str) and (not cell or cell.isspace()))


def _require(read: Parsed, columns: Sequence[Column], collector: Collector) -> None:
    """Cells that no row may leave blank."""
    for column in columns:
        if not column.required:
            continue
        values = read.column(column.name)
        if None in values:
            bad = read.faulty.get(column.name, ())
            blank = [p for p, value in enumerate(values) if value is None and p not in bad]
            if len(blank) > 1 and column.type == LIST and 0 not in blank:
                _filled_once(read, column, blank, collector)
                continue
            for place in blank:
                collector.problem(
                    read.table, read.numbers[place], column.name, "a blank", needs(column)
                )


def _filled_once(read: Parsed, column: Column, blank: list[int], collector: Collector) -> None:
    """Names that stand in the first row alone and are meant for those below."""
    above = read.column(column.name)[blank[0] - 1] or ()
    rows = len(blank) - 1
    collector.problem(
        read.table,
        read.numbers[blank[0]],
        column.name,
        f"a blank, and so in {rows} more row{'s' if rows > 1 else ''}",
        f"{needs(column)} in every row",
        f"fill it down: {shown('/'.join(map(str, above)))}" if above else "",
    )


def _remark_on_grid(grid: Grid, table: Table, numbers, places, collector: Collector) -> None:
    """Notes on what a sheet holds besides its cells."""
    for remark in grid.remarks:
        collector.note(table, 0, "", remark, where=grid.file, check="assumption")
    if grid.hidden:
        collector.note(table, 0, "", "the sheet is hidden; it was read", where=grid.name)
    hidden = sorted(set(grid.hidden_rows) & set(numbers))
    if hidden:
        collector.note(
            table,
            hidden[0],
            "",
            f"{len(hidden)} hidden rows were read as all others",
            where=f"{grid.name}!{hidden[0]}",
        )
    by_place = {place + 1: name for name, place in places.items()}
    rows = set(numbers)
    for row, number in grid.external:
        if row in rows and number in by_place:
            collector.note(
                table,
                row,
                by_place[number],
                "the value comes from another workbook; read as last saved",
                check="assumption",
                group=("external", table.file, table.name),
            )


def _refuse_merges(grid: Grid, head_row: int, places, collector: Collector) -> None:
    """Merged cells hide all values but the first."""
    wanted = {place + 1 for place in places.values()}
    for merge in grid.merges:
        if merge.last_row < head_row or not collector.has_room():
            continue
        if any(merge.first_column <= column <= merge.last_column for column in wanted):
            collector.file_problem(
                f"{grid.name}!{merge.text}",
                "merged cells",
                "one value in each cell",
                "unmerge them and fill every cell",
                grid.name,
            )
