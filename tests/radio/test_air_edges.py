"""Hops at the edge of what works: dead ones, ends that stand wrong, lengths that contradict."""

import numpy as np
import pytest
from air_rows import KM, ROW, place

from backhaul.design.edits import edited
from backhaul.evaluation import evaluate
from backhaul.remedies.settling import settle


def test_where_no_mode_has_a_margin_snow_is_no_question(hops):
    """50° N, antennas 1 km under a rain height of 3 km: snow may fall; 60 dB too much loss."""
    high = place(50.0, -3.4, near_latitude=50.0, near_ground_m=2000, far_ground_m=2000)
    found = hops({**ROW, **high, "length_m": None, "frequency_ghz": 11, "extra_loss_db": 90})
    assert found.findings("radio-margin", "fail")


@pytest.mark.parametrize("typed_m", [None, 3000, 29_000, 29_750, 30_250, 31_000])
def test_no_length_typed_makes_a_hop_shorter_than_its_sites_lie_apart(hops, typed_m):
    """30 km of the equator. Free space at 5.8 GHz by hand: 92.45 + 20 log10(5.8 x 30) = 137.26 dB,
    20 dB more for ten times the length; within 1 % what is typed stands."""
    east = 30 / (2 * np.pi * 6378.137) * 360
    site = place(0.0, east, near_latitude=0.0, near_longitude=0.0)
    found = hops({**site, "length_m": typed_m})
    counts = max(typed_m or 0, 30_000) if abs((typed_m or 0) - 30_000) > 300 else typed_m
    loss = 92.45 + 20 * np.log10(5.8 * counts / KM)
    assert found.hop["free_space_loss_db"] == pytest.approx(loss, abs=0.01)
    told = found.findings("run-length", "thin")
    assert bool(told) == (typed_m is not None and abs(typed_m - 30_000) > 300)


def test_a_length_that_is_too_short_says_which_counts(hops):
    east = 30 / (2 * np.pi * 6378.137) * 360
    site = place(0.0, east, near_latitude=0.0, near_longitude=0.0)
    (told,) = hops({**site, "length_m": 3000}).findings("run-length", "thin")
    assert told["message"].endswith("the longer counts")


def test_a_clearance_that_is_not_known_is_no_cause(hops):
    """Without terrain it takes nothing: what fails fails with the ground given, too."""
    row = {"length_m": 5000, "frequency_ghz": 38, "rain_rate_mm_h": 90}
    free = [(0, -50, 0, "land"), (5000, -50, 0, "land")]
    ends = {"near_ground_m": -50, "far_ground_m": -50, "height_m": 70, "to_height_m": 70}
    wanted = {"availability_percent": 99.99, "region": ""}
    for terrain in ({}, {"terrain": free}):
        found = hops({**row, **ends, **terrain}, **wanted)
        (lacks,) = found.findings("path-availability", "fail")
        assert lacks["cause"] is None
        assert bool(found.findings("radio-clearance", "thin")) == (not terrain)


#: A strait of 8 km between shores at 4 m; the second antenna is a dish of 0.6 m as the first is.
STRAIT = {
    "part": "radio-5ghz-he-ext",
    "antenna": "dish-5ghz-0.6m",
    "length_m": 8000,
    "near_ground_m": 4,
    "far_ground_m": 4,
    "terrain": [(0, 4, 0, "land"), (50, -6, 0, "sea"), (7950, 4, 0, "land"), (8000, 4, 0, "land")],
}
TIDE = {"water_low_m": -2, "water_high_m": 2}


@pytest.mark.parametrize("column", ["diversity_m", "to_diversity_m"])
@pytest.mark.parametrize(
    "spacing_m, wrong",
    [
        (-19.9, ""),  # 0.1 m above its ground at 20 m of height
        (-20.1, "below the ground"),
        (-30.0, "below the ground"),
        (-0.59, "overlap"),
        (0.59, "overlap"),
        (0.6, ""),  # rim to rim: half a diameter each
        (5.0, ""),
        (-5.0, ""),
    ],
)
def test_a_second_antenna_stands_where_one_can(hops, column, spacing_m, wrong):
    """As a first one it is above its ground, and two dishes do not stand in one another."""
    found = hops({**STRAIT, "height_m": 20, "to_height_m": 20, column: spacing_m}, **TIDE)
    told = [
        f for f in found.findings("radio-clearance", "fail") if "second antenna" in f["message"]
    ]
    assert len(told) == bool(wrong)
    assert all(wrong in f["message"] and f["where"].endswith(f" {column}") for f in told)


@pytest.mark.parametrize("high_m, wrong", [(7.9, False), (8.1, True)])
def test_a_second_antenna_stands_above_the_highest_water(hops, high_m, wrong):
    """At 4 + 20 - 16 = 8 m, where the water comes over its shore at 4 m."""
    row = {**STRAIT, "height_m": 20, "to_height_m": 20, "diversity_m": -16}
    found = hops(row, water_low_m=-2, water_high_m=high_m)
    told = [
        f for f in found.findings("radio-clearance", "fail") if "second antenna" in f["message"]
    ]
    assert bool(told) == wrong
    assert all("highest water" in f["message"] for f in told)


@pytest.mark.parametrize(
    "high_m, bank_m, flooded",
    [(3.9, 4, False), (4.0, 4, False), (4.1, 4, True), (6, 4, True), (6, 7, False), (6, 5.9, True)],
)
def test_a_site_that_the_highest_water_comes_to_is_told(hops, high_m, bank_m, flooded):
    """Sites at 4 m, a bank of bank_m between them and the sea."""
    bank = [
        (0, 4, 0, "land"),
        (1000, 4, 0, "land"),
        (1050, bank_m, 0, "land"),
        (1100, -6, 0, "sea"),
        (7000, bank_m, 0, "land"),
        (7050, 4, 0, "land"),
        (8000, 4, 0, "land"),
    ]
    row = {**STRAIT, "terrain": bank, "height_m": 30, "to_height_m": 30}
    found = hops(row, water_low_m=-2, water_high_m=high_m).findings("terrain-heights", "thin")
    assert bool(found) == flooded
    assert all("highest water" in f["message"] for f in found)


@pytest.mark.parametrize("spacing_m", [-25.0, 0.3, -0.2])
def test_a_second_antenna_that_stands_wrong_has_a_remedy_that_holds(hops, catalog, spacing_m):
    row = {**STRAIT, "height_m": 20, "to_height_m": 20, "diversity_m": spacing_m}
    design = hops(row, **TIDE).evaluation.design
    (told,) = failing_antennas(evaluate(design, catalog, remedies=True))
    assert told.edits
    assert failing_antennas(evaluate(edited(design, told.edits, catalog), catalog)) == []


def failing_antennas(evaluation):
    return [f for f in evaluation.findings if f.check == "radio-clearance" and f.severity == "fail"]


def levels(*points):
    return [(distance, ground, cover, "land") for distance, ground, cover in points]


#: 8 km of even ground at 100 m.
EVEN = {
    "part": "radio-5ghz-he-ext",
    "antenna": "dish-5ghz-0.6m",
    "tx_power_dbm": 10,
    "length_m": 8000,
    "near_ground_m": 100,
    "far_ground_m": 100,
    "height_m": 20,
    "to_height_m": 20,
    "terrain": levels((0, 100, 0), (8000, 100, 0)),
}


@pytest.mark.parametrize("end", ["near", "far", "both"])
def test_a_profile_on_another_datum_is_the_cause_and_nothing_is_raised(hops, catalog, end):
    """Sites at 2 m under a profile at 100 m: heights above what, nobody can say."""
    low = {f"{one}_ground_m": 2 for one in ("near", "far") if end in (one, "both")}
    design = hops({**EVEN, **low}).evaluation.design
    before = evaluate(design, catalog, remedies=True)
    datum = [f for f in before.findings if f.check == "terrain-heights"]
    (clearance,) = failing_antennas(before)
    assert clearance.cause in {f.id for f in datum} and not clearance.edits
    assert "datum" in clearance.remedy
    settled = settle(design, lambda each: evaluate(each, catalog))
    assert not [edit for edit in settled.edits if edit.column in ("height_m", "to_height_m")]


@pytest.mark.parametrize("off_m, follows", [(1.9, False), (2.1, True)])
def test_a_clearance_follows_from_heights_only_where_they_disagree(hops, off_m, follows):
    """A wall of 60 m in the middle blocks either way."""
    wall = levels((0, 100 + off_m, 0), (4000, 100, 60), (4050, 100, 0), (8000, 100, 0))
    (clearance,) = hops({**EVEN, "terrain": wall}).findings("radio-clearance", "fail")
    assert (clearance["cause"] or "").startswith("terrain-heights") == follows


@pytest.mark.parametrize("at_m, raised", [(40, "height_m"), (7960, "to_height_m"), (4000, None)])
def test_the_end_beside_the_obstacle_is_raised_alone_and_enough(hops, catalog, at_m, raised):
    """Trees of 40 m. Beside an end the far one gains nothing; half way both gain the same."""
    trees = levels((0, 100, 0), (at_m - 30, 100, 40), (at_m + 30, 100, 0), (8000, 100, 0))
    design = hops({**EVEN, "terrain": trees}).evaluation.design
    settled = settle(design, lambda each: evaluate(each, catalog))
    moved = {edit.column for edit in settled.edits}
    assert moved == {raised} if raised else moved
    assert not [f for f in settled.after.findings if f.check == "radio-clearance"]
