"""The small tables: settings, sites, paths, demand, extras."""

from collections.abc import Collection, Mapping

from backhaul.design.collector import Collector, shown
from backhaul.design.columns import NAME, SETTINGS, TEXT, Column
from backhaul.design.faults import Fault, Remarked
from backhaul.design.heads import other_units
from backhaul.design.model import Demand, Extra, PathRow, Project, Site, Table
from backhaul.design.names import listed, squash
from backhaul.design.tables import Parsed
from backhaul.design.values import RAW, parser

SETTING = (
    Column("setting", NAME, "name of the setting", required=True),
    Column("value", RAW, "its value"),
    Column("unit", TEXT, "unit of the value, for the reader's eye"),
    Column("help", TEXT, "what the setting means, for the reader's eye"),
)


def read_project(read: Parsed, catalog, collector: Collector) -> Project:
    """Settings, each read by its own declared column."""
    by_name = {squash(column.name): column for column in SETTINGS}
    mistaken = other_units(SETTINGS)
    values: dict[str, object] = {}
    rows: dict[str, int] = {}
    cells = read.column("value")
    for place, name in enumerate(read.column("setting")):
        if name is None:
            continue
        row = read.numbers[place]
        column = by_name.get(squash(name))
        if column is None:
            _unknown_setting(read.table, row, name, mistaken, collector)
            continue
        if column.name in rows:
            first = read.table.cell(rows[column.name], "setting")
            collector.problem(
                read.table,
                row,
                "setting",
                f"{shown(name)} again, first at {first}",
                "each setting once",
            )
            continue
        rows[column.name] = row
        value = parser(column, dialect=read.dialect)(cells[place])
        if isinstance(value, Remarked):
            collector.note(
                read.table,
                row,
                "value",
                value.message,
                check="assumption",
                group=("comma", read.table.file, "project"),
            )
            value = value.value
        if isinstance(value, Fault):
            remedy = collector.nearest(*value.unknown) if value.unknown else value.remedy
            collector.problem(read.table, row, "value", value.found, value.needed, remedy)
        elif value is not None:
            values[column.name] = value
    _check_region(values, read.table, rows, catalog, collector)
    low, high = values.get("water_low_m"), values.get("water_high_m")
    if low is not None and high is not None and low > high:
        collector.problem(
            read.table,
            rows["water_low_m"],
            "value",
            f"water_low_m {low:g}",
            f"at most water_high_m, {high:g}",
            "swap them",
        )
    return Project(**values, typed=frozenset(values), table=read.table, rows=rows)


def _unknown_setting(table: Table, row: int, name: str, mistaken, collector: Collector) -> None:
    meant = mistaken.get(squash(name))
    if meant:
        collector.problem(
            table,
            row,
            "setting",
            f"the setting {shown(name)}",
            f"'{meant}'",
            "give the value in that unit",
        )
        return
    close = collector.nearest(name, [column.name for column in SETTINGS])
    collector.note(
        table,
        row,
        "setting",
        f"no setting is called {shown(name)}; it was ignored" + (f"; {close}" if close else ""),
    )


def _check_region(values, table, rows, catalog, collector: Collector) -> None:
    region = values.get("region")
    if region is None:
        return
    regions = {band.region for band in catalog.bands}
    by_squash = {squash(name): name for name in regions}
    known = region if region in regions else by_squash.get(squash(region))
    if known is None:
        collector.problem(
            table,
            rows["region"],
            "value",
            shown(region),
            f"a region of bands.csv: {listed(sorted(regions))}",
            collector.nearest(region, regions),
        )
    else:
        values["region"] = known


def read_sites(read: Parsed, collector: Collector) -> dict[str, Site]:
    """Sites by name."""
    sites: dict[str, Site] = {}
    for place, site in enumerate(_records(read, Site)):
        if site.site is None:
            continue
        if site.site in sites:
            _twice(read, place, "site", site.site, sites[site.site].row, collector)
            continue
        sites[site.site] = site
        low, high = site.ambient_min_c, site.ambient_max_c
        if low is not None and high is not None and low > high:
            collector.problem(
                read.table,
                site.row,
                "ambient_min_c",
                f"'{low:g}'",
                f"at most ambient_max_c, {high:g}",
                "swap them",
            )
        for one, other in (("latitude", "longitude"), ("longitude", "latitude")):
            if read.is_blank(place, one) and not read.is_blank(place, other):
                collector.problem(
                    read.table, site.row, one, f"a blank beside a {other}", "both or neither"
                )
    return sites


def read_paths(read: Parsed, known: Collection[str], collector: Collector) -> dict[str, PathRow]:
    """Paths by name; `known` are those that have segments."""
    paths: dict[str, PathRow] = {}
    for place, path in enumerate(_records(read, PathRow)):
        if path.path is None:
            continue
        if path.path in paths:
            _twice(read, place, "path", path.path, paths[path.path].row, collector)
            continue
        paths[path.path] = path
        check_path(read.table, path.row, "path", path.path, known, collector)
        if path.backs_up is not None:
            check_path(read.table, path.row, "backs_up", path.backs_up, known, collector)
            if path.backs_up == path.path:
                collector.problem(
                    read.table,
                    path.row,
                    "backs_up",
                    shown(path.path),
                    "another path than the row's own",
                )
    return paths


def read_demand(read: Parsed, known: Collection[str], collector: Collector) -> tuple[Demand, ...]:
    """Loads of paths, each on a path that has segments."""
    for number, path in zip(read.numbers, read.column("path")):
        if path is not None:
            check_path(read.table, number, "path", path, known, collector)
    filled = {"count": 1.0, "up_mbps": 0.0, "down_mbps": 0.0}
    return tuple(demand for demand in _records(read, Demand, filled) if demand.path is not None)


def read_extras(read: Parsed, _collector: Collector) -> tuple[Extra, ...]:
    """Things for the order list, carried along unchecked."""
    return tuple(_records(read, Extra, {"count": 1.0}))


def check_path(
    table: Table, row: int, column: str, name: str, known: Collection[str], collector: Collector
) -> bool:
    """Whether segments of that path exist; else a problem with the nearest name."""
    if name in known:
        return True
    remedy = collector.nearest(name, known)
    if set(name) & set(" ;/+"):
        remedy = "a blank, ;, / or + in the path column of segments separates two paths"
    collector.problem(
        table, row, column, f"the path {shown(name)}", "a path that segments has", remedy
    )
    return False


def _twice(read: Parsed, place: int, column: str, name: str, first: int, collector) -> None:
    where = read.table.cell(first, column)
    collector.problem(
        read.table,
        read.numbers[place],
        column,
        f"{shown(name)} again, first at {where}",
        f"each {column} once",
    )


def _records(read: Parsed, record: type, filled: Mapping[str, object] | None = None):
    """One record a row, blanks as None or as `filled` says."""
    names = [name for name in record._fields if name not in ("row", "table")]
    columns = []
    for name in names:
        column = read.column(name)
        default = (filled or {}).get(name)
        columns.append(column if default is None else [default if v is None else v for v in column])
    for number, *values in zip(read.numbers, *columns):
        yield record(*values, row=number, table=read.table)
