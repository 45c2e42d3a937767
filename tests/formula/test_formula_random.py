"""What is written down as a formula gives, in another program, the number that numpy gives."""

import importlib
import inspect
import pkgutil
import random
import re
import sys
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import book_formulas  # noqa: E402
import expressions  # noqa: E402
import recalculation  # noqa: E402

from backhaul import physics  # noqa: E402
from backhaul.figures.terms import Term, cell_formula, compute  # noqa: E402
from backhaul.spreadsheet.formula import Cell  # noqa: E402

CELLS = {name: f"{letter}1" for name, letter in zip(expressions.VARIABLES, "ABC", strict=True)}
#: beyond it, sums of large numbers of both signs lose their digits in any program
LARGEST = 1e9


def number_of(formula, values) -> float:
    with np.errstate(all="ignore", divide="raise"):
        return float(formula({name: np.float64(value) for name, value in values.items()}))


def text_of(formula) -> str:
    written = formula({name: Cell(address) for name, address in CELLS.items()})
    return "=" + (written.text if isinstance(written, Cell) else repr(float(written)))


def examples(pick):
    """Formula, values, and the number where it can be compared.

    Not where anything is divided by zero: infinity may vanish again here, an error there does not.
    """
    formula, values = expressions.expression(pick), expressions.leaves(pick)
    try:
        number = number_of(formula, values)
    except (ValueError, ZeroDivisionError, FloatingPointError):  # 0 ** -1: no number anywhere
        return formula, values, None
    return formula, values, number if abs(number) < LARGEST else None


@settings(max_examples=400)
@given(st.randoms(use_true_random=False))
def test_formualizer_agrees(pick):
    import formualizer

    formula, values, number = examples(pick)
    if number is None:
        return
    book = formualizer.Workbook()
    book.add_sheet("S")
    for column, name in enumerate(expressions.VARIABLES, start=1):
        book.set_value("S", 1, column, values[name])
    book.set_formula("S", 2, 1, text_of(formula))
    computed = book.evaluate_cell("S", 2, 1)
    assert float(computed) == pytest.approx(number, rel=1e-9, abs=1e-9), text_of(formula)


@settings(max_examples=200)
@given(st.randoms(use_true_random=False))
def test_arrays_and_numbers_agree(pick):
    formula, first, number = examples(pick)
    if number is None:
        return
    second = expressions.leaves(pick)
    arrays = {name: np.array([first[name], second[name]]) for name in first}
    with np.errstate(all="ignore"):
        column = np.broadcast_to(np.asarray(formula(arrays), dtype=float), 2)
    assert column[0] == pytest.approx(number, rel=1e-12, abs=1e-12)


@pytest.mark.office
def test_libreoffice_agrees():
    """Some hundred formulas in one book whose stored values are poisoned."""
    import openpyxl

    pick = random.Random(11)
    book = openpyxl.Workbook()
    sheet, expected, row = book.active, {}, 0
    while len(expected) < 300:
        formula, values, number = examples(pick)
        if number is None or len(text := text_of(formula)) > 2000:
            continue
        row += 1
        for column, name in enumerate(expressions.VARIABLES, start=1):
            sheet.cell(row, column, values[name])
        sheet.cell(row, 4, re.sub(r"\b([ABC])1\b", rf"\g<1>{row}", text))
        expected[f"D{row}"] = number
    data = BytesIO()
    book.save(data)
    computed = recalculation.recalculate(data.getvalue(), "office")[sheet.title]
    wrong = [
        (sheet[address].value, number, computed.get(address))
        for address, number in expected.items()
        if float(computed.get(address, "nan")) != pytest.approx(number, rel=1e-9, abs=1e-9)
    ]
    assert not wrong


@pytest.mark.parametrize(
    "formula, text, number",
    [
        # ISO/IEC 26300-2 clause 5.5: unary minus binds tighter than ^, and ^ to the left
        (lambda x, y: -(x**2), "-(A1^2)", -9.0),
        (lambda x, y: (-x) ** 2, "(-A1)^2", 9.0),
        (lambda x, y: x**y**2, "A1^(B1^2)", 81.0),
        (lambda x, y: (x**y) ** 2, "(A1^B1)^2", 81.0),
        (lambda x, y: -2.0 * x**2, "-2*A1^2", -18.0),
        (lambda x, y: (-2.0) ** y, "(-2)^B1", 4.0),
        (lambda x, y: x - (y - 1), "A1-(B1-1)", 2.0),
        (lambda x, y: x / (y / 2), "A1/(B1/2)", 3.0),
        (lambda x, y: x - -y, "A1-(-B1)", 5.0),
    ],
)
def test_brackets(formula, text, number):
    assert formula(Cell("A1"), Cell("B1")).text == text
    assert formula(3.0, 2.0) == number


def cell_formulas():
    for info in pkgutil.iter_modules(physics.__path__):
        module = importlib.import_module(f"backhaul.physics.{info.name}")
        for name in getattr(module, "CELL_FORMULAS", ()):
            yield pytest.param(getattr(module, name), id=f"{info.name}.{name}")


@pytest.mark.parametrize("formula", cell_formulas())
def test_every_cell_formula_traces(formula):
    names = inspect.signature(formula).parameters
    text = formula(**{name: Cell.ref(name) for name in names}).text
    assert set(re.findall(r"\{(\w+)\}", text)) <= set(names)
    functions = set(re.findall(r"([A-Z][A-Z0-9.]*)\(", text))
    assert functions <= book_formulas.SAFE_FUNCTIONS
    assert "nan" not in text.lower() and "inf" not in text.lower()
    assert len(text) < 8192  # the longest formula of an .xlsx


def test_a_cell_refuses_what_it_cannot_write():
    with pytest.raises(TypeError):
        bool(Cell("A1") > 1)
    with pytest.raises(ValueError):
        Cell("A1") + float("nan")
    with pytest.raises(TypeError):
        np.cbrt(Cell("A1"))


@pytest.mark.parametrize("number", [-2, 0, 1, 1.0, np.float64(-2.0), np.int64(1)])
@pytest.mark.parametrize(
    "formula",
    [
        np.logical_and,
        lambda truth, number: np.logical_or(number, truth),
        lambda truth, number: truth & number,
        lambda truth, number: number | truth,
        lambda truth, number: np.where(truth & number, 1.0, 0.0),
    ],
)
def test_a_number_is_no_truth_value(formula, number):
    """What a number means as a truth value differs between engines, and ~True is -2."""
    with pytest.raises(TypeError):
        formula(Cell("A1") > 1, number)


def test_truth_values_meet():
    truth = Cell("A1") > 1
    assert (truth & True).text == "AND(A1>1,TRUE)"
    assert (np.bool_(False) | ~truth).text == "OR(FALSE,NOT(A1>1))"
    assert np.where(truth & (Cell("B1") < 2), 1.0, 0.0).text == "IF(AND(A1>1,B1<2),1,0)"


def test_terms_are_computed_and_written_alike():
    by_basis = {
        "fiber": lambda *, length_km, db_per_km: length_km * db_per_km,
        "measured": lambda *, measured_db: measured_db + 0,
    }
    terms = (
        Term("length_km", "Length", formula=lambda *, length_m: length_m / 1000),
        Term("loss_db", "Loss", formula=by_basis, by="basis"),
    )
    inputs = {
        "length_m": np.array([2000.0, np.nan]),
        "db_per_km": np.array([0.4, 0.4]),
        "measured_db": np.array([np.nan, 3.5]),
        "basis": np.array(["fiber", "measured"]),
    }
    assert compute(terms, inputs)["loss_db"] == pytest.approx([0.8, 3.5])
    assert cell_formula(terms[1], "x.{}".format, "fiber") == "{x.length_km}*{x.db_per_km}"
    assert cell_formula(terms[1], "x.{}".format, "measured") == "{x.measured_db}+0"
