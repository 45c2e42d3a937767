"""Columns in feet and wire gauges beside the metric ones: the same quantity, read into SI."""

import math
from collections.abc import Callable, Collection, Iterable, Mapping, MutableMapping, Sequence
from functools import partial
from typing import Any, NamedTuple

from backhaul.tables.collector import Collector
from backhaul.tables.column import NUMBER, NUMBERS, WORD, Column
from backhaul.tables.faults import Fault
from backhaul.tables.gauges import WANTED, gauge_area_mm2, gauge_not_below, spelled_gauge
from backhaul.tables.names import plain, shown, squash
from backhaul.tables.table import Instead, Table
from backhaul.units import M_PER_FT

METRE, FOOT, AREA = "m", "ft", "mm²"
#: A converted figure keeps so many decimals: 328 ft are 99.9744 m, not 99.97440000000001.
_DECIMALS = 9
_LIMIT_DECIMALS = 2


class Twin(NamedTuple):
    """A column that holds the quantity of another one in the other system of units."""

    column: Column
    #: the column whose figures are in SI
    of: Column
    to_si: Callable[[Any], Any]
    from_si: Callable[[Any], Any]


def feet(length_m: float) -> float:
    """A length in feet, whole where it was typed so.

    >>> feet(30.48), feet(99.9744), feet(100)
    (100.0, 328.0, 328.084)
    """
    length_ft = round(length_m / M_PER_FT, 6)
    return (
        round(length_ft) + 0.0 if abs(length_ft - round(length_ft)) < 1e-5 else round(length_ft, 3)
    )


def metres(length_ft: float) -> float:
    """A length in metres, the international foot being exact.

    >>> metres(100), metres(328)
    (30.48, 99.9744)
    """
    return round(length_ft * M_PER_FT, _DECIMALS)


def twin_of(column: Column) -> Twin | None:
    """The twin of a column whose quantity has another unit in the US, by its declared unit."""
    if column.unit == METRE and column.type in (NUMBER, NUMBERS) and column.name.endswith("_m"):
        several = column.type == NUMBERS
        to, back = (_each(metres), _each(feet)) if several else (metres, feet)
        made = column._replace(
            name=column.name.removesuffix(METRE) + FOOT,
            help=column.help.replace("ground_m", "ground_ft"),
            unit=FOOT,
            low=_limit(column.low, math.ceil),
            high=_limit(column.high, math.floor),
            required=False,
            default=back(column.default) if column.default else column.default,
        )
        return Twin(made, column, to, back)
    if column.unit == AREA and column.type == NUMBER:
        made = Column("awg", WORD, "size of a conductor", spell=spelled_gauge, wanted=WANTED)
        return Twin(made, column, gauge_area_mm2, gauge_not_below)
    return None


def _each(convert: Callable[[float], float]) -> Callable[[Iterable[float]], tuple[float, ...]]:
    return lambda values: tuple(map(convert, values))


def _limit(value: float | None, rounded: Callable[[float], int]) -> float | None:
    """A limit in feet with few decimals, no wider than in metres."""
    if value is None:
        return None
    digits = 10**_LIMIT_DECIMALS
    return rounded(round(value / M_PER_FT * digits, 3)) / digits


def twins(columns: Iterable[Column]) -> dict[str, Twin]:
    """The twins of a table's columns, by the name of the metric one."""
    return {column.name: twin for column in columns if (twin := twin_of(column)) is not None}


def declared_names(columns: Sequence[Column]) -> dict[str, str]:
    """Names of a table's columns, twins among them, by how a head is compared."""
    found: dict[str, str] = {}
    for column in columns:
        found[squash(column.name)] = column.name
        if (twin := twin_of(column)) is not None:
            found[squash(twin.column.name)] = twin.column.name
    return found


def in_us_units(columns: Iterable[Column]) -> tuple[Column, ...]:
    """The columns of a table with each that has a twin in its place, as wanted as that was."""
    return tuple(
        column
        if (twin := twin_of(column)) is None
        else twin.column._replace(required=column.required)
        for column in columns
    )


def fold(
    table: Table,
    numbers: Sequence[int],
    paired: Mapping[str, Twin],
    columns: MutableMapping[str, Sequence],
    faulty: MutableMapping[str, Mapping[int, Fault]],
    collector: Collector,
) -> Table:
    """Figures of twins put into the metric columns; one that says otherwise is a problem.

    The table that comes back names the cell in which a figure was written.
    """
    instead: dict[str, Instead] = {}
    for name, twin in paired.items():
        values = columns.pop(twin.column.name)
        faults = faulty.pop(twin.column.name, {})
        filled = [place for place, value in enumerate(values) if value is not None]
        if not filled and not faults and not _only_in_twin(table, name, twin):
            continue
        metric = list(columns[name])
        own_faults = faulty.get(name, {})
        taken = set()
        for place in filled:
            if metric[place] is not None:
                fault = differing(twin, metric[place], values[place])
                if fault is not None:
                    collector.problem(table, numbers[place], twin.column.name, *fault[:3])
            elif place not in own_faults:
                metric[place] = twin.to_si(values[place])
                taken.add(numbers[place])
        wrong = {
            place: fault
            for place, fault in faults.items()
            if metric[place] is None and place not in own_faults
        }
        if wrong:
            faulty[name] = {**own_faults, **wrong}
            taken.update(numbers[place] for place in wrong)
        columns[name] = metric
        every = _only_in_twin(table, name, twin)
        instead[name] = Instead(twin.column.name, None if every else frozenset(taken))
    return table._replace(instead=instead) if instead else table


def _only_in_twin(table: Table, name: str, twin: Twin) -> bool:
    return twin.column.name in table.heads and name not in table.heads


def differing(twin: Twin, metric: Any, other: Any) -> Fault | None:
    """What is wrong where two figures of one quantity differ by more than they were rounded."""
    ours, theirs = _several(metric), _several(other)
    if len(ours) == len(theirs) and all(map(partial(_is_same, twin), ours, theirs)):
        return None
    told = " ".join(map(_text, theirs))
    in_si = " ".join(f"{each:.6g}" for each in _several(twin.to_si(other)))
    return Fault(
        f"{shown(told)}, which is {in_si} {twin.of.unit}, beside {twin.of.name} "
        f"{shown(' '.join(map(_text, ours)))}",
        "the same figure in both",
        "leave one of the two blank",
    )


def _several(value: Any) -> tuple:
    return value if isinstance(value, tuple) else (value,)


def _text(value: Any) -> str:
    return plain(value) if isinstance(value, int | float) else str(value)


def _is_same(twin: Twin, metric: float, other: Any) -> bool:
    """Whether both are one figure, each rounded to the digits that it was written with."""
    one = twin.to_si((other,))[0] if twin.of.type == NUMBERS else twin.to_si(other)
    room = _half_digit(metric)
    if isinstance(other, int | float):
        room = max(room, M_PER_FT * _half_digit(other))
    return abs(metric - one) <= room * (1 + 1e-9)


def _half_digit(value: float) -> float:
    """Half a unit of the last digit that a figure was written with."""
    _, point, decimals = plain(value).partition(".")
    return 0.5 * 10.0 ** -(len(decimals) if point else 0)


def as_written(table: Table, row: int, column: str, length_m: float) -> str:
    """A length as it stands in the cell that `Table.cell` names."""
    in_feet = table.written(row, column) != column
    return plain(feet(length_m) if in_feet else length_m)


def cells_to_write(
    columns: Iterable[Column],
    cells: Mapping[str, Any],
    heads: Collection[str],
    filled: Collection[str] = (),
    *,
    us: bool = False,
) -> dict[str, Any]:
    """What stands in the cells of a row that takes figures in SI, by the columns of its table.

    heads: declared columns that the table has; filled: those that hold something in the row.
    A figure goes where the row has it, else where the table has it. A column that must be put in
    is in the units of the others; in feet where `us` if they are in both or there are none.
    """
    written: dict[str, Any] = {}
    paired = twins(columns)
    in_si = any(name in heads for name in paired)
    if in_si != any(twin.column.name in heads for twin in paired.values()):
        us = not in_si
    for name, value in cells.items():
        twin = paired.get(name)
        if twin is None:
            written[name] = value
            continue
        names = (name, twin.column.name)
        found = [each for each in names if each in filled]
        found = found or [each for each in names if each in heads]
        if len(found) != 1 and not set(found) & set(filled):
            found = [names[us]]
        in_us = value if value is None or value == () else twin.from_si(value)
        written |= {each: value if each == name else in_us for each in found}
    return written
