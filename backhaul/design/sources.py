"""Which files and sheets make up a design."""

from pathlib import Path

from backhaul.design.collector import Collector, shown
from backhaul.design.columns import TABLES
from backhaul.design.csv_source import read_csv
from backhaul.design.grid import Grid
from backhaul.design.model import Table
from backhaul.design.names import listed, squash

TABLE_NAMES = ("project", *TABLES)
BY_SQUASH = {squash(name): name for name in TABLE_NAMES}
#: sheets of the blank design that hold no input of a designer
HELPER_SHEETS = frozenset(("lists", "help"))
CSV_SUFFIXES = frozenset((".csv", ".tsv", ".txt"))
MAX_FILES = 1000
FORMS = "a workbook (.xlsx), a folder of .csv files or one segments .csv"


def read_grids(source: Path, collector: Collector) -> dict[str, Grid]:
    """The cells of every table of the design, by table name; problems go to the collector."""
    try:
        return _grids(source, collector)
    except OSError as error:
        reason = (error.strerror or str(error) or "an error").lower()
        collector.file_problem(str(source), reason, FORMS)
    except ValueError as error:  # a NUL in a path
        collector.file_problem(shown(source), str(error), FORMS)
    return {}


def _grids(source: Path, collector: Collector) -> dict[str, Grid]:
    if source.is_dir():
        return _folder(source, collector)
    if not source.exists():
        collector.file_problem(
            str(source), "no such file or folder", FORMS, _siblings(source, collector)
        )
        return {}
    if not source.is_file():
        collector.file_problem(str(source), "neither a file nor a folder", FORMS)
        return {}
    if source.suffix.lower() in CSV_SUFFIXES:
        grid = read_csv(source, "segments", collector)
        return {"segments": grid} if grid else {}
    from backhaul.design.xlsx_source import read_xlsx

    return _choose(read_xlsx(source, _is_table, collector), source.name, collector)


def _is_table(sheet: str) -> bool:
    return squash(sheet) in BY_SQUASH


def _siblings(source: Path, collector: Collector) -> str:
    folder = source.parent
    if not folder.is_dir():
        return ""
    names = [each.name for _, each in zip(range(MAX_FILES), folder.iterdir())]
    return collector.nearest(source.name, names)


def _folder(source: Path, collector: Collector) -> dict[str, Grid]:
    """All CSVs of a folder whose names are those of tables."""
    files = sorted(
        each
        for _, each in zip(range(MAX_FILES), source.iterdir())
        if each.suffix.lower() in CSV_SUFFIXES
    )
    grids: dict[str, Grid] = {}
    taken: dict[str, str] = {}
    for file in files:
        name = BY_SQUASH.get(squash(file.stem))
        if name is None:
            if file.suffix.lower() != ".txt":
                _ignored("file", file.name, collector)
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
            grid = read_csv(file, name, collector)
            if grid is not None:
                grids[name] = grid
    if "segments" not in taken:
        close = collector.nearest("segments.csv", [file.name for file in files])
        collector.file_problem(
            source.name or str(source), "no segments.csv in the folder", "at least that one", close
        )
    return grids


def _choose(sheets: list[Grid] | None, file: str, collector: Collector) -> dict[str, Grid]:
    """The sheets of a workbook whose names are those of tables."""
    if sheets is None:
        return {}
    grids: dict[str, Grid] = {}
    for sheet in sheets:
        name = BY_SQUASH.get(squash(sheet.name))
        if name is None:
            if squash(sheet.name) not in HELPER_SHEETS:
                _ignored("sheet", sheet.name, collector)
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
    if "segments" not in grids:
        close = collector.nearest("segments", [sheet.name for sheet in sheets])
        collector.file_problem(
            file,
            "no sheet named segments",
            f"sheets named {listed(TABLE_NAMES)}; segments at least",
            close,
        )
    # an empty optional sheet is as none; the reader of heads speaks of an empty segments sheet
    return {name: grid for name, grid in grids.items() if grid.numbers or name == "segments"}


def _ignored(what: str, name: str, collector: Collector) -> None:
    collector.note(
        Table("", ""),
        0,
        "",
        f"the {what} {shown(name)} is no table of a design and was ignored",
        where=name,
    )
