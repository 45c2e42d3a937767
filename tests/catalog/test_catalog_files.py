"""The files as files: what the index rests on, and what every row must say."""

import csv
import re
from pathlib import Path

import pytest

from backhaul.catalog import FAMILIES, load_catalog, stock
from backhaul.catalog.families import BASES
from backhaul.catalog.reading import read_table
from backhaul.catalog.references import check_references
from backhaul.tables.collector import Collector
from backhaul.tables.names import squash

CATALOGS = Path(__file__).parents[2] / "catalogs"
BUILT_IN_BASES = set(BASES) - {"data sheet", "demo"}


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_the_strict_reader_has_nothing_to_say(family):
    collector = Collector({family.name: family.columns})
    rows = read_table(family, CATALOGS / family.file, family.file, collector)
    collector.raise_problems()
    assert collector.notes() == ()
    assert rows


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_rows_parsed_one_by_one_are_those_of_the_strict_reader(family, catalog):
    collector = Collector({family.name: family.columns})
    rows = read_table(family, CATALOGS / family.file, f"catalogs/{family.file}", collector)
    assert sorted(catalog.rows(family.name), key=lambda row: row.line) == rows


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_one_row_a_line_and_the_part_first(family):
    """The index takes what stands before the first comma for the part."""
    content = (CATALOGS / family.file).read_text(encoding="utf-8")
    lines = content.splitlines()
    assert lines[0].startswith("part,")
    assert '"' not in lines[0]
    rows = list(csv.reader(lines, strict=True))
    assert len(rows) == len(lines)
    for line, cells in zip(lines[1:], rows[1:], strict=True):
        assert line.partition(",")[0] == cells[0]
        assert len(cells) == len(rows[0])


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_every_row_has_source_basis_and_description(family, catalog):
    for row in catalog.rows(family.name):
        assert row.record.source.strip(), row
        assert row.record.description, row
        assert row.record.basis in BUILT_IN_BASES, row


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_names_are_plain_and_differ_by_more_than_spelling(family, catalog):
    parts = list(catalog.stock(family.name))
    assert len({squash(part) for part in parts}) == len(parts)
    for part in parts:
        assert re.fullmatch(r"[a-z0-9][a-z0-9.+-]*", part), part


def test_rows_that_speak_of_others_find_them(catalog):
    known = {(f, "part"): list(catalog.stock(f)) for f in ("devices", "radios", "optics")}
    known["fibers", "fiber_class"] = catalog.fiber_classes()
    rows = {family.name: catalog.rows(family.name) for family in FAMILIES}
    collector = Collector({})
    check_references(rows, known, collector)
    collector.raise_problems()


def test_a_row_with_an_edition_from_memory_says_so(catalog):
    """A row of basis standard has no figure that decides from memory in its source."""
    for family in ("optics", "optic_reach"):
        for row in catalog.rows(family):
            if row.record.basis == "standard":
                assert "memory" not in row.record.source.replace("damage level from memory", ""), (
                    row
                )


def test_names_of_the_trade_are_there(catalog):
    for family, parts in {
        "optics": ("1000base-lx10", "1000base-bx10-d", "10gbase-lr", "10g-bidi-20km-d"),
        "fibers": ("os2-12", "om3-12"),
        "coppers": ("cat6a-out",),
    }.items():
        for part in parts:
            assert catalog.find(family, part.upper()).part == part
    assert catalog.find("optics", "10gbase-xx") is None
    assert "10gbase-lr" in catalog.nearest("optics", "10G-BASE-LR4")


def test_families_are_opened_when_asked_for():
    stock._ours.cache_clear()
    catalog = load_catalog()
    catalog.optics["10gbase-lr"]
    assert set(catalog._stocks) == {"optics"}
    ours = stock._ours(catalog.stock("optics").family)
    assert set(ours._parsed) == {"10gbase-lr"}
    assert load_catalog().optics["10gbase-lr"] is catalog.optics["10gbase-lr"]  # read once


def test_views_are_read_only(catalog):
    with pytest.raises(TypeError):
        catalog.optics["mine"] = None
    with pytest.raises(AttributeError):
        catalog.optics["10gbase-lr"].rate_mbps = 1
    with pytest.raises(KeyError):
        catalog.optics["no such optic"]


@pytest.mark.parametrize("file", ["radio_modes.csv", "optic_reach.csv"])
def test_a_ladder_that_several_parts_share_stands_once(file):
    """What the parts of one line have alike; a cell holds 200 letters, then a second one begins."""
    ladders: dict[str, list[tuple[str, ...]]] = {}
    with open(CATALOGS / file, encoding="utf-8", newline="") as opened:
        for parts, *rest in list(csv.reader(opened))[1:]:
            ladders.setdefault(parts, []).append(tuple(rest))
    alike: dict[tuple, list[str]] = {}
    for parts, ladder in ladders.items():
        alike.setdefault(tuple(ladder), []).append(parts)
    for cells in alike.values():
        assert len(cells) == 1 or len(";".join(cells)) > 195, cells
