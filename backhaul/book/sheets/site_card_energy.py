"""Site cards, energy: what a battery here carries and what its panels must bring."""

from backhaul.book.formula_cells import number_format
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import Card
from backhaul.book.sheets.wired_energy import is_written
from backhaul.budgets.energy import EnergyBalance, energy_balances
from backhaul.budgets.site_index import site_of
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text

#: Heads, the figure below each, its digits, and the columns that it takes.
_FIGURES = (
    ("A day, Wh", "day_wh", 0, 1),
    ("Battery carries, days", "autonomy_days", 1, 2),
    ("Wanted, days", "wanted_days", 1, 2),
    ("Panels, W", "solar_w", 0, 2),
    ("Needed, W", "panel_needed_w", 0, 3),
)
_SOURCE = 2


def write_energy(card: Card) -> None:
    """A row a source that lives on panels, from Copper and supply where that has it."""
    evaluation = card.evaluation
    sources = evaluation.context.sources
    found = [
        balance
        for balance in energy_balances(sources, evaluation.design, evaluation.power)
        if is_written(balance)
        and not balance.is_on_mains
        and site_of(evaluation, balance.equipment) == card.name
    ]
    if not found:
        return
    heads = (Head(head, "card head", span) for head, _, _, span in _FIGURES)
    card.section("Battery and panels", Head("Source", "card head", _SOURCE), *heads, whole=True)
    for balance in found:
        place = next(n for n, source in enumerate(sources) if source is balance.source)
        cells = (_figure(card, balance, place, *of) for _, *of in _FIGURES)
        card.sheet.row(Text(balance.equipment.name, "card text", _SOURCE), *cells)


def _figure(
    card: Card, balance: EnergyBalance, place: int, name: str, digits: int, span: int
) -> SheetCell:
    key, value = card.key(f"energy.{place}.{name}"), float(getattr(balance, name))
    if not is_known(value):
        return Text("not known", "card text", span, key=key)
    if card.is_live(balance.source.lines[0].link):
        cell: SheetCell = Calc(
            key, f"{{energy.{place}.{name}}}", value, format=number_format(digits)
        )
    else:
        cell = Number(value, key=key, format=number_format(digits))
    return cell._replace(span=span)
