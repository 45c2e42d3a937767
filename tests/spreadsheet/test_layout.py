"""Keys become addresses; whatever cannot be resolved is named."""

from datetime import datetime
from io import BytesIO

import openpyxl
import pytest

from backhaul.errors import OutputError
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Input, Link, Number, Text
from backhaul.spreadsheet.charts import BarsChart, LinesChart, Series
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.writer import write_book


def book_of(*sheets: Sheet, **said) -> Book:
    return Book(sheets, "T", datetime(2026, 1, 1), **said)


def one(*cells) -> Book:
    sheet = Sheet("S", "", [10] * max(1, len(cells)))
    sheet.row(*cells)
    return book_of(sheet)


FORMULAS = [
    ('IF({a}="x",1' + "+1" * 150 + ',"y")', '=IF(A1="x",1' + "+1" * 150 + ',"y")'),
    ("{a}+{b}", "=A1+B1"),
    ("SUM({a}:{b})", "=SUM(A1:B1)"),
    ("{x}*{x}", "='Far ''north'' end'!A2*'Far ''north'' end'!A2"),
    ("SUM({x}:{y})", "=SUM('Far ''north'' end'!A2:A3)"),
    ('IF({a}<{b},"a & b",0)', '=IF(A1<B1,"a & b",0)'),
]


@pytest.mark.parametrize(("text", "resolved"), FORMULAS)
def test_keys_resolve(text, resolved):
    here = Sheet("Here", "", [10] * 3)
    here.row(Number(1, key="a"), Number(2, key="b"), Calc("c", text, 0))
    there = Sheet("Far 'north' end", "Title", [10])
    there.row(Number(3, key="x"))
    there.row(Number(4, key="y"))
    book = openpyxl.load_workbook(BytesIO(write_book(book_of(here, there))))
    assert book["Here"]["C1"].value == resolved


@pytest.mark.parametrize(
    ("book", "said"),
    [
        (lambda: one(Calc("k", "{nowhere.loss_db}+1", 0)), "nowhere.loss_db"),
        (lambda: one(Number(1, key="twice"), Number(2, key="twice")), "twice"),
        (lambda: one(Link("go", "nowhere")), "nowhere"),
        (lambda: one(Calc("k", "=1+1", 2)), "has no '='"),
        (lambda: one(Calc("k", "", 2)), "not empty"),
        (lambda: one(Calc("k", '"' + "x" * 256 + '"', "x" * 256)), "255"),
        (lambda: one(Calc("k", "1" + "+1" * 4200, 4201)), "8192"),
        (lambda: one(Input("k", 1, choices="{no}:{where}")), "no"),
        (lambda: book_of(Sheet("A", "", [9]), Sheet("A", "", [9])), "same name"),
        (book_of, "needs a sheet"),
    ],
)
def test_faults_are_named(book, said):
    with pytest.raises(OutputError, match=said):
        write_book(book())


def test_row_wider_than_its_sheet():
    sheet = Sheet("S", "", [10])
    sheet.row("one", "two")
    with pytest.raises(OutputError, match="2 columns, but it has 1"):
        write_book(book_of(sheet))


def test_range_leaving_its_sheet():
    first, second = Sheet("A", "", [10]), Sheet("B", "", [10])
    first.row(Number(1, key="a"))
    second.row(Number(2, key="b"))
    second.row(Calc("c", "SUM({a}:{b})", 3))
    with pytest.raises(OutputError, match="leaves its sheet"):
        write_book(book_of(first, second))


@pytest.mark.parametrize("name", ["TX1", "RX1", "FSL20", "att1310", "loss", "R1C1", "a b_c"])
def test_names_that_could_be_addresses(name):
    sheet = Sheet("S", "", [10])
    sheet.row(Number(1, key="a"))
    with pytest.raises(OutputError, match="defined name"):
        write_book(book_of(sheet, names={name: "a"}))


def test_chart_over_empty_cells():
    sheet = Sheet("S", "", [10, 10])
    km, level = sheet.helper("h", ["km", "dBm"], [(0.0, 1.0), (1.0, None)])
    line = Series("level", level, at=km)
    sheet.chart(LinesChart("Level", Axis("km"), Axis("dBm"), [line], "level"))
    with pytest.raises(OutputError, match="empty cells"):
        write_book(book_of(sheet))


def test_spans_move_the_cells_behind():
    sheet = Sheet("S", "", [10] * 4)
    sheet.row(Text("wide", span=3), Number(7, key="n"))
    book = openpyxl.load_workbook(BytesIO(write_book(book_of(sheet))))
    assert book["S"]["D1"].value == 7
    assert [str(area) for area in book["S"].merged_cells.ranges] == ["A1:C1"]


def test_log_axis_takes_no_zero():
    sheet = Sheet("S", "", [10, 10])
    names, minutes = sheet.helper("h", ["link", "minutes"], [("F1", 0.5), ("F2", 0.0)])
    axis = Axis("minutes a year", log=True)
    sheet.chart(BarsChart("Outage", names, [Series("min", minutes)], axis, "outage"))
    with pytest.raises(OutputError, match="above zero"):
        write_book(book_of(sheet))
