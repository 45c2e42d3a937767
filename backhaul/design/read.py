"""Read a design: a workbook, a folder of CSVs or one CSV of segments."""

from collections.abc import Sequence
from pathlib import Path

from backhaul.design.columns import ALL_TABLES
from backhaul.design.digest import digest_of
from backhaul.design.hubs import check_hubs
from backhaul.design.labels import check_labels
from backhaul.design.lookup import KIND_CHOICES
from backhaul.design.model import Design, Project
from backhaul.design.segments import path_names, read_segments
from backhaul.design.small_tables import (
    read_accepted,
    read_demand,
    read_extras,
    read_paths,
    read_project,
    read_readings,
    read_sites,
    read_waters,
)
from backhaul.design.terrain import read_terrain
from backhaul.tables.collector import Collector
from backhaul.tables.grid import Grid
from backhaul.tables.names import on_one_line
from backhaul.tables.parse import Parsed, parse_table, report_faults
from backhaul.tables.sources import Wanted, read_grids

#: sheets of the blank design that hold no input of a designer
HELPER_SHEETS = frozenset(("lists", "help"))


def read_design(source: Path | str, catalog) -> Design:
    """The design that stands in `source`, its names looked up in `catalog`.

    Raises InputError with every problem that was found, sorted by place.
    """
    source = Path(source)
    collector = Collector(ALL_TABLES)
    grids = read_grids(source, Wanted(ALL_TABLES, "segments", HELPER_SHEETS), collector)
    tables = {name: _parse(name, grids.pop(name), collector) for name in tuple(grids)}
    design, columns = _design(tables, catalog, collector)
    collector.raise_problems()
    design = design._replace(notes=collector.notes(), name=_name(source))
    return design._replace(digest=digest_of(design, columns))


def _name(source: Path) -> str:
    """What a design is called: its folder's whole name, or its file's without the ending.

    >>> _name(Path("tower.v2.xlsx"))
    'tower.v2'
    """
    return on_one_line(source.resolve().name if source.is_dir() else source.stem or source.name)


def _parse(name: str, grid: Grid, collector: Collector) -> Parsed | None:
    columns = ALL_TABLES[name]
    if name == "segments":  # which of its cells are read hangs on the kind of the row
        return parse_table(grid, columns, collector, KIND_CHOICES)
    read = parse_table(grid, columns, collector)
    if read is not None:
        report_faults(read, collector)
    return read


def _design(
    tables: dict[str, Parsed | None], catalog, collector: Collector
) -> tuple[Design, dict[str, Sequence]]:
    """Tables to records, each looked up in those before it; and the columns of the segments."""

    def made(name: str, read, blank, *rest):
        table = tables.get(name)
        return blank if table is None else read(table, *rest, collector)

    project = made("project", read_project, Project(), catalog)
    sites = made("sites", read_sites, {})
    has_sites = tables.get("sites") is not None
    known_sites = sites if has_sites else None
    waters = made("waters", read_waters, {})
    blank: tuple = ((), {}, {})
    segments, columns, unusable = made(
        "segments", read_segments, blank, catalog, known_sites, waters
    )
    if not segments and tables.get("segments") is not None:
        table = tables["segments"].table
        where = table.file if table.letters is None else table.name
        collector.file_problem(
            where, "no segments below the heads", "one row a segment", table="segments"
        )
    if not segments:  # what other tables say of paths and hops cannot be looked up
        return Design(project=project, sites=sites, segments=(), paths={}), columns
    check_labels(segments, unusable, collector)
    check_hubs(segments, unusable, collector)
    known = path_names(segments)
    design = Design(
        project=project,
        sites=sites,
        segments=segments,
        paths=made("paths", read_paths, {}, known),
        terrain=made("terrain", read_terrain, {}, segments, waters),
        waters=waters,
        accepted=made("accepted", read_accepted, (), known),
        readings=made("readings", read_readings, (), known_sites),
        demand=made("demand", read_demand, (), known),
        extras=made("extras", read_extras, ()),
    )
    return design, columns
