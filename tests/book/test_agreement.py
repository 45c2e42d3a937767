"""One voice: terminal, JSON and the recalculated workbook give one verdict for one thing.

Every design of the demos and of `tests/designs`, and of the cases one in so many
(`THOROUGH=1` takes all).
"""

import csv
import sys
from pathlib import Path

import pytest
from all_designs import DESIGNS

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import agreement`

import agreement
import compact
from thorough import one_in

import backhaul.api

ROOT = Path(__file__).parents[2]
#: One of so many cases by default.
ONE_IN = 24


def cases() -> list:
    """Rows of all case files, each design once."""
    found: dict[tuple[str, str], str] = {}
    for file in sorted((ROOT / "tests" / "cases").glob("*.csv")):
        with file.open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                key = (row["segments"], row["others"])
                found.setdefault(key, f"{file.stem}: {row['case']}")
    rows = one_in(ONE_IN, list(found.items()))
    return [pytest.param(*key, id=name) for key, name in rows]


def disagreements(evaluation) -> list[agreement.Said]:
    book = agreement.Recalculated(evaluation)
    return [
        said
        for said in (*agreement.verdicts(evaluation, book), *agreement.links(evaluation, book))
        if said.book != said.json or said.terminal not in (None, said.json)
    ]


@pytest.mark.parametrize("design", DESIGNS, ids=lambda path: path.name)
def test_designs_are_told_with_one_voice(design):
    assert disagreements(backhaul.api.evaluate(backhaul.api.read_design(design))) == []


@pytest.mark.parametrize(("segments", "others"), cases())
def test_cases_are_told_with_one_voice(segments, others, tmp_path):
    assert disagreements(compact.run(tmp_path, segments, others)) == []


def test_a_wrong_word_is_caught(tmp_path):
    """The negative control: a finding that the book does not know is a disagreement."""
    evaluation = compact.run(tmp_path, "device t-switch | copper t-cat5e 20m | device t-switch")
    book = agreement.Recalculated(evaluation)
    told = list(agreement.verdicts(evaluation, book))
    assert told and all(said.book == said.json for said in told)
    worse = compact.run(tmp_path / "b", "device t-switch | copper t-cat5e 150m | device t-switch")
    assert any(said.book != said.json for said in agreement.verdicts(worse, book))
