"""How long `check --json` takes for a design of many single-hop paths, and how that grows.

Run it: python tests/bench/bench_single_hops.py [hops]
The hops are invented: 5.8 GHz, an 18 GHz pair and 60 GHz in turn, 3 to 20 km, climate typed.
Each figure is the best of three runs of the command in a process of its own; a second design has
tidal water under every hop, so that each is swept.
"""

import csv
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

REPEATS = 3
KINDS = (
    {
        "part": "radio-5ghz-he-ext",
        "antenna": "dish-5ghz-0.6m",
        "frequency_ghz": 5.8,
        "channel_mhz": 40,
        "polarization": "V",
    },
    {
        "part": "radio-18ghz-low",
        "to_part": "radio-18ghz-high",
        "antenna": "dish-18ghz-0.6m",
        "frequency_ghz": 18.0,
        "to_frequency_ghz": 19.0,
        "channel_mhz": 55,
        "polarization": "H",
    },
    {
        "part": "radio-60ghz-sc-int",
        "frequency_ghz": 60.48,
        "channel_mhz": 2160,
        "polarization": "VH",
    },
)
WATER = {"water_low_m": -3, "water_high_m": 2, "wave_height_m": 1}


def write_design(folder: Path, hops: int, project: dict) -> None:
    rng = random.Random(1)
    segments, sites = [], []
    for place in range(hops):
        latitude, longitude = 40 + 15 * rng.random(), 20 * rng.random() - 5
        reach = 0.02 + 0.1 * rng.random()
        for end, step in (("a", 0.0), ("b", reach)):
            sites.append(
                {
                    "site": f"s{place}{end}",
                    "latitude": round(latitude + step, 6),
                    "longitude": round(longitude + step, 6),
                    "ground_m": rng.randint(0, 50),
                    "rain_rate_mm_h": rng.randint(30, 60),
                    "dn1": -200,
                    "vapour_g_m3": 8,
                    "temperature_c": 12,
                    "pressure_hpa": 1005,
                }
            )
        segments.append(
            {
                "path": f"p{place}",
                "step": 1,
                "kind": "radio",
                "site": f"s{place}a",
                "to_site": f"s{place}b",
                "height_m": 30,
                "to_height_m": 30,
                **KINDS[place % 3],
            }
        )
    settings = [{"setting": k, "value": v} for k, v in {"region": "US", **project}.items()]
    for name, rows in (("segments", segments), ("sites", sites), ("project", settings)):
        with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)))
            writer.writeheader()
            writer.writerows(rows)


def seconds(folder: Path) -> tuple[float, float]:
    """Best time by the clock and of the processor [s]."""
    import resource

    best = float("inf"), float("inf")
    for _ in range(REPEATS):
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "backhaul", "check", str(folder), "--json"],
            stdout=subprocess.DEVNULL,
            check=False,
        )
        clock = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        busy = after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime
        best = min(best[0], clock), min(best[1], busy)
    return best


def main() -> None:
    hops = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    for name, project in (("land", {}), ("water", WATER)):
        found = {}
        for count in (hops // 2, hops):
            with tempfile.TemporaryDirectory() as folder:
                write_design(Path(folder), count, project)
                clock, busy = found[count] = seconds(Path(folder))
            print(f"{name}: {count} hops {clock:.2f} s, processor {busy:.2f} s")
        growth = found[hops][1] / found[hops // 2][1]
        print(f"{name}: twice the hops take {growth:.2f} times as long")


if __name__ == "__main__":
    main()
