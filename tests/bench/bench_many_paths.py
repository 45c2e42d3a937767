"""How long a district takes: many paths of 12 rows, checked through the command line.

Run it: python tests/bench/bench_many_paths.py [paths ...]
Each path is a supply that feeds a switch, a pair of optics on a fiber, a hop, copper with PoE at
both ends of it; sites, lengths and demand are invented. Printed: seconds and
peak memory of `check --json` in a process of its own, and what a path costs beyond one path.
"""

import csv
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
HEADS = ("path", "step", "kind", "site", "to_site", "part", "port", "to_port", "length_m", "count",
         "strand", "height_m", "to_height_m", "frequency_ghz", "channel_mhz",
         "tx_power_dbm", "label")  # fmt: skip


def path_rows(number: int) -> list[dict]:
    """The rows of one path; lengths and channels differ from path to path."""
    here, mast, far = (f"{name}{number}" for name in ("W", "M", "T"))
    rows = [
        {"kind": "device", "site": here, "part": "supply-48v-240w"},
        {"kind": "feed", "site": here, "part": "2.5mm2-out", "length_m": 15 + number % 60},
        {"kind": "device", "site": here, "part": "switch-ind-8-1g"},
        {"kind": "optic", "site": here, "part": "1000base-lx10-i"},
        {"kind": "connector", "part": "lc-upc", "count": 1 + number % 3},
        {"kind": "fiber", "site": here, "to_site": mast, "part": "os2-12",
         "length_m": 400 + number % 37 * 90, "strand": "1/2", "label": f"F{number}"},
        {"kind": "optic", "site": mast, "part": "1000base-lx10-i"},
        {"kind": "device", "site": mast, "part": "switch-ind-8-1g-poe-240"},
        {"kind": "copper", "site": mast, "part": "cat6a-out", "length_m": 20 + number % 50},
        {"kind": "radio", "site": mast, "to_site": far, "part": "radio-5ghz-he-int",
         "height_m": 25, "to_height_m": 12, "frequency_ghz": round(5.5 + number % 8 * 0.02, 3),
         "channel_mhz": 40, "tx_power_dbm": 5, "label": f"H{number}"},
        {"kind": "copper", "site": far, "part": "cat6a-out", "length_m": 8},
        {"kind": "device", "site": far, "part": "switch-ind-8-1g-poe-240"},
    ]  # fmt: skip
    return [{"path": f"P{number}", "step": step, **row} for step, row in enumerate(rows, 1)]


def write_district(folder: Path, paths: int) -> Path:
    """A design of so many paths as a folder of CSV files."""
    folder.mkdir(parents=True, exist_ok=True)
    tables = {
        "segments": (HEADS, (row for number in range(paths) for row in path_rows(number))),
        "sites": (("site", "latitude", "longitude", "ground_m", "ambient_min_c", "ambient_max_c",
                   "outdoor", "rain_rate_mm_h", "dn1", "vapour_g_m3", "temperature_c",
                   "pressure_hpa"), (
            {"site": f"{name}{number}", "latitude": round(45 + number % 100 * 0.01 + shift, 5),
             "longitude": round(5 + number // 100 * 0.05, 5), "ground_m": 100, "ambient_min_c": -5,
             "ambient_max_c": 30, "outdoor": "no", "rain_rate_mm_h": 30, "dn1": -250,
             "vapour_g_m3": 9, "temperature_c": 11, "pressure_hpa": 1000}
            for number in range(paths)
            for name, shift in (("W", 0.0), ("M", 0.002), ("T", 0.02 + number % 11 * 0.003))
        )),
        "project": (("setting", "value"), ({"setting": "region", "value": "CEPT"},)),
        "demand": (("path", "what", "count", "up_mbps", "down_mbps"), (
            {"path": f"P{number}", "what": "camera", "count": 2, "up_mbps": 8, "down_mbps": 0.2}
            for number in range(paths)
        )),
    }  # fmt: skip
    for name, (heads, rows) in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, heads, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def run(folder: Path) -> tuple[float, float, float]:
    """Processor seconds, seconds on the wall and peak MiB of a check in a process of its own."""
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "backhaul", "check", str(folder), "--json"],
        cwd=ROOT, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    _, _, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - begun
    return used.ru_utime + used.ru_stime, wall, used.ru_maxrss / 1024


def main(counts: list[int]) -> None:
    print("paths  processor      wall    peak   processor time of a path beyond the start")
    start = None
    with tempfile.TemporaryDirectory() as folder:
        for count in (1, *counts):
            design = write_district(Path(folder, f"d{count}"), count)
            cpu, wall, mib = min(run(design) for _ in range(3))
            start = cpu if start is None else start
            each = f"{(cpu - start) / (count - 1) * 1000:8.3f} ms" if count > 1 else ""
            print(f"{count:>5}  {cpu:7.2f} s  {wall:6.2f} s  {mib:4.0f} MiB {each}")


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [250, 500, 1000, 2000])
