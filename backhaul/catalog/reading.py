"""Rows of a catalogue file to records; every problem with its file, line and column."""

import re
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from backhaul.catalog.columns import number
from backhaul.catalog.families import SPECTRA, Family
from backhaul.physics.copper import conductor_ohm_per_km
from backhaul.tables.collector import Collector
from backhaul.tables.column import Column
from backhaul.tables.csv_source import read_csv
from backhaul.tables.names import squash
from backhaul.tables.parse import parse_table, report_faults
from backhaul.tables.table import Table

#: The purest copper has that share of the resistance of the standard, areas rounded: common practice.
_BEST_COPPER = 0.95
_SPECTRAL = re.compile(r"(max|typical|min)dbkm(\d{3,4})(?:nm)?")


class Row(NamedTuple):
    """A record and the place that it was read from."""

    record: Any
    file: str
    line: int

    def where(self, column: str) -> str:
        return f"{self.file}:{self.line} {column}"


def read_table(family: Family, path: Path, called: str, collector: Collector) -> list[Row]:
    """All rows of a user's file; `called` is how messages call it."""
    grid = read_csv(path, family.name, family.columns, collector, called)
    if grid is None:
        return []
    heads = [cell for row in grid.rows(20) for cell in row if isinstance(cell, str)]
    columns = columns_of(family, heads)
    read = parse_table(grid, columns, collector)
    if read is None:
        return []
    report_faults(read, collector)
    names = [column.name for column in columns]
    needed = [read.column(column.name) for column in columns if column.required]
    rows: list[Row] = []
    for line, cells, required in zip(
        read.numbers, zip(*map(read.column, names)), zip(*needed), strict=True
    ):
        if None in required:
            continue
        values = dict(zip(names, cells))
        for part in parts_of(family, values["part"]):
            rows.append(Row(record_of(family, values | {"part": part}), called, line))
    _check_rows(family, rows, read.table, collector)
    return rows


def parts_of(family: Family, cell: str) -> list[str]:
    """The parts that a row holds for: several, parted by `;`, where a part has several rows.

    >>> from backhaul.catalog.families import PORTS
    >>> parts_of(PORTS, "converter-a; converter-b")
    ['converter-a', 'converter-b']
    """
    if family.single or ";" not in cell:
        return [cell]
    return [part for each in cell.split(";") if (part := each.strip())]


def columns_of(family: Family, heads: Collection[str]) -> tuple[Column, ...]:
    """The columns that a file with these heads may have, those of its wavelengths among them."""
    if not family.spectra:
        return family.columns
    found = dict.fromkeys(
        match.groups() for h in heads if (match := _SPECTRAL.fullmatch(squash(h)))
    )
    return (
        *family.columns,
        *(number(f"{what}_db_km_{nm}", "dB/km", 0, 1000) for what, nm in found),
    )


def record_of(family: Family, values: Mapping[str, Any]) -> Any:
    """The record of a row, blanks as the columns' defaults."""
    fields = [
        column.default if (value := values.get(column.name)) is None else value
        for column in family.columns
    ]
    if family.spectra:
        fields += _spectra(values)
    return family.record._make(fields)


def _spectra(values: Mapping[str, Any]) -> list[dict[int, float]]:
    """Attenuation by wavelength: a blank typical is the maximum, a blank minimum 0."""
    given: dict[str, dict[int, float]] = {name: {} for name in SPECTRA}
    for name, value in values.items():
        spectrum, _, wavelength = name.rpartition("_")
        if value is not None and spectrum in given:
            given[spectrum][int(wavelength)] = value
    most, typical, least = given.values()
    return [most, most | typical, dict.fromkeys(most, 0.0) | least]


def _check_rows(family: Family, rows: Sequence[Row], table: Table, collector: Collector) -> None:
    """Figures rise as they must, and no row stands twice."""
    seen: dict[tuple[str, ...], int] = {}
    for row in rows:
        _check_order(family, row, table, collector)
        _check_conductor(row, table, collector)
        key = tuple(squash(str(getattr(row.record, column))) for column in family.key)
        if (first := seen.setdefault(key, row.line)) != row.line:
            what = " ".join(str(getattr(row.record, column)) for column in family.key)
            collector.problem(
                table,
                row.line,
                family.key[-1],
                f"{what} again",
                f"one row, as in line {first}",
                "take one out",
            )


def least_ohm_per_km(record: Any) -> float | None:
    """Resistance that no conductor of the area of a part is below [ohm/km]; None without an area."""
    area = getattr(record, "area_mm2", None)
    return _BEST_COPPER * float(conductor_ohm_per_km(area_mm2=area)) if area else None


def _check_conductor(row: Row, table: Table, collector: Collector) -> None:
    """No conductor has less resistance than copper of its area: figures by 1000 ft are told so."""
    area, ohm = (getattr(row.record, name, None) for name in ("area_mm2", "ohm_per_km"))
    least = least_ohm_per_km(row.record)
    if ohm and least is not None and ohm < least:
        collector.problem(
            table,
            row.line,
            "ohm_per_km",
            f"{ohm:g} for {area:.4g} mm²",
            f"at least {least:.3g} ohm/km, which copper has",
            "of a figure by 1000 ft write 3.281 times as much",
        )


def _check_order(family: Family, row: Row, table: Table, collector: Collector) -> None:
    for columns in family.rising:
        given = [(c, v) for c in columns if (v := getattr(row.record, c)) is not None]
        for (low, small), (high, large) in pairwise(given):
            if small > large:
                collector.problem(
                    table, row.line, high, f"{large:g}", f"at least {low} = {small:g}"
                )
    if family.spectra:
        record = row.record
        for wavelength, least in record.min_db_km.items():
            typical = record.typical_db_km.get(wavelength, least)
            most = record.max_db_km.get(wavelength, typical)
            if not least <= typical <= most:
                collector.problem(
                    table,
                    row.line,
                    f"max_db_km_{wavelength}",
                    f"{most:g}, typical {typical:g}, min {least:g}",
                    "min, typical and max in rising order",
                )
