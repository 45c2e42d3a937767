"""What the rows rest on: no product's paper, and a remembered share that only falls."""

import csv
import re
from collections import Counter
from pathlib import Path

import pytest

from backhaul.catalog import FAMILIES

REFERENCE = Path(__file__).parent.parent / "reference"
#: A row that someone reads again in a public text leaves this list; lower the number with it.
FROM_MEMORY = {
    "fibers": 115,
    "joints": 10,
    "optics": 58,
    "optic_reach": 206,
    "radio_modes": 20,
    "coppers": 24,
    "copper_reach": 21,
    "feeds": 8,
    "bands": 52,
}
HIGHEST_SHARE = 0.15

#: papers of a product or of its seller are no source
PRODUCT_PAPER = re.compile(
    r"data.?sheet|manual\b|knowledge base|hardware guide|cable guide|reference guide"
    r"|acceptance table|equipment guide|test.?equipment|vendor|brochure|withheld",
    re.IGNORECASE,
)
#: in a source; a note may send the reader to the maker
MAKER = re.compile(r"\bmakers?\b", re.IGNORECASE)
#: advice to the reader, who takes his own part's
ADVICE = re.compile(r"(enter|take|by) the data sheet[^;]*|take its data sheet")


def remembered(catalog):
    counts = Counter()
    for family in FAMILIES:
        bases = [row.record.basis for row in catalog.rows(family.name)]
        counts[family.name] = bases.count("from memory")
    return counts


def test_what_is_from_memory_only_falls(catalog):
    """Equal, not at most: who reads a row again also lowers the number here."""
    counts = {name: count for name, count in remembered(catalog).items() if count}
    assert counts == FROM_MEMORY


def test_share_from_memory_is_small(catalog):
    rows = sum(len(catalog.rows(family.name)) for family in FAMILIES)
    assert sum(remembered(catalog).values()) / rows < HIGHEST_SHARE


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_no_source_is_a_paper_of_a_product(family, catalog):
    for row in catalog.rows(family.name):
        assert not MAKER.search(row.record.source), row.record.part
        for text in (row.record.source, row.record.note or ""):
            assert not PRODUCT_PAPER.search(ADVICE.sub("", text)), (row.record.part, text)


@pytest.mark.parametrize("file", sorted(REFERENCE.rglob("*.csv")), ids=lambda file: file.name)
def test_no_outside_figure_is_from_a_paper_of_a_product(file):
    with open(file, encoding="utf-8", newline="") as opened:
        for row in csv.DictReader(opened):
            for text in filter(None, map(row.get, ("source", "origin", "note"))):
                assert not PRODUCT_PAPER.search(text) and not MAKER.search(text), text


#: parts that a buyer replaces by one on offer
BOUGHT = [
    "fibers",
    "joints",
    "optics",
    "devices",
    "radios",
    "radio_modes",
    "antennas",
    "coppers",
    "feeds",
    "protectors",
]


@pytest.mark.parametrize("family", BOUGHT)
def test_a_class_says_what_a_real_part_may_do(family, catalog):
    for row in catalog.rows(family):
        note = row.record.note or ""
        assert re.search(r"\b(real|good|bought|data sheet)\b", note), row.record.part


@pytest.mark.parametrize("folder", ["backhaul", "catalogs", "tests"])
def test_no_text_of_ours_cites_a_paper_of_a_product(folder):
    """Docstrings and comments of tests name the sources of their figures as tables do."""
    cited = re.compile(
        r"(hardware|cable) guide|(equipment|switch|router) manual|knowledge base", re.IGNORECASE
    )
    root = Path(__file__).parents[2] / folder
    for file in [*root.rglob("*.py"), *root.rglob("*.md")]:
        if file != Path(__file__):
            assert not cited.search(file.read_text(encoding="utf-8")), file
