"""What a cell holds comes out as it went in, or is refused."""

from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from backhaul.errors import OutputError
from backhaul.spreadsheet.cells import Calc, Input, Number, Text
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.sheet_data import CUT_MARK, MAX_TEXT
from backhaul.spreadsheet.writer import write_book


def written(*cells) -> bytes:
    sheet = Sheet("S", "", [10] * len(cells))
    sheet.row(*cells)
    return write_book(Book([sheet], "T", datetime(2026, 1, 1)))


def read(data: bytes, *, values: bool = False):
    return openpyxl.load_workbook(BytesIO(data), data_only=values)["S"]


@pytest.mark.parametrize(
    "value", [None, float("nan"), float("inf"), -np.inf, np.float64("nan"), np.bool_(True), [1], 1j]
)
@pytest.mark.parametrize("make", [Number, lambda value: Calc("k", "1+1", value)])
def test_not_a_figure(make, value):
    with pytest.raises(OutputError, match="S!A1"):
        written(make(value))


@pytest.mark.parametrize(
    "value",
    [3, -0.1, 1e-300, 1.7e308, 0.1 + 0.2, True, False, "thin", np.float64(2.5), np.int64(7)],
)
def test_value_beside_a_formula(value):
    data = written(Calc("k", "1+1", value))
    assert read(data)["A1"].value == "=1+1"
    found = read(data, values=True)["A1"].value
    assert found == value
    assert isinstance(found, bool) == isinstance(value, bool)


@given(st.floats(allow_nan=False, allow_infinity=False))
@settings(max_examples=25, deadline=None)
def test_every_float_is_kept_whole(value):
    assert read(written(Calc("k", "1+1", value)), values=True)["A1"].value == value


@given(st.text(max_size=40))
@settings(max_examples=40, deadline=None)
def test_any_text_gives_a_readable_file(text):
    legal = "".join(
        c
        for c in text.replace("\r\n", "\n").replace("\r", "\n")
        if c in "\t\n"
        or (c >= " " and not 0xD800 <= ord(c) < 0xE000 and ord(c) not in (0xFFFE, 0xFFFF))
    )
    cell = read(written(Text(text)))["A1"]
    assert (cell.value or "") == legal
    assert cell.data_type != "f"


@pytest.mark.parametrize("text", ["=1+1", "=cmd|' /C calc'!A0", "+1", "-danger", "@SUM(A1)", "'x"])
@pytest.mark.parametrize("make", [Text, lambda text: Input("k", text)])
def test_user_text_is_never_a_formula(make, text):
    cell = read(written(make(text)))["A1"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)


def test_long_text_is_cut_with_a_mark():
    value = read(written(Text("x" * 40_000)))["A1"].value
    assert len(value) == MAX_TEXT
    assert value.endswith(CUT_MARK)


def test_every_formula_cell_has_a_value(data):
    import xml.etree.ElementTree as tree

    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    count = 0
    with ZipFile(BytesIO(data)) as parts:
        for name in parts.namelist():
            if name.startswith("xl/worksheets/sheet"):
                for cell in tree.fromstring(parts.read(name)).iter(f"{main}c"):
                    if cell.find(f"{main}f") is not None:
                        count += 1
                        assert cell.find(f"{main}v").text, cell.get("r")
    assert count == 18  # 3 margins, 3 verdicts, sum, any, best and 9 of the chart
