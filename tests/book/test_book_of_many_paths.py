"""A book of many short paths stays within what a workbook may hold.

Limits: 8,192 characters of a formula, 255 arguments of a function, 65,530 links of a sheet, as the
vendors of spreadsheet programs state them (from memory).
"""

import re
from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

import openpyxl
import pytest
import recalculation
from openpyxl.formula.tokenizer import Token, Tokenizer
from small_designs import short_paths

from backhaul.book.book import build_book
from backhaul.errors import OutputError
from backhaul.spreadsheet import sheet_data
from backhaul.spreadsheet.cells import Calc, Number
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.layout import MAX_FORMULA
from backhaul.spreadsheet.writer import write_book

#: So many that a formula over all their verdicts would be too long, however short each address.
PATHS = 440
MAX_ARGUMENTS = 255


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    return write_book(build_book(short_paths(tmp_path_factory.mktemp("many"), PATHS)))


@pytest.fixture(scope="module")
def book(data):
    return openpyxl.load_workbook(BytesIO(data))


def test_formulas_are_short_enough(book):
    """One formula over the verdicts of all paths by name has 36 characters for each of them."""
    formulas = [
        cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert len(formulas) > PATHS
    assert max(map(len, formulas)) <= MAX_FORMULA
    assert max(map(most_arguments, formulas)) <= MAX_ARGUMENTS


def most_arguments(formula: str) -> int:
    """By openpyxl's tokenizer: the largest number of arguments of a function."""
    most, counts = 0, []
    for token in Tokenizer(formula).items:
        if token.subtype == Token.OPEN:
            counts.append(1)
        elif token.subtype == Token.CLOSE:
            most = max(most, counts.pop())
        elif token.type == Token.SEP and token.subtype == Token.ARG:
            counts[-1] += 1
    return most


def test_a_sum_over_many_cells_is_a_range_that_a_second_engine_adds_up():
    """300 loads in two blocks, as at a site with many cameras; more arguments are refused."""
    sheet = Sheet("Loads", "", [10])
    for number in range(300):
        sheet.row(Number(1.5, key=f"load.{number}"))
        if number == 150:
            sheet.blank()
    names = ",".join(f"{{load.{number}}}" for number in range(300))
    for function, value in (("SUM", 450.0), ("MAX", 1.5), ("COUNT", 300)):
        sheet.row(Calc(function, f"{function}({names})", value))
    odd = ",".join(f"{{load.{number}}}" for number in range(0, 300, 1) if number % 13)
    sheet.row(Calc("odd", f"SUM({odd})", 1.5 * len(odd.split(","))))
    data = write_book(Book([sheet], "Loads", datetime(2026, 1, 1)))
    assert recalculation.compare(data) == []
    written = openpyxl.load_workbook(BytesIO(data))["Loads"]
    assert written["A302"].value == "=SUM(A1:A151,A153:A301)"
    sheet.row(Calc("all", f"AND({names})", True))
    with pytest.raises(OutputError, match="255 arguments"):
        write_book(Book([sheet], "Loads", datetime(2026, 1, 1)))


def test_the_answer_counts_every_path(book):
    sheet = book["At a glance"]
    verdict = next(
        cell.value
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and "IF(COUNTIF(" in cell.value
    )
    column, first, last = re.search(r"COUNTIF\(([A-Z]+)(\d+):[A-Z]+(\d+)", verdict).groups()
    named = {sheet[f"A{row}"].value: row for row in range(int(first), int(last) + 1)}
    assert {f"P{number}" for number in range(PATHS)} <= set(named)
    assert all(sheet[f"{column}{named[f'P{n}']}"].data_type == "f" for n in range(PATHS))


def test_names_of_sheets_differ_and_names_of_cells_are_legal(book):
    names = [name.casefold() for name in book.sheetnames]
    assert len(set(names)) == len(names)
    assert all(len(name) <= 31 for name in names)
    assert all(re.fullmatch(r"[a-z]+(_[a-z0-9]+)+", name) for name in book.defined_names)


def test_links_beyond_the_limit_stay_words(tmp_path, monkeypatch):
    evaluation = short_paths(tmp_path, 3)
    whole = links(write_book(build_book(evaluation)))
    limit = max(whole.values()) - 2
    monkeypatch.setattr(sheet_data, "MAX_LINKS", limit)
    fewer = links(write_book(build_book(evaluation)))
    assert fewer == {name: min(count, limit) for name, count in whole.items()}


def links(data: bytes) -> dict[str, int]:
    """How many links each sheet part has."""
    with ZipFile(BytesIO(data)) as parts:
        return {
            name: parts.read(name).count(b"<hyperlink ")
            for name in parts.namelist()
            if name.startswith("xl/worksheets/sheet")
        }
