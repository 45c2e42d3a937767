"""Every formula cell of every design: a second program computes what is stored, none an error."""

import pytest
from all_designs import DESIGNS
from recalculation import compare, stored_values
from typed_books import read

from backhaul.book.book import build_book
from backhaul.spreadsheet.writer import write_book


@pytest.mark.parametrize("folder", DESIGNS, ids=lambda folder: folder.name)
def test_no_cell_changes_when_it_is_computed_again(folder):
    """Readings that were taken and findings that are accepted included."""
    data = write_book(build_book(read(folder)))
    stored = stored_values(data)
    errors = [
        (sheet, address, value)
        for sheet, cells in stored.items()
        for address, value in cells.items()
        if isinstance(value, str) and value.startswith("#")
    ]
    assert errors == []
    assert compare(data) == []
