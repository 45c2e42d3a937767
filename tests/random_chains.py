"""Random chains of random rows of our catalogues, and every command's answer to one.

Invented on the spot: nothing here has a right answer, but all commands answer, or all refuse.
"""

import random
from pathlib import Path
from typing import Any

from backhaul.design.kinds import AIR, KINDS
from backhaul.design.lookup import parts_for

SITES = ("A", "B", "C", "D")
NAMES = (
    "x",
    "{0}",
    "{",
    "}}",
    "{x.y}",
    "%s",
    "a&b",
    "<c>",
    "=1+1",
    "'q'",
    '"d"',
    "näme",
    "0",
    "\\",
)
#: A chain that would work, more or less, so that not every random one breaks at once.
SENSIBLE = (
    ("device", "optic", "fiber", "splice", "fiber", "optic", "device"),
    ("device", "optic", "connector", "fiber", "connector", "optic", "device", "copper", "radio"),
    ("device", "protector", "copper", "protector", "radio", "protector", "copper", "device"),
    ("device", "copper", "device"),
    ("device", "feed", "device", "copper", "device"),
    ("device", "optic", "fiber", "attenuator", "optic", "device", "feed", "device"),
)
CLIMATE = {"rain_rate_mm_h": 30, "dn1": -300, "temperature_c": 15, "pressure_hpa": 1013}


def random_tables(rng: random.Random, catalog: Any) -> dict[str, list[dict[str, Any]]]:
    """Tables of a design: some paths, some sites, now and then a setting or a demand."""
    names = [rng.choice(NAMES) + str(n) for n in range(rng.randint(1, 3))]
    labels = [rng.choice(NAMES) + "L" for _ in range(2)]
    rows = [row for path in names for row in _path(rng, catalog, path, labels)]
    if len(names) > 1 and rng.random() < 0.3:  # one thing in two paths
        shared = dict(rng.choice(rows))
        shared |= {"path": rng.choice(names), "step": 900}
        rows.append(shared)
    tables = {"segments": rows}
    if rng.random() < 0.8:
        tables["sites"] = [_site(rng, place, name) for place, name in enumerate(SITES)]
    if rng.random() < 0.5:
        tables["demand"] = [
            {"path": name, "what": rng.choice(NAMES), "up_mbps": rng.choice((0, 5, 800))}
            for name in names
        ]
    if rng.random() < 0.4:
        tables["project"] = [
            {"setting": "title", "value": rng.choice(NAMES)},
            {"setting": "region", "value": rng.choice(("CEPT", "US"))},
            {"setting": "optical_margin_db", "value": rng.choice((0, 2, 30))},
            {"setting": "currency", "value": rng.choice(("EUR", *NAMES))},
        ]
    if rng.random() < 0.3:
        tables["extras"] = [{"site": "A", "part": rng.choice(NAMES), "count": rng.choice((0, 3))}]
    return tables


def _path(rng: random.Random, catalog: Any, path: str, labels: list[str]):
    here = rng.choice(SITES)
    optic = rng.choice(list(catalog.optics))
    for step, kind in enumerate(_kinds(rng), 1):
        row = {"path": path, "step": step, "kind": kind}
        row["part"] = rng.choice(parts_for(catalog, KINDS[kind]))
        if kind == "optic" and rng.random() < 0.8:
            row["part"] = optic
        if KINDS[kind].is_run or KINDS[kind].medium == AIR:
            if rng.random() < 0.7:
                row |= {"site": here, "to_site": (there := rng.choice(SITES))}
                here = there
        elif rng.random() < 0.5:
            row["site"] = here
        for name in KINDS[kind].columns:
            if name in _VALUES | {"port": (), "to_port": ()} and rng.random() < 0.45:
                row[name] = _value(rng, name, row["part"], catalog)
        if KINDS[kind].medium == AIR:
            row |= _hop(rng, row["part"], catalog)
        if rng.random() < 0.15:
            row["label"] = rng.choice(labels) + kind + str(step)
        if rng.random() < 0.1:
            row["by"] = rng.choice(("existing", "client", "later"))
        yield row


def _kinds(rng: random.Random) -> list[str]:
    """The kinds of a chain: a sensible one with a few slips."""
    kinds = list(rng.choice(SENSIBLE))
    for _ in range(rng.choice((0, 0, 0, 1, 2))):
        place = rng.randrange(len(kinds))
        change = rng.choice(("drop", "double", "other"))
        if change == "drop" and len(kinds) > 1:
            del kinds[place]
        elif change == "double":
            kinds.insert(place, kinds[place])
        else:
            kinds[place] = rng.choice(list(KINDS))
    return kinds


def _hop(rng: random.Random, part: str, catalog: Any) -> dict[str, Any]:
    """Frequency, channel and antenna that a radio has, more often than not."""
    radio, row = catalog.radios[part], {}
    if rng.random() < 0.8:
        row["frequency_ghz"] = round((radio.frequency_min_ghz + radio.frequency_max_ghz) / 2, 3)
    modes = catalog.radio_modes[part]
    if modes and rng.random() < 0.8:
        row["channel_mhz"] = rng.choice(modes).channel_mhz
    if radio.antenna_dbi is None or rng.random() < 0.1:
        row["antenna"] = rng.choice(list(catalog.antennas))
    return row


_VALUES = {
    "length_m": (0, 1, 12, 90, 400, 2500, 40_000),
    "count": (0, 1, 2, 30),
    "strand": ("1", "1/2", "3", "999"),
    "height_m": (0, 3, 40),
    "to_height_m": (0, 3, 40),
    "diversity_m": (-3, 4),
    "to_diversity_m": (-3, 4),
    "frequency_ghz": (2.4, 5.5, 60.48, 99),
    "to_frequency_ghz": (2.4, 5.5, 60.48),
    "channel_mhz": (5, 20, 2160),
    "tx_power_dbm": (-30, 0, 20),
    "polarization": ("V", "H", "VH"),
    "eirp_limit_dbm": (-10, 36),
    "up_share_percent": (0, 50, 100),
    "extra_loss_db": (0, 0.5, 60),
    "measured_db": (0, 0.4, 25),
    "measured_nm": (850, 1310, 1550),
    "cable_temperature_c": (-40, 20, 80),
    "route": ("indoor", "duct", "buried", "aerial", "surface"),
    "surface": ("land", "sea", "fresh"),
    "noise_rise_db": (0, 3),
    "radio_margin_db": (0, 30),
    "hub": tuple(name + "H" for name in NAMES),
}


def _value(rng: random.Random, name: str, part: str, catalog: Any) -> Any:
    if name in _VALUES:
        return rng.choice(_VALUES[name])
    return rng.choice(("none", *(port.port for port in catalog.ports.get(part, ()))))


def _site(rng: random.Random, place: int, name: str) -> dict[str, Any]:
    row = {"site": name}
    if rng.random() < 0.8:
        row |= {"latitude": 51 + 0.01 * place, "longitude": -20 + 0.013 * place, "ground_m": 10}
    if rng.random() < 0.6:
        row |= CLIMATE
    if rng.random() < 0.5:
        row |= {"ambient_min_c": rng.choice((-40, 0)), "ambient_max_c": rng.choice((30, 60))}
    row["outdoor"] = rng.choice(("yes", "no", ""))
    row["corrosivity"] = rng.choice(("C1", "C5", ""))
    row["hazardous_area"] = rng.choice(("", "", "", "zone 1 IIC"))
    return row


def write_csvs(folder: Path, tables: dict[str, list[dict[str, Any]]]) -> Path:
    """Tables as CSV files of a folder."""
    import csv

    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.csv"):
        old.unlink()
    for name, rows in tables.items():
        heads = list(dict.fromkeys(head for row in rows for head in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, heads)
            writer.writeheader()
            writer.writerows(rows)
    return folder
