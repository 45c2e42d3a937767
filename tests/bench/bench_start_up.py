"""Whole processes by turns, median of nine: how much the tool adds to what it must import.

Beside the clock stands the processor time, which other work on the machine disturbs less.

Run: python tests/bench/bench_start_up.py
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo" / "reservoir"
RUNS = 9

#: Writes the same cells with the same number of styles, nothing computed.
BARE_WRITER = """
import json, sys
import openpyxl
from openpyxl.styles import Font, NamedStyle, PatternFill
book = openpyxl.Workbook()
book.remove(book.active)
sheets = json.load(open(sys.argv[1]))
for number in range(len({style for cells in sheets.values() for *_, style in cells})):
    book.add_named_style(NamedStyle(f"s{number}", font=Font(size=9 + number % 3),
                                    fill=PatternFill("solid", fgColor=f"{number:02d}EEEE")))
for name, cells in sheets.items():
    sheet = book.create_sheet(name)
    for row, column, value, style in cells:
        cell = sheet.cell(row, column, value)
        cell.style = f"s{style}"
book.save(sys.argv[2])
"""


#: Bytecode is kept, as where it is installed; without it every start compiles all modules anew.
ENVIRONMENT = {
    **{name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
    "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir(), "backhaul-bench-bytecode")),
}


def seconds(command: tuple[str, ...]) -> tuple[float, float]:
    """Time by the clock and of the processor that a command takes."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        command,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
        env=ENVIRONMENT,
    )
    clock, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return clock, after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def compared(name: str, goal: float, ours: tuple[str, ...], bare: tuple[str, ...]) -> str:
    seconds(ours)  # compiled once
    seconds(bare)
    pairs = [(*seconds(ours), *seconds(bare)) for _ in range(RUNS)]
    mine, my_cpu, base, base_cpu = (
        statistics.median(column) for column in zip(*pairs, strict=True)
    )
    clock = statistics.median(pair[0] / pair[2] for pair in pairs)
    cpu = statistics.median(pair[1] / pair[3] for pair in pairs)
    return (
        f"{name:<24} {mine:.3f} s against {base:.3f} s: ratio {clock:.2f}; processor {my_cpu:.3f} s "
        f"against {base_cpu:.3f} s: {cpu:.2f} (goal {goal})"
    )


def dump_cells(workbook: Path, target: Path) -> int:
    """All cells of a workbook as JSON; returns their number."""
    import openpyxl

    book, styles, sheets, count = openpyxl.load_workbook(workbook), {}, {}, 0
    for sheet in book.worksheets:
        cells = []
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is not None or cell.has_style:
                    style = styles.setdefault(cell._style, len(styles) % 40)
                    cells.append((cell.row, cell.column, cell.value, style))
        sheets[sheet.title] = cells
        count += len(cells)
    target.write_text(json.dumps(sheets, default=str), encoding="utf-8")
    return count


def main() -> None:
    python, tool = sys.executable, (sys.executable, "-m", "backhaul")
    with tempfile.TemporaryDirectory() as folder:
        out, cells = Path(folder) / "out.xlsx", Path(folder) / "cells.json"
        subprocess.run(
            (*tool, "workbook", str(DEMO), "-o", str(out)),
            cwd=ROOT,
            check=True,
            capture_output=True,
        )
        count = dump_cells(out, cells)
        rows = (
            ("--help", 1.4, (*tool, "--help"), (python, "-c", "import typer, rich")),
            ("check", 1.4, (*tool, "check", str(DEMO)), (python, "-c", "import typer, numpy")),
            (
                f"workbook, {count} cells",
                1.3,
                (*tool, "workbook", str(DEMO), "-o", str(out)),
                (python, "-c", BARE_WRITER, str(cells), str(Path(folder) / "bare.xlsx")),
            ),
        )
        for row in rows:
            print(compared(*row), flush=True)


if __name__ == "__main__":
    main()
