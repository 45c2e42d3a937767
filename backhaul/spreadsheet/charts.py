"""Charts as plain descriptions; figures come from cells, so a chart lives with the book.

A reference is a Range or a text of keys, `{first}:{last}`. Axis limits left out are set from the
values that the cells have now.
"""

from collections.abc import Sequence
from typing import NamedTuple

from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Range, SheetCell

Reference = Range | str

# Colours of lines and areas, calm and apart from each other also in grey.
LINE_COLOURS = ("2B5466", "C2703D", "5C9F80", "7A6BA8", "8A8F94")
GROUND, WATER = "C9BCA3", "A9CBDD"
SILENT_ZERO = "0.0;-0.0;"  # a zero belongs to another verdict and is not shown


class Series(NamedTuple):
    """One line: its name and figures; `at` holds the x of each point of a scatter."""

    name: str
    values: Reference
    at: Reference | None = None
    colour: str = ""
    dashed: bool = False
    width_pt: float = 1.75


class LinesChart(NamedTuple):
    """Lines over a measured x: a level along km (x doubled at a step), a sweep."""

    title: str
    x: Axis
    y: Axis
    series: Sequence[Series]
    alt_text: str
    legend: bool = True


class VerdictBars(NamedTuple):
    """Bars coloured by verdict: three columns of figures, one of them not zero in each row."""

    title: str
    categories: Reference
    passes: Reference
    thins: Reference
    fails: Reference
    y: Axis
    alt_text: str
    upright: bool = False
    legend: bool = True


class ProfileChart(NamedTuple):
    """Terrain as an area, water as a second one, lines above; points evenly spaced.

    `labels` is a column of km at whole steps and of nothing between: a category axis would else
    write every point's.
    """

    title: str
    labels: Reference
    ground: Reference
    lines: Sequence[Series]
    x: Axis
    y: Axis
    alt_text: str
    water: Reference | None = None
    legend: bool = True


class BarsChart(NamedTuple):
    """Plain bars side by side, on a log axis where `y.log` (figures above 0 only): outage."""

    title: str
    categories: Reference
    series: Sequence[Series]
    y: Axis
    alt_text: str
    upright: bool = False
    legend: bool = True
    #: the figure stands at the end of its bar
    figures: bool = False


Chart = LinesChart | VerdictBars | ProfileChart | BarsChart


def verdict_row(
    name: SheetCell | str, figure_key: str, figure: float, verdict_key: str, verdict: str
) -> tuple[SheetCell | str, Calc, Calc, Calc]:
    """A helper row of VerdictBars: name, and the figure in the column of its verdict, live."""
    passes, thins, fails = (
        Calc(
            key="",
            formula=f'IF({{{verdict_key}}}="{word}",{{{figure_key}}},0)',
            value=figure if verdict == word else 0.0,
            format=SILENT_ZERO,
        )
        for word in ("pass", "thin", "fail")
    )
    return name, passes, thins, fails
