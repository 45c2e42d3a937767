"""What an equivalent of each part must meet, on the order list."""

from collections.abc import Sequence

from backhaul.book.formula_cells import number_format
from backhaul.book.plan import Plan
from backhaul.book.requirement_cells import limit_cell
from backhaul.budgets.order_lines import OrderLine
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, Demand
from backhaul.budgets.requirements import demands
from backhaul.checks.safety import DEFERS
from backhaul.spreadsheet.cells import Number, Text, Verdict
from backhaul.spreadsheet.grid import Content, Sheet

_SIGN = {AT_LEAST: ">=", AT_MOST: "<="}
#: Units of figures that a budget needs; the rest is told in one sentence.
_FIGURES = ("dBm", "dB", "dB/km", "dBi", "ps/nm", "W", "V", "ohm", "ohm/km", "Mb/s", "mm²", "A")
_YES, _NO = "yes", "no"
_PORTS = "ports "


def write_limits(plan: Plan, sheet: Sheet, lines: Sequence[OrderLine]) -> None:
    """The section: a sentence and the figures of each part, live over Optical links where it can be."""
    sheet.heading("What an equivalent must meet")
    sheet.say(
        "Limits that the budgets need, so that an offer can be judged: all lines may stand at their "
        "limits at once, the healthy margin kept; rounded to the safe side. An offer that misses one "
        "limit and beats another is judged on Alternatives. Laser class, mains, lightning and radio "
        f"exposure: an equivalent is no less safe; {DEFERS}.",
        "muted",
    )
    sheet.row(
        *(
            Text(head, style, span)
            for head, style, span in (
                ("Part", "head", 1),
                ("Figure", "head", 1),
                ("Must be", "head", 2),
                ("Limit", "head right", 1),
                ("Unit", "head", 1),
                ("Ours", "head right", 1),
                ("Met", "head center", 1),
                ("Because of", "head", 3),
            )
        )
    )
    told: set[tuple[str, str]] = set()
    for line in lines:
        if (line.family, line.part) in told or not line.family:
            continue
        told.add((line.family, line.part))
        found = demands(plan.evaluation, line)
        figures = [demand for demand in found if _is_figure(demand)]
        words = "; ".join(_phrase(demand) for demand in found if not _is_figure(demand))
        if words:
            sheet.row(Text(line.part, "strong"), Text(words, span=sheet.width - 1))
        for place, demand in enumerate(figures):
            name = Text(line.part, "strong") if not words and not place else ""
            sheet.row(name, *_figure(plan, f"must.{line.family}.{line.part}.{place}", line, demand))


def _is_figure(demand: Demand) -> bool:
    return demand.sense in _SIGN and demand.unit in _FIGURES and not isinstance(demand.limit, str)


def _phrase(demand: Demand) -> str:
    """A limit in words, with ours where it falls short."""
    words = demand.text
    if demand.what.startswith(_PORTS) and demand.sense == AT_LEAST:
        words = f"at least {demand.limit:g} × port {demand.what.removeprefix(_PORTS)}"
    if demand.met is False:
        return f"{words} (ours: {demand.ours:g} {demand.unit}".rstrip() + ")"
    return words


def _figure(plan: Plan, key: str, line: OrderLine, demand: Demand) -> list[Content]:
    light = plan.is_live("optical-margin")
    limit = limit_cell(demand if light else demand._replace(needs=()), f"{key}.limit")
    shown = number_format(demand.digits)
    if demand.ours is None:
        ours: Content = Text("not stated", "text right")
        met: Content = ""
    else:
        ours = Number(demand.ours, key=f"{key}.ours", format=shown)
        sign = _SIGN[demand.sense]
        met = Verdict(
            _YES if demand.met else _NO,
            key=f"{key}.met",
            formula=f'IF(ROUND({{{key}.ours}},6){sign}ROUND({{{key}.limit}},6),"{_YES}","{_NO}")',
        )
    return [
        demand.what,
        Text(demand.sense, span=2),
        limit,
        demand.unit,
        ours,
        met,
        Text(demand.why, "text small", 3),
    ]
