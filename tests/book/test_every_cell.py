"""Every formula cell of every design: a second program computes what is stored, none an error."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact
from all_designs import DESIGNS
from recalculation import compare, stored_values
from typed_books import LiveBook, read

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


def trunk(loads: int, metres: int) -> str:
    """So many routers of 10 W behind one run at 12 V."""
    return " || ".join(
        f"P{n}: device supply-12v-120w site=A label=M | feed 1.5mm2 {metres}m site=A to_site=A label=T"
        f" | feed 1.5mm2 5m site=A to_site=A | device router-ind site=A label=D{n}"
        for n in range(loads)
    )


@pytest.mark.parametrize(
    ("loads", "metres", "dies"), [(2, 40, False), (2, 100, True), (6, 100, True)]
)
def test_a_shared_run_that_dies_stays_dead_when_it_is_computed_again(loads, metres, dies, tmp_path):
    """By hand: over 100 m, a loop of 2.4 ohm, at most 11.76² / 4 / 2.4 = 14.4 W arrive; over 40 m 36."""
    evaluation = compact.run(tmp_path, trunk(loads, metres), "")
    assert (
        any(f.check == "feed-power" and f.severity == "fail" for f in evaluation.findings) == dies
    )
    book = LiveBook(evaluation)
    assert compare(book.data) == []
    assert (book.answer == "not yet") == (evaluation.verdict == "fail")
