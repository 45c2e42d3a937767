"""How each figure of copper and supply comes about, in the words of the tables that show it.

What stands on Inputs says so and leads there; formulas are those of `figures.power_terms`,
`figures.power_load_terms` and `figures.copper_terms`, in the heads of their columns. That a figure is an
input, or the sum of rows or loads, its declaration says; here stands what none does.
"""

from collections.abc import Sequence

from backhaul.book.line_of_sight import INPUTS, how_cell, is_of_inputs
from backhaul.figures.power_load_terms import LOAD_TERMS
from backhaul.figures.power_terms import ROW_TERMS
from backhaul.figures.terms import Input, Term
from backhaul.physics import copper
from backhaul.spreadsheet.cells import SheetCell, Text, as_cell
from backhaul.spreadsheet.grid import Sheet

#: Of what a total is made up, by its column in the rows or loads of a line.
_BELOW = {term.key: "rows below" for term in ROW_TERMS} | {
    term.key: "loads below" for term in LOAD_TERMS
}
#: Of the lines of feeds, one row a figure, where its declaration does not say it.
OF_FEEDS = {
    "source_v": f"{INPUTS}: lowest, where it is stated",
    "seen_ohm": "rows below, times the share of what flows in them",
    "seen_reactance_ohm": "rows below, times the share of what flows in them",
    "power_factor": f"lowest of the loads, {INPUTS}",
    "line_loss_w": "current² × loop resistance, warm",
    "source_w": "load and what the line loses",
    "drop_percent": "nominal voltages",
    "least_v": "the highest of its loads, below",
    "capacity_a": "the weakest of its rows below",
    "rated_a": "the weakest of its rows below",
    "output_w": f"{INPUTS}: of the source",
    "stated_short_a": f"{INPUTS}: of the source",
    "breaker_a": f"{INPUTS}: of the source",
}
SAID_OF_DROPS = (
    "The fixed part that a temperature leaves by ISO/IEC 11801; cords of the channel by TIA-568."
)
#: Of the tables, one word or formula a column behind the first; blank where it comes from Inputs.
OF_DROPS = (
    "",
    "",
    "by °C, above",
    INPUTS,
    f"reach − {copper.FIXED_LENGTH_M:g} + fixed",
    "fastest in limit",
    "≤ limit, cords too",
    "table below",
    "as found",
    "the worst",
    "catalogue, design",
)
OF_POE = (
    "",
    "rows below",
    "loads below",
    "stable root",
    "stable root",
    "load ÷ voltage",
    "current² × loop",
    "load + lost",
    "",
    "loads below",
    "drawn ≤ gives",
    "at load ≥ starts",
    "",
)
OF_LOADS = (
    "",
    "",
    "optics, sum",
    "drawn by lines",
    "",
    INPUTS,
    "as above",
    "",
    "of its line",
    "as above",
    "given ≤ stands",
    "",
)
OF_RUNS = (
    "",
    "",
    "",
    "air, sun",
    "IEEE 802.3",
    "as above",
    "",
    "2 × length × it",
    "the same at 70",
    "",
    "as above",
    "run ÷ line",
)


def how_of(figure: Input | Term) -> str:
    """How a figure of a line comes about: by its words here, its declaration, its source."""
    if figure.key in OF_FEEDS:
        return OF_FEEDS[figure.key]
    if isinstance(figure, Input):
        return INPUTS
    return _BELOW.get(figure.total, "") or figure.source


def tell(sheet: Sheet, head: int, words: Sequence[str]) -> None:
    """Put under the head of a table, in row `head`, how each of its columns comes about.

    What comes from Inputs leads to the input of the first row that has one.
    """
    cells: list[SheetCell] = [Text("How", "text small")]
    spans = [cell.span for cell in map(as_cell, sheet.rows[head - 1].cells) if cell is not None]
    for place, (how, span) in enumerate(zip(words, spans[1:], strict=True), 1):
        shown = [as_cell(row.cells[place]) for row in sheet.rows[head:] if len(row.cells) > place]
        how = how or (INPUTS if any(is_of_inputs(cell) for cell in shown) else "")
        given = [how_cell(how, cell, span) for cell in shown]
        ways = [cell for cell in given if not isinstance(cell, Text)]
        cells.append(ways[0] if ways else Text(how, "text small", span))
    sheet.row(*cells)
    sheet.rows.insert(head, sheet.rows.pop())
