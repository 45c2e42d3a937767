"""What the cards of all sites bring is what the order list counts.

Outside reference: where two cables meet every strand is spliced, in a closure, with a tray for
twelve splices (common practice). The designs of this module are invented.
"""

from collections import defaultdict

import pytest
from all_designs import DESIGNS
from site_card_designs import SHEETS, card_words
from small_designs import Typed, evaluated, rows

from backhaul.book.plan import Plan
from backhaul.book.sheets import order_list as order_sheet
from backhaul.book.sheets.site_card_kit import all_kit
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.order_lines import METRE
from backhaul.budgets.order_list import order_list
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

_SITES = [{"site": name, "outdoor": "no"} for name in ("hall", "hut", "portal")]
#: A cable of 24 strands meets one of 12 in a hut; one strand of the first ends there on a plug.
_TRUNK = (
    "device switch-12-sfp site=hall label=hall-sw",
    "optic 10gbase-lr site=hall port=sfp+1",
    "fiber cord-os2-lcupc-lcapc site=hall to_site=hall length_m=5 strand=1/2",
    "connector lc-apc site=hall count=1",
    "splice fusion-splice site=hall count=1",
    "fiber os2-24 site=hall to_site=hut label=trunk-1 length_m=3300 strand=1/2",
    "splice fusion-splice site=hut count=1",
    "fiber os2-12 site=hut to_site=portal label=trunk-2 length_m=3350 strand=5/6",
    "splice fusion-splice site=portal count=1",
    "connector lc-upc site=portal count=1",
    "fiber cord-os2-lcupc-lcupc site=portal to_site=portal length_m=3 strand=1/2",
    "optic 10gbase-lr-i site=portal port=sfp+1",
    "device switch-ind-4-2.5g-poe-bt-240 site=portal label=portal-sw",
)
_HUT = (
    "device switch-12-sfp site=hall label=hall-sw",
    "optic 1000base-bx10-d site=hall port=sfp1",
    "fiber cord-os2-lcupc-lcapc-1 site=hall to_site=hall length_m=5 strand=1",
    "connector lc-apc site=hall count=1",
    "splice fusion-splice site=hall count=1",
    "fiber os2-24 site=hall to_site=hut label=trunk-1 length_m=3300 strand=3",
    "splice fusion-splice site=hut count=1",
    "connector lc-upc site=hut count=1",
    "fiber cord-os2-lcupc-lcupc-1 site=hut to_site=hut length_m=2 strand=1",
    "optic 1000base-bx10-u-i site=hut port=sfp1",
    "device switch-ind-4-1g-poe-120 site=hut label=hut-sw",
    "copper cat6a site=hut to_site=hut length_m=18",
    "device camera-class4 site=hut label=cam",
)


@pytest.fixture(scope="module")
def meeting(tmp_path_factory):
    segments = [*rows("portal", *_TRUNK), *rows("hut", *_HUT)]
    return evaluated(tmp_path_factory.mktemp("meeting") / "d", segments, sites=_SITES)


@pytest.fixture(scope="module")
def catalog():
    return load_catalog(())


def _brought(evaluation):
    found = defaultdict(float)
    for items in all_kit(evaluation, cable_runs(evaluation), order_list(evaluation)).values():
        for item in items:
            found[item.part, item.by] += item.count
    return found


def _needed(evaluation):
    found = defaultdict(float)
    for line in order_list(evaluation).lines:
        if line.unit != METRE:
            found[line.part, line.by] += line.needed
    return found


def _check(evaluation):
    brought, needed = _brought(evaluation), _needed(evaluation)
    assert needed and {key: brought[key] for key in needed} == dict(needed)


@pytest.mark.parametrize("folder", DESIGNS, ids=lambda folder: folder.name)
def test_cards_bring_what_is_ordered(folder, catalog):
    _check(evaluate(read_design(folder, catalog), catalog))


def test_cards_bring_what_meeting_cables_take(meeting):
    _check(meeting)
    # by hand: hall 2 + 1; hut every strand of the cable of 12, and the one that ends; portal 2
    kit = all_kit(meeting, cable_runs(meeting), order_list(meeting))

    def counts(part):
        sites = ("hall", "hut", "portal")
        return [sum(item.count for item in kit[site] if item.part == part) for site in sites]

    assert counts("fusion-splice") == counts("sleeve-splice-60mm") == [3, 13, 2]
    assert counts("splice closure") == counts("tray-splice-12") == [0, 1, 0]


def test_the_card_tells_the_splices_that_no_link_runs_through(meeting):
    book = Typed(meeting, *SHEETS).book
    # two strands of the trunk and the one that ends stand above: 13 - 3
    assert "10 more: where lengths of cable meet, every strand" in card_words(book, "hut")
    for site in ("hall", "portal"):
        assert "where lengths of cable meet" not in card_words(book, site)


def test_what_is_fitted_at_an_end_is_ordered_for_that_site(meeting):
    places = {
        line.part: {site for place in line.places for site in place.sites}
        for line in order_list(meeting).lines
    }
    assert places["plug LC/APC"] == {"hall"}
    assert places["plug LC/UPC"] == {"hut", "portal"}
    assert places["splice closure"] == {"hut"}


def test_joints_that_order_lengths_force_are_brought_where_the_cable_begins(tmp_path):
    lines = [line.replace("length_m=3300", "length_m=13000") for line in _TRUNK]
    evaluation = evaluated(tmp_path / "d", rows("portal", *lines), sites=_SITES)
    assert any(line.part == "splice of a joint" for line in order_list(evaluation).lines)
    _check(evaluation)
    assert "splice of a joint" in card_words(Typed(evaluation, *SHEETS).book, "hall")


def test_what_no_row_tells_between_a_port_and_its_protector_is_said(tmp_path):
    """The chain has no cord there: the list says that it does not count one."""
    lines = (
        "device switch-12-sfp site=hall",
        "protector protector-copper-1g-out site=hall",
        "copper cat6a-s-out site=hall to_site=hut length_m=40",
        "protector protector-copper-1g-out site=hut",
        "device camera-class3 site=hut",
    )
    evaluation = evaluated(tmp_path / "d", rows("p", *lines), sites=_SITES)
    sheet = order_sheet.build(Plan(evaluation))
    said = [getattr(cell, "text", "") for row in sheet.rows for cell in row.cells]
    at = next(n for n, text in enumerate(said) if text.startswith("Not counted here"))
    assert "between a port and its protector" in said[at + 1]
    counts = {line.part: line.needed for line in order_list(evaluation).lines}
    assert counts["plug-rj45-cat6a-s"] == 2  # of the run alone
