"""The quick reading of cells that many tests rest on, against openpyxl."""

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from raw_cells import raw_cells, typed_over

import backhaul.api
from backhaul.book.book import build_book
from backhaul.spreadsheet.writer import write_book

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def data() -> bytes:
    return write_book(build_book(backhaul.api.evaluate(backhaul.api.read_design(DEMO / "estuary"))))


def by_openpyxl(data: bytes, *, values: bool) -> dict[tuple[str, str], object]:
    book = openpyxl.load_workbook(BytesIO(data), data_only=values, read_only=True)
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def test_values_and_formulas_are_those_of_openpyxl(data):
    found = {
        (sheet, at): cell for sheet, cells in raw_cells(data).items() for at, cell in cells.items()
    }
    values, texts = by_openpyxl(data, values=True), by_openpyxl(data, values=False)
    assert {at: cell.value for at, cell in found.items() if cell.value is not None} == values
    formulas = {at: cell.formula for at, cell in found.items() if cell.formula is not None}
    assert formulas == {at: text for at, text in texts.items() if at in formulas}
    assert len(formulas) > 1000


@pytest.mark.parametrize("value", [12.5, 3, "-19,5", "<a & b>", None])
def test_what_is_typed_over_is_read(data, value):
    sheet, cells = next(iter(raw_cells(data).items()))
    address = next(at for at, cell in cells.items() if cell.formula is not None)
    changed = typed_over(data, {(sheet, address): value})
    assert by_openpyxl(changed, values=False).get((sheet, address)) == value
    rest = dict(raw_cells(data)[sheet])
    assert {k: v for k, v in raw_cells(changed)[sheet].items() if k != address} == {
        k: v for k, v in rest.items() if k != address
    }
