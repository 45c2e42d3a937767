"""Chart descriptions as chart parts, their figures read from the cells and stored beside."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from backhaul.errors import OutputError
from backhaul.spreadsheet import charts
from backhaul.spreadsheet.axis_scale import Axis, Scale, scale
from backhaul.spreadsheet.chart_xml import (
    EMU_PER_PT,
    area,
    axis,
    figure,
    outline,
    whole,
    words,
)
from backhaul.spreadsheet.charts import Reference, Series
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.sheet_data import clean, escape
from backhaul.spreadsheet.styles import DEEP, INK, VERDICT_SOLID

_BAR_GAP = 45  # percent of a bar
_OVERLAP = '<overlap val="100"/>'
_NO_MARKER = (
    '<marker><symbol val="none"/><spPr><a:ln><a:prstDash val="solid"/></a:ln></spPr></marker>'
)


def _figures_at(place: str) -> str:
    """Figures on bars: in the middle (ctr) or at the end (outEnd)."""
    return (
        f'<dLbls>{words(8, INK)}<dLblPos val="{place}"/><showLegendKey val="0"/><showVal val="1"/>'
        '<showCatName val="0"/><showSerName val="0"/><showPercent val="0"/></dLbls>'
    )


def chart_part(layout: Layout, chart: charts.Chart) -> str:
    """The XML of one chart."""
    drawing = _Drawing(layout, chart.title)
    if isinstance(chart, charts.LinesChart):
        plots = drawing.lines(chart)
    elif isinstance(chart, charts.VerdictBars):
        plots = drawing.verdict_bars(chart)
    elif isinstance(chart, charts.ProfileChart):
        plots = drawing.profile(chart)
    else:
        labels = _figures_at("outEnd") if chart.figures else ""
        plots = drawing.bars(chart.series, chart.categories, chart.y, chart.upright, labels=labels)
    return whole(chart.title, DEEP, plots, chart.legend)


class _Drawing:
    """One chart under construction."""

    def __init__(self, layout: Layout, title: str) -> None:
        self._layout = layout
        self._user = f"chart {title!r}"
        self._read: dict[Reference, tuple[list[float | str], str]] = {}
        self._written: dict[Reference, str] = {}

    def lines(self, chart: charts.LinesChart) -> str:
        series, x_values, y_values = [], [], []
        for n, line in enumerate(chart.series):
            if line.at is None:
                raise OutputError(f"{self._user}: series {line.name!r} has no x")
            points = (
                f"<xVal>{self._labels(line.at)}</xVal><yVal>{self._figures(line.values)}</yVal>"
            )
            series.append(_series(n, line, _stroke(n, line) + points + '<smooth val="0"/>'))
            x_values += self._values(line.at)
            y_values += self._values(line.values)
        return (
            f'<scatterChart><scatterStyle val="lineMarker"/>{"".join(series)}{_axes(10, 20)}'
            "</scatterChart>"
            + axis("valAx", 10, 20, chart.x, scale(chart.x, x_values, tight=True))
            + axis("valAx", 20, 10, chart.y, scale(chart.y, y_values), grid=True)
        )

    def verdict_bars(self, chart: charts.VerdictBars) -> str:
        columns = {"pass": chart.passes, "thin": chart.thins, "fail": chart.fails}
        lines = [Series(word, ref, colour=VERDICT_SOLID[word]) for word, ref in columns.items()]
        labels = _figures_at("ctr")
        return self.bars(
            lines, chart.categories, chart.y, chart.upright, stacked=True, labels=labels
        )

    def bars(
        self,
        lines: Sequence[Series],
        categories: Reference,
        y: Axis,
        upright: bool,
        *,
        stacked: bool = False,
        labels: str = "",
    ) -> str:
        """Bars, one series beside or on top of the other; the first row stands on top."""
        series, values = [], []
        for n, line in enumerate(lines):
            looks = f'{_filled(n, line)}<invertIfNegative val="0"/>{labels}'
            series.append(_series(n, line, looks + self._points(categories, line.values)))
            values += self._values(line.values)
        if y.log and any(not isinstance(v, str) and v <= 0 for v in values):
            raise OutputError(f"{self._user}: a log axis shows figures above zero only")
        across: dict[str, Any] = {} if upright else {"labels": "nextTo", "crosses": "max"}
        return (
            f'<barChart><barDir val="{"col" if upright else "bar"}"/>'
            f'<grouping val="{"stacked" if stacked else "clustered"}"/>{"".join(series)}'
            f'<gapWidth val="{_BAR_GAP}"/>{_OVERLAP if stacked else ""}{_axes(10, 100)}</barChart>'
            + axis(
                "catAx",
                10,
                100,
                Axis(""),
                Scale(),
                orientation="minMax" if upright else "maxMin",
                crosses="min" if y.log else "autoZero",
                rest='<lblOffset val="100"/>',
            )
            + axis("valAx", 100, 10, y, scale(y, values, with_zero=True), grid=True, **across)
        )

    def profile(self, chart: charts.ProfileChart) -> str:
        areas = [Series("ground", chart.ground, colour=charts.GROUND)]
        if chart.water is not None:
            areas.append(Series("water", chart.water, colour=charts.WATER))
        filled, drawn, values = "", "", []
        for n, line in enumerate((*areas, *chart.lines)):
            points = self._points(chart.labels, line.values)
            if n < len(areas):
                filled += _series(n, line, _filled(n, line) + points)
            else:
                drawn += _series(n, line, _stroke(n, line) + points + '<smooth val="0"/>')
            values += self._values(line.values)
        if drawn:
            drawn = f'<lineChart><grouping val="standard"/>{drawn}{_axes(10, 100)}</lineChart>'
        labelled = [n for n, label in enumerate(self._values(chart.labels)) if label != ""]
        every = next((b - a for a, b in pairwise(labelled)), 1)
        rest = (
            f'<lblOffset val="100"/><tickLblSkip val="1"/><tickMarkSkip val="{every}"/>'
            '<noMultiLvlLbl val="1"/>'
        )
        return (
            f'<areaChart><grouping val="standard"/>{filled}{_axes(10, 100)}</areaChart>{drawn}'
            # level text would be broken to the point spacing
            + axis("catAx", 10, 100, chart.x, Scale(), level=False, rest=rest)
            + axis(
                "valAx",
                100,
                10,
                chart.y,
                scale(chart.y, values),
                grid=True,
                rest='<crossBetween val="midCat"/>',
            )
        )

    def _points(self, categories: Reference, values: Reference) -> str:
        return f"<cat>{self._labels(categories)}</cat><val>{self._figures(values)}</val>"

    def _values(self, reference: Reference) -> list[float | str]:
        return self._cells(reference)[0]

    def _cells(self, reference: Reference) -> tuple[list[float | str], str]:
        """Values of a range, and the number format of its first cell."""
        if reference not in self._read:
            cells = self._layout.cells_of(reference, self._user)
            found: list[Any] = [
                getattr(cell, "value", getattr(cell, "text", None)) for cell in cells
            ]
            if not found or None in found:
                raise OutputError(f"{self._user}: {reference} has empty cells")
            self._read[reference] = found, getattr(cells[0], "format", "") or "General"
        return self._read[reference]

    def _figures(self, reference: Reference) -> str:
        values, shown = self._cells(reference)
        points = "".join(
            [
                f'<pt idx="{n}"><v>{figure(value)}</v></pt>'
                for n, value in enumerate(values)
                if not isinstance(value, str)
            ]
        )
        return (
            f"<numRef><f>{self._address(reference)}</f><numCache>"
            f'<formatCode>{escape(shown)}</formatCode><ptCount val="{len(values)}"/>{points}'
            "</numCache></numRef>"
        )

    def _labels(self, reference: Reference) -> str:
        if reference in self._written:
            return self._written[reference]
        values = self._values(reference)
        if any(isinstance(value, str) for value in values):
            points = "".join(
                [
                    f'<pt idx="{n}"><v>{escape(clean(str(value)))}</v></pt>'
                    for n, value in enumerate(values)
                ]
            )
            text = (
                f"<strRef><f>{self._address(reference)}</f><strCache>"
                f'<ptCount val="{len(values)}"/>{points}</strCache></strRef>'
            )
        else:
            text = self._figures(reference)
        self._written[reference] = text
        return text

    def _address(self, reference: Reference) -> str:
        return escape(self._layout.absolute(reference, self._user))


def _axes(x: int, y: int) -> str:
    return f'<axId val="{x}"/><axId val="{y}"/>'


def _series(number: int, series: Series, content: str) -> str:
    return (
        f'<ser><idx val="{number}"/><order val="{number}"/>'
        f"<tx><v>{escape(clean(series.name))}</v></tx>{content}</ser>"
    )


def _colour(number: int, series: Series) -> str:
    return series.colour or charts.LINE_COLOURS[number % len(charts.LINE_COLOURS)]


def _filled(number: int, series: Series) -> str:
    return area(_colour(number, series))


def _stroke(number: int, series: Series) -> str:
    dash = "dash" if series.dashed else "solid"
    return outline(_colour(number, series), round(series.width_pt * EMU_PER_PT), dash) + _NO_MARKER
