"""Words that a reader took for something else: each case is a reading that went wrong."""

from pathlib import Path

import compact
import pytest

import backhaul.api
from backhaul.report.terminal import report

ESTUARY = Path(__file__).parents[2] / "demo" / "estuary"
COPPER = (
    "device switch-8-1g site=A | copper cat6-out {length}m site=A to_site=A "
    "cable_temperature_c=60 | device switch-8-1g site=A"
)


@pytest.fixture(scope="module")
def estuary():
    return backhaul.api.evaluate(backhaul.api.read_design(ESTUARY))


@pytest.mark.parametrize(("length", "better"), [(92, True), (94, False)])
def test_a_better_category_is_advised_only_as_far_as_one_goes(tmp_path, length, better):
    """TIA-568.2-D, 60 C: 75 m of unscreened and 83 m of screened cable, with 10 m of cords."""
    found = compact.run(tmp_path, COPPER.format(length=length)).findings
    (reach,) = (f for f in found if f.check == "copper-reach")
    assert ("higher category or screened" in reach.remedy) == better
    assert ("no category goes further" in reach.remedy) != better


def test_a_year_without_a_rate_is_told_as_the_hops_alone(estuary):
    text = " ".join(" ".join(line for line, _ in report(estuary)).split())
    assert "no rate, demand 96 up / 3 down Mb/s, its hops alone 99." in text


def test_a_warm_optic_is_not_a_warm_site(estuary):
    heat = [f for f in estuary.findings if f.check == "temperature" and "rated to" in f.message]
    assert heat and all("its case at Sluice cabinet reaches" in f.message for f in heat)


@pytest.mark.parametrize(
    ("device", "site", "told"),
    [
        ("device switch-8-1g site=A", "outdoor=yes", True),
        ("device switch-8-1g site=A", "outdoor=no", False),
        ("device switch-8-1g site=A by=existing", "outdoor=yes", False),
        ("device switch-8-1g site=A || device mains-230v site=A", "outdoor=yes", False),
    ],
)
def test_mains_that_nothing_promises_outdoors_is_noted(tmp_path, device, site, told):
    found = compact.run(tmp_path, device, f"site A {site}").findings
    notes = [f for f in found if "outdoor A has mains" in f.message]
    assert [(f.severity, f.step) for f in notes] == [("note", 1)] * told


def test_a_place_on_a_hop_is_told_from_a_site_by_name(estuary):
    told = [
        f.message for f in estuary.findings if f.check in ("radio-clearance", "radio-reflection")
    ]
    assert told and all(" km from Centre roof" in message for message in told)


def test_a_year_without_a_minute_out_is_told_too():
    """The rules: beyond the bound of the rain an availability prints as 99.999 % or more."""
    design = backhaul.api.read_design(ESTUARY.parent / "reservoir")
    lines = (line for line, _ in report(backhaul.api.evaluate(design)))
    text = " ".join(" ".join(lines).split())
    assert "demand 28.2 up / 1.2 down Mb/s, ≥ 99.999 % of the year" in text
