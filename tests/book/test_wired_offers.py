"""Offers for wired parts: what meets every limit, all at once at their edge, works when evaluated."""

import random
from pathlib import Path

import pytest
from edge_offers import FILES, limits_of, offered
from wired_designs import evaluated_with, everything

from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirements import demands
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

_RANK = {"pass": 0, "thin": 1, "fail": 2}
DEMO = Path(__file__).parents[2] / "demo"


def ranks(evaluation) -> dict:
    links = (*evaluation.network.links["copper"], *evaluation.network.links["feed"])
    found = {str(link): _RANK[evaluation.link_verdict(link)] for link in links}
    return found | {path: _RANK[word] for path, word in evaluation.path_verdicts.items()}


@pytest.fixture(scope="module", params=["everything", "reservoir", "estuary"])
def design(request, tmp_path_factory):
    """A design's evaluation, and a function that evaluates it with another catalogue."""
    if request.param == "everything":
        folder = tmp_path_factory.mktemp("offers")
        first = evaluated_with(folder, design=everything)
        place = folder / "design"
    else:
        place = DEMO / request.param
        catalog = load_catalog(())
        first = evaluate(read_design(place, catalog), catalog)

    def again(folder):
        catalog = load_catalog((folder,))
        return evaluate(read_design(place, catalog), catalog)

    return first, again


@pytest.mark.parametrize("seed", range(6))
def test_offers_at_the_edge_work(design, seed, tmp_path):
    first, again = design
    limits = limits_of(first)
    chooser = random.Random(seed)
    if seed:
        limits = {
            key: {name: value for name, value in asked.items() if chooser.random() < 0.6}
            for key, asked in limits.items()
        }
    before, after = ranks(first), ranks(again(offered(tmp_path / "offers", limits)))
    assert {key: after[key] for key in before if after[key] > before[key]} == {}


def test_ours_meet_their_own_limits(design):
    """Where a part's lines pass, it meets all that is asked of it."""
    first, _ = design
    for line in order_list(first).lines_by(""):
        if line.family not in FILES:
            continue
        paths = {path for place in line.places for path in place.paths}
        if all(first.path_verdicts[path] == "pass" for path in paths):
            assert all(demand.met is not False for demand in demands(first, line)), line.part
