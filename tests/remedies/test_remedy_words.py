"""What a remedy says of itself: what it makes worse, and what it leaves.

Designs are invented; that a change is refused or taken follows from the figures beside it.
"""

from pathlib import Path
from types import SimpleNamespace

import compact
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.edits import edited
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import FAIL, THIN, Finding
from backhaul.remedies.standing import is_worse
from backhaul.remedies.words import sentence

ESTUARY = Path(__file__).parents[2] / "demo" / "estuary"


def results(value: float, severity: str = FAIL):
    found = Finding("poe-power", severity, "x", path="P", step=2, value=value, limit=30.0, unit="W")
    return SimpleNamespace(findings=(found,), context=SimpleNamespace(stops={}))


@pytest.mark.parametrize(
    ("severity", "after", "worse"),
    [
        (FAIL, 50.9, False),  # 20.9 W too much after 20 W: within 5 %
        (FAIL, 51.1, True),
        (THIN, 50.9, True),  # what is thin has no such allowance
        (THIN, 50.0, False),
    ],
)
def test_a_hair_more_of_what_fails_already_is_no_harm(severity, after, worse):
    assert (
        is_worse(results(50.0, severity), results(after, severity), of_findings_alone=True) == worse
    )


@pytest.fixture(scope="module")
def estuary():
    catalog = load_catalog()
    return evaluate(read_design(ESTUARY, catalog), catalog, remedies=True)


def test_a_change_that_works_and_harms_says_what(estuary):
    """Less power obeys the limit of EIRP and takes the margin, which fails already."""
    (eirp,) = (f for f in estuary.findings if f.check == "radio-eirp" and f.severity == FAIL)
    assert not eirp.edits
    assert "power" in eirp.remedy.partition(" works, but makes worse: radio-margin -")[0]
    assert "; advice: lower the power by 17.0 dB" in eirp.remedy  # EIRP 47 dBm, 30 dBm allowed


#: Three loads of 90 W by class draw 213 W: 180 W are too few, 240 W enough for what they draw.
THREE_CAMERAS = (
    "e: device supply-54v-480w site=A | feed 2.5mm2 3m site=A to_site=A route=indoor | "
    "device switch-ind-4-2.5g-poe-bt-boost-180 site=A label=s"
) + "".join(
    f" || {name}: device switch-ind-4-2.5g-poe-bt-boost-180 site=A label=s | "
    "copper cat6a-s 10m site=A to_site=A route=indoor | device camera-class8 site=A"
    for name in "fgh"
)


@pytest.fixture
def three_cameras(tmp_path):
    tables = {"segments": compact.segments(THREE_CAMERAS), **compact.other_tables("site A")}
    catalog = load_catalog()
    design = read_design(compact.write_tables(tmp_path, tables), catalog)
    return evaluate(design, catalog, remedies=True)


def test_a_remedy_that_leaves_its_place_thin_says_so(estuary, three_cameras):
    """Each remedy is applied: where its own check is thin there afterwards, its words name that."""
    told = sum(map(_told_thin, (estuary, three_cameras)))
    assert told


def _told_thin(results) -> int:
    catalog = load_catalog()
    told = 0
    for finding in results.findings:
        if not finding.edits or finding.cause:
            continue
        changed = evaluate(edited(results.design, finding.edits, catalog), catalog)
        here = finding.check, finding.path, finding.step
        left = [f for f in changed.findings if (f.check, f.path, f.step) == here]
        is_thin = any(f.verdict == THIN and not f.cause for f in left)
        said = finding.remedy.removeprefix(sentence(finding.edits))
        assert (f"then thin: {finding.check}" in said) == is_thin, finding.remedy
        told += is_thin
    return told


def test_a_straight_line_is_no_length_to_order(tmp_path):
    """A minute of latitude is 1.85 km: the run is at least that, how much more a walk tells."""
    text = (
        "P: device switch-8-1g site=A | optic 1000base-lx10 | fiber os2-4 1800m site=A to_site=B "
        "strand=1/2 route=duct | optic 1000base-lx10 | device switch-8-1g site=B"
    )
    sites = "site A latitude=50 longitude=8 | site B latitude=50.016667 longitude=8"
    tables = {"segments": compact.segments(text), **compact.other_tables(sites)}
    catalog = load_catalog()
    design = read_design(compact.write_tables(tmp_path, tables), catalog)
    found = evaluate(design, catalog, remedies=True).findings
    (short,) = (f for f in found if f.check == "run-length")
    assert not short.edits
    assert short.remedy.startswith("by hand: ")
    # WGS 84 at 50 degrees: 111.23 km a degree of latitude, handbook table
    assert "; 1854 m at the least" in short.remedy
