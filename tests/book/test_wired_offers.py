"""Offers for wired parts: what meets every limit, all at once at their edge, works when evaluated."""

import csv
import random
from pathlib import Path

import pytest
from test_optical_offers import offers, on_the_edge
from wired_designs import CATALOGS, evaluated_with, everything

from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import AT_LEAST, AT_MOST
from backhaul.budgets.requirements import demands
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

_FILES = {"devices": "devices", "coppers": "copper", "feeds": "feeds", "protectors": "protectors"}
#: Figures of a load that its port may state in its part's place.
_AT_THE_PORT = {"watts": "watts", "supply_min_volts": "min_volts", "supply_max_volts": "max_volts"}
_RANK = {"pass": 0, "thin": 1, "fail": 2}
DEMO = Path(__file__).parents[2] / "demo"


def limits_of(evaluation) -> dict[tuple[str, str], dict[str, float]]:
    """Numeric limits by family and part, the strictest of several lines of one part."""
    found: dict[tuple[str, str], dict[str, float]] = {}
    for line in order_list(evaluation).lines_by(""):
        if line.family not in _FILES:
            continue
        for demand in demands(evaluation, line):
            if demand.sense not in (AT_LEAST, AT_MOST) or not demand.field:
                continue
            if isinstance(demand.limit, str) or demand.field in ("category", "rates_mbps"):
                continue
            limits = found.setdefault((line.family, line.part), {})
            choose = max if demand.sense == AT_LEAST else min
            limits[demand.field] = choose(limits.get(demand.field, demand.limit), demand.limit)
    return found


def offered(folder: Path, limits) -> Path:
    """A catalogue in which each part has just what is asked of it."""
    folder.mkdir(parents=True, exist_ok=True)
    for family, file in _FILES.items():
        changed = []
        with (CATALOGS / f"{file}.csv").open(encoding="utf-8", newline="") as stream:
            for row in csv.DictReader(stream):
                asked = limits.get((family, row["part"]), {})
                row.update({name: repr(value) for name, value in asked.items() if row.get(name)})
                if asked:
                    changed.append(row)
        _write(folder / f"{file}.csv", changed)
    ports = []
    with (CATALOGS / "ports.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            asked = limits.get(("devices", row["part"]))
            if asked is None:
                continue
            for name, column in _AT_THE_PORT.items():
                if row["poe"] == "load" and name in asked and row[column]:
                    row[column] = repr(asked[name])
            ports.append(row)
    _write(folder / "ports.csv", ports)
    return folder


def _write(file: Path, table) -> None:
    if table:
        with file.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, list(table[0]))
            writer.writeheader()
            writer.writerows(table)


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


@pytest.mark.parametrize("demo", ["reservoir", "estuary"])
def test_offers_at_the_edge_work_with_those_of_light(demo, tmp_path):
    """Every line of glass, copper, feeds and devices of a demo on its limits, all at once."""
    place, catalog = DEMO / demo, load_catalog(())
    first = evaluate(read_design(place, catalog), catalog)
    wired = offered(tmp_path / "wired", limits_of(first))
    light = tmp_path / "light"
    light.mkdir()
    folders = (wired, *offers(light, first, on_the_edge, met=True))
    own = load_catalog(folders)
    after = evaluate(read_design(place, own), own)
    words = {path: _RANK[word] for path, word in after.path_verdicts.items()}
    assert {path: rank for path, rank in words.items() if rank > ranks(first)[path]} == {}


def test_ours_meet_their_own_limits(design):
    """Where a part's lines pass, it meets all that is asked of it."""
    first, _ = design
    for line in order_list(first).lines_by(""):
        if line.family not in _FILES:
            continue
        paths = {path for place in line.places for path in place.paths}
        if all(first.path_verdicts[path] == "pass" for path in paths):
            assert all(demand.met is not False for demand in demands(first, line)), line.part
