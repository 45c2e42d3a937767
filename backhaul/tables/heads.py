"""Where a table begins: its row of heads, and which declared column stands where."""

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import islice

from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.read_cells import Odd
from backhaul.tables.collector import Collector
from backhaul.tables.column import NUMBER, Column
from backhaul.tables.grid import Grid
from backhaul.tables.names import FEET, listed, shown, squash
from backhaul.tables.table import Table

HEAD_ROWS = 20  # a title and an address may stand above a table
BRACKETS = re.compile(r"[(\[{][^)\]}]*[)\]}]")
#: suffixes of our columns, and units that people use in their place
OUR_UNITS = (
    "mm_h",
    "m_s",
    "g_m3",
    "db",
    "dbm",
    "ghz",
    "mhz",
    "mbps",
    "percent",
    "hpa",
    "deg",
    "m",
    "c",
)
OTHER_UNITS = (
    "",
    "ft",
    *FEET,
    "km",
    "in",
    "yd",
    "miles",
    "w",
    "mw",
    "f",
    "k",
    "kbps",
    "gbps",
    "ghz",
    "mhz",
    "khz",
    "m",
    "c",
    "db",
    "dbm",
    "kmh",
    "mph",
    "knots",
    "mbar",
)


def find_heads(
    grid: Grid,
    columns: Sequence[Column],
    collector: Collector,
    stands_for: Mapping[str, str] = {},
) -> tuple[int, dict[str, int]] | None:
    """Row place of the heads and the column place of each declared name.

    stands_for: columns that hold the quantity of another one, which then is not missed.
    """
    known = {squash(column.name): column.name for column in columns}
    required = {column.name for column in columns if column.required}
    best, best_score = None, (0, 0)
    for place, row in enumerate(grid.rows(HEAD_ROWS)):
        heads = (known.get(squash(cell)) for cell in row if isinstance(cell, str))
        names = {stands_for.get(name, name) for name in heads if name is not None}
        score = (len(names & required), len(names))
        if score > best_score:
            best, best_score = place, score
        if required and names >= required:  # what is above a table names none of its columns
            break
    where = grid.name if grid.is_sheet else grid.file
    if best is None:
        collector.file_problem(
            where,
            f"no heads in the first {HEAD_ROWS} rows",
            "a row with the heads "
            + listed([c.name for c in columns if c.required] or [c.name for c in columns], most=8),
            table=grid.name,
        )
        return None
    return _place_heads(grid, best, known, columns, collector, stands_for)


def _place_heads(
    grid, head: int, known, columns: Sequence[Column], collector: Collector, stands_for
):
    """Which declared column stands where; the others are named."""
    places: dict[str, int] = {}
    others: list[tuple[int, str]] = []
    row_number = grid.numbers[head]
    usable = True

    def cell(place: int) -> str:
        return _cell(grid, row_number, place)

    for place, text in enumerate(grid.rows(HEAD_ROWS)[head]):
        name = known.get(squash(text)) if isinstance(text, str) else None
        if name is None:
            if text not in (None, "") and not (isinstance(text, str) and text.isspace()):
                others.append((place, str(text.shown if isinstance(text, Odd) else text).strip()))
        elif name in places:
            collector.file_problem(
                cell(place),
                f"the head {shown(text)} again, first at {cell(places[name])}",
                "each head once",
                "delete or rename one of them",
                grid.name,
            )
        else:
            places[name] = place
    mistaken = other_units(columns)
    for place, text in others:
        meant = mistaken.get(squash(BRACKETS.sub(" ", text)))
        if not _is_filled(grid, head, place):
            continue
        if meant and meant not in places:
            collector.file_problem(
                cell(place),
                f"the head {shown(text)}",
                f"the head '{meant}'",
                "give the values in that unit and name the column so",
                grid.name,
            )
        else:
            free = [column.name for column in columns if column.name not in places]
            close = collector.nearest(text, free)
            collector.note(
                Table(grid.name, grid.file),
                row_number,
                "",
                f"the column {shown(text)} is none of this table's and was ignored"
                + (f"; {close}" if close else ""),
                where=cell(place),
                group=("column", grid.file, grid.name, text),
            )
    there = {*places, *(stands_for.get(name) for name in places)}
    missing = [column.name for column in columns if column.required and column.name not in there]
    for name in missing:
        close = collector.nearest(name, [text for _, text in others])
        where = f"{grid.name}!{row_number}" if grid.is_sheet else f"{grid.file}:{row_number}"
        collector.file_problem(where, f"no column '{name}'", f"the head '{name}'", close, grid.name)
        usable = False
    return (head, places) if usable else None


def repeated_heads(
    grid: Grid, head: int, places: Mapping[str, int], collector: Collector
) -> set[int]:
    """Places of rows below that are the heads once more, each a problem; they are not read."""
    seen: Counter[int] = Counter()
    for column in places.values():
        cells = grid.columns[column]
        seen.update(_again(cells, head))
    found = {place for place, count in seen.items() if count > 1}
    for place in sorted(found):
        row = grid.numbers[place]
        collector.file_problem(
            f"{grid.name}!{row}" if grid.is_sheet else f"{grid.file}:{row}",
            "the heads again",
            "a row of values",
            "take the row out; columns in another order go into the order of the first heads",
            grid.name,
        )
    return found


def _again(cells: Sequence, head: int) -> Iterator[int]:
    """Places below the head at which its text stands once more."""
    place = head
    try:
        while True:
            place = cells.index(cells[head], place + 1)
            yield place
    except ValueError:
        return


def _cell(grid: Grid, row: int, place: int) -> str:
    if grid.is_sheet:
        return f"{grid.name}!{column_letters(place + 1)}{row}"
    return f"{grid.file}:{row} column {place + 1}"


def _is_filled(grid: Grid, head: int, place: int) -> bool:
    """Whether a column holds anything below its head."""
    return any(cell not in (None, "") for cell in islice(grid.columns[place], head + 1, None))


def other_units(columns: Collection[Column]) -> dict[str, str]:
    """Heads that mean one of our columns in no unit or in another one."""
    ours = {squash(column.name): column.name for column in columns}
    meant: dict[str, str] = {}
    for column in columns:
        for unit in OUR_UNITS:
            if column.type == NUMBER and column.name.endswith("_" + unit):
                stem = squash(column.name[: -len(unit)])
                for other in OTHER_UNITS:
                    if stem + other not in ours:
                        in_feet = ours.get(stem + "ft") if other in FEET else None
                        meant.setdefault(stem + other, in_feet or column.name)
                break
    return meant
