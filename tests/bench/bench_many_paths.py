"""How long a town and a district take: checked through the command line, against a bare read.

Run it: python tests/bench/bench_many_paths.py [paths ...]
Every path has 12 rows; every fifth has a hop over terrain, so 10,000 paths have 2,000 hops. Of
each: processor seconds, seconds on the wall and peak memory of `check --json` in a process of
its own, the best of three; the processor seconds of pandas for a bare read of the same CSVs; and
the goal, 12 times that read plus 1 ms a path.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from districts import write_district, write_town  # noqa: E402

READS, MS_A_PATH = 12, 1.0
BEST_OF = 3


def checked(folder: Path) -> tuple[float, float, float]:
    """Processor seconds, seconds on the wall and peak MiB of a check in a process of its own."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(folder.parent / "bytecode")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # as where it is installed
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "backhaul", "check", str(folder), "--json"],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        env=environment,
    )
    _, _, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - begun
    return used.ru_utime + used.ru_stime, wall, used.ru_maxrss / 1024


def bare_read(folder: Path) -> float:
    """Processor seconds of pandas for the same files."""
    begun = time.process_time()
    for file in sorted(folder.glob("*.csv")):
        pd.read_csv(file)
    return time.process_time() - begun


def main(counts: list[int]) -> None:
    print("design          processor      wall    peak  bare read      goal  a path beyond one")
    start = None
    with tempfile.TemporaryDirectory() as folder:
        designs = [
            ("1 path", 1, write_district(Path(folder, "one"), 1)),
            ("town of 12", 12, write_town(Path(folder, "town"))),
        ]
        designs += [
            (f"{count} paths", count, write_district(Path(folder, f"d{count}"), count))
            for count in counts
        ]
        for name, count, design in designs:
            read = min(bare_read(design) for _ in range(BEST_OF))
            cpu, wall, mib = min(checked(design) for _ in range(BEST_OF))
            start = cpu if start is None else start
            goal = READS * read + MS_A_PATH * count / 1000
            each = f"{(cpu - start) / count * 1000:8.3f} ms" if count > 1 else ""
            print(
                f"{name:<14} {cpu:8.2f} s {wall:7.2f} s {mib:4.0f} MiB {read:8.3f} s "
                f"{goal:7.2f} s {each}",
                flush=True,
            )


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [1000, 5000, 10000])
