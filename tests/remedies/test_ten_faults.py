"""Designs of ten faults each: one run of settle leaves nothing that fails; stopping it keeps what
was found. The faults are slips of the trade put into the demo; parts are classes, all invented.
"""

import csv
from pathlib import Path

import pytest

from backhaul.api import load_catalog, read_design, settle
from backhaul.design.edits import edited
from backhaul.evaluation import evaluate
from backhaul.findings import FAIL
from backhaul.remedies.tolerance import TOLERANCES, varied

HERE = Path(__file__).parent
DEMO = HERE.parents[1] / "demo"
CATALOG = load_catalog()
with (HERE / "ten_faults.csv").open(encoding="utf-8") as lines:
    FAULTS = list(csv.DictReader(lines))


def faulty(name: str):
    design = read_design(DEMO / "reservoir", CATALOG)
    for fault in (fault for fault in FAULTS if fault["design"] == name):
        to: object = fault["to"]
        if fault["column"] == "strand":
            to = tuple(fault["to"].split("/"))
        elif fault["column"] in ("frequency_ghz", "tx_power_dbm"):
            to = float(fault["to"])
        place = fault["path"], float(fault["step"])
        design = design.changed(*place, CATALOG, **{fault["column"]: to})
    return design


def fails(results) -> int:
    return sum(finding.verdict == FAIL for finding in results.findings)


@pytest.mark.parametrize("name", dict.fromkeys(fault["design"] for fault in FAULTS))
def test_ten_faults_are_settled_in_one_run(name):
    design = faulty(name)
    assert sum(fault["design"] == name for fault in FAULTS) == 10
    settled = settle(design, CATALOG)
    assert fails(settled.before) >= 5
    assert not settled.unsettled
    again = evaluate(edited(design, settled.edits, CATALOG), CATALOG)
    assert fails(again) == 0
    assert again.path_verdicts == settled.after.path_verdicts
    cells = [edit.cell for edit in settled.edits]
    assert len(cells) == len(set(cells)), "a cell is changed once"
    for edit in settled.edits:
        fewer = [each for each in settled.edits if each is not edit]
        assert fails(evaluate(edited(design, fewer, CATALOG), CATALOG)), (edit, "is needless")


def test_what_is_found_is_kept_when_stopped():
    design = faulty("the wrong shelf")
    begun = []

    def stop_at_the_second(stage, left):
        begun.append(left)
        if len(begun) == 2:
            raise KeyboardInterrupt

    settled = settle(design, CATALOG, progress=stop_at_the_second)
    assert settled.interrupted
    assert settled.edits
    assert 0 < fails(settled.after) < fails(settled.before)
    assert "not searched yet" in {why for _, why in settled.unsettled}
    assert begun == sorted(begun, reverse=True), "the bar is told what is left"


LOW_HOP = {"height_m": 1.0, "to_height_m": 1.0, "tx_power_dbm": 40.0}
STEP_M, BESIDE_M = 0.1, 0.3


def test_heights_and_powers_are_not_set_exactly():
    """What is offered holds at 0.3 m and at 1 % of the power beside it."""
    design = read_design(DEMO / "reservoir", CATALOG).changed("tower", 15, CATALOG, **LOW_HOP)
    settled = settle(design, CATALOG)
    assert fails(settled.before)
    assert not fails(settled.after)
    assert {edit.column for edit in settled.edits} == {"height_m", "tx_power_dbm"}
    assert {edit.column for edit in settled.edits} <= set(TOLERANCES)
    tried = list(varied(settled.edits))
    assert len(tried) == 4
    for edits in tried:
        assert not fails(evaluate(edited(design, edits, CATALOG), CATALOG))


def test_a_height_is_that_of_a_fine_grid():
    """The least height in steps of 0.1 m that holds when it is mounted 0.3 m too low."""
    design = read_design(DEMO / "reservoir", CATALOG).changed("tower", 15, CATALOG, **LOW_HOP)
    settled = settle(design, CATALOG)
    offered = next(edit.to for edit in settled.edits if edit.column == "height_m")
    power = next(edit.to for edit in settled.edits if edit.column == "tx_power_dbm")

    def holds(height_m: float) -> bool:
        at = design.changed("tower", 15, CATALOG, height_m=height_m, tx_power_dbm=power)
        return not fails(evaluate(at, CATALOG))

    least = next(number * STEP_M for number in range(10, 40) if holds(number * STEP_M - BESIDE_M))
    assert abs(offered - least) < STEP_M + 1e-6
