"""Small designs written by hand, evaluated, and typed into as a buyer would."""

import csv
import importlib
from datetime import datetime
from io import StringIO
from pathlib import Path

import recalculation
from our_parts import our_rows

from backhaul.book.inputs import Inputs
from backhaul.book.plan import NAMES, Plan
from backhaul.book.status import lay_status
from backhaul.book.us_references import refer_in_si
from backhaul.budgets.order_lines import OrderLine
from backhaul.budgets.order_list import order_list
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import Evaluation, evaluate
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Book
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.writer import write_book

CATALOGS = Path(__file__).parents[1] / "catalogs"
SITES = [
    {
        "site": "works",
        "latitude": "52.1",
        "longitude": "-3.5",
        "ground_m": "88",
        "ambient_min_c": "5",
        "ambient_max_c": "30",
        "outdoor": "no",
    },
    {
        "site": "crest",
        "latitude": "52.108",
        "longitude": "-3.512",
        "ground_m": "106",
        "ambient_min_c": "-15",
        "ambient_max_c": "32",
        "outdoor": "yes",
        "rain_rate_mm_h": "32",
        "dn1": "-180",
        "vapour_g_m3": "8",
        "temperature_c": "10",
        "pressure_hpa": "1000",
    },
    {
        "site": "tower",
        "latitude": "52.115",
        "longitude": "-3.525",
        "ground_m": "106",
        "ambient_min_c": "-15",
        "ambient_max_c": "32",
        "outdoor": "yes",
        "rain_rate_mm_h": "32",
        "dn1": "-180",
        "vapour_g_m3": "8",
        "temperature_c": "10",
        "pressure_hpa": "1000",
    },
]

LIGHT = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber cord-os2-lcupc-lcupc site=works length_m=5",
    "connector lc-upc count=2",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
    "splice fusion-splice count=3",
    "connector lc-upc",
    "fiber cord-os2-lcupc-lcupc site=crest length_m=5",
    "optic 1000base-lx10-i site=crest",
    "device switch-ind-6-sfp-2-sfp+ site=crest label=SW2",
)


def rows(path: str, *lines: str) -> list[dict[str, str]]:
    """Segments in short: `kind part column=value …`, steps counted."""
    found = []
    for step, line in enumerate(lines, 1):
        kind, part, *columns = line.split()
        row = {"path": path, "step": str(step), "kind": kind, "part": part}
        row.update(column.split("=", 1) for column in columns)
        found.append(row)
    return found


def write_table(folder: Path, name: str, table: list[dict[str, str]]) -> None:
    """A table of a design or catalogue as CSV."""
    heads = list(dict.fromkeys(head for row in table for head in row))
    out = StringIO()
    writer = csv.DictWriter(out, heads, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(table)
    (folder / f"{name}.csv").write_text(out.getvalue(), encoding="utf-8")


def evaluated(
    folder: Path,
    segments: list[dict[str, str]],
    *,
    catalogs: tuple[Path, ...] = (),
    project: dict[str, str] | None = None,
    **tables,
) -> Evaluation:
    """Write a design and evaluate it."""
    folder.mkdir(exist_ok=True)
    write_table(folder, "segments", segments)
    if sites := tables.pop("sites", SITES):  # () for none
        write_table(folder, "sites", sites)
    settings = {"title": "Reservoir watch", "region": "CEPT"} | (project or {})
    write_table(folder, "project", [{"setting": k, "value": v} for k, v in settings.items()])
    for name, table in tables.items():
        write_table(folder, name, table)
    catalog = load_catalog(catalogs)
    return evaluate(read_design(folder, catalog), catalog)


def short_paths(folder, paths: int):
    """A switch, a copper run of its own and a switch at its end, so many times."""
    write_table(
        folder,
        "segments",
        [
            row
            for number in range(paths)
            for row in (
                {
                    "path": f"P{number}",
                    "step": "1",
                    "kind": "device",
                    "site": "Works",
                    "part": "switch-24-1g-poe-370",
                    "label": f"S{number // 24}",
                },
                {
                    "path": f"P{number}",
                    "step": "2",
                    "kind": "copper",
                    "site": "Works",
                    "to_site": "Works",
                    "part": "cat6a-out",
                    "length_m": "40",
                },
                {
                    "path": f"P{number}",
                    "step": "3",
                    "kind": "device",
                    "site": "Works",
                    "part": "camera-class4",
                },
            )
        ],
    )
    catalog = load_catalog(())
    return evaluate(read_design(folder, catalog), catalog)


def changed_catalog(
    folder: Path,
    file: str,
    part: str,
    *,
    shift: dict[str, float] | None = None,
    copy: str = "",
    **figures: float | None,
) -> Path:
    """A user's own catalogue: our rows of a part with some figures changed, left blank (None) or
    shifted; with a name to `copy` to, the rows as they were stand under that name, too."""
    folder.mkdir(exist_ok=True)
    table = [row for row in our_rows(f"{file}.csv") if row["part"] == part]
    unchanged = [row | {"part": copy} for row in table if copy]
    for row in table:
        row.update({k: "" if value is None else repr(value) for k, value in figures.items()})
        row.update({name: repr(float(row[name]) + by) for name, by in (shift or {}).items()})
    write_table(folder, file, [*table, *unchanged])
    return folder


def line_of(evaluation: Evaluation, part: str) -> OrderLine:
    """The line of a part on the order list."""
    return next(line for line in order_list(evaluation).lines if line.part == part)


class Typed:
    """A book of some sheets as a file; `typed` types into cells and recalculates it."""

    def __init__(self, evaluation: Evaluation, *sheets: str):
        plan = Plan(evaluation)
        if "inputs" in sheets and "basis" not in sheets:
            sheets = (*sheets, "basis")  # the sources that Inputs links to
        modules = [importlib.import_module(f"backhaul.book.sheets.{name}") for name in sheets]
        found = [sheet for module in modules if (sheet := module.build(plan)) is not None]
        lay_status(plan, found)
        refer_in_si(found)
        found.sort(key=lambda sheet: NAMES.index(sheet.name))
        self.book = Book(found, title="try", created=datetime(2026, 1, 1))
        self.data = write_book(self.book)
        self.layout = Layout(self.book)
        self._memory = recalculation.InMemory(self.data)

    def place(self, key: str) -> tuple[str, str]:
        """Sheet and address of a key; without Alternatives an input bears that of what is in use."""
        spot = self.layout.spots.get(key) or self.layout.spots[Inputs.in_use(key)]
        return self.layout.names[spot.sheet], f"{column_letters(spot.column)}{spot.row}"

    def typed(self, values: dict[str, float]) -> "Recalculated":
        """Type values into cells by key and recalculate."""
        found = self._memory.typed({self.place(key): value for key, value in values.items()})
        return Recalculated(self, found)


class Recalculated:
    """Figures of a recalculated book by key."""

    def __init__(self, book: Typed, values: recalculation.Values):
        self.book, self.values = book, values

    def __getitem__(self, key: str) -> object:
        sheet, address = self.book.place(key)
        return self.values[sheet][address]
