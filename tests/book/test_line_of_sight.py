"""What a signatory asks of a sheet: who answers for it, where a figure comes from and leads to."""

from pathlib import Path

import pytest

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.book.line_of_sight import how_cell
from backhaul.budgets.methods_in_use import methods_in_use, why_several_editions
from backhaul.spreadsheet.cells import Calc, Head, Input, Link, Text, as_cell
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.styles import role_of

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module", params=["reservoir", "estuary"])
def made(request):
    evaluation = evaluate(read_design(DEMO / request.param))
    return evaluation, build_book(evaluation)


def _cells(sheet):
    return [cell for row in sheet.rows for cell in row.cells if not isinstance(cell, str)]


def test_every_sheet_says_who_answers_for_it(made):
    evaluation, book = made
    project = evaluation.design.project
    for sheet in book.sheets:
        said = "\n".join(cell.text for cell in _cells(sheet) if isinstance(cell, Text))
        assert f"revision {project.revision}" in said, sheet.name
        assert project.status in said and f"prepared by {project.prepared_by}" in said, sheet.name


def test_what_comes_from_inputs_leads_there_and_back(made):
    _, book = made
    layout = Layout(book)
    inputs = next(sheet for sheet in book.sheets if sheet.name == "Inputs")
    number = layout.numbers["Inputs"]
    yellow = {number, layout.numbers["Alternatives"]}  # there stands what is in use of a part
    for name in ("Optical links", "Radio hops", "Copper and supply"):
        sheet = next(sheet for sheet in book.sheets if sheet.name == name)
        ways = [c for c in _cells(sheet) if isinstance(c, Link) and "Inputs" in c.text]
        assert len(ways) > 5
        assert all(layout.spots[way.to].sheet in yellow for way in ways), name
    given = sum(isinstance(cell, Input) for cell in _cells(inputs))
    back = [c for c in _cells(inputs) if isinstance(c, Link) and c.style == "link plain"]
    assert all(layout.spots[way.to].sheet != number for way in back)
    assert len(back) >= 0.6 * given


def test_every_table_of_copper_and_supply_says_how(made):
    """Under or beside the heads of each table stands how its figures come about."""
    _, book = made
    sheet = next(sheet for sheet in book.sheets if sheet.name == "Copper and supply")
    words = [[str(getattr(cell, "text", cell)) for cell in row.cells] for row in sheet.rows]
    for table in ("Copper drop", "PoE drop", "Load", "Part"):
        head = next(
            n
            for n, row in enumerate(sheet.rows)
            if row.cells and isinstance(row.cells[0], Head) and words[n][0] == table
        )
        columns = [n for n, word in enumerate(words[head]) if word]
        assert words[head + 1][0] == "How", table
        told = [n for n in columns[1:] if words[head + 1][n]]
        assert len(told) >= len(columns) - 3, table  # what names a thing needs no formula
    for table in ("Feed", "Source"):
        heads = [
            said
            for said, row in zip(words, sheet.rows, strict=True)
            if said and said[0] == table and "head" in role_of(as_cell(row.cells[0]), row.style)
        ]
        assert heads and all("How" in row for row in heads), table


def test_a_figure_without_an_input_leads_nowhere():
    assert how_cell("Inputs", Calc("a", "{b}+1", 2.0)) == Text("Inputs", "text small", 1)
    assert how_cell("Inputs", Calc("a", "{given.row.3.count}", 2.0)).to == "given.row.3.count"


def test_several_editions_of_one_document_are_explained(made):
    evaluation, book = made
    editions = {
        method.edition.split()[0]
        for method in methods_in_use(evaluation)
        if method.document == "ITU-R P.530"
    }
    assert len(editions) > 1
    why = why_several_editions(evaluation)
    assert all(edition in why for edition in editions)
    basis = next(sheet for sheet in book.sheets if sheet.name == "Basis")
    assert any(getattr(cell, "text", "") == why for cell in _cells(basis))
    subjects = [method.subject for method in methods_in_use(evaluation)]
    assert "multipath, with log K and dN75" not in subjects  # no site of the demos gives them


def test_no_chart_of_a_hop_is_flat(made):
    """The outage chart stands only where a mode is out for longer than its axis begins."""
    evaluation, book = made
    sheet = next(sheet for sheet in book.sheets if sheet.name == "Radio hops")
    outage = any(placed.chart.title.startswith("Outage") for placed in sheet.charts)
    minutes = evaluation.radio.modes["outage_minutes"]
    assert outage == bool((minutes > 0.1).any())


def test_bars_show_the_mode_in_use_and_the_verdict_of_the_link(made):
    evaluation, book = made
    layout = Layout(book)
    helpers = [
        cell
        for sheet in book.sheets
        if sheet.name in ("At a glance", "Open points")  # where the chart finds room
        for _, _, cell in sheet.helpers
    ]
    verdicts = {cell.key: cell for cell in helpers if "glance.margin." in getattr(cell, "key", "")}
    assert verdicts
    for cell in verdicts.values():
        key = cell.formula.strip("{}")
        assert key.endswith(".verdict") and key in layout.spots
    formulas = "".join(getattr(cell, "formula", "") for cell in helpers)
    assert ("margin_in_use_db" in formulas) == bool(evaluation.network.links["radio"])
    assert "best_margin_db" not in formulas
