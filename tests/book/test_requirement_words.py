"""What Requirements says to a buyer: nothing that no part can meet, each item named, words whole."""

import re
from collections import Counter
from pathlib import Path

import pytest

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.budgets.order_lines import item_numbers
from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import SETTLE_FIRST
from backhaul.budgets.requirements import demands
from backhaul.spreadsheet.cells import Text, as_cell

DEMO = Path(__file__).parents[2] / "demo"
#: Least voltage at a load of a class [V]: IEEE 802.3 clauses 33.3 and 145.3 (from memory).
LEAST_V = {"camera-class4": 42.5, "camera-class3-marine": 37.0, "camera-class8": 41.1}


@pytest.fixture(scope="module", params=["estuary", "reservoir"])
def evaluation(request):
    return evaluate(read_design(DEMO / request.param))


@pytest.fixture(scope="module")
def wanted(evaluation):
    lines = order_list(evaluation).lines_by("")
    return {line.part: demands(evaluation, line) for line in lines if line.family}


def of(wanted, part: str, what: str):
    return next(demand for demand in wanted[part] if demand.what == what)


def test_no_range_runs_backwards(wanted):
    ranges = [
        tuple(map(float, found))
        for each in wanted.values()
        for demand in each
        for found in re.findall(r"([\d.]+) to ([\d.]+) [nG]", demand.text)
    ]
    assert ranges and all(low <= high for low, high in ranges)


def test_one_name_is_one_figure_of_an_item(wanted):
    """What works down to 42.5 and to -8 is two things: volts and degrees."""
    for each in wanted.values():
        units = {(demand.what, demand.unit) for demand in each if demand.unit}
        assert max(Counter(what for what, _ in units).values(), default=1) == 1


def test_no_level_is_asked_for_that_the_band_forbids(evaluation, wanted):
    """47 dBm where 30 is allowed goes to no supplier; where the band allows what is set, it does."""
    failing = {f.rows[0] for f in evaluation.findings if f.check == "radio-eirp"}
    parts = {
        row.part: row.id in failing for row in evaluation.design.segments if row.part in wanted
    }
    radios = {part for part in wanted if part in evaluation.catalog.radios}
    assert radios
    for part in radios:
        assert (of(wanted, part, "EIRP, set on site").limit == SETTLE_FIRST) == parts[part]


def test_a_load_of_a_class_works_from_what_its_class_lets_arrive(wanted):
    found = LEAST_V.keys() & wanted.keys()
    assert found
    for part in found:
        assert of(wanted, part, "supply voltage down to").limit == LEAST_V[part]


def test_a_jacket_that_the_named_class_has_not_says_so(evaluation, wanted):
    for part, each in wanted.items():
        for demand in each:
            if demand.what == "jacket":
                named = {**evaluation.catalog.fibers, **evaluation.catalog.coppers}.get(part)
                if named is not None:
                    assert ("not that of the class named" in demand.limit) != bool(named.outdoor)


def test_each_item_is_named_once_and_settled_things_together(evaluation):
    sheet = next(s for s in build_book(evaluation).sheets if s.name == "Requirements")
    cells = [list(map(as_cell, row.cells)) for row in sheet.rows]
    named = [
        item
        for row in cells
        if row and isinstance(row[0], Text) and row[0].key.startswith("req.")
        for item in row[0].text.split(", ")
    ]
    [rest] = [
        cell.text
        for row in cells
        for cell in row
        if isinstance(cell, Text) and cell.text.startswith("As Order list describes")
    ]
    named += rest.rpartition(": ")[2].rstrip(".").split(", ")
    lines = order_list(evaluation).lines_by("")
    assert Counter(named) == Counter(item_numbers(lines))
    for row in cells:
        for cell in row:
            if isinstance(cell, Text):
                assert cell.text.count(SETTLE_FIRST) <= 1
