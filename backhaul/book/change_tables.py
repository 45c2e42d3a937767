"""The tables behind a change notice: rows, verdicts, findings, figures, order, site cards."""

from collections.abc import Sequence
from typing import Any

from backhaul.book.us_sheet import sheet_of
from backhaul.revisions.comparison import Comparison
from backhaul.revisions.findings import FindingChange
from backhaul.spreadsheet.cells import Head, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Content, Sheet

#: Verdicts that stand on the first page; more get a sheet.
ON_PAGE = 14
ORDER_WIDTHS = (30, 22, 12, 12, 14, 14)
_RIGHT = "head right"


def verdict_cell(word: str | None, span: int = 1) -> SheetCell:
    return Verdict(word, span=span) if word else Text("none", "text center", span)


def order_heads(currency: str) -> tuple[Content, ...]:
    cost = f"More, {currency}" if currency else "More, cost"
    return (
        "Part",
        "Pack, unit",
        Head("Before", _RIGHT),
        Head("After", _RIGHT),
        Head("More", _RIGHT),
        Head(cost, _RIGHT),
    )


def order_cells(line: Any) -> tuple[Content, ...]:
    cost: Content = Text("no price", "text right")
    if line.cost is not None:
        cost = Number(line.cost, format="+0.00;-0.00;0.00")
    return (
        line.part,
        " ".join(filter(None, (line.pack, line.unit))),
        Number(line.before, format="General"),
        Number(line.after, format="General"),
        Number(line.more, format="+General;-General;0"),
        cost,
    )


def _table(
    compared: Comparison,
    title: str,
    widths: Sequence[float],
    heads: Sequence[Content],
    rows: list[Sequence[Content]],
) -> Sheet | None:
    if not rows:
        return None
    sheet = sheet_of(compared.new.design, title, title, widths)
    sheet.head(*heads, repeat=True)
    sheet.table(rows)
    return sheet


def _rows_sheet(compared: Comparison) -> Sheet | None:
    return _table(
        compared,
        "Rows",
        (10, 10, 16, 7, 34, 16, 22, 22, 15, 15, 30),
        ("Table", "What", "Path", "Step", "Thing", "Column", "From", "To", "Cell before",
         "Cell after", "In words"),
        [
            (
                change.table,
                change.what,
                change.path,
                "" if change.step is None else f"{change.step:g}",
                change.name,
                change.column,
                _cell(change.before),
                _cell(change.after),
                change.where_before,
                change.where_after,
                change.text,
            )
            for change in compared.changes
        ],
    )  # fmt: skip


def _cell(value: Any) -> Content:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return Number(value, format="General") if isinstance(value, int | float) else str(value)


def _verdicts_sheet(compared: Comparison) -> Sheet | None:
    if len(compared.verdicts) <= ON_PAGE:
        return None
    return _table(
        compared,
        "Verdicts",
        (30, 12, 12),
        ("Path", Head("Before", "head center"), Head("After", "head center")),
        [(path, verdict_cell(was), verdict_cell(now)) for path, was, now in compared.verdicts],
    )


def _findings_sheet(compared: Comparison) -> Sheet | None:
    return _table(
        compared,
        "Findings",
        (10, 10, 18, 16, 7, 12, 12, 9, 56, 28),
        ("What", "Verdict", "Check", "Path", "Step", Head("Before", _RIGHT), Head("After", _RIGHT),
         "Unit", "Found", "Accepted by"),
        [_finding_cells(change) for change in compared.findings],
    )  # fmt: skip


def _finding_cells(change: FindingChange) -> Sequence[Content]:
    finding = change.finding
    what = "worse" if change.is_worse and change.before else change.what
    accepted = finding.accepted
    return (
        what,
        Verdict(finding.severity),
        finding.check,
        ", ".join(finding.paths[:3]),
        "" if finding.step is None else f"{finding.step:g}",
        _figure(change.before.value if change.before else None),
        _figure(change.after.value if change.after else None),
        finding.unit or "",
        finding.message,
        "" if accepted is None else f"{accepted.by}, {accepted.date}: {accepted.reason}",
    )


def _figure(value: Any, decimals: int = 2) -> Content:
    if value is None:
        return ""
    if not isinstance(value, int | float):
        return str(value)
    return Number(float(value), format="0." + "0" * decimals)


def _figures_sheet(compared: Comparison) -> Sheet | None:
    return _table(
        compared,
        "Figures",
        (18, 44, 34, 12, 12, 8, 9),
        ("Path", "Link", "Figure", Head("Before", _RIGHT), Head("After", _RIGHT), "Unit", "Moved"),
        [
            (
                moved.path,
                moved.place,
                moved.label,
                _figure(moved.before, 4 if moved.unit == "%" else 2) or "not known",
                _figure(moved.after, 4 if moved.unit == "%" else 2) or "not known",
                moved.unit,
                "worse" if moved.is_worse else "better" if moved.is_better else "",
            )
            for moved in compared.figures
        ],
    )


def _order_sheet(compared: Comparison) -> Sheet | None:
    heads = ("Section", *order_heads(compared.new.design.project.currency or ""))
    rows = [(line.section, *order_cells(line)) for line in compared.order.lines]
    return _table(compared, "Order", (26, *ORDER_WIDTHS), heads, rows)


def _cards_sheet(compared: Comparison) -> Sheet | None:
    return _table(
        compared,
        "Site cards",
        (26, 14, 98),
        ("Site", "Card", "Why"),
        [
            (card.site or "no site given", card.what, "; ".join(card.reasons))
            for card in compared.cards
        ],
    )


TABLES = (
    _rows_sheet,
    _verdicts_sheet,
    _findings_sheet,
    _figures_sheet,
    _order_sheet,
    _cards_sheet,
)
