"""Designs of many paths for the benchmarks: places, lengths, terrain and demand are invented.

A town is twelve roofs fed from one switch over one cable; a district is thousands of paths of
twelve rows, each a supply that feeds a switch, a pair of optics on a fiber, and copper with PoE;
in one path of `hop_every` a radio hop over terrain takes the place of the second run of fiber.
"""

import csv
import math
from collections.abc import Iterable, Iterator
from pathlib import Path

SEGMENTS = (
    "path",
    "step",
    "kind",
    "site",
    "to_site",
    "part",
    "port",
    "to_port",
    "length_m",
    "count",
    "strand",
    "height_m",
    "to_height_m",
    "frequency_ghz",
    "channel_mhz",
    "tx_power_dbm",
    "label",
)
SITES = (
    "site",
    "latitude",
    "longitude",
    "ground_m",
    "ambient_min_c",
    "ambient_max_c",
    "outdoor",
    "rain_rate_mm_h",
    "dn1",
    "vapour_g_m3",
    "temperature_c",
    "pressure_hpa",
)
TERRAIN = ("label", "distance_m", "ground_m", "cover_m", "surface")
CLIMATE = {
    "ground_m": 100,
    "ambient_min_c": 5,
    "ambient_max_c": 30,
    "outdoor": "no",
    "rain_rate_mm_h": 30,
    "dn1": -250,
    "vapour_g_m3": 9,
    "temperature_c": 11,
    "pressure_hpa": 1000,
}
#: points of terrain under a hop
TERRAIN_POINTS = 40


def write_district(folder: Path, paths: int, hop_every: int = 5) -> Path:
    """A district as a folder of CSV files; every path has 12 rows."""
    numbers = range(paths)
    hops = range(0, paths, hop_every)
    return _write(
        folder,
        {
            "segments": (
                SEGMENTS,
                (
                    {"path": f"P{number}", "step": step, **row}
                    for number in numbers
                    for step, row in enumerate(
                        _path_rows(number, is_hop=number % hop_every == 0), 1
                    )
                ),
            ),
            "sites": (SITES, (site for number in numbers for site in _sites(number))),
            "terrain": (
                TERRAIN,
                (
                    row
                    for number in hops
                    for row in _terrain(number, f"H{number}", 2000 + number % 11 * 333)
                ),
            ),
            "demand": (
                ("path", "what", "count", "up_mbps", "down_mbps"),
                (
                    {
                        "path": f"P{number}",
                        "what": "camera",
                        "count": 2,
                        "up_mbps": 6,
                        "down_mbps": 0.2,
                    }
                    for number in numbers
                ),
            ),
            "project": (("setting", "value"), ({"setting": "region", "value": "CEPT"},)),
        },
    )


def _path_rows(number: int, *, is_hop: bool) -> list[dict]:
    """The rows of one path; lengths and channels differ from path to path."""
    here, mast, far = (f"{name}{number}" for name in ("W", "M", "T"))
    rows = [
        {"kind": "device", "site": here, "part": "supply-48v-240w"},
        {"kind": "feed", "site": here, "part": "2.5mm2-out", "length_m": 15 + number % 60},
        {"kind": "device", "site": here, "part": "switch-ind-8-1g"},
        {"kind": "optic", "site": here, "part": "1000base-lx10-i"},
        {"kind": "connector", "part": "lc-upc", "count": 1 + number % 3},
        {
            "kind": "fiber",
            "site": here,
            "to_site": mast,
            "part": "os2-12",
            "length_m": 400 + number % 37 * 40,
            "strand": "1/2",
            "label": f"F{number}",
        },
        {"kind": "optic", "site": mast, "part": "1000base-lx10-i"},
        {"kind": "device", "site": mast, "part": "switch-out-8-1g-poe-240"},
        {"kind": "copper", "site": mast, "part": "cat6a-out", "length_m": 20 + number % 50},
    ]
    if is_hop:
        rows += [
            {
                "kind": "radio",
                "site": mast,
                "to_site": far,
                "part": "radio-5ghz-he-int",
                "height_m": 25,
                "to_height_m": 12,
                "frequency_ghz": round(5.5 + number % 8 * 0.02, 3),
                "channel_mhz": 40,
                "tx_power_dbm": 5,
                "label": f"H{number}",
            },
            {"kind": "copper", "site": far, "part": "cat6a-out", "length_m": 8},
            {"kind": "device", "site": far, "part": "switch-out-8-1g-poe-240"},
        ]
    else:
        rows += [
            {"kind": "protector", "site": mast, "part": "protector-copper-1g"},
            {"kind": "copper", "site": mast, "part": "cat6a-out", "length_m": 5},
            {"kind": "device", "site": mast, "part": "camera-class4"},
        ]
    return rows


def _sites(number: int) -> Iterator[dict]:
    for name, shift in (("W", 0.0), ("M", 0.002), ("T", 0.02 + number % 11 * 0.003)):
        yield {
            "site": f"{name}{number}",
            "latitude": round(45 + number % 100 * 0.01 + shift, 5),
            "longitude": round(5 + number // 100 * 0.05, 5),
            **CLIMATE,
        }


def _terrain(number: int, label: str, length_m: float) -> Iterator[dict]:
    """Ground that rises and falls by ten metres under a hop; its ends stand on their sites."""
    for point in range(TERRAIN_POINTS):
        share = point / (TERRAIN_POINTS - 1)
        dip = 20 * share * (1 - share) * (1 + number % 7 / 7)
        yield {
            "label": label,
            "distance_m": round(length_m * share, 1),
            "ground_m": round(100 - dip, 2),
            "cover_m": point % 3 if 0 < share < 1 else 0,
            "surface": "land",
        }


def write_town(folder: Path, roofs: int = 12) -> Path:
    """A town: every roof on the strands of one cable, every camera on the power of one switch."""
    turn = 2 * math.pi / roofs
    return _write(
        folder,
        {
            "segments": (
                SEGMENTS,
                (
                    {"path": f"roof-{roof}", "step": step, **row}
                    for roof in range(1, roofs + 1)
                    for step, row in enumerate(_roof_rows(roof), 1)
                ),
            ),
            "sites": (
                SITES,
                (
                    {"site": "Works", "latitude": 45.0, "longitude": 5.0, **CLIMATE},
                    {"site": "Tower", "latitude": 45.01, "longitude": 5.0, **CLIMATE},
                    *(
                        {
                            "site": f"Roof {roof}",
                            "latitude": round(45.01 + 0.02 * math.cos(turn * roof), 5),
                            "longitude": round(5 + 0.0283 * math.sin(turn * roof), 5),
                            **CLIMATE,
                        }
                        for roof in range(1, roofs + 1)
                    ),
                ),
            ),
            "terrain": (
                TERRAIN,
                (
                    row
                    for roof in range(1, roofs + 1)
                    for row in _terrain(roof, f"hop-{roof}", 2226)
                ),
            ),
            "demand": (
                ("path", "what", "count", "up_mbps", "down_mbps"),
                (
                    {
                        "path": f"roof-{roof}",
                        "what": "camera",
                        "count": 1,
                        "up_mbps": 8,
                        "down_mbps": 0.2,
                    }
                    for roof in range(1, roofs + 1)
                ),
            ),
            "project": (
                ("setting", "value"),
                (
                    {"setting": "region", "value": "CEPT"},
                    {"setting": "tdd_in_step", "value": "yes"},  # all on one tower
                ),
            ),
        },
    )


def _roof_rows(roof: int) -> list[dict]:
    """A roof has a hop of its own; the trunk below it is one cable, one pair, two switches."""
    return [
        {"kind": "device", "site": "Works", "part": "switch-8-1g", "label": "works-switch"},
        {"kind": "optic", "site": "Works", "part": "1000base-lx10-i", "label": "works-optic"},
        {"kind": "connector", "part": "lc-upc", "count": 2, "label": "panels"},
        {
            "kind": "fiber",
            "site": "Works",
            "to_site": "Tower",
            "part": "os2-12",
            "length_m": 1150,
            "strand": "1/2",
            "label": "trunk",
        },
        {"kind": "optic", "site": "Tower", "part": "1000base-lx10-i", "label": "tower-optic"},
        {
            "kind": "device",
            "site": "Tower",
            "part": "switch-24-1g-poe-370",
            "label": "tower-switch",
        },
        {"kind": "copper", "site": "Tower", "part": "cat6a-out", "length_m": 25 + roof},
        {
            "kind": "radio",
            "site": "Tower",
            "to_site": f"Roof {roof}",
            "part": "radio-5ghz-he-int",
            "height_m": 25,
            "to_height_m": 12,
            "frequency_ghz": round(5.47 + roof * 0.02, 3),
            "channel_mhz": 20,
            "tx_power_dbm": 5,
            "label": f"hop-{roof}",
        },
        {"kind": "copper", "site": f"Roof {roof}", "part": "cat6a-out", "length_m": 8},
        {"kind": "device", "site": f"Roof {roof}", "part": "switch-out-8-1g-poe-240"},
    ]


def _write(folder: Path, tables: dict[str, tuple[tuple, Iterable[dict]]]) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, (heads, rows) in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, heads, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder
