"""Which files and sheets make up a set of tables."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from backhaul.errors import reason_of
from backhaul.tables.collector import Collector
from backhaul.tables.column import Column
from backhaul.tables.csv_source import read_csv
from backhaul.tables.grid import Grid
from backhaul.tables.names import listed, on_one_line, shown, shown_place, squash
from backhaul.tables.table import Table

CSV_SUFFIXES = frozenset((".csv", ".tsv", ".txt"))
MAX_FILES = 100_000
FORMS = "a workbook (.xlsx), a folder of .csv files or one segments .csv"


class Wanted:
    """The tables that are looked for: one of them must be there, helper sheets hold none."""

    def __init__(
        self, tables: Mapping[str, Sequence[Column]], main: str, helpers: Collection[str] = ()
    ):
        self.tables, self.main, self.helpers = tables, main, helpers
        self.by_squash = {squash(name): name for name in tables}

    def name(self, text: str) -> str | None:
        """The table that a sheet or file is called after; None for any other."""
        return self.by_squash.get(squash(text))


def read_grids(source: Path, wanted: Wanted, collector: Collector) -> dict[str, Grid]:
    """The cells of every table, by table name; problems go to the collector."""
    try:
        return _grids(source, wanted, collector)
    except OSError as error:
        reason = reason_of(error)
        collector.file_problem(shown_place(source), reason, FORMS)
    except ValueError as error:  # a NUL in a path
        collector.file_problem(shown(source), str(error), FORMS)
    return {}


def _grids(source: Path, wanted: Wanted, collector: Collector) -> dict[str, Grid]:
    if source.is_dir():
        return _folder(source, wanted, collector)
    if not source.exists():
        collector.file_problem(
            str(source), "no such file or folder", FORMS, _siblings(source, collector)
        )
        return {}
    if not source.is_file():
        collector.file_problem(str(source), "neither a file nor a folder", FORMS)
        return {}
    if source.suffix.lower() in CSV_SUFFIXES:
        grid = read_csv(source, wanted.main, wanted.tables[wanted.main], collector)
        return {wanted.main: grid} if grid else {}
    from backhaul.tables.xlsx_source import read_xlsx

    sheets = read_xlsx(source, wanted.name, collector)
    return _choose(sheets, on_one_line(source.name), wanted, collector)


def _siblings(source: Path, collector: Collector) -> str:
    folder = source.parent
    if not folder.is_dir():
        return ""
    names = [each.name for _, each in zip(range(MAX_FILES), folder.iterdir())]
    return collector.nearest(source.name, names)


def _folder(source: Path, wanted: Wanted, collector: Collector) -> dict[str, Grid]:
    """All CSVs of a folder whose names are those of tables."""
    files = sorted(
        each
        for _, each in zip(range(MAX_FILES), source.iterdir())
        if each.suffix.lower() in CSV_SUFFIXES
    )
    grids: dict[str, Grid] = {}
    taken: dict[str, str] = {}
    for file in files:
        name = wanted.name(file.stem)
        if name is None:
            if file.suffix.lower() != ".txt":
                _ignored("file", file.name, wanted, collector)
        elif name in taken:
            collector.file_problem(
                file.name,
                f"a second table '{name}', first {taken[name]}",
                "one file a table",
                "remove one of them",
                name,
            )
        else:
            taken[name] = file.name
            grid = read_csv(file, name, wanted.tables[name], collector)
            if grid is not None:
                grids[name] = grid
    if wanted.main not in taken:
        close = collector.nearest(f"{wanted.main}.csv", [file.name for file in files])
        collector.file_problem(
            source.name or str(source),
            f"no {wanted.main}.csv in the folder",
            "at least that one",
            close,
        )
    return grids


def _choose(
    sheets: list[Grid] | None, file: str, wanted: Wanted, collector: Collector
) -> dict[str, Grid]:
    """The sheets of a workbook whose names are those of tables."""
    if sheets is None:
        return {}
    grids: dict[str, Grid] = {}
    for sheet in sheets:
        name = wanted.name(sheet.name)
        if name is None:
            if squash(sheet.name) not in wanted.helpers:
                _ignored("sheet", sheet.name, wanted, collector)
        elif name in grids:
            collector.file_problem(
                sheet.name,
                f"a second sheet '{name}'",
                "one sheet a table",
                "remove one of them",
                name,
            )
        else:
            grids[name] = sheet._replace(name=name)
    if wanted.main not in grids:
        close = collector.nearest(wanted.main, [sheet.name for sheet in sheets])
        collector.file_problem(
            file,
            f"no sheet named {wanted.main}",
            f"sheets named {listed(wanted.tables)}; {wanted.main} at least",
            close,
        )
    # an empty optional sheet is as none; the reader of heads speaks of an empty main sheet
    return {name: grid for name, grid in grids.items() if grid.numbers or name == wanted.main}


def _ignored(what: str, name: str, wanted: Wanted, collector: Collector) -> None:
    ending = ".csv" if what == "file" else ""
    close = collector.nearest(Path(name).stem if ending else name, wanted.tables)
    collector.note(
        Table("", ""),
        0,
        "",
        f"the {what} {shown(name)} is no table of a design and was ignored"
        + (f"; {close}" if close else ""),
        where=name,
    )
