"""Every remedy of every finding is applied here and evaluated: it settles, and nothing is worse.

The designs are those that the checks are tried with, the demos, and random designs with a random
fault; all are invented. What is compared is written here anew, without the search's own functions.
"""

import csv
from pathlib import Path

import compact
import pytest
import strategies
from hypothesis import given, settings

from backhaul.catalog import load_catalog
from backhaul.design.edits import edited
from backhaul.design.read import read_design
from backhaul.evaluation import Evaluation, evaluate
from backhaul.remedies import proof
from backhaul.remedies.proof import NOT_ALONE, NOT_IN_THE_TABLES, NOT_TRIED
from backhaul.remedies.words import sentence
from backhaul.report.record import record

TESTS = Path(__file__).parents[1]
CASES = sorted((TESTS / "cases").glob("*.csv"))
DEMO = TESTS.parent / "demo"
_RANK = {"pass": 0, "thin": 1, "fail": 2}


def standing(evaluation: Evaluation) -> dict[tuple, int]:
    """Check, place and unit of all that fails or is thin, with how bad the worst of them is."""
    found: dict[tuple, int] = {}
    for finding in evaluation.findings:
        key = finding.check, finding.path, finding.step, finding.unit
        found[key] = max(found.get(key, 0), _RANK[finding.verdict])
    return {key: rank for key, rank in found.items() if rank}


#: What could not be judged of a link that had no light.
_OF_LIGHT = ("optical-margin", "receiver-overload", "fiber-reach", "fiber-dispersion")


def was_dark(evaluation: Evaluation, place: tuple) -> bool:
    """Whether a link of light at that place had no level, so that a thin margin is no harm."""
    _, path, step, _ = place
    found = record(evaluation)
    links = next(p["links"] for p in found["paths"] if p["path"] == path)
    return any(
        direction["margin_db"] is None
        for link in links
        if link["kind"] == "optical" and link["first_step"] <= step <= link["last_step"]
        for direction in link["directions"]
    )


def assert_followers_go(evaluation: Evaluation, cause, changed: Evaluation) -> None:
    """What was said to follow is gone with its cause, or follows from something else."""
    alone = {
        (each.check, each.path, each.step, each.unit, each.verdict)
        for each in changed.findings
        if not each.cause
    }
    for each in evaluation.findings:
        if each.cause == cause.id:
            key = each.check, each.path, each.step, each.unit, each.verdict
            assert key not in alone, (cause.message, each.message)


def assert_remedies_hold(evaluation: Evaluation, catalog) -> int:
    """Apply the remedy of each finding to the design as it was; returns how many there were."""
    before = standing(evaluation)
    applied: set[str] = set()
    for finding in evaluation.findings:
        if not finding.edits or repr(finding.edits) in applied:
            continue
        applied.add(repr(finding.edits))
        assert finding.remedy.startswith(sentence(finding.edits))
        changed = evaluate(edited(evaluation.design, finding.edits, catalog), catalog)
        assert_followers_go(evaluation, finding, changed)
        after = standing(changed)
        key = finding.check, finding.path, finding.step, finding.unit
        assert after.get(key, 0) < before[key], (finding.message, finding.remedy, "not settled")
        stopped = evaluation.context.stops  # a dark path had no rate that could be judged
        worse = {
            place: rank
            for place, rank in after.items()
            if rank > before.get(place, 0)
            and not (place[0] in ("path-rate", "path-availability") and place[1] in stopped)
            and not (rank == 1 and place[0] in _OF_LIGHT and was_dark(evaluation, place))
        }
        assert not worse, (finding.message, finding.remedy, worse)
    for finding in evaluation.findings:
        if finding.edits:
            assert not finding.remedy.startswith((NOT_IN_THE_TABLES, NOT_ALONE, NOT_TRIED))
    return len(applied)


def designs(file: Path) -> list[tuple[str, str]]:
    with file.open(newline="", encoding="utf-8") as lines:
        rows = csv.DictReader(lines)
        return list(dict.fromkeys((row["segments"], row["others"]) for row in rows))


@pytest.mark.parametrize("file", CASES, ids=lambda file: file.stem)
def test_remedies_of_the_cases(file, tmp_path):
    catalog = compact.own_catalog()
    for number, (segments, others) in enumerate(designs(file)):
        tables = {"segments": compact.segments(segments)} | dict(compact.other_tables(others))
        design = read_design(compact.write_tables(tmp_path / str(number), tables), catalog)
        assert_remedies_hold(evaluate(design, catalog, remedies=True), catalog)


@pytest.mark.parametrize("name", ["reservoir", "estuary"])
def test_remedies_of_the_demos(name):
    catalog = load_catalog()
    evaluation = evaluate(read_design(DEMO / name, catalog), catalog, remedies=True)
    applied = assert_remedies_hold(evaluation, catalog)
    assert applied >= (8 if name == "estuary" else 0)


@settings(max_examples=15)
@given(strategies.paths())
def test_remedies_of_random_designs(tmp_path_factory, tables):
    catalog = compact.own_catalog()
    folder = compact.write_tables(tmp_path_factory.mktemp("random"), tables)
    design = read_design(folder, catalog)
    assert_remedies_hold(evaluate(design, catalog, remedies=True), catalog)


def test_a_large_design_is_not_tried_without_end(tmp_path, monkeypatch):
    """What is tried is bounded by rows; a finding beyond that says that nothing was tried."""
    monkeypatch.setattr(proof, "ROWS_TRIED", 0)
    catalog = load_catalog()
    design = read_design(DEMO / "estuary", catalog)
    evaluation = evaluate(design, catalog, remedies=True)
    assert not any(finding.edits for finding in evaluation.findings)
    assert any((finding.remedy or "").startswith(NOT_TRIED) for finding in evaluation.findings)
