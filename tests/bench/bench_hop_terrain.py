"""How long a check of many hops takes, each over 20 rows of terrain, and how it grows.

Run it: python tests/bench/bench_hop_terrain.py [hops ...]
The district is invented: masts on a grid, hops of 2 to 9 km on eight channels, rolling ground,
every fourth hop over a lake. Of each size: processor seconds of reading and of evaluating.
"""

import csv
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

ROWS = 20
RADIO, ANTENNA = "radio-5ghz-he-ext", "dish-5ghz-0.6m"
CHANNELS_GHZ = (5.74, 5.755, 5.77, 5.785, 5.8, 5.815, 5.83, 5.845)
CLIMATE = {
    "rain_rate_mm_h": 30,
    "dn1": -200,
    "vapour_g_m3": 7.5,
    "temperature_c": 15,
    "pressure_hpa": 1013.25,
}


def write_hops(folder: Path, hops: int) -> Path:
    """A design of so many hops, each a path of its own."""
    rng = np.random.default_rng(7)
    sites, segments, terrain = [], [], []
    for number in range(hops):
        east, north = (number % 100) * 0.3, number // 100 * 0.2
        km, name = rng.uniform(2, 9), f"h{number}"
        for end, offset in (("a", 0.0), ("b", km / 111.32)):
            place = {"site": f"{name}{end}", "latitude": 20 + north + offset, "longitude": east}
            sites.append({**place, "ground_m": 10, **CLIMATE})
        segments.append(
            {
                "path": name,
                "step": 1,
                "kind": "radio",
                "part": RADIO,
                "antenna": ANTENNA,
                "site": f"{name}a",
                "to_site": f"{name}b",
                "label": name,
                "height_m": 40,
                "to_height_m": 35,
                "frequency_ghz": CHANNELS_GHZ[number % len(CHANNELS_GHZ)],
                "channel_mhz": 20,
                "polarization": "H",
                "tx_power_dbm": 10,
            }
        )
        length = km * 110.62 / 111.32 * 1000  # a degree of latitude at 20 degrees
        for row in range(ROWS):
            wet = number % 4 == 0 and 5 <= row < 12
            ground = 10.0 if row in (0, ROWS - 1) else float(rng.uniform(2, 14))
            terrain.append(
                {
                    "label": name,
                    "distance_m": round(length * row / (ROWS - 1), 1),
                    "ground_m": -3.0 if wet else round(ground, 1),
                    "surface": "fresh" if wet else "land",
                }
            )
    project = [
        {"setting": key, "value": value}
        for key, value in {"region": "US", "water_low_m": 0, "water_high_m": 2}.items()
    ]
    folder.mkdir(parents=True, exist_ok=True)
    for table, rows in (
        ("project", project),
        ("sites", sites),
        ("segments", segments),
        ("terrain", terrain),
    ):
        with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    return folder


def main(sizes) -> None:
    catalog = load_catalog(())
    print("   hops    read s  evaluate s  ms a hop  (processor)")
    for hops in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = write_hops(Path(folder) / "design", hops)
            begun = time.process_time()
            design = read_design(path, catalog)
            read = time.process_time()
            evaluate(design, catalog)
            done = time.process_time() - read
        print(f"{hops:7d} {read - begun:9.2f} {done:11.2f} {1000 * done / hops:9.2f}", flush=True)


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [500, 1000, 5000])
