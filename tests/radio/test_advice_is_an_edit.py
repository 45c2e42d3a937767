"""What works when it is applied is an edit: heights that the reflection advises are none by hand."""

import re

import pytest
from air_rows import KM

from backhaul.design.edits import edited
from backhaul.evaluation import evaluate

TIDE = {"water_low_m": -2, "water_high_m": 2}
ADVISED = re.compile(r"(?:raise|lower) the antenna at \S+ by")
SHORT = {
    "part": "radio-60ghz-sc-int",
    "antenna": None,
    "frequency_ghz": 65.0,
    "channel_mhz": 2160,
    "polarization": "V",
}
NARROW = {
    "part": "radio-18ghz-low",
    "to_part": "radio-18ghz-high",
    "antenna": "dish-18ghz-1.8m",
    "frequency_ghz": 17.9,
    "to_frequency_ghz": 18.91,
    "channel_mhz": 28,
    "polarization": "V",
    "tx_power_dbm": -5,
}
WIDE = {
    "part": "radio-5ghz-he-ext",
    "antenna": "dish-5ghz-1.8m",
    "frequency_ghz": 5.58,
    "channel_mhz": 20,
    "polarization": "VH",
    "tx_power_dbm": -8,
}


@pytest.mark.parametrize(
    "row, length_km, height_m",
    [
        (SHORT, 1.2, 5),
        (NARROW, 12, 40),  # mounted a little off it still holds, twice that off no more
        (NARROW, 10, 40),
        (WIDE, 5, 60),  # holds as it stands, a little off no more
        (WIDE, 6, 60),
        (WIDE, 9, 40),
    ],
)
def test_heights_that_hold_the_reflection_are_edits(hops, catalog, row, length_km, height_m):
    """A height is proposed with its edits, or none is named at all."""
    length_m = length_km * KM
    strait = [
        (0, 4, 0, "land"),
        (50, -6, 0, "sea"),
        (length_m - 50, -6, 0, "land"),
        (length_m, 4, 0, "land"),
    ]
    ends = {"near_ground_m": 4, "far_ground_m": 4, "height_m": height_m, "to_height_m": height_m}
    given = {**row, **ends, "length_m": length_m, "terrain": strait}
    design = hops(given, **TIDE, region="").evaluation.design
    before = evaluate(design, catalog, remedies=True)
    for finding in before.findings:
        if finding.check != "radio-reflection" or finding.cause:
            continue
        assert "choose heights" not in finding.remedy
        assert bool(ADVISED.search(finding.remedy)) <= bool(finding.edits), finding.remedy
        if finding.edits:
            after = evaluate(edited(design, finding.edits, catalog), catalog)
            assert not [f for f in after.findings if f.check == "radio-reflection"]
