"""What no formula follows is told from what one does, on every sheet, and says so once it is old.

Every printed figure or verdict without a formula lies under a rule of its sheet that shows "run
again"; figures are typed, and a second engine tells which rules hold then. The demos are invented.
"""

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from typed_books import LiveBook, read

from backhaul.spreadsheet.cells import Number, Verdict, as_cell
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.styles import LOOKS, role_of

DEMO = Path(__file__).parents[2] / "demo"
BUDGETS = ("Optical links", "Radio hops", "Copper and supply")
#: Typed: what the book follows in its verdicts, not at all, and with all that it says.
FOLLOWED, NOT_FOLLOWED, EVERYWHERE = "launch_min_dbm", "height_m", "declination_deg"


@pytest.fixture(scope="module", params=["reservoir", "estuary"])
def live(request):
    book = LiveBook(read(DEMO / request.param))
    return book, openpyxl.load_workbook(BytesIO(book.data))


def _rules(worksheet) -> dict[str, str]:
    """Cells that a rule turns into "run again", with the cell that it asks."""
    found = {}
    for area in worksheet.conditional_formatting:
        for rule in area.rules:
            shown = rule.dxf.numFmt.formatCode if rule.dxf and rule.dxf.numFmt else ""
            if "again" in shown:
                assert shown.count("again") == 4  # figures of any sign, and words
                for where in area.sqref.ranges:
                    found |= {f"{column_letters(c)}{r}": rule.formula[0] for r, c in where.cells}
    return found


def _without_formula(sheet):
    for number, row in enumerate(sheet.rows, 1):
        column = 1
        for cell in map(as_cell, row.cells):
            if isinstance(cell, Number) or (
                isinstance(cell, Verdict)
                and not cell.formula
                and cell.value in ("pass", "thin", "fail")
            ):
                yield f"{column_letters(column)}{number}", cell, role_of(cell, row.style)
            column += getattr(cell, "span", 1)


def test_what_no_formula_follows_is_told_on_every_sheet(live):
    book, workbook = live
    told = 0
    for sheet in book.book.sheets:
        rules = _rules(workbook[sheet.name])
        for address, cell, role in _without_formula(sheet):
            if role in ("fact", "verdict key"):  # nothing that is typed moves it
                continue
            told += 1
            assert LOOKS[role].italic, (sheet.name, address, cell)
            assert address in rules, (sheet.name, address, cell)
    assert told > 100


def test_a_typed_figure_makes_it_old_where_it_may(live):
    """Followed: budgets stand, what was found does not; not followed: neither; else both."""
    book, workbook = live
    asked = {sheet.title: next(iter(_rules(sheet).values()), None) for sheet in workbook}

    def old() -> set[str]:
        found = set()
        for name, formula in asked.items():
            if formula:
                where, _, address = formula.removesuffix(">0").rpartition("!")
                cell = openpyxl.utils.cell.coordinate_from_string(address.replace("$", ""))
                column = openpyxl.utils.column_index_from_string(cell[0])
                if book.engine.evaluate_cell(where.strip("'"), cell[1], column) > 0:
                    found.add(name)
        return found

    everything = {name for name, formula in asked.items() if formula}
    assert set(BUDGETS) <= everything and "Requirements" in everything
    assert old() == set()
    for column, wanted in (
        (FOLLOWED, everything - set(BUDGETS)),
        (NOT_FOLLOWED, everything),
        (EVERYWHERE, set()),
    ):
        cells = [c for c in book.yellow if c.sheet == "Inputs" and c.key.endswith(column)]
        if not cells:
            continue
        cell = cells[0]
        book.engine.set_value(cell.sheet, cell.row, cell.column, cell.cell.value - 0.01)
        assert old() == wanted, cell.key
        alarmed = "RUN BACKHAUL AGAIN" in str(book.shown("title.Requirements"))
        assert alarmed == ("Requirements" in wanted)
        if "fails" not in (said := str(book.shown("card.0.design"))):  # that is said first
            assert ("run backhaul again" in said) == alarmed
        assert ("AGAIN" in str(book.shown("title.Optical links"))) == (column == NOT_FOLLOWED)
        book.engine.set_value(cell.sheet, cell.row, cell.column, cell.cell.value)
    assert old() == set()
