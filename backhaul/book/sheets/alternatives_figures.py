"""Alternatives, figure by figure: offered parts of copper, supply and joints, and what is left over.

Every figure of a part that a line of the book rests on can be offered here; the whole book follows,
or its answer says that backhaul has to run again.
"""

from collections.abc import Iterator, Mapping, Sequence

from backhaul.book.formula_cells import number_format
from backhaul.book.inputs import OFFERED, BookInput, Inputs
from backhaul.book.offer_table import OFFER_NOTE, Offers
from backhaul.book.plan import Plan
from backhaul.book.requirement_cells import limit_cell
from backhaul.book.status import SAME, STALE, WRONG, offer_cell
from backhaul.book.typed_limits import column_of, family_of
from backhaul.budgets.order_lines import OrderLine
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, Demand
from backhaul.budgets.requirements import demands
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Content, Sheet

#: Figures of a port that a demand on its part names.
_OF_PORT = {"min_volts": "supply_min_volts", "max_volts": "supply_max_volts", "watts": "watts"}
_TITLES = {
    "devices": "Devices and supplies",
    "ports": "Ports",
    "radios": "Radios: supply",
    "coppers": "Copper cable",
    "feeds": "Feed cable",
    "protectors": "Protectors",
    "joints": "Joints",
    "optics": "Optics: power",
}


def write_figures(plan: Plan, sheet: Sheet, lines: Sequence[OrderLine]) -> Offers:
    """A row a figure that has no column of its own above; returns what can be typed."""
    wanted = _wanted(plan, lines)
    offers: Offers = []
    used: list[tuple[SheetCell, ...]] = []
    for family, title in _TITLES.items():
        rows = list(_left(plan, family))
        if not rows:
            continue
        sheet.heading(title)
        sheet.row(
            *(
                Text(head, style, span)
                for head, style, span in (
                    ("Part", "head", 1),
                    ("Figure", "head", 5),
                    ("Unit", "head", 1),
                    ("Ours", "head right", 1),
                    ("Must be", "head right", 1),
                    ("Offered", "head right", 1),
                    ("Complies", "head center", 1),
                    ("Followed", "head center", 1),
                    ("", "head", 1),
                )
            )
        )
        part = ""
        for given in rows:
            name, _, figure = given.label.partition(": ")
            demand = wanted.get((name, _demand_field(given.key)))
            row, offer, in_use = _figure(plan, given, figure, demand)
            sheet.row("" if name == part else Text(name, "strong"), *row)
            part = name
            offers.append(offer)
            used.append(in_use)
    if used:
        sheet.helper("In use: figures", ("in use", "figure"), used)
    return offers


def _left(plan: Plan, family: str) -> Iterator[BookInput]:
    """Inputs of a family that an offer may replace and that stand in no table above."""
    for key, given in list(plan.inputs.rows.items()):
        is_left = family_of(key) == family and key not in plan.inputs.replaced
        if is_left and Inputs.in_use(key) != key and not isinstance(given.value, str):
            yield given


def _wanted(plan: Plan, lines: Sequence[OrderLine]) -> Mapping[tuple[str, str], Demand]:
    """Limits of what is ordered, by part and column."""
    return {
        (line.part, demand.field): demand
        for line in lines
        if line.family and line.family in OFFERED
        for demand in demands(plan.evaluation, line)
        if demand.sense in (AT_LEAST, AT_MOST) and not isinstance(demand.limit, str)
    }


def _demand_field(key: str) -> str:
    column = column_of(key)
    return _OF_PORT.get(column, column) if family_of(key) == "ports" else column


def _figure(plan: Plan, given: BookInput, figure: str, demand: Demand | None):
    """The row of one figure, what can be typed there, and the cell of what is in use."""
    prefix = f"alt.figure.{given.key.removeprefix('given.')}"
    typed, value = f"{prefix}.offered", float(given.value)
    shown = number_format(demand.digits if demand else 2) if value != int(value) else "General"
    plan.inputs.replaced.add(given.key)
    must: Content = ""
    complies: Content = ""
    if demand is not None:
        must = limit_cell(demand._replace(needs=()), f"{prefix}.must", sign=True)
        sign = ">=" if demand.sense == AT_LEAST else "<="
        complies = Verdict(
            "",
            key=f"{prefix}.complies",
            formula=f'IF({{{typed}}}="","",IF(ROUND({{{typed}}},6){sign}{{{prefix}.must}},"yes","no"))',
        )
    state = f"{{state.{typed}}}"
    row: list[Content] = [
        Text(figure, span=5),
        given.unit,
        Calc(f"{prefix}.ours", f"{{{given.key}}}", value, format=shown),
        must,
        offer_cell(plan, typed, (given.key,), shown, OFFER_NOTE),
        complies,
        Verdict(
            "",
            key=f"{prefix}.followed",
            formula=f'IF({state}={SAME},"",IF({state}={STALE},"run again",'
            f'IF({state}={WRONG},"not usable","yes")))',
        ),
        "",
    ]
    in_use = (
        Calc(
            Inputs.in_use(given.key),
            f"IF(ISNUMBER({{{typed}}}),{{{typed}}},{{{given.key}}})",
            value,
        ),
        Text(given.label, "helper head"),
    )
    return row, (typed, (given.key,)), in_use
