"""Light, Air, Copper and supply on the designs that the checks are tried with.

They hold what a designer meets: missing figures, no common wavelength, lines without a solution,
hops without terrain. Every book must build, its words must be those of the findings, and a second
engine must compute its figures from a copy whose stored values are wrong.
"""

import csv
import importlib
import sys
from pathlib import Path

import book_formulas
import pytest
import recalculation

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact
from small_designs import Typed
from thorough import one_in

from backhaul.book.plan import Plan

CASES = Path(__file__).parents[1] / "cases"
#: Checks whose designs differ most in what these sheets show.
RECALCULATED = (
    "copper-rate",
    "copper-reach",
    "feed-drop",
    "feed-power",
    "fiber-dispersion",
    "optical-margin",
    "optics-wavelength",
    "poe-budget",
    "poe-power",
    "radio-clearance",
    "radio-margin",
    "radio-overload",
    "radio-pair",
    "receiver-overload",
)


def link_words(evaluation) -> list[tuple[str, str, str]]:
    """Every link: its name, the word on its sheet, the word of its findings."""
    plan = Plan(evaluation)
    for name in ("optical_links", "radio_hops", "copper_and_supply"):
        importlib.import_module(f"backhaul.book.sheets.{name}").build(plan)
    return [
        (repr(link), plan.link_verdicts[link.key][1], evaluation.link_verdict(link))
        for links in evaluation.network.links.values()
        for link in links
    ]


def designs(file: Path) -> list[tuple[str, str]]:
    with file.open(newline="", encoding="utf-8") as lines:
        rows = csv.DictReader(lines)
        return list(dict.fromkeys((row["segments"], row["others"]) for row in rows))


@pytest.mark.parametrize("file", sorted(CASES.glob("*.csv")), ids=lambda file: file.stem)
def test_words_are_those_of_the_findings(file, tmp_path):
    first, *others_of_file = designs(file)
    for number, (segments, others) in enumerate([first, *one_in(4, others_of_file)]):
        evaluation = compact.run(tmp_path / str(number), segments, others)
        for link, shown, found in link_words(evaluation):
            assert shown == found, (segments, link)


@pytest.mark.parametrize("check", RECALCULATED)
def test_a_second_engine_agrees(check, tmp_path):
    for number, (segments, others) in enumerate(designs(CASES / f"{check}.csv")[:2]):
        evaluation = compact.run(tmp_path / str(number), segments, others)
        if not any(evaluation.network.links.values()):
            continue
        data = Typed(evaluation, "optical_links", "radio_hops", "copper_and_supply", "inputs").data
        assert not recalculation.compare(data), segments
        assert not book_formulas.blanks(data), segments
        assert not book_formulas.empty_references(data), segments
        assert not book_formulas.unsafe_functions(data), segments
