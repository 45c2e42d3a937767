"""Limits and steps of a chart axis."""

import math
from collections.abc import Iterable
from typing import NamedTuple

_TIDY = (1.0, 2.0, 2.5, 5.0, 10.0)
_STEPS = 6  # wanted along an axis
_ROOM = 0.05  # of the spread, above and below


class Axis(NamedTuple):
    """One axis: title with unit, limits, step and number format; `log` in decades."""

    title: str
    least: float | None = None
    most: float | None = None
    step: float | None = None
    format: str = "General"
    log: bool = False


class Scale(NamedTuple):
    """Limits and step; None leaves the choice to the program that shows the chart."""

    least: float | None = None
    most: float | None = None
    step: float | None = None


def scale(
    axis: Axis, values: Iterable[float | str], *, tight: bool = False, with_zero: bool = False
) -> Scale:
    """Limits that hold the values, on whole steps; those that the axis names stand.

    >>> scale(Axis("level [dBm]"), [-9.5, -21.3])
    Scale(least=-22.5, most=-7.5, step=2.5)
    >>> scale(Axis("minutes a year", log=True), [0.4, 310.0])
    Scale(least=0.1, most=1000.0, step=None)
    """
    figures = [float(value) for value in values if not isinstance(value, str)]
    if axis.log:
        return _decades(axis, [figure for figure in figures if figure > 0])
    if with_zero or not figures:
        figures.append(0.0)
    low, high = min(figures), max(figures)
    room = 0.0 if tight else (high - low) * _ROOM
    low_end = low - room if low < 0 or not with_zero else low
    high_end = high + room if high > 0 or not with_zero else high
    low_end = axis.least if axis.least is not None else low_end
    high_end = axis.most if axis.most is not None else high_end
    step = axis.step or tidy_step(high_end - low_end)
    least = axis.least if axis.least is not None else _down(low_end, step)
    most = axis.most if axis.most is not None else -_down(-high_end, step)
    if most <= least:
        most = least + step
    return Scale(least, most, step)


def tidy_step(spread: float, wanted: int = _STEPS) -> float:
    """A step of 1, 2, 2.5 or 5 in some decade that cuts a spread in at most `wanted`.

    >>> tidy_step(13)
    2.5
    """
    if spread <= 0:
        return 1.0
    rough = spread / wanted
    decade = 10.0 ** math.floor(math.log10(rough))
    return next(n for n in _TIDY if n * decade >= rough * (1 - 1e-9)) * decade


def _down(value: float, step: float) -> float:
    return round(math.floor(value / step + 1e-9) * step, 9) + 0.0


def _decades(axis: Axis, figures: list[float]) -> Scale:
    low, high = (min(figures), max(figures)) if figures else (1.0, 10.0)
    least = axis.least if axis.least is not None else 10.0 ** math.floor(math.log10(low * 0.999))
    most = axis.most if axis.most is not None else 10.0 ** math.ceil(math.log10(high))
    return Scale(least, max(most, least * 10), None)
