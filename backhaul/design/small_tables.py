"""The small tables: settings, sites, paths, demand, extras."""

from collections.abc import Collection, Iterable

from backhaul.design.columns import SURFACE_WORDS, SURFACES, WATER
from backhaul.design.model import (
    Accepted,
    Demand,
    Extra,
    PathRow,
    Project,
    Reading,
    Site,
    Water,
)
from backhaul.design.settings import SETTINGS
from backhaul.tables.collector import Collector
from backhaul.tables.faults import Fault, Remarked
from backhaul.tables.heads import other_units
from backhaul.tables.names import listed, shown, squash
from backhaul.tables.parse import Parsed
from backhaul.tables.table import Table
from backhaul.tables.twins import FOOT, METRE, as_written, differing, feet, twins
from backhaul.tables.values import parser


def read_project(read: Parsed, catalog, collector: Collector) -> Project:
    """Settings, each read by its own declared column."""
    paired = twins(SETTINGS)
    declared = (*SETTINGS, *(twin.column for twin in paired.values()))
    by_name = {squash(column.name): column for column in declared}
    mistaken = other_units(declared)
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
    _fold_settings(values, rows, paired, read.table, collector)
    _check_region(values, read.table, rows, catalog, collector)
    low, high = values.get("water_low_m"), values.get("water_high_m")
    if low is not None and high is not None and low > high:
        collector.problem(
            read.table,
            rows["water_low_m"],
            "value",
            _setting_text("water_low_m", low, rows),
            f"at most {_setting_text('water_high_m', high, rows)}",
            "swap them",
        )
    return Project(**values, typed=frozenset(values), table=read.table, rows=rows)


def _setting_text(name: str, value_m: float, rows) -> str:
    """A setting and its figure as they were typed, in metres or in feet."""
    other = f"{name.removesuffix(METRE)}{FOOT}"
    return f"{other} {feet(value_m):g}" if other in rows else f"{name} {value_m:g}"


def _fold_settings(values, rows, paired, table: Table, collector: Collector) -> None:
    """Settings in other units put into the metric ones; `rows` then tells where each was typed."""
    for name, twin in paired.items():
        other = twin.column.name
        if other not in values:
            continue
        value = values.pop(other)
        if name not in values:
            values[name], rows[name] = twin.to_si(value), rows[other]
        elif (fault := differing(twin, values[name], value)) is not None:
            collector.problem(table, rows[other], "value", *fault[:3])


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
            # the rules of another country are no rules here
            "leave region blank to run without the rules of a band, or add rows of your region to "
            "a bands.csv of your own (--catalog DIR)",
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
        _check_rising(read, site, "ambient_min_c", "ambient_max_c", collector)
        for one, other in (("latitude", "longitude"), ("longitude", "latitude")):
            if read.is_blank(place, one) and not read.is_blank(place, other):
                collector.problem(
                    read.table, site.row, one, f"a blank beside a {other}", "both or neither"
                )
    _remark_on_places(read, sites.values(), collector)
    return sites


def _remark_on_places(read: Parsed, sites: Iterable[Site], collector: Collector) -> None:
    """Two sites at one place may be one, or a row that was copied and not mended."""
    first: dict[tuple[float, float], Site] = {}
    for site in sites:
        if site.latitude is None or site.longitude is None:
            continue
        other = first.setdefault((site.latitude, site.longitude), site)
        if other is not site:
            collector.note(
                read.table,
                site.row,
                "latitude",
                f"the sites {shown(other.site)} and {shown(site.site)} are at one place",
                check="assumption",
            )


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
    return tuple(demand for demand in _records(read, Demand) if demand.path is not None)


def read_extras(read: Parsed, _collector: Collector) -> tuple[Extra, ...]:
    """Things for the order list, carried along unchecked."""
    return tuple(_records(read, Extra))


def read_waters(read: Parsed, collector: Collector) -> dict[str, Water]:
    """Bodies of water by name."""
    waters: dict[str, Water] = {}
    taken = {squash(word): word for word in (*SURFACES, *SURFACE_WORDS, WATER)}
    for place, water in enumerate(_records(read, Water)):
        if water.water is None:
            continue
        folded = squash(water.water)
        if folded in taken:
            collector.problem(
                read.table,
                water.row,
                "water",
                shown(water.water),
                "a name of its own",
                f"'{taken[folded]}' is a surface; call it after its place",
            )
        elif water.water in waters:
            _twice(read, place, "water", water.water, waters[water.water].row, collector)
        else:
            waters[water.water] = water
        _check_rising(read, water, "low_m", "high_m", collector)
    return waters


def read_accepted(
    read: Parsed, known: Collection[str], collector: Collector
) -> tuple[Accepted, ...]:
    """Findings that somebody answers for, each on a path that has segments."""
    rows = tuple(row for row in _records(read, Accepted) if row.check is not None)
    for row in rows:
        if row.path is not None:
            check_path(read.table, row.row, "path", row.path, known, collector)
    return rows


def read_readings(
    read: Parsed, sites: Collection[str] | None, collector: Collector
) -> tuple[Reading, ...]:
    """What was measured, each at a site that there is; `sites` is None where none are declared."""
    rows = tuple(row for row in _records(read, Reading) if row.site is not None)
    for row in rows:
        if sites is not None and row.site not in sites:
            collector.problem(
                read.table,
                row.row,
                "site",
                f"the site {shown(row.site)}",
                "a site of the sites table",
                collector.nearest(row.site, sites),
            )
    return rows


def _check_rising(read: Parsed, row, low: str, high: str, collector: Collector) -> None:
    """A lowest figure is not above the highest."""
    least, most = getattr(row, low), getattr(row, high)
    if least is not None and most is not None and least > most:
        table = read.table
        lower, upper = (as_written(table, row.row, n, v) for n, v in ((low, least), (high, most)))
        needed = f"at most {table.written(row.row, high)}, {upper}"
        collector.problem(table, row.row, low, f"'{lower}'", needed, "swap them")


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


def _records(read: Parsed, record: type):
    """One record a row, blanks as the columns' defaults."""
    columns = []
    blanks = record._field_defaults
    for name in record._fields[: -len(("row", "table"))]:
        column, blank = read.column(name), blanks.get(name)
        columns.append(column if blank is None else [blank if v is None else v for v in column])
    for number, *values in zip(read.numbers, *columns):
        yield record(*values, row=number, table=read.table)
