"""What to confirm first, in a terminal: the figures that are the likeliest to turn a verdict."""

from collections.abc import Iterator

from backhaul.budgets.confirm import confirm_first
from backhaul.budgets.moves import Figure
from backhaul.catalog.families import UNSURE
from backhaul.checks.results import Results
from backhaul.figures.us_units import IN_US
from backhaul.report.lines import Line, wrapped

#: What the reader is told of a figure that nobody looked up.
UNSURE_SAID = "to be confirmed"
#: Figures that are told.
_MANY = 10


def _apart(value: float, figure: Figure) -> str:
    """A difference of a figure; a length has its unit, which the reader may have in feet."""
    return f"{value:.3g} {figure.unit}" if figure.unit in IN_US else f"{value:.2g}"


def confirm_lines(evaluation: Results, width: int) -> Iterator[Line]:
    """A line a figure: as it stands, its origin and spread, what it turns and when."""
    found = confirm_first(evaluation)
    if not found:
        return
    yield "", ""
    yield "Confirm first", ""
    for one in found[:_MANY]:
        figure = one.figure
        count = len(one.others)
        more = f"; with {count} more {'figure' if count == 1 else 'figures'} of it" if count else ""
        basis = UNSURE_SAID if figure.basis == UNSURE else figure.basis
        spread, move = _apart(figure.spread, figure), _apart(one.move, figure)
        text = (
            f"{figure.label} {figure.value:.4g} {figure.unit} ({basis}, ± {spread}{more}):"
            f" {move} off, {one.reserve:.2g} times that uncertainty, changes the verdict of "
            f"{one.margin.label}; settled by: {figure.ask}"
        )
        yield from wrapped(text, width, "  ")
