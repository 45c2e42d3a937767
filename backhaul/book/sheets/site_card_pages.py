"""Site cards on paper: each on pages of its own, with what has no room left out or put apart."""

from typing import NamedTuple

from backhaul.book.sheets.page_fit import row_heights_pt
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.book.sheets.site_card import COLUMNS, HEADING_PT, Card
from backhaul.book.sheets.site_card_readings import MEASURE
from backhaul.book.sheets.site_card_verdict import rows_here
from backhaul.checks.groups import few
from backhaul.checks.safety import DEFERS
from backhaul.spreadsheet.cells import Text
from backhaul.spreadsheet.grid import Row, Sheet

#: Share of a page up to which a table of a card is not parted, where that takes no page more.
_KEPT = 0.8
#: Height of a row of one line of ten points.
_LINE_PT = 12.4
#: Pages that a card takes at most.
_MOST_PAGES = 2
_HOW = "how each is read"
_LAST_PAGE = f"{MEASURE}: {_HOW}, last page of the cards"
_NEXT_PAGE = f"{MEASURE}: {_HOW}, next page"
_ONE_LINE_PT = 15.0


class Laid(NamedTuple):
    """A card on its pages; where that saves one, without how readings are taken, and what is left out.

    left_out: how readings are taken, then the drawing of the site where there is one.
    """

    title: str
    whole: Sheet
    without: Sheet | None = None
    left_out: tuple[Row, ...] = ()


def lay_out(pages: Sheet, card: Card) -> Laid:
    """Lay the rows that were written on pages of their own; each but the first names site and cautions.

    A table is parted only where that saves a page. The drawing is left out where it takes one more.
    """
    first, shift = 1, 0
    rows = [_thin(row) for row in pages.rows]
    pages.rows.clear()
    part = _fewest(pages.name, card, rows, shift)
    if card.drawing_row:
        card.sections.pop()
        drawing = card.drawing_row - first
        told = Row((Text(_drawn_elsewhere(card), "card text", len(COLUMNS)),), _LINE_PT)
        bare = _fewest(pages.name, card, rows[:drawing], shift)
        tries = (
            part,
            _fewest(pages.name, card, [*rows[:drawing], *rows[drawing + 1 :]], shift),
            _fewest(pages.name, card, [*rows[:drawing], told], shift),
            bare,
        )
        part = next(one for one in tries if len(one.page_breaks) <= len(bare.page_breaks))
    if card.how_row and part.page_breaks:
        how = card.how_row - first
        without = _fewest(pages.name, card, [*map(_pointing, rows[:how])], shift)
        if len(without.page_breaks) < len(part.page_breaks):
            return Laid(card.title, part, without, tuple(rows[how:]))
    return Laid(card.title, part)


def put_cards(pages: Sheet, laid: list[Laid]) -> None:
    """Card after card; how readings are taken stands apart, at the end, where that saves a page.

    For one card alone it saves none: it stays with the card, or on a page behind it with the drawing.
    """
    apart = [card for card in laid if card.without]
    is_alone = len(apart) == 1
    for card in laid:
        is_kept = is_alone and len(card.whole.page_breaks) < _MOST_PAGES
        part = card.whole if is_kept or card.without is None else card.without
        rows = [*map(_on_next_page, part.rows)] if is_alone else part.rows
        pages.page_breaks.extend(len(pages.rows) + row for row in (0, *part.page_breaks))
        pages.rows.extend(rows)
        if is_alone and part is card.without:
            _write_apart(pages, [(card.title, card.left_out)])
    if not is_alone:
        _write_apart(pages, [(card.title, card.left_out[:1]) for card in apart])


def _drawn_elsewhere(card: Card) -> str:
    """Where the drawing of a site stands whose card has no room for it."""
    paths = {path for row in rows_here(card) for path in row.path}
    return f"Drawing: Line drawings, {few(path for path in card.evaluation.network.chains if path in paths)}."


def _pointing(row: Row) -> Row:
    """The heading of the readings says where it is told how they are taken."""
    first = row.cells[0] if row.cells else None
    if not isinstance(first, Text) or (first.text, first.style) != (MEASURE, "heading"):
        return row
    return row._replace(cells=(first._replace(text=_LAST_PAGE),))


def _on_next_page(row: Row) -> Row:
    """The same where that stands on the page behind the card."""
    first = row.cells[0] if row.cells else None
    if not isinstance(first, Text) or first.text != _LAST_PAGE:
        return row
    return row._replace(cells=(first._replace(text=_NEXT_PAGE),))


def _write_apart(pages: Sheet, apart: list[tuple[str, tuple[Row, ...]]]) -> None:
    """How readings are taken, of the cards that have no room for it."""
    if not apart:
        return
    pages.page_breaks.append(len(pages.rows))
    pages.rows.append(Row((Text(f"Site cards: {_HOW}", "title", len(COLUMNS)),)))
    for title, rows in apart:
        pages.rows.append(Row((Text(title, "heading", len(COLUMNS)),), HEADING_PT))
        pages.rows.extend(rows)
    pages.rows.append(Row((Text(f"{DEFERS.capitalize()}.", "card caution", len(COLUMNS)),)))


def _fewest(name: str, card: Card, rows: list[Row], shift: int) -> Sheet:
    laid = [_flowed(name, card, rows, shift, keep) for keep in (_KEPT, 0.0)]
    return min(laid, key=lambda sheet: len(sheet.page_breaks))


def _thin(row: Row) -> Row:
    """A row of one line takes no more than it needs."""
    if row.height is not None or any("title" in getattr(cell, "style", "") for cell in row.cells):
        return row
    [height] = row_heights_pt(Sheet("", "", COLUMNS), [row])
    return row if height > _ONE_LINE_PT else row._replace(height=_LINE_PT)


def _flowed(name: str, card: Card, rows: list[Row], shift: int, keep: float) -> Sheet:
    part = Sheet(name, "", COLUMNS, rows=list(rows))
    ends = [*(section.first - 1 for section in card.sections[1:]), shift + len(rows)]
    laid = []
    for section, end in zip(card.sections, ends, strict=bool(card.sections)):
        starts = range(section.head + 2 - shift, end + 1 - shift)
        head = [section.head - shift] if section.has_head else []
        laid.append(
            Part(section.first - shift, end - shift, head, starts, section.whole and keep > 0, keep)
        )
    flow(part, laid, [Row((Text(_again(card), "card caution", len(COLUMNS)),))])
    return part


def _again(card: Card) -> str:
    """At the head of every page of a card but the first: the site, what to beware of."""
    words = f"Site card, continued: {card.title}."
    if not card.cautions:
        return words
    return f"{words} The cautions on its first page hold. {DEFERS.capitalize()}."
