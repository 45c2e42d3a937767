"""Files that hold readings: books of filled cards, `readings` tables."""

from collections.abc import Collection
from pathlib import Path

from backhaul.as_built.cards import entries_in, is_filled
from backhaul.as_built.entry import Entry, of_table
from backhaul.design.columns import READINGS
from backhaul.design.small_tables import read_readings
from backhaul.errors import reason_of
from backhaul.spreadsheet.read_cells import SheetCells
from backhaul.spreadsheet.read_package import MAX_FILE_BYTES, Package, Refused
from backhaul.spreadsheet.read_sheet import read_sheet
from backhaul.spreadsheet.read_workbook import Workbook
from backhaul.tables.collector import Collector
from backhaul.tables.csv_source import read_csv
from backhaul.tables.files import TooLarge, read_capped
from backhaul.tables.grid import Grid
from backhaul.tables.names import on_one_line, squash
from backhaul.tables.parse import parse_table, report_faults
from backhaul.tables.sources import CSV_SUFFIXES

TABLE = "readings"


def _name(source: Path) -> str:
    return on_one_line(source.name)


def read_entries(
    source: Path, known: Collection[str], sites: Collection[str] | None, collector: Collector
) -> list[Entry]:
    """All readings of one file; problems with the file go to the collector.

    known: keys of the design as they are compared. sites: those of the design, None without.
    """
    if source.suffix.lower() in CSV_SUFFIXES:
        grid = read_csv(source, TABLE, READINGS, collector)
        return _of_grid(grid, source, sites, collector) if grid is not None else []
    try:
        return _of_book(source, known, sites, collector)
    except TooLarge:
        most = f"{MAX_FILE_BYTES >> 20} MiB"
        collector.file_problem(_name(source), f"a file of more than {most}", f"at most {most}")
    except Refused as refused:
        collector.file_problem(_name(source), refused.found, refused.needed, refused.remedy)
    except OSError as error:
        reason = reason_of(error)
        collector.file_problem(
            _name(source), reason, "a workbook of site cards, or a readings .csv"
        )
    return []


def holds_readings(package: Package) -> bool:
    """Whether somebody filled in a reading on a site card; an acceptance record has no cards."""
    book = Workbook(package)
    strings, styles = book.strings(), book.styles()
    for title, part, _ in book.sheets:
        if part is not None:
            cells = read_sheet(package, part, title, strings, styles, book.epoch)
            entries = entries_in(title, "", cells, ())
            if any(entry.site and is_filled(entry.value) for entry in entries):
                return True
    return False


def _of_book(source: Path, known, sites, collector: Collector) -> list[Entry]:
    book = Workbook(Package(read_capped(source, MAX_FILE_BYTES)))
    strings, styles = book.strings(), book.styles()
    found: list[Entry] = []
    for title, part, _ in book.sheets:
        if part is None:
            continue
        cells = read_sheet(book.package, part, title, strings, styles, book.epoch)
        if squash(title) == TABLE:
            found += _of_grid(_grid(source, cells), source, sites, collector)
        else:
            found += entries_in(title, _name(source), cells, known)
    if not found:
        collector.file_problem(
            _name(source),
            "no reading in any sheet",
            "site cards with the heads Key and Value, or a sheet named readings",
            "take the cards as the workbook printed them",
        )
    return found


def _grid(source: Path, cells: SheetCells) -> Grid:
    return Grid(TABLE, _name(source), True, cells.numbers, cells.columns, merges=cells.merges)


def _of_grid(grid: Grid, source: Path, sites, collector: Collector) -> list[Entry]:
    """Rows of a table; a figure that cannot be used is a reading that cannot be used, no more."""
    if not grid.numbers:
        return []
    read = parse_table(grid, READINGS, collector)
    if read is None:
        return []
    faulty = read.faulty.get("value", {})
    report_faults(read, collector, lambda name, place: name != "value")
    rows = read_readings(read, sites, collector)
    numbers = {read.numbers[place]: fault for place, fault in faulty.items()}
    entries = of_table(rows, _name(source))
    return [
        entry._replace(
            faults=(f"found {numbers[row.row].found}; needed {numbers[row.row].needed}",)
        )
        if row.row in numbers
        else entry
        for entry, row in zip(entries, rows, strict=True)
    ]
