"""At a glance, Open points, and the pages of what the buyer and the installer carry."""

import itertools
from pathlib import Path

import pytest

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.book.plan import Plan
from backhaul.book.sheets import page_fit
from backhaul.book.sheets.open_points import _cells, alike
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.checks.groups import few
from backhaul.findings import FAIL, THIN, Finding
from backhaul.spreadsheet.cells import Number, as_cell
from backhaul.spreadsheet.grid import Sheet

DEMO = Path(__file__).parents[2] / "demo"


def table(count: int) -> tuple[Sheet, Part]:
    sheet = Sheet("T", "Title", (60, 60))
    sheet.heading("Long")
    head = sheet.head("A", "B")
    for number in range(count):
        sheet.row(f"row {number}", "x")
    return sheet, Part(2, len(sheet.rows), (head,), range(head + 2, len(sheet.rows) + 1))


def first_words(sheet: Sheet, number: int) -> str:
    cell = sheet.rows[number - 1].cells[0]
    return getattr(cell, "text", cell)


def test_a_long_table_goes_on_under_its_heads():
    sheet, part = table(100)
    flow(sheet, [part])
    assert len(sheet.page_breaks) >= 2
    assert [first_words(sheet, row + 1) for row in sheet.page_breaks] == ["A"] * len(
        sheet.page_breaks
    )
    rows = [first_words(sheet, n) for n in range(1, len(sheet.rows) + 1) if sheet.rows[n - 1].cells]
    assert [word for word in rows if word.startswith("row ")] == [f"row {n}" for n in range(100)]


def test_no_page_takes_more_than_it_has_room_for():
    sheet, part = table(150)
    flow(sheet, [part])
    edges = [0, *sheet.page_breaks, len(sheet.rows)]
    for first, last in itertools.pairwise(edges):
        heights = page_fit.row_heights_pt(sheet, sheet.rows[first:last])
        assert 0 < sum(heights) <= page_fit.page_room_pt(sheet)


@pytest.mark.parametrize(("whole", "breaks"), [(True, 1), (False, 0)])
def test_what_must_stay_whole_begins_a_page(whole, breaks):
    """18 rows after 18: a page holds some 32."""
    sheet, part = table(18)
    first = sheet.next_row
    for number in range(18):
        sheet.row(f"second {number}", "x")
    second = Part(first, len(sheet.rows), (), range(first + 1, len(sheet.rows) + 1), whole)
    flow(sheet, [part, second])
    assert first - 1 in sheet.page_breaks if whole else first - 1 not in sheet.page_breaks


def test_the_same_said_of_many_paths_stands_once():
    many = [
        Finding(
            "poe-power",
            FAIL,
            "nothing feeds it",
            path=f"P{n}",
            paths=(f"P{n}",),
            step=3,
            where=f"segments!F{n}",
        )
        for n in range(60)
    ]
    other = Finding("surge", THIN, "no protector", path="P1", paths=("P1",))
    groups = alike([*many, other])
    assert [len(group) for group in groups] == [60, 1]
    assert few(path for each in groups[0] for path in each.paths) == "P0, P1, P2 and 57 more"


def test_figures_have_the_digits_that_tell_them_apart():
    class Network:
        uses: dict = {}

    class Evaluation:
        network = Network

    def shown(value, limit):
        finding = Finding("c", FAIL, "m", value=value, limit=limit)
        cells = _cells(Plan(Evaluation), [finding], FAIL)  # type: ignore[arg-type]
        return [cell.format for cell in cells if isinstance(cell, Number)]

    assert shown(193.962, None) == ["0"]
    assert shown(13.273, 3.0) == ["0.0", "0"]
    assert shown(60.04, 60.0) == ["0.00", "0"]


@pytest.mark.parametrize("name", ["estuary", "reservoir"])
def test_what_a_path_asks_for_stands_though_nothing_carries_it(name):
    """The demand table is the reference: a path of 110 Mb/s never reads as one that asks nothing."""
    evaluation = evaluate(read_design(DEMO / name))
    sheets = {sheet.name: sheet for sheet in build_book(evaluation).sheets}
    values = {
        getattr(cell, "key", ""): cell
        for row in sheets["At a glance"].rows
        for cell in map(as_cell, row.cells)
    }
    for path, served in evaluation.performance.paths.items():
        if not served.carries_data or not served.has_demand:
            continue
        for way, asked in (("up", served.demand_up_mbps), ("down", served.demand_down_mbps)):
            assert values[f"glance.demand_{way}_mbps.{path}"].value == pytest.approx(asked)
    words = {getattr(cell, "text", "") for cell in values.values()}
    assert not words & {"none"}


def test_a_yes_is_of_parts_that_meet_the_requirements():
    """The answer is about the classes as drawn: what is offered is judged on Requirements."""
    from backhaul.book.sheets.glance_answer import SENTENCES

    assert "of parts that meet Requirements" in SENTENCES["pass"]
