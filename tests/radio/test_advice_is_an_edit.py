"""What works when it is applied is an edit: heights that the reflection advises are none by hand."""

import re

import pytest
from air_rows import KM

from backhaul.design.edits import edited
from backhaul.evaluation import evaluate

SEA = {"surface": "sea", "part": "radio-5ghz-he-ext", "antenna": "dish-5ghz-1.8m"}
ADVISED = re.compile(r"(?:raise|lower) the (?:first|far) antenna by")


@pytest.mark.parametrize("length_km", [6, 9, 12])
@pytest.mark.parametrize("height_m", [40, 50, 60])
@pytest.mark.parametrize("tide_m", [0.5, 1.5])
def test_heights_that_hold_the_reflection_are_edits(hops, catalog, length_km, height_m, tide_m):
    """Nine hops over two tides: a height is proposed with its edits, or none is named at all."""
    row = {"length_m": length_km * KM, "height_m": height_m, "to_height_m": height_m, **SEA}
    design = hops({**row, "tx_power_dbm": -5}, water_low_m=0, water_high_m=tide_m).evaluation.design
    before = evaluate(design, catalog, remedies=True)
    for finding in before.findings:
        if finding.check != "radio-reflection" or finding.cause:
            continue
        assert bool(ADVISED.search(finding.remedy)) <= bool(finding.edits), finding.remedy
        if finding.edits:
            after = evaluate(edited(design, finding.edits, catalog), catalog)
            assert not [f for f in after.findings if f.check == "radio-reflection"]
