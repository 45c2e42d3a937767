"""Designs and readers that the tests of the site cards share; the designs are invented."""

from functools import cache
from pathlib import Path

from small_designs import Typed, evaluated, rows

import backhaul.api
from backhaul.evaluation import Evaluation
from backhaul.spreadsheet.cells import Text

DEMO = Path(__file__).parents[1] / "demo"
DEMOS = ("reservoir", "estuary")
SHEETS = (
    "optical_links",
    "radio_hops",
    "copper_and_supply",
    "cables_and_strands",
    "site_cards",
    "inputs",
)
LIGHT = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber cord-os2-lcupc-scapc site=works length_m=5",
    "connector sc-apc",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
    "splice fusion-splice count=2",
    "connector sc-apc",
    "fiber cord-os2-lcupc-scapc site=crest length_m=5",
    "optic 1000base-lx10-i site=crest",
    "device switch-out-4-1g-poe-dc-120 site=crest label=SW2",
)
HOP = (
    "protector protector-copper-1g-out site=crest",
    "copper cat6a-s-out site=crest length_m=25",
    "protector protector-copper-1g-out site=crest",
    (
        "radio radio-5ghz-he-int site=crest to_site=tower label=H1 height_m=6 to_height_m=8 "
        "frequency_ghz=5.6 channel_mhz=40 polarization=VH tx_power_dbm=5"
    ),
    "copper cat6a-s-out site=tower length_m=8",
    "device camera-class3 site=tower",
)
POWER = (
    "device supply-48v-300w-battery-out site=crest label=PS1",
    "feed 2.5mm2-out site=crest length_m=60",
    "device switch-out-4-1g-poe-dc-120 site=crest label=SW2",
)
WATER = {"water_low_m": "96", "water_high_m": "104", "water": "fresh"}


def whole(folder: Path, **settings):
    """Works to crest to tower, with its supply."""
    over = " surface=water" if "water_high_m" in settings.get("project", {}) else ""
    hop = (line + over if line.startswith("radio") else line for line in HOP)
    segments = rows("p", *LIGHT, *hop) + rows("s", *POWER)
    return evaluated(folder, segments, **settings)


@cache
def demo(name: str) -> tuple[Evaluation, Typed]:
    """A demo and its book, made once."""
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(DEMO / name))
    return evaluation, Typed(evaluation, *SHEETS)


def cards(book):
    return next(sheet for sheet in book.sheets if sheet.name == "Site cards")


def keys(book) -> list[str]:
    return [cell.key for row in cards(book).rows for cell in row.cells if getattr(cell, "key", "")]


def words(book) -> list[str]:
    return [
        cell if isinstance(cell, str) else cell.text
        for row in cards(book).rows
        for cell in row.cells
        if isinstance(cell, str | Text)
    ]


def card_words(book, site: str) -> str:
    """All words of one card."""
    texts, inside = [], False
    for row in cards(book).rows:
        for cell in row.cells:
            text = cell if isinstance(cell, str) else getattr(cell, "text", "")
            if text.startswith("Site card: "):
                inside = text == f"Site card: {site}"
            if inside and text:
                texts.append(text)
    return "\n".join(texts)
