"""What check proposes and what settle does, fault by fault: the change that a senior would write.

Designs are invented; why the change is right stands with each. Costs are those of the catalogue.
"""

import csv
from pathlib import Path

import compact
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.edits import edited
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import FAIL
from backhaul.remedies.settling import settle
from backhaul.remedies.words import sentence

CATALOG = load_catalog()
with (Path(__file__).parent / "what_settles.csv").open(encoding="utf-8", newline="") as lines:
    CASES = {row["case"]: row for row in csv.DictReader(lines)}


def design_of(folder: Path, row: dict[str, str]):
    tables = {"segments": compact.segments(row["segments"]), **compact.other_tables(row["others"])}
    compact.write_tables(folder, tables)
    return read_design(folder, CATALOG)


@pytest.mark.parametrize("name", CASES)
def test_proposed_and_settled(name, tmp_path):
    row = CASES[name]
    design = design_of(tmp_path, row)
    before = evaluate(design, CATALOG, remedies=True)
    found = [each for each in before.findings if each.check == row["check"] and not each.cause]
    assert found
    assert row["remedy"] in (found[0].remedy or ""), found[0].remedy
    settled = settle(design, lambda each: evaluate(each, CATALOG))
    assert row["remedy"] in sentence(settled.edits)
    assert not [each for each in settled.after.findings if each.verdict == FAIL]
    assert settled.after.verdict == row["settled"], sentence(settled.edits)
    assert settle(settled.design, lambda each: evaluate(each, CATALOG)).edits == ()


def not_known(results) -> set[tuple]:
    """Findings that say that a figure cannot be had."""
    return {
        (each.check, each.path, each.step)
        for each in results.findings
        if each.unit is not None and each.value is None and each.verdict != "pass"
    }


@pytest.mark.parametrize("name", [name for name in CASES if "radio-" in CASES[name]["segments"]])
def test_no_change_takes_a_figure_away(name, tmp_path):
    """A fault is not settled by what can no longer be judged: a terminal without an antenna."""
    design = design_of(tmp_path, CASES[name])
    before = evaluate(design, CATALOG, remedies=True)
    settled = settle(design, lambda each: evaluate(each, CATALOG))
    assert not_known(settled.after) <= not_known(before)
    for finding in before.findings:
        if finding.edits:
            after = evaluate(edited(design, finding.edits, CATALOG), CATALOG)
            assert not_known(after) <= not_known(before)
