"""Requirements: what an offer for each item must meet, so that any offer that meets it all works.

Figures have a column to type what is offered, and say whether it complies. Goes outside: it holds
no figures and no margins of ours. Keys: `req.{family}.{part}` of the first row of a part,
`req.{family}.{part}.{n}.{limit|offered|complies}`.
"""

from collections.abc import Iterator

from backhaul.book.confirm_cells import confirm_mark
from backhaul.book.keys import safe
from backhaul.book.plan import Plan
from backhaul.book.requirement_cells import limit_cell
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.book.title_row import reserve_status
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.order_lines import OrderLine, item_numbers
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, PORTS, Demand, phrases
from backhaul.budgets.requirements import demands
from backhaul.checks.safety import DEFERS
from backhaul.figures.us_units import words_of
from backhaul.spreadsheet.cells import Head, Text, ToFill, Verdict
from backhaul.spreadsheet.grid import Content, Sheet

_SIGN = {AT_LEAST: ">=", AT_MOST: "<="}
_COLUMNS = (6, 22.5, 39.5, 11.5, 8.9, 8.6, 15, 9.7)
#: The air that a part stands in is said in words: a range in one line, as data sheets print it.
_IN_WORDS = ("temp_min_c", "temp_max_c")


def requirement_key(line: OrderLine) -> str:
    """Key of the first row of what a line must meet."""
    return f"req.{line.family}.{safe(line.part)}"


def build(plan: Plan) -> Sheet | None:
    """The sheet, built after Order list; None where nothing is to be met."""
    lines = () if plan.orders is None else plan.orders.lines_by("")
    items: dict[str, list[str]] = {}
    told: dict[str, tuple[OrderLine, tuple[Demand, ...]]] = {}
    free = []
    for item, line in zip(item_numbers(lines), lines, strict=True):
        key = requirement_key(line)
        if key not in told:
            wanted = demands(plan.evaluation, line) if line.family else ()
            if not wanted:
                free.append(item)
                continue
            told[key] = line, wanted
        items.setdefault(key, []).append(item)
    found = [(", ".join(items[key]), *one) for key, one in told.items()]
    if not found:
        return None
    sheet = sheet_of(
        plan.evaluation.design,
        "Requirements",
        "Requirements",
        _COLUMNS,
        landscape=False,
        subtitle="An offer that meets every line of an item works in its place, all items of the "
        "order at their limits at once. Fill in what is offered. Laser class, mains, lightning and "
        f"radio exposure: an offer is no less safe; {DEFERS}.",
    )
    reserve_status(sheet, plan.evaluation)
    head = sheet.head(
        "Item",
        "Part, a class",
        "Requirement",
        Head("Limit", "head right"),
        "Unit",
        Head("Confirm", "head center"),
        "Offered",
        Head("Complies", "head center"),
        repeat=True,
    )
    blocks = []
    for item, line, wanted in found:
        first = sheet.next_row
        _part(plan, sheet, item, line, wanted)
        blocks.append(Block(first, (), sheet.next_row - 1))
    sheet.filtered = (head, len(sheet.rows))
    if free:
        words = f"As Order list describes them, no figure is asked for: {', '.join(free)}."
        sheet.row(Text(words, "text", len(_COLUMNS)))
    fit_pages(sheet, blocks, again=sheet.rows[head - 1 : head])
    return sheet


def _part(plan: Plan, sheet: Sheet, item: str, line: OrderLine, wanted: tuple[Demand, ...]) -> None:
    key = requirement_key(line)
    figures = [demand for demand in wanted if is_figure(demand)]
    words = phrases(demand for demand in wanted if not is_figure(demand))
    name: list[Content] = [Text(item, "text right", key=key), Text(line.part, "strong")]
    if words:
        sheet.row(
            *name,
            Text(_unbroken(words_of(plan.evaluation.design)(words)), "text", 4),
            ToFill(f"{key}.words.offered", style="to fill text"),
            ToFill(f"{key}.words.complies", style="to fill text", note="yes or no"),
        )
        name = ["", ""]
    marked: set[str] = set()
    for place, demand in enumerate(figures):
        sheet.row(*name, *_figure(plan, f"{key}.{place}", line, demand, marked))
        name = ["", ""]


def _unbroken(words: str) -> str:
    """With figures that no line parts from their sign or degree: the last of what is done to words."""
    return words.replace(" -", " \u2212").replace(" °", "\u00a0°")


def is_figure(demand: Demand) -> bool:
    """A figure with a limit, which an offer is compared with."""
    return (
        demand.sense in _SIGN
        and demand.field not in _IN_WORDS
        and isinstance(demand.limit, int | float)
        and not demand.what.startswith(PORTS)
    )


def _figure(
    plan: Plan, key: str, line: OrderLine, demand: Demand, told: set[str]
) -> Iterator[Content]:
    light = plan.is_live("optical-margin")
    limit = limit_cell(demand if light else demand._replace(needs=()), f"{key}.limit", sign=True)
    offered = f"{{{key}.offered}}"
    mark: Content = ""
    if demand.field not in told:  # a limit may have two sides: the figure is marked once
        told.add(demand.field)
        mark = confirm_mark(plan, line.family, line.part, demand.field)
    yield demand.what
    yield limit
    yield demand.unit
    yield mark
    yield ToFill(f"{key}.offered", format="General")
    yield Verdict(
        "",
        key=f"{key}.complies",
        formula=f'IF({offered}="","",IF(ISNUMBER({offered}),IF(ROUND({offered},6){_SIGN[demand.sense]}'
        f'ROUND({{{key}.limit}},6),"yes","no"),"no"))',
    )
