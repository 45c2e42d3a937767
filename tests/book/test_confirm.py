"""What to confirm first: a figure moved as far as is said turns its verdict, a little less does not.

The reference is our own evaluation with a catalogue in which only that figure is another. Spreads are
common practice; the designs are invented.
"""

import json
from pathlib import Path

import pytest
from small_designs import LIGHT, changed_catalog, evaluated, rows
from typed_books import LiveBook, read
from typer.testing import CliRunner

from backhaul.budgets.confirm import confirm_first
from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import SETTLE_FIRST
from backhaul.budgets.requirements import demands
from backhaul.cli import app
from backhaul.figures.spreads import BY_BASIS, spread_of
from backhaul.report.order_csv import order_csv
from backhaul.spreadsheet.charts import BarsChart

DEMO = Path(__file__).parents[2] / "demo"
PAIR = [line for line in LIGHT if "splice" not in line and "cord" not in line]
DESIGNS = {"spliced": list(LIGHT), "a cable and its plugs": PAIR}


def margin_of(evaluation, one) -> float:
    """The margin that a figure may turn, in another evaluation."""
    _, place, on, _ = one.margin.cell
    return float(evaluation.optical.values[on][place])


@pytest.mark.parametrize("name", DESIGNS)
def test_a_verdict_turns_where_it_is_said(tmp_path, name):
    design = rows("p", *DESIGNS[name])
    base = evaluated(tmp_path / "d", design)
    found = [
        one
        for one in confirm_first(base)
        if one.margin.cell[0] == "light" and one.figure.family == "optics"
    ]
    assert found
    for number, one in enumerate(found):
        figure, edge = one.figure, min(one.margin.edges, key=lambda e: abs(one.margin.value - e))
        side = margin_of(base, one) > edge
        for share, turned in ((0.98, False), (1.02, True)):
            towards = -1 if side == (one.slope > 0) else 1
            value = figure.value + towards * share * one.move
            own = changed_catalog(
                tmp_path / f"c{number}{turned}",
                figure.family,
                figure.name,
                **{figure.column: value},
            )
            changed = evaluated(tmp_path / "d", design, catalogs=(own,))
            assert (margin_of(changed, one) > edge) == (side != turned), figure.label


def test_the_likeliest_stands_first():
    found = confirm_first(read(DEMO / "estuary"))
    assert [one.reserve for one in found] == sorted(one.reserve for one in found)
    chances = [one.chance for one in found]
    assert chances == sorted(chances, reverse=True) and 0 < chances[0] <= 0.5
    parts = [(one.figure.family, one.figure.name) for one in found]
    assert len(parts) == len(set(parts))


def test_a_data_sheet_is_the_surest():
    for unit, value in (("dBm", -20.0), ("W", 40.0), ("dB", 5.0)):
        sheet = spread_of("data sheet", unit, value)
        assert all(spread_of(basis, unit, value) >= sheet for basis in BY_BASIS)


def test_the_book_ranks_live():
    """The first on the list, typed better by ten spreads, is no longer the first."""
    book = LiveBook(read(DEMO / "reservoir"))
    first = str(book.shown("glance.confirm.1.label"))
    ranks = [book.shown(f"confirm.{n}.rank") for n in range(3)]
    assert ranks == [1, 2, 3]
    cell = next(c for c in book.yellow if c.key.endswith("rule.optical_margin_db.budget form P"))
    book.engine.set_value(cell.sheet, cell.row, cell.column, 1.0)
    assert book.shown("confirm.0.move") == pytest.approx(1.25, abs=0.01)
    book.engine.set_value(cell.sheet, cell.row, cell.column, cell.cell.value)
    assert str(book.shown("glance.confirm.1.label")) == first


def test_how_far_a_figure_may_be_wrong_has_its_unit():
    """Read along a row: if more than 0.01 dBm is wrong, this verdict changes."""
    for name in ("estuary", "reservoir"):
        evaluation = read(DEMO / name)
        book = LiveBook(evaluation)
        for rank, one in enumerate(confirm_first(evaluation)[:5], 1):
            shown = {
                key: book.shown(f"glance.confirm.{rank}.{key}") for key in ("label", "unit", "move")
            }
            assert one.figure.unit and shown["unit"] == one.figure.unit
            assert str(shown["label"]).startswith(one.figure.label)
            assert shown["move"] == pytest.approx(one.move)


def test_a_chart_shows_the_ten_that_matter_live():
    """The bars are the ten shortest reserves as they are now, whatever is typed."""
    evaluation = read(DEMO / "estuary")
    book, ranked = LiveBook(evaluation), confirm_first(evaluation)
    found = [place.chart for sheet in book.book.sheets for place in sheet.charts]
    [chart] = [one for one in found if isinstance(one, BarsChart)]
    assert chart.categories.last - chart.categories.first + 1 == min(10, len(ranked))

    def bars() -> list:
        return [
            (book.shown(f"confirm.chart.{rank}.name"), book.shown(f"confirm.chart.{rank}.reserve"))
            for rank in range(1, min(10, len(ranked)) + 1)
        ]

    before = bars()
    for (name, _), one in zip(before, ranked, strict=False):
        assert one.figure.label.startswith(name) and len(name) <= 40
    launch = next(
        c for c in book.yellow if c.sheet == "Inputs" and "10gbase-lr.launch_max" in c.key
    )
    book.engine.set_value(launch.sheet, launch.row, launch.column, launch.cell.value - 4)
    after = bars()
    reserves = [book.shown(f"confirm.{n}.reserve") for n in range(len(ranked))]
    assert after != before
    assert [reserve for _, reserve in after] == pytest.approx(
        [min(reserve, 6.0) for reserve in sorted(reserves)[:10]]
    )


def test_json_and_terminal_say_the_same():
    runner = CliRunner()
    data = json.loads(runner.invoke(app, ["check", str(DEMO / "reservoir"), "--json"]).stdout)
    first = data["confirm_first"][0]
    assert {"family", "name", "column", "value", "spread", "slope", "chance"} <= first.keys()
    text = runner.invoke(app, ["check", str(DEMO / "reservoir"), "--all"]).stdout
    assert first["figure"] in " ".join(text.split())
    short = runner.invoke(app, ["check", str(DEMO / "reservoir")]).stdout
    assert "Confirm first" not in short


def test_a_failing_design_goes_to_no_supplier():
    """In the estuary a link lacks margin: no limit is made for its parts, and the list says so."""
    evaluation = read(DEMO / "estuary")
    lines = order_list(evaluation).lines_by("")
    said = {d.limit for line in lines for d in demands(evaluation, line)}
    assert SETTLE_FIRST in said
    assert all(
        "fails: do not order before it is settled" in line
        for line in order_csv(evaluation).splitlines()[1:]
    )
    book = LiveBook(evaluation)
    for name in ("Order list", "Requirements"):
        assert str(book.shown(f"warning.{name}")).startswith("THIS DESIGN FAILS: do not order")
