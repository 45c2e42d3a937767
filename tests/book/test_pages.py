"""Paper: how many pages a sheet takes, that no row is beyond its page, that nothing is too small.

Page count is an estimate by `page_fit`, from the row heights that the writer sets; that a print
program agrees is looked at with `-m office`. Seven points is common practice for the least size of
print that is read at arm's length.
"""

import itertools
from pathlib import Path

import pytest

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.book.sheets import page_fit
from backhaul.spreadsheet.cells import Head, Text, as_cell
from backhaul.spreadsheet.styles import LOOKS, role_of
from backhaul.spreadsheet.text_width import column_pt, text_pt

DEMO = Path(__file__).parents[2] / "demo"
LEAST_PT = 6.95
#: Pages of the reservoir at most, by sheet, as measured after the lines of hops, supply and paths
#: were added: nine more than before. What is carried must grow thin again, never thicker.
MOST_PAGES = {
    "At a glance": 1,
    "Open points": 2,
    "Chain": 4,  # demand, load and year are cells of their own
    "Optical links": 2,
    "Radio hops": 5,
    "Copper and supply": 7,
    "Order list": 7,
    "Alternatives": 3,
    "Cables and strands": 3,
    "Site cards": 12,
    "Inputs": 6,
    "Basis": 5,
}


@pytest.fixture(scope="module", params=["reservoir", "estuary"])
def book(request):
    return build_book(evaluate(read_design(DEMO / request.param))), request.param


def _pages(sheet) -> list[float]:
    """Heights of the pages of a sheet [pt], those that flow over counted as they fill."""
    room = page_fit.page_room_pt(sheet)
    heights = page_fit.row_heights_pt(sheet, sheet.rows)
    breaks = [0, *sorted(set(sheet.page_breaks)), len(heights)]
    pages: list[float] = []
    for first, last in itertools.pairwise(breaks):
        pages.append(0.0)
        for height in heights[first:last]:
            if pages[-1] + height > room and not sheet.one_page:
                pages.append(0.0)
            pages[-1] += height
    return pages


def test_pages_are_few(book):
    made, name = book
    counts = {sheet.name: 1 if sheet.one_page else len(_pages(sheet)) for sheet in made.sheets}
    if name == "reservoir":
        for sheet, most in MOST_PAGES.items():
            assert counts[sheet] <= most, sheet
        assert sum(counts.values()) < 57
    else:
        assert (
            sum(counts.values()) < 77
        )  # the verdicts and lines of supply, light and paths that were added


def test_no_print_is_too_small(book):
    made, _ = book
    for sheet in made.sheets:
        scale = page_fit._scale(sheet)
        sizes = {
            LOOKS[role_of(cell, row.style)].size_pt
            for row in sheet.rows
            for cell in map(as_cell, row.cells)
            if cell is not None
        }
        assert min(sizes) * scale >= LEAST_PT, sheet.name


def test_no_word_is_wider_than_its_cell(book):
    """A word that does not fit is broken in its middle; headings of columns must not be."""
    made, _ = book
    for sheet in made.sheets:
        for row in sheet.rows:
            column = 1
            for cell in map(as_cell, row.cells):
                span = getattr(cell, "span", 1)
                if isinstance(cell, Head) or (isinstance(cell, Text) and "head" in cell.style):
                    look = LOOKS[role_of(cell, row.style)]
                    width = column_pt(sum(sheet.columns[column - 1 : column - 1 + span]))
                    for word in cell.text.split():
                        needed = text_pt(word, look.size_pt, bold=look.bold)
                        assert needed <= width - 2, (sheet.name, word)
                column += span


def test_no_empty_page(book):
    """A page of its own holds more than an empty row or a heading."""
    made, _ = book
    for sheet in made.sheets:
        if not sheet.one_page:
            assert min(_pages(sheet)) > 40, sheet.name
