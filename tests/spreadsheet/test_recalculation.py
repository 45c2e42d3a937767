"""The harness itself: it must notice a program that does not calculate, and a wrong value."""

import re
from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

import book_formulas
import pytest
import recalculation
from book_formulas import formula_count
from recalculation import compare, poison, recalculate

from backhaul.spreadsheet.cells import Calc, Input, Number, ToFill
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.writer import write_book

ENGINES = ["formualizer", pytest.param("office", marks=pytest.mark.office)]


def one_row(*cells) -> bytes:
    sheet = Sheet("S", "", [10] * len(cells))
    sheet.row(*cells)
    return write_book(Book([sheet], "T", datetime(2026, 1, 1)))


@pytest.mark.parametrize("engine", ENGINES)
def test_a_second_program_agrees(data, engine):
    assert formula_count(data) == 18
    assert compare(data, engine=engine) == []


@pytest.mark.parametrize("engine", ENGINES)
def test_all_poisoned_values_are_corrected(data, engine):
    spoiled = poison(data)
    wrong = recalculation.stored_values(spoiled)
    right = recalculation.stored_values(data)
    computed = recalculation.recalculate(spoiled, engine)
    for sheet, cells in right.items():
        for address, value in cells.items():
            assert wrong[sheet][address] != value
            assert computed[sheet][address] == pytest.approx(value, rel=1e-9)


def test_a_program_that_trusts_the_file_is_noticed(data, monkeypatch):
    monkeypatch.setitem(recalculation.ENGINES, "trusting", lambda given: given)
    assert len(compare(data, engine="trusting")) == formula_count(data)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("formula", "wrong"), [("{a}*2", 6.0001), ("{a}>2", False), ('IF({a}>2,"pass","fail")', "fail")]
)
def test_a_wrong_value_is_noticed(engine, formula, wrong):
    (found,) = compare(one_row(Input("a", 3.0), Calc("k", formula, wrong)), engine=engine)
    assert (found.address, found.stored) == ("B1", wrong)


@pytest.mark.parametrize("engine", ENGINES)
def test_without_caches(data, engine):
    stripped = recalculation.without_caches(data)
    with ZipFile(BytesIO(stripped)) as parts:
        part = parts.read("xl/worksheets/sheet1.xml").decode()
    assert not re.search(r"</f><v>", part)
    values = recalculate(data, engine)
    assert values["Owner's light"]["B7"] == pytest.approx(5.25)
    assert values["Owner's light"]["C6"] == "fail"
    assert values["Owner's light"]["C7"] is True


def test_lint():
    data = one_row(
        Input("a", 3.0),
        ToFill("by_hand"),
        Calc("k", "IF({by_hand}>0,{a}*1.5,0)", 0),
        Calc("x", "XLOOKUP({a},{a},{a})+D9", 3.0),
        Number(1),
    )
    assert book_formulas.unsafe_functions(data) == [("S", "D1", "XLOOKUP")]
    assert [found.number for found in book_formulas.literals(data)] == ["0", "1.5", "0"]
    assert [found.what for found in book_formulas.empty_references(data)] == ["D9"]


def test_pandas_reads_every_figure(data):
    assert book_formulas.blanks(data) == []
    stripped = recalculation.without_caches(data)
    assert len(book_formulas.blanks(stripped)) == formula_count(data)


def test_functions_are_safe_and_cells_filled(data):
    assert book_formulas.unsafe_functions(data) == []
    assert book_formulas.empty_references(data) == []
