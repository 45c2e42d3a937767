"""The change notice: one page for the buyer, and the tables behind it."""

from collections.abc import Iterator
from pathlib import Path

from backhaul.book.change_tables import (
    ON_PAGE,
    ORDER_WIDTHS,
    TABLES,
    order_cells,
    order_heads,
    verdict_cell,
)
from backhaul.book.document import document
from backhaul.book.us_sheet import sheet_of
from backhaul.checks.safety import DEFERS
from backhaul.revisions.cards import AGAIN
from backhaul.revisions.comparison import Comparison
from backhaul.revisions.findings import GONE
from backhaul.revisions.words import change_text, finding_text, moved_text
from backhaul.safe_file import write_beside_and_rename
from backhaul.spreadsheet.cells import Head, Number, Text, Verdict
from backhaul.spreadsheet.grid import Book, Sheet

#: Lines of a list on the first page; the sheet behind holds all.
_WORDS_ON_PAGE = 7


def write_change_notice(compared: Comparison, path: Path) -> None:
    """Write the notice; an existing file is replaced only by a whole one. Raises OutputError."""
    from backhaul.spreadsheet.writer import write_book

    write_beside_and_rename(path, lambda: write_book(change_notice(compared)))


def change_notice(compared: Comparison) -> Book:
    """The notice and its tables; a table that would be empty is left out."""
    sheets = [_notice(compared)]
    sheets += [sheet for build in TABLES if (sheet := build(compared)) is not None]
    return document(
        compared.new.design,
        sheets,
        subject="Change notice",
        digests=f"digests {compared.old.design.digest} to {compared.new.design.digest}",
    )


def _notice(compared: Comparison) -> Sheet:
    new = compared.new.design.project
    sheet = sheet_of(
        compared.new.design,
        "Change notice",
        "Change notice",
        ORDER_WIDTHS,
        subtitle=f"{new.title or compared.new.design.name}"
        + (f", for {new.client}" if new.client else ""),
        landscape=False,
        one_page=True,
    )
    sheet.row(Text(_in_a_sentence(compared), "lead", sheet.width))
    sheet.blank()
    sheet.head(Head("", span=2), Head("Before", span=2), Head("After", span=2))
    for label, was, now in _sides(compared):
        sheet.row(Text(label, span=2), Text(was, span=2), Text(now, span=2))
    sheet.row(
        Text("Verdict of the design", span=2),
        Verdict(compared.old.verdict, span=2),
        Verdict(compared.new.verdict, span=2),
    )
    _words_on_page(sheet, "What was changed", [change_text(each) for each in compared.changes])
    _words_on_page(sheet, "What got worse", list(_worse(compared)))
    _order_on_page(sheet, compared)
    _paths_on_page(sheet, compared)
    _cards_on_page(sheet, compared)
    sheet.heading("How much changed")
    for label, count, behind in _counts(compared):
        sheet.row(Text(label, span=2), Number(count, format="0"), Text(behind, span=3))
    sheet.blank()
    for label in ("Seen by, date", "Agreed by, date"):
        sheet.row(label, Text("", span=5))
    sheet.say(
        "A budget does not make a place safe: what is changed on masts, mains, light and radio is for "
        f"licensed practice; {DEFERS}.",
        "caution",
    )
    return sheet


def _in_a_sentence(compared: Comparison) -> str:
    if compared.is_empty:
        return "Nothing differs between the two revisions."
    lines = compared.order.lines
    order = f"{len(lines)} lines of the order change" if lines else "The order stays as it is"
    if len(lines) == 1:
        order = "One line of the order changes"
    worse = "something got worse: see Findings and Figures" if compared.is_worse else (
        "nothing got worse"
    )  # fmt: skip
    return f"{order}; {worse}."


def _sides(compared: Comparison) -> Iterator[tuple[str, str, str]]:
    old, new = compared.old.design, compared.new.design
    yield "File", old.name, new.name
    for label, name in (("Revision", "revision"), ("Date", "date"), ("Prepared by", "prepared_by")):
        yield label, *(str(getattr(each.project, name) or "") for each in (old, new))
    yield "Digest", old.digest, new.digest


def _worse(compared: Comparison) -> Iterator[str]:
    yield from (finding_text(change) for change in compared.findings if change.is_worse)
    yield from (moved_text(moved) for moved in compared.figures if moved.is_worse)


def _words_on_page(sheet: Sheet, title: str, lines: list[str]) -> None:
    if not lines:
        return
    sheet.heading(title)
    for line in lines[:_WORDS_ON_PAGE]:
        sheet.say(line)
    if len(lines) > _WORDS_ON_PAGE:
        sheet.say(f"and {len(lines) - _WORDS_ON_PAGE} more on the sheets behind", "muted")


def _order_on_page(sheet: Sheet, compared: Comparison) -> None:
    order = compared.order
    if not order.lines:
        return
    currency = compared.new.design.project.currency or ""
    sheet.heading("Order: plus and minus")
    sheet.head(*order_heads(currency))
    for line in order.lines[:ON_PAGE]:
        sheet.row(*order_cells(line))
    rest = len(order.lines) - ON_PAGE
    if rest > 0:
        sheet.say(f"and {rest} more on the sheet Order")
    words = []
    if order.cost is None:
        words.append("no prices in the catalogues")
    else:
        words.append(f"lines with a price: {order.cost:+,.2f} {currency}".strip())
        if order.unpriced:
            words.append(f"{order.unpriced} lines without a price")
    for label, parts in (("for the first time", order.newly), ("no longer", order.no_longer)):
        if parts:
            words.append(f"ordered {label}: {', '.join(parts)}")
    sheet.say("; ".join(words))


def _paths_on_page(sheet: Sheet, compared: Comparison) -> None:
    if not compared.verdicts:
        return
    sheet.heading("Paths whose verdict changed")
    for path, was, now in compared.verdicts[:ON_PAGE]:
        sheet.row(
            Text(path, span=2),
            verdict_cell(was, 2),
            verdict_cell(now, 2),
        )
    if len(compared.verdicts) > ON_PAGE:
        sheet.say(f"and {len(compared.verdicts) - ON_PAGE} more on the sheet Verdicts")


def _cards_on_page(sheet: Sheet, compared: Comparison) -> None:
    if not compared.cards:
        return
    sheet.heading("Site cards")
    for what in dict.fromkeys(card.what for card in compared.cards):
        names = [card.site or "no site given" for card in compared.cards if card.what == what]
        more = f" and {len(names) - ON_PAGE} more" if len(names) > ON_PAGE else ""
        sheet.row(what.capitalize(), Text(", ".join(names[:ON_PAGE]) + more, span=5))


def _counts(compared: Comparison) -> Iterator[tuple[str, int, str]]:
    worse = sum(change.is_worse for change in compared.findings)
    gone = sum(change.what == GONE for change in compared.findings)
    yield "Cells and rows that differ", len(compared.changes), "sheet Rows"
    yield "Findings new or worse", worse, "sheet Findings"
    yield "Findings gone", gone, "sheet Findings"
    moved = len(compared.figures)
    yield "Margins, rates, voltages that moved", moved, "sheet Figures; by 0.1 dB or 1 %"
    yield "Cards to print again", sum(c.what == AGAIN for c in compared.cards), "sheet Site cards"
