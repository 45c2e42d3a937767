"""Legal but heavy designs, and tables of junk: time and memory of the whole command.

Each runs in a process of its own. Limits: 10 s on a machine of its own; 500 MB for what is legal,
300 MB for what is refused. All of it is invented.

    python tests/bench/bench_heavy.py [WORD of a name]
"""

import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "heavy")]

from test_heavy_designs import CLIMATE, hops, own_modes, write  # noqa: E402

JUNK = 249_000
POINTS, LENGTH_M = 240_000, 5_560


def junk(folder: Path, **cells: str) -> list[str]:
    plain = {"path": "p{n}", "step": "{n}", "kind": "device", "part": "switch-8-1g"}
    write(
        folder,
        "segments",
        ({k: v.format(n=n) for k, v in (plain | cells).items()} for n in range(JUNK)),
    )
    return [str(folder)]


def very_many_modes(folder: Path) -> list[str]:
    own_modes(folder / "own", 40_000)
    return [str(hops(folder / "d", 50, "many-modes")), "--catalog", str(folder / "own")]


def terrain(folder: Path, surface_of, **settings) -> list[str]:
    hops(folder, 1, "radio-5ghz-ht-ext")
    write(
        folder,
        "terrain",
        (
            {"label": "hop0", "distance_m": round(n * LENGTH_M / POINTS, 4), "cover_m": ""}
            | surface_of(n)
            for n in range(POINTS)
        ),
    )
    rows = [{"setting": key, "value": value} for key, value in settings.items()]
    write(folder, "project", rows or [{"setting": "title", "value": "terrain"}])
    return [str(folder)]


def land(n: int) -> dict:
    return {"ground_m": 1 + n % 7, "surface": "land"}


def half_sea(n: int) -> dict:
    is_sea = POINTS / 3 < n < 2 * POINTS / 3
    return {"ground_m": -3, "surface": "sea"} if is_sea else land(n)


def every_other(n: int) -> dict:
    return {"ground_m": -3, "surface": "sea"} if n % 2 else land(n)


def strands(folder: Path) -> list[str]:
    columns = ("kind", "part", "site", "to_site", "length_m", "strand", "label")
    rows = (
        {"path": f"P{n}", "step": step, **dict(zip(columns, row, strict=True))}
        for n in range(5_000)
        for step, row in enumerate(
            (
                ("device", "switch-24-sfp", "A0", "", "", "", ""),
                ("optic", "1000base-lx10", "A0", "", "", "", ""),
                ("fiber", "os2-12", "A0", "B0", 5_800, n % 12 + 1, "trunk"),
                ("optic", "1000base-lx10", "B0", "", "", "", ""),
                ("device", "switch-8-1g", "B0", "", "", "", ""),
            ),
            1,
        )
    )
    write(folder, "segments", rows)
    sites = (("A0", 51.0), ("B0", 51.05))
    write(
        folder, "sites", ({"site": s, "latitude": n, "longitude": -20} | CLIMATE for s, n in sites)
    )
    return [str(folder)]


SEA = {"water_low_m": 0, "water_high_m": 1}
CASES = {
    "refused: bad steps": lambda f: junk(f, step="x{n}"),
    "refused: bad parts": lambda f: junk(f, part="camxx{n}"),
    "refused: bad lengths": lambda f: junk(f, kind="fiber", part="os2-12", length_m="{n} m"),
    "refused: bad everything": lambda f: junk(
        f, path="p {n}?", step="s{n}", kind="k{n}", part="q{n}", length_m="{n} m", site="S{n}",
        to_site="T{n}", label="l{n}", count="{n}.5", height_m="{n} ft",
    ),
    "40,000 modes, 50 hops": very_many_modes,
    "240,000 points of land": lambda f: terrain(f, land),
    "240,000 points, a third of them sea": lambda f: terrain(f, half_sea, **SEA),
    "240,000 points, every other one sea": lambda f: terrain(f, every_other, **SEA),
    "5,000 paths, 12 strands": strands,
}  # fmt: skip


def made(name: str, folder: str) -> list[str]:
    return CASES[name](Path(folder))


def main() -> None:
    asked = sys.argv[1] if len(sys.argv) > 1 else ""
    for name in CASES:
        if asked not in name:
            continue
        with tempfile.TemporaryDirectory() as folder:
            with multiprocessing.Pool(1) as maker:  # a process inherits the memory of its parent
                words = maker.apply(made, (name, folder))
            began = time.perf_counter()
            process = subprocess.Popen(
                [sys.executable, "-m", "backhaul", "check", *words],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": str(ROOT)},
            )
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            took = time.perf_counter() - began
            print(
                f"{name:40} exit {process.returncode} {took:6.1f} s ({used.ru_utime:.1f} s of the "
                f"processor) {used.ru_maxrss / 1024:6.0f} MB",
                flush=True,
            )


if __name__ == "__main__":
    main()
