"""Chart descriptions as openpyxl charts, with the settings that its defaults lack."""

from typing import TYPE_CHECKING

from backhaul.errors import OutputError
from backhaul.workbook import charts
from backhaul.workbook.axis_scale import Scale, scale
from backhaul.workbook.charts import Axis, Reference, Series
from backhaul.workbook.grid import PlacedChart, Sheet
from backhaul.workbook.layout import Layout
from backhaul.workbook.sheet_data import ROW_PT
from backhaul.workbook.styles import DEEP, FONT, INK, LINE, MUTED, VERDICT_SOLID
from backhaul.workbook.text_width import column_pt

if TYPE_CHECKING:
    from openpyxl.chart._chart import ChartBase
    from openpyxl.chart.data_source import AxDataSource, NumDataSource
    from openpyxl.chart.series import Series as Plotted
    from openpyxl.worksheet.worksheet import Worksheet

EMU_PER_PT = 12_700
_PAD_PT = 4
_BAR_GAP = 45  # percent of a bar


def add_charts(worksheet: "Worksheet", sheet: Sheet, layout: Layout) -> None:
    """Draw the charts of a sheet."""
    for placed in sheet.charts:
        drawn = _Drawing(layout, placed.chart.title).draw(placed.chart)
        drawn.anchor = _anchor(placed, sheet)
        worksheet.add_chart(drawn)


def _anchor(placed: PlacedChart, sheet: Sheet) -> object:
    from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, TwoCellAnchor

    pad = _PAD_PT * EMU_PER_PT
    last_width = column_pt(sheet.columns[placed.last_column - 1]) * EMU_PER_PT
    last_height = ROW_PT * EMU_PER_PT
    start = AnchorMarker(placed.first_column - 1, pad, placed.first_row - 1, pad)
    end = AnchorMarker(
        placed.last_column - 1, round(last_width - pad), placed.last_row - 1, round(last_height)
    )
    return TwoCellAnchor(editAs="oneCell", _from=start, to=end)


class _Drawing:
    """One chart under construction."""

    def __init__(self, layout: Layout, title: str) -> None:
        self._layout = layout
        self._user = f"chart {title!r}"

    def draw(self, chart: charts.Chart) -> "ChartBase":
        if isinstance(chart, charts.LinesChart):
            drawn = self._lines(chart)
        elif isinstance(chart, charts.VerdictBars):
            drawn = self._verdict_bars(chart)
        elif isinstance(chart, charts.ProfileChart):
            drawn = self._profile(chart)
        else:
            drawn = self._bars(chart)
        _dress(drawn, chart.title, chart.legend)
        return drawn

    def _lines(self, chart: charts.LinesChart) -> "ChartBase":
        from openpyxl.chart import ScatterChart

        drawn = ScatterChart(scatterStyle="lineMarker")
        for n, series in enumerate(chart.series):
            if series.at is None:
                raise OutputError(f"{self._user}: series {series.name!r} has no x")
            line = self._series(n, series)
            line.val, line.cat = None, None
            line.xVal = self._labels(series.at)
            line.yVal = self._figures(series.values)
            drawn.series.append(line)
        x_values = [x for series in chart.series for x in self._values(series.at)]
        y_values = [y for series in chart.series for y in self._values(series.values)]
        _set_axis(drawn.x_axis, chart.x, scale(chart.x, x_values, tight=True), grid=False)
        _set_axis(drawn.y_axis, chart.y, scale(chart.y, y_values), grid=True)
        return drawn

    def _verdict_bars(self, chart: charts.VerdictBars) -> "ChartBase":
        from openpyxl.chart.label import DataLabelList

        columns = {"pass": chart.passes, "thin": chart.thins, "fail": chart.fails}
        lines = [Series(word, ref, colour=VERDICT_SOLID[word]) for word, ref in columns.items()]
        drawn = self._bar_chart(lines, chart.categories, chart.y, chart.upright)
        drawn.grouping, drawn.overlap = "stacked", 100
        for bars in drawn.series:
            bars.dLbls = DataLabelList(
                showVal=True,
                showSerName=False,
                showCatName=False,
                showLegendKey=False,
                showPercent=False,
                dLblPos="ctr",
                txPr=_words(8, INK),
            )
        return drawn

    def _bars(self, chart: charts.BarsChart) -> "ChartBase":
        return self._bar_chart(chart.series, chart.categories, chart.y, chart.upright)

    def _bar_chart(
        self, lines: list[Series], categories: Reference, y: Axis, upright: bool
    ) -> "ChartBase":
        from openpyxl.chart import BarChart

        drawn = BarChart(barDir="col" if upright else "bar", gapWidth=_BAR_GAP)
        values: list[float] = []
        for n, series in enumerate(lines):
            bars = self._series(n, series, filled=True)
            bars.val = self._figures(series.values)
            bars.cat = self._labels(categories)
            bars.invertIfNegative = False
            bars.smooth = None
            drawn.series.append(bars)
            values.extend(self._values(series.values))
        if y.log and any(not isinstance(v, str) and v <= 0 for v in values):
            raise OutputError(f"{self._user}: a log axis shows figures above zero only")
        _set_axis(drawn.x_axis, Axis(""), Scale(), grid=False)
        _set_axis(drawn.y_axis, y, scale(y, values, with_zero=True), grid=True)
        if not upright:  # first row on top, its axis still at the bottom
            drawn.x_axis.scaling.orientation = "maxMin"
            drawn.y_axis.crosses, drawn.y_axis.tickLblPos = "max", "nextTo"
        drawn.x_axis.crosses = "min" if y.log else "autoZero"
        return drawn

    def _profile(self, chart: charts.ProfileChart) -> "ChartBase":
        from openpyxl.chart import AreaChart, LineChart

        area, lines = AreaChart(grouping="standard"), LineChart(grouping="standard")
        areas = [Series("ground", chart.ground, colour=charts.GROUND)]
        if chart.water is not None:
            areas.append(Series("water", chart.water, colour=charts.WATER))
        values: list[float] = []
        for n, series in enumerate((*areas, *chart.lines)):
            filled = n < len(areas)
            line = self._series(n, series, filled=filled)
            line.val, line.cat = self._figures(series.values), self._labels(chart.labels)
            line.smooth = None if filled else False
            (area if filled else lines).series.append(line)
            values.extend(self._values(series.values))
        _set_axis(area.x_axis, chart.x, Scale(), grid=False)
        _set_axis(area.y_axis, chart.y, scale(chart.y, values), grid=True)
        labelled = [n for n, label in enumerate(self._values(chart.labels)) if label != ""]
        every = labelled[1] - labelled[0] if len(labelled) > 1 else 1
        area.x_axis.tickLblSkip, area.x_axis.tickMarkSkip = 1, every
        area.x_axis.noMultiLvlLbl = True
        area.x_axis.txPr = _words(8.5, INK)  # level text would be broken to the point spacing
        area.y_axis.crossBetween = "midCat"
        lines.x_axis, lines.y_axis = area.x_axis, area.y_axis
        if chart.lines:
            area += lines
        return area

    def _series(self, number: int, series: Series, *, filled: bool = False) -> "Plotted":
        from openpyxl.chart.marker import Marker
        from openpyxl.chart.series import Series as Plotted
        from openpyxl.chart.series import SeriesLabel
        from openpyxl.chart.shapes import GraphicalProperties
        from openpyxl.drawing.line import LineProperties

        colour = series.colour or charts.LINE_COLOURS[number % len(charts.LINE_COLOURS)]
        plotted = Plotted(idx=number, order=number, tx=SeriesLabel(v=series.name))
        if filled:
            plotted.spPr = GraphicalProperties(solidFill=colour)
            plotted.spPr.line.noFill = True
            return plotted
        line = LineProperties(solidFill=colour, w=round(series.width_pt * EMU_PER_PT))
        line.prstDash = "dash" if series.dashed else "solid"
        plotted.spPr = GraphicalProperties(ln=line)
        plotted.marker = Marker(symbol="none")
        plotted.smooth = False
        return plotted

    def _values(self, reference: Reference) -> list[object]:
        cells = self._layout.cells_of(reference, self._user)
        found = [getattr(cell, "value", getattr(cell, "text", None)) for cell in cells]
        if not found or None in found:
            raise OutputError(f"{self._user}: {reference} has empty cells")
        return found

    def _figures(self, reference: Reference) -> "NumDataSource":
        from openpyxl.chart.data_source import NumData, NumDataSource, NumRef, NumVal

        values = self._values(reference)
        first = self._layout.cells_of(reference, self._user)[0]
        shown = getattr(first, "format", "") or "General"
        points = [
            NumVal(idx=n, v=repr(float(value)))
            for n, value in enumerate(values)
            if not isinstance(value, str)
        ]
        cache = NumData(formatCode=shown, ptCount=len(values), pt=points)
        address = self._layout.absolute(reference, self._user)
        return NumDataSource(numRef=NumRef(f=address, numCache=cache))

    def _labels(self, reference: Reference) -> "AxDataSource":
        from openpyxl.chart.data_source import AxDataSource, StrData, StrRef, StrVal

        values = self._values(reference)
        if not any(isinstance(value, str) for value in values):
            return AxDataSource(numRef=self._figures(reference).numRef)
        points = [StrVal(idx=n, v=str(value)) for n, value in enumerate(values)]
        address = self._layout.absolute(reference, self._user)
        cache = StrData(ptCount=len(values), pt=points)
        return AxDataSource(strRef=StrRef(f=address, strCache=cache))


def _words(
    size_pt: float, colour: str, *, bold: bool = False, text: str = "", level: bool = False
) -> object:
    from openpyxl.chart.text import RichText
    from openpyxl.drawing.text import (
        CharacterProperties,
        Font,
        Paragraph,
        ParagraphProperties,
        RegularTextRun,
        RichTextProperties,
    )

    look = CharacterProperties(
        sz=round(size_pt * 100), b=bold, solidFill=colour, latin=Font(typeface=FONT)
    )
    paragraph = Paragraph(pPr=ParagraphProperties(defRPr=look), endParaRPr=look)
    if text:
        paragraph.r = [RegularTextRun(rPr=look, t=text)]
    return RichText(bodyPr=RichTextProperties(rot=0 if level else None), p=[paragraph])


def _title(text: str, size_pt: float, colour: str, *, bold: bool) -> object:
    from openpyxl.chart.text import Text
    from openpyxl.chart.title import Title

    return Title(tx=Text(rich=_words(size_pt, colour, bold=bold, text=text)), overlay=False)


def _set_axis(axis: object, wanted: Axis, limits: Scale, *, grid: bool) -> None:
    from openpyxl.chart.axis import ChartLines
    from openpyxl.chart.data_source import NumFmt
    from openpyxl.chart.shapes import GraphicalProperties
    from openpyxl.drawing.line import LineProperties

    axis.delete = False
    axis.title = _title(wanted.title, 8.5, MUTED, bold=False) if wanted.title else None
    axis.number_format = wanted.format
    axis.numFmt = NumFmt(formatCode=wanted.format, sourceLinked=False)
    axis.majorTickMark, axis.minorTickMark = "out", "none"
    axis.tickLblPos = "low"
    axis.crosses = "min"
    axis.txPr = _words(8.5, INK, level=True)
    axis.spPr = GraphicalProperties(ln=LineProperties(solidFill=MUTED, w=EMU_PER_PT * 3 // 4))
    light = GraphicalProperties(ln=LineProperties(solidFill=LINE, w=EMU_PER_PT // 2))
    axis.majorGridlines = ChartLines(spPr=light) if grid else None
    axis.scaling.min, axis.scaling.max = limits.least, limits.most
    if wanted.log:
        axis.scaling.logBase = 10
    elif limits.step is not None:
        axis.majorUnit = limits.step


def _dress(drawn: "ChartBase", title: str, legend: bool) -> None:
    from openpyxl.chart.layout import Layout as Place
    from openpyxl.chart.legend import Legend
    from openpyxl.chart.shapes import GraphicalProperties
    from openpyxl.drawing.line import LineProperties

    drawn.title = _title(title, 11, DEEP, bold=True)
    drawn.legend = Legend(legendPos="b", overlay=False, txPr=_words(8.5, INK)) if legend else None
    drawn.roundedCorners = False
    drawn.layout = Place()
    frame = GraphicalProperties(solidFill="FFFFFF", ln=LineProperties(solidFill=LINE, w=6350))
    drawn.graphical_properties = frame
    drawn.display_blanks = "gap"
