"""A cable of glass and copper is two rows of a design and one cable to order."""

import sys
from pathlib import Path

import pytest
from openpyxl import load_workbook

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.book.book import write_workbook
from backhaul.budgets.order_list import order_list

GLASS = "device converter-1g-ind site=A label=N | optic 1000base-lx10 | fiber {} {} | optic 1000base-lx10 | device converter-1g-ind site=B label=F"
COPPER = "device supply-48v-240w site=A | feed {} {} | device converter-1g-ind site=B label=F"
HYBRID = "hybrid-os2-4-2.5mm2"


def hybrids(catalog):
    return [part for part in catalog.fibers if catalog.is_hybrid(part)]


def test_both_halves_are_as_the_cables_of_their_kind(catalog):
    assert len(hybrids(catalog)) == 5
    for part in hybrids(catalog):
        _, _, strands, area = part.split("-")
        glass, copper = catalog.fibers[part], catalog.feeds[part]
        assert glass.strands == int(strands)
        assert glass.max_db_km == catalog.fibers[f"os2-{strands}"].max_db_km
        twin = catalog.feeds[f"{area}-out"]
        assert (copper.ohm_per_km, copper.ampacity_a) == (twin.ohm_per_km, twin.ampacity_a)
        assert glass.order_lengths_m == copper.order_lengths_m
        assert glass.outdoor and copper.outdoor


def lines(tmp_path, glass, copper):
    evaluation = compact.run(tmp_path, f"{GLASS.format(*glass)} || {COPPER.format(*copper)}", "")
    found = {line.family: line for line in order_list(evaluation).lines if line.part == HYBRID}
    return evaluation, found


def test_a_sheath_is_ordered_once(tmp_path):
    """400 m and 5 % of slack are 420 m: one reel of 500 m, none for the conductors."""
    evaluation, found = lines(tmp_path, (HYBRID, "400m"), (HYBRID, "400m"))
    assert found["fibers"].to_order == 500
    assert (found["feeds"].needed, found["feeds"].to_order) == (0, 0)
    assert "not ordered again" in found["feeds"].note and "once" in found["fibers"].note
    write_workbook(evaluation, tmp_path / "book.xlsx")
    assert "Order list" in load_workbook(tmp_path / "book.xlsx").sheetnames


@pytest.mark.parametrize("copper", [(HYBRID, "300m"), (HYBRID, "400m by=later")])
def test_what_does_not_lie_in_the_sheath_is_ordered(copper, tmp_path):
    _, found = lines(tmp_path, (HYBRID, "400m"), copper)
    assert found["feeds"].needed > 0 and found["fibers"].to_order == 500
    assert "without a fiber row" in found["feeds"].note


def test_no_half_of_a_hybrid_is_offered(tmp_path):
    """A feed too thin is settled by a feed, not by the conductors of another cable."""
    evaluation = compact.run(tmp_path, COPPER.format("1.5mm2-out", "3000m"), "")
    short = [f for f in evaluation.findings if f.check in ("feed-power", "feed-drop")]
    assert short
    assert not [f for f in evaluation.findings if "hybrid" in f"{f.message} {f.remedy}"]
