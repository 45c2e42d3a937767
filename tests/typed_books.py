"""A book that is typed into as anybody might: one cell after another, recalculated at once."""

import csv
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import formualizer
from our_parts import our_rows
from small_designs import CATALOGS, write_table

from backhaul.book.book import build_book
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.errors import InputError
from backhaul.evaluation import evaluate
from backhaul.spreadsheet.cells import Input, ToFill
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.writer import write_book

#: How good an answer is; the answers of the book beside those of an evaluation.
RANK = {"yes": 0, "pass": 0, "with care": 1, "thin": 1, "not yet": 2, "run again": 2, "fail": 2}
_FILES = {"coppers": "copper"}


class Cell(NamedTuple):
    """A yellow cell: where it stands and what it holds."""

    key: str
    sheet: str
    row: int
    column: int
    cell: Input | ToFill


class LiveBook:
    """A written book in the memory of a second engine."""

    def __init__(self, evaluation: Any):
        self.book = build_book(evaluation)
        self.layout = Layout(self.book)
        self.data = write_book(self.book)
        self.engine = formualizer.load_workbook_bytes(self.data)
        self.engine.evaluate_all()
        self.yellow = list(self._yellow())

    def _yellow(self):
        for number, name in enumerate(self.layout.names):
            for r, (_, cells) in enumerate(self.layout.rows(number), 1):
                for column, cell in cells:
                    if isinstance(cell, Input | ToFill):
                        yield Cell(cell.key, name, r, column, cell)

    def shown(self, key: str) -> object:
        spot = self.layout.spots[key]
        return self.engine.evaluate_cell(self.layout.names[spot.sheet], spot.row, spot.column)

    @property
    def answer(self) -> str:
        return str(self.shown("glance.answer"))

    def typed(self, cell: Cell, value: object) -> str:
        """The answer with a value in a cell; the cell is as before afterwards."""
        before = cell.cell.value if isinstance(cell.cell, Input) else None
        self.engine.set_value(cell.sheet, cell.row, cell.column, value)
        answer = self.answer
        self.engine.set_value(cell.sheet, cell.row, cell.column, before)
        return answer


def read(folder: Path, catalogs: tuple[Path, ...] = ()) -> Any:
    catalog = load_catalog(catalogs)
    return evaluate(read_design(folder, catalog), catalog, seek=False)


def accepted(folder: Path, demo: Path) -> Path:
    """A demo whose thin findings somebody answers for, so that its answer is yes."""
    shutil.copytree(demo, folder)
    thin = [f for f in read(folder).findings if f.severity == "thin"]
    write_table(
        folder,
        "accepted",
        [
            {
                "check": f.check,
                "path": f.path or "",
                "step": f"{f.step:g}" if f.step is not None else "",
                "value": f"{f.value:.3f}" if isinstance(f.value, int | float) else "",
                "by": "A. Signatory",
                "reason": "demo",
            }
            for f in thin
        ],
    )
    return folder


def table(file: Path) -> list[dict[str, str]]:
    with file.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def anew(folder: Path, design: Path, key: str, value: float) -> str | None:
    """Verdict of a new evaluation with one input changed; None where no table holds it.

    "fail" where it cannot even be read.
    """
    changed = _changed(folder, design, key, repr(value))
    if changed is None:
        return None
    try:
        return read(*changed).verdict
    except InputError:
        return "fail"


def _changed(folder: Path, design: Path, key: str, value: str):
    kind, rest = key.removeprefix("given.").split(".", 1)
    middle, _, column = rest.rpartition(".")
    if kind in ("row", "label", "site", "demand", "path", "project", "rule"):
        if kind == "rule":
            return None
        target = shutil.copytree(design, folder / "design")
        if kind in ("row", "label"):
            rows = table(target / "segments.csv")
            for number, row in enumerate(rows):
                name = str(number) if kind == "row" else row.get("label", "")
                if middle == name:
                    row[column] = value
            write_table(target, "segments", rows)
        elif kind == "project":
            rows = [r for r in table(target / "project.csv") if r["setting"] != rest]
            rows.append({"setting": rest, "value": value})
            write_table(target, "project", rows)
        else:
            file = {"site": "sites", "demand": "demand", "path": "paths"}[kind]
            rows = table(target / f"{file}.csv")
            for number, row in enumerate(rows, 2):
                if (kind == "demand" and middle.split(".")[0] == str(number)) or (
                    kind != "demand" and middle == row[kind]
                ):
                    row[column] = value
            write_table(target, file, rows)
        return target, ()
    return _part(folder, design, kind, middle, column, value)


def _part(folder: Path, design: Path, kind: str, middle: str, column: str, value: str):
    where: dict[str, str] = {"part": middle}
    if kind == "ports":
        part, _, port = middle.rpartition(".")
        where = {"part": part, "port": port}
    elif kind == "copper_reach":
        part, category, rate = middle.rsplit(".", 2)
        where = {"part": part, "category": category, "rate_mbps": rate}
    elif kind == "radio_modes":
        for row in our_rows("radio_modes.csv"):
            if middle == f"{row['part']}.{float(row['channel_mhz']):g}.{row['mode']}":
                where = {name: row[name] for name in ("part", "channel_mhz", "mode")}
    elif kind == "optic_reach":
        part, _, fiber = middle.partition(".on ")
        where = {"part": part, "fiber_class": fiber}
    elif kind == "fibers" and ".at " in middle:
        part, _, nm = middle.partition(".at ")
        which = {"max": "max", "mean": "typical", "min": "min"}[column.split("_")[1]]
        where, column = {"part": part}, f"{which}_db_km_{nm.removesuffix(' nm')}"
    file = _FILES.get(kind, kind)
    if not (CATALOGS / f"{file}.csv").exists():
        return None
    rows = [row for row in our_rows(f"{file}.csv") if row["part"] == where["part"]]
    if not rows or column not in rows[0]:
        return None
    for row in rows:
        if all(row[name] == wanted for name, wanted in where.items()):
            row[column] = value
    folder.mkdir(parents=True, exist_ok=True)
    write_table(folder, file, rows)
    return design, (folder,)


def extremes(cell: Cell, now: float) -> list[float]:
    """Figures that a cell takes: its limits, and a step off what it holds either way."""
    found = [limit for limit in (cell.cell.least, cell.cell.most) if limit is not None]
    step = abs(now) * 0.3 or 1.0
    return [*found, now - step, now + step, now + 3 * step]
