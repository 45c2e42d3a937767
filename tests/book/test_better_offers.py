"""Offers a step better than ours are taken: a limit keeps out what does not work, nothing better.

What is better is told by the figure itself (less loss, a wider range, a higher class); designs are
the demos and one that holds every wired part.
"""

import csv
from pathlib import Path

import pytest
from our_parts import our_rows
from wired_designs import evaluated_with, everything

from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, IS
from backhaul.budgets.requirements import demands
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate

DEMO = Path(__file__).parents[2] / "demo"
_RANK = {"pass": 0, "thin": 1, "fail": 2}
#: More gain is more power sent, a narrower beam sways: neither is better by itself.
TWO_SIDED = {"gain_dbi", "beamwidth_deg"}
#: Text figures of which only one kind works at all.
OF_ONE_KIND = {
    "form",
    "end_a",
    "receptacle",
    "polish",
    "fiber_mode",
    "mode",
    "family",
    "strands",
    "rate_mbps",
    "core_um",
    "for",
    "supply",
    "output",
    "outdoor",
    "screened",
    "duplex",
    "channel_mhz",
    "",
    "tx_nominal_nm",
    "typical_db",
}
_FILES = {
    "optics": "optics",
    "fibers": "fibers",
    "joints": "joints",
    "devices": "devices",
    "coppers": "copper",
    "feeds": "feeds",
    "protectors": "protectors",
}
#: What a part cannot have the other way round.
_RISING = (
    ("output_min_volts", "output_volts"),
    ("output_volts", "output_max_volts"),
    ("launch_min_dbm", "launch_max_dbm"),
)


@pytest.fixture(scope="module", params=["everything", "reservoir", "estuary"])
def design(request, tmp_path_factory):
    """The design's reader, and its evaluation with the catalogue as it is."""
    if request.param == "everything":
        folder = tmp_path_factory.mktemp("better")
        evaluated_with(folder, design=everything)
        place = folder / "design"
    else:
        place = DEMO / request.param

    def evaluated(*folders):
        catalog = load_catalog(folders)
        return evaluate(read_design(place, catalog), catalog)

    return evaluated, evaluated()


def asked(evaluation):
    """Every line that is to be ordered with each of its limits."""
    for line in order_list(evaluation).lines_by(""):
        for demand in demands(evaluation, line):
            yield line, demand


def better(demand) -> float:
    """Our figure, a step to its better side."""
    step = max(abs(demand.ours) / 100, 0.01)
    return demand.ours + (step if demand.sense == AT_LEAST else -step)


def is_met(demand, figure: float) -> bool:
    return demand._replace(ours=figure).met


def test_a_step_better_in_a_figure_is_never_refused(design):
    _, first = design
    refused, tried = [], 0
    for line, demand in asked(first):
        if demand.met is None or demand.sense not in (AT_LEAST, AT_MOST) or not demand.met:
            continue
        if demand.field in TWO_SIDED:
            continue
        tried += 1
        others = [d for d in demands(first, line) if d.field == demand.field and d.field]
        figure = better(demand)
        if not all(is_met(other, figure) for other in others if other.met):
            refused.append((line.part, demand.text, figure))
    assert tried > 20
    assert refused == []


def improve(row: dict[str, str], figures: dict[str, float]) -> None:
    """A row of a catalogue with better figures, and nothing the other way round."""
    for field, figure in figures.items():
        # whole numbers stay whole: a strand or a conductor more
        whole = field in ("strands", "conductors")
        if row.get(field):
            row[field] = str(int(row[field]) + 1) if whole else repr(round(figure, 6))
    for nm in [name.rpartition("_")[2] for name in row if name.startswith("max_db_km_")]:
        for lower in (f"typical_db_km_{nm}", f"min_db_km_{nm}"):
            if row.get(lower) and row.get(f"max_db_km_{nm}"):
                row[lower] = repr(min(float(row[lower]), float(row[f"max_db_km_{nm}"])))
    for low, high in _RISING:
        if row.get(low) and row.get(high):
            row[high] = max(row[low], row[high], key=float)
    if row.get("typical_db") and row.get("max_db"):
        row["typical_db"] = repr(min(float(row["typical_db"]), float(row["max_db"])))


def test_parts_a_step_better_in_every_figure_work(design, tmp_path):
    evaluated, first = design
    figures: dict[tuple[str, str], dict[str, float]] = {}
    for line, demand in asked(first):
        wanted = demand.met and demand.sense in (AT_LEAST, AT_MOST) and demand.field
        if wanted and line.family in _FILES and demand.field not in TWO_SIDED | {"rates_mbps"}:
            figures.setdefault((line.family, line.part), {})[demand.field] = better(demand)
    for family, file in _FILES.items():
        table = [row for row in our_rows(f"{file}.csv") if (family, row["part"]) in figures]
        for row in table:
            improve(row, figures[family, row["part"]])
        if table:
            with (tmp_path / f"{file}.csv").open("w", encoding="utf-8", newline="") as stream:
                writer = csv.DictWriter(stream, list(table[0]))
                writer.writeheader()
                writer.writerows(table)
    after = evaluated(tmp_path).path_verdicts
    worse = {
        path: word for path, word in after.items() if _RANK[word] > _RANK[first.path_verdicts[path]]
    }
    assert worse == {}


def test_a_higher_class_is_never_refused_in_words(design):
    """A class that has better ones is asked for as "or better", "at least", "or higher"."""
    _, first = design
    for line, demand in asked(first):
        if demand.sense != IS or not isinstance(demand.limit, str):
            continue
        if demand.field == "fiber_class":
            ours = first.catalog.fibers[line.part].fiber_class
            assert ("or better" in demand.limit) == bool(first.catalog.better_classes(ours)), (
                demand.text
            )
        elif "PoE" in demand.what or "PoE load" in demand.limit:
            assert "or lower" in demand.limit or "class" not in demand.limit, demand.text
        else:
            assert demand.field in OF_ONE_KIND or "no part" in demand.limit, demand.text


#: Classes that do all that another does: ISO/IEC 11801-1 (from memory).
BETTER = {
    "OM2": {"OM3", "OM4", "OM5"},
    "OM3": {"OM4", "OM5"},
    "OM4": {"OM5"},
    "OS1": {"OS1a", "OS2"},
    "OS1a": {"OS2"},
}


def test_better_fiber_classes_are_those_of_the_standard():
    catalog = load_catalog()
    found = {name: set(catalog.better_classes(name)) for name in catalog.fiber_classes()}
    assert {name: better for name, better in found.items() if better} == BETTER


@pytest.mark.parametrize("ours", BETTER)
def test_a_better_fiber_class_loses_no_more(ours):
    """ISO/IEC 11801-1: a class does all that the one before it does; so must our cables of it."""
    catalog = load_catalog()

    def most(name):
        found = [part.max_db_km for part in catalog.fibers.values() if part.fiber_class == name]
        return {nm: max(each[nm] for each in found if nm in each) for nm in found[0]}

    for other in catalog.better_classes(ours):
        assert all(most(other)[nm] <= loss for nm, loss in most(ours).items() if nm in most(other))
