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
from backhaul.spreadsheet.cells import Head, Link, Text, Verdict, as_cell
from backhaul.spreadsheet.row_height import INDENT_PT
from backhaul.spreadsheet.styles import LOOKS, role_of
from backhaul.spreadsheet.text_width import column_pt, text_pt

DEMO = Path(__file__).parents[2] / "demo"
LEAST_PT = 6.95
#: Pages of the reservoir at most, by sheet, as measured. What is carried may grow thinner.
MOST_PAGES = {
    "At a glance": 1,
    "Open points": 1,
    "Chain": 2,
    "Optical links": 1,
    "Radio hops": 3,
    "Copper and supply": 3,
    "Order list": 2,
    "Requirements": 3,
    "Cable lengths": 0,
    "Alternatives": 0,
    "Cables and strands": 2,
    "Site cards": 8,
    "Inputs": 4,
    "Basis": 2,
}
#: Of one card.
MOST_OF_A_CARD = 2
#: What is read on a mast.
CARD_PT = 9.95


@pytest.fixture(scope="module", params=["reservoir", "estuary"])
def book(request):
    return build_book(evaluate(read_design(DEMO / request.param))), request.param


def _pages(sheet) -> list[float]:
    """Heights of the pages of a sheet [pt], those that flow over counted as they fill."""
    room = page_fit.page_room_pt(sheet)
    heights = page_fit.row_heights_pt(sheet, sheet.rows)
    first = sheet.first_printed - 1
    inner = sorted(row for row in set(sheet.page_breaks) if row > first)
    breaks = [first, *inner, len(heights)]
    pages: list[float] = []
    for start, last in itertools.pairwise(breaks):
        pages.append(0.0)
        for height in heights[start:last]:
            if pages[-1] + height > room and not sheet.one_page:
                pages.append(0.0)
            pages[-1] += height
    return pages


def _count(sheet) -> int:
    if not sheet.prints:
        return 0
    return 1 if sheet.one_page else len(_pages(sheet))


def test_pages_are_few(book):
    made, name = book
    counts = {sheet.name: _count(sheet) for sheet in made.sheets}
    if name == "reservoir":
        for sheet, most in MOST_PAGES.items():
            assert counts[sheet] <= most, sheet
        assert sum(counts.values()) <= 32  # when everything is printed
    else:
        assert sum(counts.values()) <= 51


def test_a_card_takes_two_pages_at_most(book):
    made, _ = book
    sheet = next(sheet for sheet in made.sheets if sheet.name == "Site cards")
    titles = [sheet.rows[start].cells[0].text for start in sorted(sheet.page_breaks)]
    pages: list[int] = []
    for title in titles:
        if title.startswith(("Site card: ", "Site cards: ")):
            pages.append(0)
        pages[-1] += 1
    assert titles[0].startswith("Site card: ") and max(pages) <= MOST_OF_A_CARD
    assert len(_pages(sheet)) == len(titles)  # no page of a card flows over


def test_how_a_reading_is_taken_stands_with_it_or_on_a_page_that_it_names(book):
    """Once a card: on it, or, where that would take it one page more, behind it or after the cards."""
    made, _ = book
    sheet = next(sheet for sheet in made.sheets if sheet.name == "Site cards")
    cells = [
        cell
        for row in sheet.rows[sheet.first_printed - 1 :]
        for cell in map(as_cell, row.cells)
        if isinstance(cell, Text)
    ]
    measured = [
        cell.text for cell in cells if cell.text.startswith("Measure") and "head" in cell.style
    ]
    pointing = [text for text in measured if text != "Measure"]
    taken = [
        cell for cell in cells if cell.text.startswith("With ") and "earth tester" in cell.text
    ]
    last = [place for place, cell in enumerate(cells) if cell.text.startswith("Site cards: ")]
    assert len(taken) == len(measured) and len(last) == bool(pointing)
    after = cells[last[0] :] if last else []
    next_card = [n for n, cell in enumerate(after) if cell.text.startswith("Site card: ")]
    after = after[: next_card[0]] if next_card else after
    assert bool(next_card) == any("next page" in text for text in pointing)
    assert len([cell for cell in taken if cell in after]) == len(pointing)


def test_cards_are_printed_in_ten_points_and_black(book):
    made, _ = book
    sheet = next(sheet for sheet in made.sheets if sheet.name == "Site cards")
    scale = page_fit._scale(sheet)
    for row in sheet.rows[sheet.first_printed - 1 :]:
        for cell in map(as_cell, row.cells):
            if cell is not None and not isinstance(cell, Verdict):
                look = LOOKS[role_of(cell, row.style)]
                assert look.size_pt * scale >= CARD_PT, cell
                assert look.ink == "000000" or "title" in cell.style or "heading" in cell.style


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


def test_no_link_needs_a_second_line(book):
    """A print program cuts a link that does: half a length stood on a card."""
    made, _ = book
    for sheet in made.sheets:
        for row in sheet.rows:
            column = 1
            for cell in map(as_cell, row.cells):
                span = getattr(cell, "span", 1)
                if isinstance(cell, Link):
                    look = LOOKS[role_of(cell, row.style)]
                    width = column_pt(sum(sheet.columns[column - 1 : column - 1 + span]))
                    needed = text_pt(cell.text, look.size_pt, bold=look.bold)
                    assert needed <= width - look.indent * INDENT_PT, (sheet.name, cell.text)
                column += span


def test_who_answers_for_the_document_is_read_whole(book):
    """Beside every title: no line of it is cut by the height of the row."""
    made, _ = book
    told = 0
    for sheet in made.sheets:
        row = sheet.rows[0]
        if any(getattr(cell, "style", "") == "status" for cell in row.cells):
            [needed] = page_fit.row_heights_pt(sheet, [row._replace(height=None)])
            told += 1
            assert page_fit.row_heights_pt(sheet, [row]) >= [needed - 0.1], sheet.name
    assert told > 10
