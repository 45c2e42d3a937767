"""A wired design with one of everything, blanked and typed into column by column."""

import csv
from pathlib import Path
from typing import NamedTuple

from small_designs import SITES, Typed, evaluated, rows

from backhaul.catalog.families import (
    COPPER_REACH,
    COPPERS,
    DEVICES,
    FEEDS,
    OPTICS,
    PORTS,
    PROTECTORS,
    RADIOS,
)
from backhaul.errors import InputError
from backhaul.evaluation import Evaluation

SHEETS = ("copper_and_supply", "inputs")
FAMILIES = (COPPERS, COPPER_REACH, DEVICES, PORTS, FEEDS, PROTECTORS)
_FILES = {family.name: family.file.removesuffix(".csv") for family in (*FAMILIES, OPTICS, RADIOS)}
CATALOGS = Path(__file__).parents[1] / "catalogs"
SWITCH = "switch-ind-4-2.5g-poe-bt-boost-180"
SUPPLY = "supply-48v-300w-battery"
PLACES = [
    {**site, "ambient_max_c": {"works": "30", "crest": "32", "tower": "28"}[site["site"]]}
    for site in SITES
]


def everything() -> list[dict[str, str]]:
    """Mains, supplies, a trunk with tails, PoE by class, an injector behind a feed, cords."""
    return [
        *rows(
            "camera",
            f"device {SWITCH} site=crest label=SW",
            "copper cat6a-cord-s site=crest to_site=crest length_m=2 port=1",
            "protector protector-copper-1g-out site=crest",
            "copper cat6a-s-out site=crest to_site=crest length_m=40 label=DROP",
            "protector protector-copper-1g-out site=crest",
            "device camera-class4 site=crest label=CAM",
        ),
        *rows(
            "far-camera",
            f"device {SWITCH} site=crest label=SW",
            "protector protector-copper-1g-out site=crest",
            "copper cat5e-out site=crest to_site=crest length_m=70 cable_temperature_c=35 port=2",
            "protector protector-copper-1g-out site=crest",
            "device camera-class8 site=crest label=CAM2",
        ),
        *rows(
            "mains",
            "device mains-230v site=works label=MAINS",
            "protector protector-feed-ac-230 site=works",
            "feed 2.5mm2-3c-out site=works to_site=crest length_m=120",
            "protector protector-feed-ac-230 site=crest",
            f"device {SUPPLY} site=crest label=PS",
        ),
        *rows(
            "supply",
            f"device {SUPPLY} site=crest label=PS",
            "feed 2.5mm2-out site=crest to_site=crest length_m=12 route=indoor",
            f"device {SWITCH} site=crest label=SW",
        ),
        *(
            row
            for name, metres, load in (
                ("tail-1", 5, "converter-1g-ind"),
                ("tail-2", 25, "router-ind"),
            )
            for row in rows(
                name,
                "device solar-24v-150w site=tower label=SUN",
                "feed 4mm2-out site=tower to_site=tower length_m=30 label=TRUNK route=indoor",
                f"feed 1.5mm2-out site=tower to_site=tower length_m={metres} route=indoor",
                f"device {load} site=tower label={name}",
            )
        ),
    ]


class Change(NamedTuple):
    """One figure of a design or of its catalogue, changed."""

    table: str
    where: dict[str, str]
    column: str
    value: str


def change_of(key: str, value: float) -> Change | None:
    """What an input of the book stands for; None for a rule that no cell of a design holds."""
    kind, *rest = key.removeprefix("given.").split(".")
    column, text = rest[-1], repr(value)
    middle = ".".join(rest[:-1])
    if kind == "row":
        return Change("segments", {"id": middle}, column, text)
    if kind == "label":
        return Change("segments", {"label": middle}, column, text)
    if kind == "site":
        return Change("sites", {"site": middle}, column, text)
    if kind == "project":
        return Change("project", {}, column, text)
    if kind == "ports":
        part, _, port = middle.rpartition(".")
        return Change("ports", {"part": part, "port": port}, column, text)
    if kind == "copper_reach":
        part, category, rate = middle.rsplit(".", 2)
        return Change(
            "copper_reach", {"part": part, "category": category, "rate_mbps": rate}, column, text
        )
    if (kind == "protectors" and column == "ohm") or kind in _FILES:
        return Change(_FILES[kind], {"part": middle}, column, text)
    return None


def evaluated_with(folder: Path, change: Change | None = None, design=None) -> Evaluation | None:
    """The design with a figure changed; None where it cannot be read so."""
    folder.mkdir(parents=True, exist_ok=True)
    segments = [dict(row) for row in (design or everything)()]
    sites = [dict(site) for site in PLACES]
    project: dict[str, str] = {}
    catalogs: tuple[Path, ...] = ()
    if change is not None:
        if change.table == "segments":
            for number, row in enumerate(segments):
                here = {"id": str(number), "label": row.get("label", "")}
                if all(here[name] == wanted for name, wanted in change.where.items()):
                    row[change.column] = change.value
        elif change.table == "sites":
            for site in sites:
                if site["site"] == change.where.get("site", site["site"]):
                    site[change.column] = change.value
        elif change.table == "project":
            project[change.column] = change.value
        else:
            catalogs = (changed_rows(folder / "catalog", change),)
    try:
        return evaluated(
            folder / "design", segments, sites=sites, project=project, catalogs=catalogs
        )
    except InputError:
        return None


def changed_rows(folder: Path, change: Change) -> Path:
    """A user's catalogue: all rows of the parts that change, the column changed in those meant."""
    folder.mkdir(exist_ok=True)
    with (CATALOGS / f"{change.table}.csv").open(encoding="utf-8", newline="") as stream:
        table = list(csv.DictReader(stream))
    part = change.where.get("part")
    table = [row for row in table if part is None or row["part"] == part]
    for row in table:
        if all(row[name] == wanted for name, wanted in change.where.items()):
            row[change.column] = change.value
    with (folder / f"{change.table}.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(table[0]))
        writer.writeheader()
        writer.writerows(table)
    return folder


def book_of(evaluation: Evaluation) -> Typed:
    return Typed(evaluation, *SHEETS)
