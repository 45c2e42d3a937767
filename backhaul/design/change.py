"""Other figures in the rows of a design that was read: the reader's own checks hold for them."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from backhaul.design.columns import ALL_TABLES, SEGMENTS
from backhaul.design.hubs import SHARED, check_hubs
from backhaul.design.kinds import AIR, KINDS
from backhaul.design.labels import FREE, cells_of_another, check_labels
from backhaul.design.lookup import ANTENNAS, COMMON, KIND_CHOICES, RADIOS, find_part
from backhaul.errors import InputError, Problem
from backhaul.tables.collector import Collector
from backhaul.tables.faults import Fault, Remarked, needs
from backhaul.tables.names import shown
from backhaul.tables.values import parser

_COLUMNS = {column.name: column for column in SEGMENTS}


def changed_rows(
    segments: tuple, path: str, step: float, columns: Mapping[str, Any], sites, catalog
) -> tuple:
    """The segments with other values in the row at a step, in all rows of its label and hub."""
    place = next(
        (n for n, row in enumerate(segments) if path in row.path and row.step == step), None
    )
    if place is None:
        raise KeyError(f"path {path} has no step {step:g}")
    row = segments[place]
    values = {name: _value(row, name, value, catalog) for name, value in columns.items()}
    if catalog is None:
        _check_known(segments, row, values)
    _check_sites(row, values, sites)
    rows = list(segments)
    rows[place] = row._replace(**values)
    shared = {name: value for name, value in values.items() if name not in FREE}
    if row.label is not None and shared:
        for other, its in enumerate(segments):
            if other == place or its.label != row.label or its.kind != row.kind:
                continue
            if KINDS[row.kind].medium == AIR and (its.to_site is None) != (row.to_site is None):
                continue
            rows[other] = its._replace(**cells_of_another(row, rows[place], its, shared))
    of_hub = {name: value for name, value in values.items() if name in SHARED}
    if row.hub is not None and of_hub:
        for other, its in enumerate(rows):
            if other != place and its.hub == row.hub and its.label != row.label:
                rows[other] = its._replace(**of_hub)
            elif its.label == row.hub and "part" in of_hub:
                rows[other] = its._replace(part=of_hub["part"])
    collector = Collector(ALL_TABLES)
    check_labels(rows, {}, collector)
    check_hubs(rows, {}, collector)
    collector.raise_problems()
    return tuple(rows)


def _value(row: Any, name: str, value: Any, catalog: Any) -> Any:
    """A value as the reader would have read it from the row's cell."""
    column = _COLUMNS.get(name)
    if column is None:
        raise InputError([Problem(row.at(name), f"the column {shown(name)}", "one of segments")])
    if name not in COMMON and name not in KINDS[row.kind].columns:
        needed = f"a column that the kind {row.kind} reads"
        raise InputError([Problem(row.at(name), f"the column {name}", needed)])
    if value is None or value == () or (isinstance(value, str) and not value.strip()):
        if column.required:
            raise InputError([Problem(row.at(name), "a blank", needs(column))])
        return column.default
    if isinstance(value, tuple):
        value = "/".join(map(str, value))
    if not isinstance(value, str):
        value = float(value)
        if not isfinite(value):
            raise InputError([Problem(row.at(name), shown(value), needs(column))])
    read = parser(column, KIND_CHOICES.get(name, ()))(value)
    if isinstance(read, Remarked):
        read = read.value
    if isinstance(read, Fault):
        raise InputError([Problem(row.at(name), read.found, read.needed, read.remedy)])
    families = _families(row, name)
    if families and catalog is not None:
        record = find_part(catalog, families, read)
        if record is None:
            raise InputError([Problem(row.at(name), shown(read), "a part of the catalogues")])
        return record.part
    return read


def _check_known(segments: tuple, row: Any, values: Mapping[str, Any]) -> None:
    """Parts put in without a catalogue: those that the design has elsewhere."""
    for name, value in values.items():
        families = _families(row, name)
        if not families or value is None:
            continue
        used = {getattr(other, name) for other in segments if other.kind == row.kind}
        if value not in used:
            needed = "a part that the design has; `catalog` for any other"
            raise InputError([Problem(row.at(name), shown(value), needed)])


def _families(row: Any, name: str) -> tuple[str, ...]:
    """Families of parts that a cell of a row names."""
    return {"part": KINDS[row.kind].families, "to_part": RADIOS}.get(
        name, ANTENNAS if name in ("antenna", "to_antenna") else ()
    )


def _check_sites(row: Any, values: Mapping[str, Any], sites: Mapping[str, Any]) -> None:
    for name in ("site", "to_site"):
        site = values.get(name)
        if sites and site is not None and site not in sites:
            found = f"the site {shown(site)}"
            raise InputError([Problem(row.at(name), found, "a site of the sites table")])
