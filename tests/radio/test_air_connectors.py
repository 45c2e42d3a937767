"""Antennas, and second ones, want a connector on the radio; a built-in antenna leaves none."""

import pytest
from air_rows import ROW

from backhaul.budgets.order_list import order_list
from backhaul.evaluation import evaluate

INT, EXT = "radio-5ghz-he-int", "radio-5ghz-he-ext"
SEA = {"length_m": 5000, "height_m": 30, "to_height_m": 30, "surface": "sea"}
TIDE = {"water_low_m": 0, "water_high_m": 3}


@pytest.mark.parametrize(
    "row, says",
    [
        ({"part": INT, "antenna": "dish-30dbi"}, ["its own antenna of 25 dBi", "dish-30dbi"]),
        ({"part": INT, "antenna": "", "to_antenna": "dish-30dbi"}, ["at far0 has its own"]),
        ({"part": INT, "to_antenna": "dish-30dbi"}, ["at near0 has its own", "at far0 has its"]),
        ({"part": INT, "antenna": "", "diversity_m": 2}, ["built in", "second"]),
        ({"part": INT, "antenna": "", "to_diversity_m": -2}, ["at far0 has no connector"]),
        ({"part": EXT, "antenna": "dish-30dbi", "diversity_m": 2}, ["2 connectors for 2 chains"]),
        ({"part": EXT, "to_part": INT, "to_diversity_m": 2}, ["at far0 has no connector"]),
        ({"part": "any-radio-2", "diversity_m": 2, "to_diversity_m": 2}, ["at near0", "at far0"]),
    ],
)
def test_what_no_connector_takes_fails_once(hops, row, says):
    found = hops({**ROW, **row}).findings("radio-pair", "fail")
    assert len(found) == 1
    assert all(words in found[0]["message"] for words in says)


@pytest.mark.parametrize(
    "row",
    [
        {"part": EXT, "antenna": "dish-30dbi"},
        {"part": INT, "antenna": ""},
        {"part": EXT, "to_part": INT},
        {"part": INT, "antenna": "", "to_part": EXT, "to_antenna": "dish-30dbi"},
        {"diversity_m": 2, "to_diversity_m": 2},
    ],
)
def test_what_a_connector_takes_is_no_finding(hops, row):
    assert hops({**ROW, **row}).findings("radio-pair") == []


@pytest.mark.parametrize("column", ["antenna", "to_antenna"])
def test_the_figures_are_those_of_the_built_in_antenna(hops, column):
    """25 dBi at both ends, whatever is typed: as with nothing typed."""
    bare, typed = (
        hops({**ROW, "part": INT, "antenna": "", column: name}).hop for name in ("", "dish-34dbi")
    )
    for one, other in zip(bare["directions"], typed["directions"], strict=True):
        assert one["received_dbm"] == pytest.approx(other["received_dbm"])
        assert one["eirp_dbm"] == pytest.approx(other["eirp_dbm"])


@pytest.mark.parametrize(
    "row", [{"part": INT, "antenna": ""}, {"part": EXT, "antenna": "dish-30dbi"}]
)
def test_a_second_antenna_without_a_connector_does_not_count(hops, row):
    """It neither takes the fade of the water nor is it counted in multipath."""
    alone, spaced = (hops({**SEA, **row, "to_diversity_m": x}, **TIDE).hop for x in ("", 1.1))
    for one, other in zip(alone["directions"], spaced["directions"], strict=True):
        assert one["reflection_loss_db"] == pytest.approx(other["reflection_loss_db"])
        for mode, second in zip(one["modes"], other["modes"], strict=True):
            assert mode["multipath_outage_percent"] == second["multipath_outage_percent"]


@pytest.mark.parametrize(
    "row, offered",
    [
        ({"part": INT, "antenna": ""}, False),
        ({"part": EXT, "antenna": "dish-30dbi"}, False),
        ({"part": "any-radio"}, True),
    ],
)
def test_a_second_antenna_is_offered_only_where_it_has_a_connector(hops, row, offered):
    """Over 7 m of tide no heights hold at 15 km: what is left are second antennas."""
    sea = {**SEA, **row, "length_m": 15_000, "height_m": 60, "to_height_m": 60}
    found = hops(sea, water_low_m=0, water_high_m=7)
    remedies = [f["remedy"] for f in found.findings("radio-reflection")]
    assert remedies
    assert any("second antenna" in remedy for remedy in remedies) is offered
    assert (found.hop["diversity_spacing_m"] is not None) is offered


def test_two_antennas_are_ordered_where_two_are_mounted(hops):
    found = hops({**ROW, "antenna": "dish-30dbi", "to_diversity_m": 2}).evaluation
    count = {line.part: line.needed for line in order_list(found).lines}
    assert count["dish-30dbi"] == 3


def test_an_antenna_that_cannot_be_fitted_is_not_ordered(hops):
    found = hops({**ROW, "part": INT, "antenna": "dish-30dbi"}).evaluation
    assert "dish-30dbi" not in {line.part for line in order_list(found).lines}


@pytest.mark.parametrize(
    "columns",
    [("antenna",), ("diversity_m",), ("diversity_m", "to_diversity_m"), ("antenna", "diversity_m")],
)
def test_leaving_them_blank_settles_it(hops, catalog, columns):
    """The remedy of each, as edits and in words, clears the cells and nothing else."""
    given = dict.fromkeys(columns, 2) | ({"antenna": "dish-30dbi"} if "antenna" in columns else {})
    design = hops({**ROW, "part": INT, "antenna": "", **given}).evaluation.design
    found = [f for f in evaluate(design, catalog, remedies=True).findings if f.edits]
    assert {edit.column for f in found for edit in f.edits} == set(columns)
    assert all(edit.to is None for f in found for edit in f.edits)
    assert all(f.remedy.startswith("leave ") and "blank" in f.remedy for f in found)
