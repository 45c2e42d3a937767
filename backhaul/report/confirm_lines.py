"""What to confirm first, in a terminal: the figures that are the likeliest to turn a verdict."""

from collections.abc import Iterator

from backhaul.budgets.confirm import confirm_first
from backhaul.checks.results import Results
from backhaul.report.lines import Line, wrapped

#: Figures that are told.
_MANY = 10


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
        more = f", and {count} more {'figure' if count == 1 else 'figures'} of it" if count else ""
        text = (
            f"{figure.label} {figure.value:.4g} {figure.unit} ({figure.basis}, \u00b1 {figure.spread:.2g})"
            f"{more}: turns {one.margin.label} when off by {one.move:.2g} "
            f"({one.reserve:.2g} of this spread); "
            f"{figure.ask}"
        )
        yield from wrapped(text, width, "  ")
