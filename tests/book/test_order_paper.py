"""What of the order list is printed: a list on paper goes to one supplier; designs are invented."""

from io import BytesIO

import openpyxl
from openpyxl.utils import range_boundaries
from small_designs import LIGHT, Typed, evaluated, rows

SHEETS = ("optical_links", "alternatives", "order_list", "order_runs", "requirements", "inputs")


def test_paper_has_the_columns_of_one_supplier_and_the_screen_those_of_three(tmp_path):
    book = Typed(evaluated(tmp_path / "d", rows("p", *LIGHT)), *SHEETS)
    sheet = openpyxl.load_workbook(BytesIO(book.data))["Order list"]
    heads = [cell for row in sheet.iter_rows(max_row=6) for cell in row]
    weeks = [cell.column for cell in heads if cell.value == "Weeks"]
    assert len(weeks) == 3
    last = range_boundaries(sheet.print_area.rpartition("!")[2].replace("$", ""))[2]
    assert last == min(weeks)
    assert sheet.max_column > max(weeks)  # what helps the formulas stands beside all of them
