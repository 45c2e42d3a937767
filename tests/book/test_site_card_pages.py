"""Cards put on their pages: what is put apart saves a page in all, else it stays with its card."""

import pytest

from backhaul.book.sheets.site_card import COLUMNS
from backhaul.book.sheets.site_card_pages import Laid, put_cards
from backhaul.spreadsheet.cells import Text
from backhaul.spreadsheet.grid import Row, Sheet

_HOW = "Level: by the meter of the radio."


def _row(words: str) -> Row:
    return Row((Text(words, "card text", len(COLUMNS)),))


def _card(title: str, pages: int) -> Laid:
    """A card that takes a page less where how it is read stands apart."""
    rows = [_row(f"{title} {page}") for page in range(1, pages)]
    whole = Sheet("", "", COLUMNS, rows=[*rows, _row(_HOW)])
    whole.page_breaks.extend(range(1, pages))
    without = Sheet("", "", COLUMNS, rows=rows)
    without.page_breaks.extend(range(1, pages - 1))
    return Laid(title, whole, without, (_row(_HOW), _row("drawing")))


def _put(*cards: Laid) -> tuple[int, list[str]]:
    pages = Sheet("", "", COLUMNS)
    put_cards(pages, list(cards))
    return len(pages.page_breaks), [cell.text for row in pages.rows for cell in row.cells]


@pytest.mark.parametrize("others", [0, 3])
def test_of_one_card_how_it_is_read_stays_with_it(others):
    plain = [Laid(f"s{n}", Sheet("", "", COLUMNS, rows=[_row(f"s{n}")])) for n in range(others)]
    pages, words = _put(_card("hall", 2), *plain)
    assert pages == 2 + others and words[:2] == ["hall 1", _HOW]
    assert "Site cards: how each is read" not in words


def test_of_two_cards_it_saves_a_page_to_tell_it_apart():
    pages, words = _put(_card("hall", 2), _card("hut", 2))
    assert pages == 3 and words[:2] == ["hall 1", "hut 1"]
    assert words.count(_HOW) == 2 and words.index("Site cards: how each is read") == 2


def test_no_card_takes_a_third_page_for_it():
    plain = Laid("hut", Sheet("", "", COLUMNS, rows=[_row("hut 1")]))
    pages, words = _put(_card("hall", 3), plain)
    told = [
        "Site cards: how each is read",
        "hall",
        _HOW,
        "drawing",
    ]  # behind the card, not at the end
    assert words[:6] == ["hall 1", "hall 2", *told] and words[-1] == "hut 1" and pages == 4
