"""A design of two paths as rows, and what may be done to it from one revision to the next.

Invented: what is tested is that a change of known kind is told as that, and nothing else with it.
"""

import random
from copy import deepcopy
from pathlib import Path
from typing import Any

from compact import write_tables
from small_designs import SITES

from backhaul.catalog import load_catalog
from backhaul.design.model import Design
from backhaul.design.read import read_design

Tables = dict[str, list[dict[str, Any]]]

_TOWER = (
    ("device", "switch-12-sfp", {"site": "works", "label": "SW1"}),
    ("optic", "1000base-lx10", {"site": "works", "port": "sfp1"}),
    ("fiber", "cord-os2-lcupc-lcupc", {"site": "works", "length_m": 5}),
    ("connector", "lc-upc", {"count": 2}),
    (
        "fiber",
        "os2-12",
        {"site": "works", "to_site": "crest", "length_m": 1700, "strand": "1/2", "label": "C1"},
    ),
    ("connector", "lc-upc", {}),
    ("fiber", "cord-os2-lcupc-lcupc", {"site": "crest", "length_m": 5}),
    ("optic", "1000base-lx10-i", {"site": "crest"}),
    ("device", "switch-out-8-1g-poe-240", {"site": "crest", "label": "SW2"}),
    ("copper", "cat6a-out", {"site": "crest", "length_m": 24, "route": "aerial"}),
    (
        "radio",
        "radio-5ghz-he-int",
        {
            "site": "crest",
            "to_site": "tower",
            "height_m": 12,
            "to_height_m": 9,
            "frequency_ghz": 5.6,
            "channel_mhz": 40,
            "tx_power_dbm": 5,
            "label": "HOP",
        },
    ),
    ("copper", "cat6a-out", {"site": "tower", "length_m": 8}),
    ("device", "camera-class4", {"site": "tower", "label": "CAM"}),
)
_POWER = (
    ("device", "mains-230v", {"site": "crest", "label": "MAINS"}),
    ("feed", "2.5mm2-3c-out", {"site": "crest", "length_m": 30}),
    ("device", "switch-out-8-1g-poe-240", {"site": "crest", "label": "SW2"}),
)


def tables() -> Tables:
    """The first revision."""
    rows = [
        {"path": path, "step": step, "kind": kind, "part": part, **cells}
        for path, listed in (("tower", _TOWER), ("power", _POWER))
        for step, (kind, part, cells) in enumerate(listed, 1)
    ]
    return {
        "segments": rows,
        "sites": deepcopy(SITES),
        "project": [
            {"setting": "region", "value": "CEPT"},
            {"setting": "radio_margin_db", "value": 6},
        ],
        "demand": [{"path": "tower", "what": "camera", "count": 2, "up_mbps": 8, "down_mbps": 0.2}],
        "extras": [{"site": "tower", "part": "pole", "count": 1, "unit": "piece"}],
        "paths": [{"path": "tower", "title": "Camera"}, {"path": "power", "title": "Supply"}],
    }


def read(folder: Path, name: str, changed: Tables) -> Design:
    """A revision as it is read from a folder of its own."""
    return read_design(write_tables(folder / name, changed), CATALOG)


CATALOG = load_catalog()


def renamed(changed: Tables, columns: tuple[str, ...], old: str, new: str) -> Tables:
    """A name in all its cells."""
    for rows in changed.values():
        for row in rows:
            for column in columns:
                if row.get(column) == old:
                    row[column] = new
    return changed


def rows_of(changed: Tables) -> list[dict[str, Any]]:
    """Rows of the path to the tower, whatever it is called by now."""
    return [row for row in changed["segments"] if row["path"] != "power"]


def shuffled(changed: Tables, rng: random.Random) -> Tables:
    """The same rows in another order, in every table."""
    for rows in changed.values():
        rng.shuffle(rows)
    return changed


def longer(changed: Tables, rng: random.Random) -> Tables:
    rng.choice([row for row in rows_of(changed) if "length_m" in row])["length_m"] += rng.choice(
        (-2, 3, 700)
    )
    return changed


def higher(changed: Tables, rng: random.Random) -> Tables:
    row = next(row for row in rows_of(changed) if row["kind"] == "radio")
    row[rng.choice(("height_m", "to_height_m"))] += rng.choice((-3, 1, 6))
    return changed


def other_part(changed: Tables, rng: random.Random) -> Tables:
    row = rng.choice([row for row in rows_of(changed) if row["kind"] in ("optic", "copper")])
    row["part"] = {"optic": "1000base-lx10", "copper": "cat6a-s-out"}[row["kind"]]
    return changed


def one_more(changed: Tables, rng: random.Random) -> Tables:
    """A joint put in before the far optic."""
    rows = rows_of(changed)
    before = rng.choice([row for row in rows if row["kind"] == "connector"])
    new = {
        "path": before["path"],
        "step": before["step"] + 0.5,
        "kind": "splice",
        "part": "fusion-splice",
    }
    changed["segments"].append(new)
    return changed


def one_less(changed: Tables, rng: random.Random) -> Tables:
    row = rng.choice([row for row in rows_of(changed) if row["kind"] == "connector"])
    changed["segments"].remove(row)
    return changed


def renumbered(changed: Tables, _rng: random.Random) -> Tables:
    for row in changed["segments"]:
        row["step"] *= 10
    return changed


def other_path(changed: Tables, _rng: random.Random) -> Tables:
    return renamed(changed, ("path",), "tower", "valve-tower")


def other_site(changed: Tables, _rng: random.Random) -> Tables:
    return renamed(changed, ("site", "to_site"), "crest", "crest mast")


def other_label(changed: Tables, _rng: random.Random) -> Tables:
    return renamed(changed, ("label",), "HOP", "crest-hop")


def moved_site(changed: Tables, _rng: random.Random) -> Tables:
    next(row for row in changed["sites"] if row["site"] == "tower")["longitude"] = "-3.528"
    return changed


def other_setting(changed: Tables, rng: random.Random) -> Tables:
    row = next(row for row in changed["project"] if row["setting"] == "radio_margin_db")
    row["value"] = rng.choice((3, 8, 25))
    return changed


def more_load(changed: Tables, rng: random.Random) -> Tables:
    changed["demand"][0]["up_mbps"] = rng.choice((9, 90, 400))
    return changed


STEPS = (
    shuffled,
    longer,
    higher,
    other_part,
    one_more,
    one_less,
    renumbered,
    other_path,
    other_site,
    other_label,
    moved_site,
    other_setting,
    more_load,
)
