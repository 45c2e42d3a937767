"""Catalogues in which wired parts have just what the order list asks of them."""

import csv
from pathlib import Path

from our_parts import our_rows
from wired_designs import CATALOGS

from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import AT_LEAST, AT_MOST
from backhaul.budgets.requirements import demands

FILES = {"devices": "devices", "coppers": "copper", "feeds": "feeds", "protectors": "protectors"}
#: Figures of a load that its port may state in its part's place.
_AT_THE_PORT = {"watts": "watts", "supply_min_volts": "min_volts", "supply_max_volts": "max_volts"}


def limits_of(evaluation) -> dict[tuple[str, str], dict[str, float]]:
    """Numeric limits by family and part, the strictest of several lines of one part."""
    found: dict[tuple[str, str], dict[str, float]] = {}
    for line in order_list(evaluation).lines_by(""):
        if line.family not in FILES:
            continue
        for demand in demands(evaluation, line):
            if demand.sense not in (AT_LEAST, AT_MOST) or not demand.field:
                continue
            if isinstance(demand.limit, str) or demand.field in ("category", "rates_mbps"):
                continue
            limits = found.setdefault((line.family, line.part), {})
            choose = max if demand.sense == AT_LEAST else min
            limits[demand.field] = choose(limits.get(demand.field, demand.limit), demand.limit)
    return found


def offered(folder: Path, limits) -> Path:
    """A catalogue in which each part has just what is asked of it."""
    folder.mkdir(parents=True, exist_ok=True)
    for family, file in FILES.items():
        changed = []
        for row in our_rows(f"{file}.csv"):
            asked = limits.get((family, row["part"]), {})
            row.update({name: repr(value) for name, value in asked.items() if row.get(name)})
            if asked:
                changed.append(row)
        _write(folder / f"{file}.csv", changed)
    ports = []
    with (CATALOGS / "ports.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            asked = limits.get(("devices", row["part"]))
            if asked is None:
                continue
            for name, column in _AT_THE_PORT.items():
                if row["poe"] == "load" and name in asked and row[column]:
                    row[column] = repr(asked[name])
            ports.append(row)
    _write(folder / "ports.csv", ports)
    return folder


def _write(file: Path, table) -> None:
    if table:
        with file.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, list(table[0]))
            writer.writeheader()
            writer.writerows(table)
