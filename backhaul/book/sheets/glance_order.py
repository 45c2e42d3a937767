"""What is ordered and what the order depends on, on At a glance."""

from collections import Counter
from collections.abc import Iterator

from backhaul.book.plan import Plan
from backhaul.book.sheets.order_suppliers import NONE_YET
from backhaul.budgets.order_lines import SECTIONS, WORK
from backhaul.path.links import RADIO
from backhaul.spreadsheet.cells import Calc, Link, Text
from backhaul.spreadsheet.grid import Sheet

#: Names of lines that are told.
_MOST_NAMED = 4


def write_order(plan: Plan, sheet: Sheet) -> None:
    """What is ordered, in two lines; prices as they are filled in."""
    if plan.orders is None:
        return
    lines = plan.orders.lines_by("")
    sections = Counter(line.section for line in lines)
    words = ", ".join(
        f"{section.lower()} {sections[section]}" for section in SECTIONS if sections[section]
    )
    sheet.heading("What to order")
    apart = len(plan.orders.lines) - len(lines)
    sheet.row(
        Link("Order list", "Order list"),
        Text(
            (f"{len(lines)} lines: {words}." if lines else "Nothing.")
            + (f" {apart} more lines are there already or come from others." if apart else ""),
            span=sheet.width - 1,
        ),
    )
    if not lines:
        return
    sheet.row(
        "Cheapest complete offer",
        *(
            cell
            for part in ("goods", "works")
            if any((line.section == WORK) == (part == "works") for line in lines)
            for cell in (
                Text(part, "text right"),
                Calc(
                    f"glance.{part}",
                    f"{{order.cheapest_{part}}}",
                    NONE_YET,
                    format="#,##0.00",
                    style="calc text",
                    span=2,
                ),
            )
        ),
    )


def write_depends(plan: Plan, sheet: Sheet) -> None:
    """What the order hangs on besides the figures to confirm."""
    words = list(_depends(plan))
    if words:
        sheet.row(
            Text("It depends on", "strong"),
            Text("; ".join(words) + ".", span=sheet.width - 1),
        )


def _depends(plan: Plan) -> Iterator[str]:
    evaluation = plan.evaluation
    licensed = [
        link.rows[0].label or link.rows[0].part
        for link in evaluation.network.links[RADIO]
        if link.rows[0].eirp_limit_dbm is not None
    ]
    if licensed:
        yield f"a licence for {_few(licensed)}"
    unchecked = [extra.part or extra.description for extra in evaluation.design.extras]
    unchecked = [name for name in dict.fromkeys(unchecked) if name]
    if unchecked:
        yield f"extras sized apart from this design, not checked: {_few(unchecked)}"
    lines = () if plan.orders is None else plan.orders.lines
    for by, words in (("client", "what the client provides"), ("existing", "what is there")):
        parts = list(dict.fromkeys(line.part for line in lines if line.by == by))
        if parts:
            yield f"{words}: {_few(parts)}"
    later = [line.part for line in lines if line.by == "later"]
    if later:
        yield f"what is left for later: {_few(later)}"


def _few(names: list[str]) -> str:
    """The first names, and how many more.

    >>> _few(["a", "b", "c", "d", "e"])
    'a, b, c, d and 1 more'
    """
    rest = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {rest} more" if rest > 0 else "")
