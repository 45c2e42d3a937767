"""How long a workbook takes, how large it is, and what it costs beside a bare writer.

Run it: python tests/bench/bench_workbook.py [paths ...]   (0: the two demos; default 0 60 500)
A district is so many copies of the path `tower` of the reservoir demo, with labels of their own,
between the same sites. Ours is `backhaul workbook` in a process of its own: reading, computing,
checking and writing. The bare writer is openpyxl in a process of its own with the same cells, read
back from our file: texts, figures, formulas, the style of each cell, widths of columns, heights
of rows. It computes nothing, stores no values beside the formulas, merges no cells, draws no
charts, colours no verdicts and offers no lists. Loading its cells is not counted. Both in
processor seconds, start and imports included, bytecode compiled beforehand; the smallest
of `RUNS` taken by turns.
"""

import csv
import os
import pickle
import shutil
import subprocess
import sys
import tempfile
import time
from copy import copy
from io import BytesIO
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))  # for `import recalculation`

from book_reading import without_merged  # noqa: E402

PATH, SHARED = "tower", ("sites", "project")
RUNS, MANY_CELLS = 3, 100_000  # of a book with more cells one run
DEMOS = ("reservoir", "estuary")
BARE_WRITER = """
import gc, pickle, sys, time
from openpyxl import Workbook
from openpyxl.cell import Cell
gc.disable()
begun = time.process_time()
with open(sys.argv[1], "rb") as file:
    styles, sheets = pickle.load(file)
loaded = time.process_time() - begun
book = Workbook()
book.remove(book.active)
numbers = []
scratch = Cell(book.create_sheet("scratch"), 1, 1)
for font, fill, border, alignment, number_format in styles:
    scratch.font, scratch.fill, scratch.border = font, fill, border
    scratch.alignment, scratch.number_format = alignment, number_format
    numbers.append(scratch._style)
del book["scratch"]
for name, widths, heights, cells in sheets:
    sheet = book.create_sheet(name)
    for column, width in widths:
        sheet.column_dimensions[column].width = width
    for row, height in heights:
        sheet.row_dimensions[row].height = height
    for row, column, value, style in cells:
        cell = sheet.cell(row, column)
        if value is not None:
            cell.value = value
        cell._style = numbers[style]
book.save(sys.argv[2])
print(time.process_time() - loaded)
"""


def write_district(folder: Path, paths: int) -> Path:
    """So many copies of one path of the reservoir demo."""
    folder.mkdir(parents=True)
    demo = ROOT / "demo" / "reservoir"
    for name in SHARED:
        shutil.copy(demo / f"{name}.csv", folder)
    for name in ("segments", "demand"):
        with (demo / f"{name}.csv").open(newline="", encoding="utf-8") as file:
            reader = csv.DictReader(file)
            rows, heads = [row for row in reader if row["path"] == PATH], reader.fieldnames
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, heads)
            writer.writeheader()
            for number in range(paths):
                for row in rows:
                    label = f"{row['label']}-{number}" if row.get("label") else ""
                    named = {"label": label} if "label" in row else {}
                    writer.writerow({**row, **named, "path": f"P{number}"})
    return folder


class Size(NamedTuple):
    """What a workbook holds."""

    cells: int
    formulas: int
    charts: int


def cells_of(book: Path) -> tuple[list, list, Size]:
    """Styles and sheets of a workbook as plain values, and how many cells they are."""
    import openpyxl

    loaded = openpyxl.load_workbook(BytesIO(without_merged(book.read_bytes())))
    numbers: dict[tuple, int] = {}
    styles, sheets, count, formulas, charts = [], [], 0, 0, 0
    for sheet in loaded:
        cells = []
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is None and not cell.has_style:
                    continue
                key = tuple(cell._style)
                if key not in numbers:
                    numbers[key] = len(styles)
                    styles.append(_plain_style(cell))
                cells.append((cell.row, cell.column, cell.value, numbers[key]))
                count += 1
                formulas += cell.data_type == "f"
        widths = [(letter, one.width) for letter, one in sheet.column_dimensions.items()]
        heights = [(r, one.height) for r, one in sheet.row_dimensions.items() if one.height]
        charts += len(sheet._charts)
        sheets.append((sheet.title, widths, heights, cells))
    return styles, sheets, Size(count, formulas, charts)


def _plain_style(cell: object) -> tuple:
    looks = (copy(look) for look in (cell.font, cell.fill, cell.border, cell.alignment))
    return (*looks, cell.number_format)


def ours(design: Path, book: Path) -> tuple[float, float]:
    """Processor seconds and peak MiB of `backhaul workbook`."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(book.parent / "bytecode")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    process = subprocess.Popen(
        [sys.executable, "-m", "backhaul", "workbook", str(design), "-o", str(book)],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"no workbook of {design.name}: exit status {status >> 8}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def bare(cells: Path, book: Path) -> float:
    """Processor seconds of the bare writer."""
    done = subprocess.run(
        [sys.executable, "-c", BARE_WRITER, str(cells), str(book)],
        stdout=subprocess.PIPE,
        check=True,
        text=True,
    )
    return float(done.stdout)


def measure(name: str, design: Path, folder: Path) -> None:
    """One line of the table."""
    book, cells, plain = (folder / f for f in ("ours.xlsx", "cells", "bare.xlsx"))
    ours(design, book)
    # read by a process of its own: what it holds would count as memory of those begun after it
    reader = (sys.executable, __file__, "--cells", str(book), str(cells))
    done = subprocess.run(reader, stdout=subprocess.PIPE, check=True, text=True)
    size = Size(*map(int, done.stdout.split()))
    runs = RUNS if size.cells < MANY_CELLS else 1
    pairs = [(ours(design, book), bare(cells, plain)) for _ in range(runs)]
    (seconds, mib), base = (min(column) for column in zip(*pairs, strict=True))
    print(
        f"{name:>10} {size.cells:>9} {size.formulas:>8} {size.charts:>6} {seconds:8.2f} s "
        f"{book.stat().st_size / 2**20:6.2f} MiB {mib:5.0f} MiB {base:8.2f} s "
        f"{seconds / base:6.2f}",
        flush=True,
    )


def main(counts: list[int]) -> None:
    print("    design     cells formulas charts      ours       file      peak       bare  ratio")
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for count in counts:
            if not count:
                for demo in DEMOS:
                    measure(demo, ROOT / "demo" / demo, Path(folder))
                continue
            design = write_district(Path(folder, f"d{count}"), count)
            measure(f"{count} paths", design, Path(folder))
    print(f"{time.perf_counter() - begun:.0f} s in all")


def store_cells(book: Path, target: Path) -> None:
    """Leave the cells of a workbook for the bare writer, print how many they are."""
    styles, sheets, size = cells_of(book)
    with target.open("wb") as file:
        pickle.dump((styles, sheets), file)
    print(*size)


if __name__ == "__main__" and sys.argv[1:2] == ["--cells"]:
    store_cells(*map(Path, sys.argv[2:]))
elif __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [0, 60, 500])
