"""The terminal at the first end that several hops share is one thing, as it is on the mast."""

import compact
import pytest

from backhaul.budgets.order_list import order_list
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

CATALOG = load_catalog()
HOPS = "CDE"
PATH = (
    "P{far}: device switch-8-1g-poe-120 site=A label=S | copper cat6a-out 20m site=A to_site=A "
    "label=up route=indoor | radio radio-5ghz-he-ext to_part=radio-5ghz-he-int site=A to_site={far} "
    "antenna=sector-5ghz-90 frequency_ghz=5.5 channel_mhz=20 tx_power_dbm=5 height_m=20 "
    "to_height_m=20 label=h{far} hub=H | copper cat6a-out 5m site={far} route=indoor | "
    "device switch-out-4-1g-poe-120 site={far} label=S{far}"
)
SITES = (
    "project region=CEPT | site A latitude=50 longitude=-20 ground_m=50 | "
    "site C latitude=50.005 longitude=-20.001 ground_m=50 | "
    "site D latitude=50.005 longitude=-20 ground_m=50 | "
    "site E latitude=50.005 longitude=-19.999 ground_m=50"
)


@pytest.fixture(scope="module")
def evaluation(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hub")
    segments = compact.segments(" || ".join(PATH.format(far=far) for far in HOPS))
    compact.write_tables(folder, {"segments": segments, **compact.other_tables(SITES)})
    return evaluate(read_design(folder, CATALOG), CATALOG)


def test_one_drop_feeds_it(evaluation):
    found = {finding.check for finding in evaluation.findings if finding.verdict != "pass"}
    assert found.isdisjoint({"poe-power", "optics-port", "chain-broken"})


def test_its_hops_are_no_neighbours(evaluation):
    found = {finding.check for finding in evaluation.findings if finding.verdict != "pass"}
    assert found.isdisjoint({"radio-channel", "radio-interference"})


def test_it_is_ordered_once(evaluation):
    counts = {}
    for line in order_list(evaluation).lines:
        counts[line.part] = counts.get(line.part, 0) + line.needed
    assert counts["radio-5ghz-he-ext"] == 1
    assert counts["sector-5ghz-90"] == 1
    assert counts["radio-5ghz-he-int"] == len(HOPS)


def test_a_far_terminal_with_its_own_antenna_uses_that(evaluation):
    """25 dBi are built in: the sector of the hub stands on one mast alone."""
    ends = evaluation.radio.hops.ends[0]
    assert [end.antenna.part if end.antenna else None for end in ends] == ["sector-5ghz-90", None]
