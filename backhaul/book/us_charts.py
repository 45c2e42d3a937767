"""Axes of charts in units of the US: which cells an axis measures, and its limits there."""

from collections.abc import Iterator
from typing import Any

from backhaul.figures.us_units import IN_US, Unit, Words, metric_unit_of_label
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Range
from backhaul.spreadsheet.charts import Chart, LinesChart, ProfileChart

_DECIMALS = 9


def unit_of(axis: Axis) -> Unit | None:
    """The unit that an axis gets instead of a metric one."""
    return IN_US.get(metric_unit_of_label(axis.title) or "")


def axes_of(chart: Chart) -> Iterator[tuple[Unit, Range]]:
    """The columns of figures of a chart whose axis has another unit, each once."""
    found: dict[Range, Unit] = {}
    for name, areas in (("x", _areas_at(chart)), ("y", _areas(chart))):
        axis = getattr(chart, name, None)
        unit = unit_of(axis) if axis is not None else None
        if unit is not None:
            found.update({area: unit for area in areas if isinstance(area, Range)})
    return ((unit, area) for area, unit in found.items())


def _areas(chart: Chart) -> list[Any]:
    lines = getattr(chart, "series", None) or getattr(chart, "lines", ())
    found = [series.values for series in lines]
    if isinstance(chart, ProfileChart):
        found += [chart.ground, chart.water]
    return found


def _areas_at(chart: Chart) -> list[Any]:
    """Of the points along the axis; the labels of a profile are words."""
    return [series.at for series in chart.series] if isinstance(chart, LinesChart) else []


def shown_axes(chart: Chart, words: Words) -> Chart:
    """A chart with its words and axes as they are shown."""
    changed: dict[str, Any] = {"title": words(chart.title), "alt_text": words(chart.alt_text)}
    for name in ("x", "y"):
        axis = getattr(chart, name, None)
        if axis is not None:
            changed[name] = _shown(axis, words)
    return chart._replace(**changed)


def _shown(axis: Axis, words: Words) -> Axis:
    unit = unit_of(axis)
    limits = {}
    if unit is not None:
        limits = {
            name: None if (limit := getattr(axis, name)) is None else _turned(limit, unit)
            for name in ("least", "most", "step")
        }
    return axis._replace(title=words(axis.title), **limits)


def _turned(limit: float, unit: Unit) -> float:
    return round(float(unit.shown(limit)), _DECIMALS)
