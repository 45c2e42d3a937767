"""Hops through the whole tool: tables are written as CSV, read, evaluated and recorded."""

import csv
from pathlib import Path

import numpy as np
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.report.record import record

REFERENCE = Path(__file__).parents[1] / "reference" / "radio"
CATALOG = Path(__file__).parent / "catalog"

#: Mild and complete, so that nothing is looked up.
CLIMATE = {
    "rain_rate_mm_h": 30,
    "dn1": -200,
    "vapour_g_m3": 7.5,
    "temperature_c": 15,
    "pressure_hpa": 1013.25,
}


def write_design(folder: Path, **tables) -> Path:
    """Write tables (lists of dicts; `project` as a dict) as the CSV files of a design."""
    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.csv"):
        old.unlink()
    for name, rows in tables.items():
        if name == "project":
            rows = [{"setting": key, "value": value} for key, value in rows.items()]
        columns = list(dict.fromkeys(key for row in rows for key in row))
        with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns)
            writer.writeheader()
            writer.writerows(rows)
    return folder


class Result:
    """The record of a design, and its hops in the order of the paths."""

    def __init__(self, evaluation):
        self.evaluation = evaluation
        self.record = record(evaluation)
        self.hops = [
            link
            for path in self.record["paths"]
            for link in path["links"]
            if link["kind"] == "radio"
        ]
        self.hop = self.hops[0]

    def findings(self, check: str, severity: str | None = None) -> list[dict]:
        return [
            finding
            for finding in self.record["findings"]
            if finding["check"] == check and severity in (None, finding["severity"])
        ]


@pytest.fixture(scope="session")
def catalog():
    """Our catalogues with wide-band radios and antennas of round gains laid over."""
    return load_catalog([CATALOG])


@pytest.fixture
def air(tmp_path, catalog):
    """Evaluate a design given as tables."""

    def run(**tables) -> Result:
        folder = write_design(tmp_path / "d", **tables)
        return Result(evaluate(read_design(folder, catalog), catalog))

    return run


@pytest.fixture
def hops(air):
    """Evaluate hops, each a dict of columns of its row, its near site and its far site.

    Keys that start with `near_` or `far_` belong to a site, those of CLIMATE to both, `terrain`
    is a list of (distance_m, ground_m, cover_m, surface).
    """

    def run(*rows: dict, **project) -> Result:
        segments, sites, terrain = [], [], []
        for number, given in enumerate(rows):
            row = {
                "part": "any-radio",
                "antenna": "dish-30dbi",
                "frequency_ghz": 5.8,
                "channel_mhz": 40,
                "polarization": "H",
                "height_m": 20,
                "to_height_m": 20,
                "near_ground_m": 0,
                "far_ground_m": 0,
                **CLIMATE,
                **given,
            }
            points = row.pop("terrain", ())
            climate = {
                key: row.pop(key)
                for key in [*CLIMATE, "roughness_m", "log_k", "dn75", "wind_m_s", "sway_deg"]
                if key in row
            }
            for end in ("near", "far"):
                own = {
                    key.removeprefix(f"{end}_"): row.pop(key)
                    for key in list(row)
                    if key.startswith(f"{end}_")
                }
                sites.append({"site": f"{end}{number}", **climate, **own})
            path = f"p{number}"
            segments.append(
                {
                    "path": path,
                    "step": 1,
                    "kind": "radio",
                    "site": f"near{number}",
                    "to_site": f"far{number}",
                    **row,
                }
            )
            for distance, ground, cover, surface in points:
                terrain.append(
                    {
                        "path": path,
                        "step": 1,
                        "distance_m": distance,
                        "ground_m": ground,
                        "cover_m": cover,
                        "surface": surface,
                    }
                )
        tables = {"segments": segments, "sites": sites, "project": {"region": "US", **project}}
        return air(**tables, **({"terrain": terrain} if terrain else {}))

    return run


class Table(dict):
    """Columns of a reference table; `half_digit` is half a unit of the last printed digit."""

    def __init__(self, path):
        with open(path, newline="", encoding="utf-8") as file:
            self.rows = list(csv.DictReader(file))
        for name in self.rows[0]:
            try:
                self[name] = np.array([float(row[name] or "nan") for row in self.rows])
            except ValueError:
                self[name] = np.array([row[name] for row in self.rows])

    def half_digit(self, name):
        digits = [row[name].lower().split("e")[0].partition(".")[2] for row in self.rows]
        powers = [int(row[name].lower().partition("e")[2] or 0) for row in self.rows]
        return np.array([0.5 * 10.0 ** (power - len(d)) for d, power in zip(digits, powers)])

    def check(self, name, computed, slack=0.0):
        """The computed column agrees with the printed one to its last digit and the slack."""
        error = np.abs(np.array(computed, dtype=float) - self[name])
        # 2 %: a value on the rounding edge itself
        bad = ~(error <= 1.02 * self.half_digit(name) + slack) & np.isfinite(self[name])
        assert not bad.any(), [
            (row[name], got) for row, got, wrong in zip(self.rows, computed, bad) if wrong
        ]


@pytest.fixture
def table():
    return lambda name: Table(REFERENCE / name)
