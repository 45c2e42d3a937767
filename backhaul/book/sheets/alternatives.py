"""Alternatives: type an offered part's figures beside ours; margins and verdicts move at once.

An empty yellow cell means ours. The figure in use stands beside the print area under the key
`eff.{family}.{part}.{figure}`, and Optical links and Radio hops read it there, so the whole book follows.
"""

from collections.abc import Sequence

from backhaul.book.offer_table import Offers
from backhaul.book.plan import Plan
from backhaul.book.sheets.alternatives_figures import write_figures
from backhaul.book.sheets.alternatives_optical import write_light
from backhaul.book.sheets.alternatives_radio import write_air
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.book.status import lay_offer_states
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.order_lines import OrderLine
from backhaul.budgets.order_list import order_list
from backhaul.spreadsheet.cells import Calc, Text
from backhaul.spreadsheet.grid import Row, Sheet

COUNT_KEY = "alternatives.count"


def build(plan: Plan) -> Sheet | None:
    """The sheet, built after Optical links and Radio hops; None where nothing could be offered."""
    sheet = sheet_of(
        plan.evaluation.design,
        "Alternatives",
        "Alternatives",
        (24, 12, 10, 10.6, 10.5, 10, 10.6, 10, 10.5, 10, 10, 10.5, 36),
        subtitle="Type the figures of an offered part into the yellow cells; an empty cell means "
        "ours. Margins, verdicts, charts and the answer on At a glance follow. A part is replaced "
        "wherever it stands. This sheet does not print.",
    )
    sheet.prints = False
    sheet.blank()
    place = len(sheet.rows) - 1
    lines = order_list(plan.evaluation).lines_by("")
    orders = _orders(lines)
    offers = [
        *write_light(plan, sheet, orders),
        *write_air(plan, sheet, orders),
        *write_figures(plan, sheet, lines),
    ]
    if not offers:
        return None
    lay_offer_states(plan, sheet, offers)
    _count(sheet, place, offers)
    fit_sections(sheet)
    return sheet


def _orders(lines: Sequence[OrderLine]) -> dict[tuple[str, str], str]:
    """How much of each part is ordered, in words."""
    words: dict[tuple[str, str], list[str]] = {}
    for line in lines:
        unit = "" if line.unit == "piece" else f" {line.unit}"
        pack = f" {line.pack}" if line.length_m is not None else ""
        words.setdefault((line.family, line.part), []).append(f"{line.to_order:g}{unit}{pack}")
    return {key: "to order: " + ", ".join(found) for key, found in words.items()}


def _count(sheet: Sheet, place: int, offers: Offers) -> None:
    """How many offered figures are in use, above the tables."""
    first, last = (f"state.{offers[n][0]}" for n in (0, -1))
    row = Row(
        (
            Text("Offered figures in use", "strong", 2),
            Calc(COUNT_KEY, f'COUNTIF({{{first}}}:{{{last}}},">0")', 0, format="0"),
            Text(
                "0: the book shows the design as it was drawn up. Limits under “must be” hold "
                "with all lines at their limits. The verdict is of the levels alone: form, plugs, "
                "wavelengths, temperature and what else an equivalent must meet stand on "
                "Requirements. An offer that this book cannot follow to the end turns the answer "
                "into “run again”.",
                "text small",
                10,
            ),
        )
    )
    sheet.rows[place] = row
