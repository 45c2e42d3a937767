"""Figures of the design in the units of the US: what is shown; inside they stay in SI.

Sentences, labels and cells get their units here and nowhere else.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from math import floor, log10
from typing import Any, NamedTuple

import numpy as np

from backhaul.design.columns import TABLES
from backhaul.design.model import Design
from backhaul.design.settings import SETTINGS, US
from backhaul.tables.gauges import gauge_not_below
from backhaul.tables.twins import METRE, twins
from backhaul.units import M_PER_FT, M_PER_KM, M_PER_MI

Words = Callable[[str], str]


class Unit(NamedTuple):
    """A unit of the US in place of a metric one."""

    name: str
    #: how many of the metric one it is
    factor: float
    #: nearer than this to a round figure, a figure was that one [metric unit]
    room: float
    #: digits behind the point that a round figure may have
    round_digits: tuple[int, ...]


FOOT = Unit("ft", M_PER_FT, 0.05, (0,))
MILE = Unit("mi", M_PER_MI / M_PER_KM, 0.005, (0, 1))
#: By the metric unit as it is declared and printed.
IN_US = {"m": FOOT, "km": MILE}
_SIGNIFICANT = 3
#: No figure moves by more than this share to be round: 3 m are no 10 ft.
_ROUND_WITHIN = 0.006
#: A figure with two decimals was typed in the unit of the US if it is hit so closely.
_TYPED_WITHIN = 1e-5
_NUMBER = r"[-−]?\d+(?:,\d{3})*(?:\.\d+)?"
_PART = rf"(?:{_NUMBER}|not known|blank)"
_QUANTITY = re.compile(
    rf"(?<![\w.])(?P<before>(?:{_PART}(?: to | and |/| / | ± | -> | → ))*)"
    rf"(?P<last>{_NUMBER}) (?P<unit>m|km)(?![\w²³/·^])"
)
#: A column of a table beside its figure, which has no unit.
_CELL = re.compile(
    rf"(?<![\w.])(?P<name>[a-z]\w*)_m (?P<figures>{_PART}(?: -> {_PART})*)(?![\w]|[.,]\d| k?m\b)"
)
_AREA = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) mm[²2](?![\w/]| \()")
_METRIC_NAME = re.compile(r"\b[a-z]\w*_m\b")
_LABEL = re.compile(r"(?<=, )(m|km)$")
#: Before a distance that someone keeps for his safety.
_KEPT = "stay "


def in_us(text: str) -> str:
    """A sentence with its lengths in feet or miles, and sizes of conductors with their gauge.

    A figure that was typed round in feet is round again.

    >>> in_us("raise it by 5 m to 30.5 m; at most 100 m, ground 186 to 214 m, 12.6 m/s")
    'raise it by 16.4 ft to 100 ft; at most 328 ft, ground 610 to 702 ft, 12.6 m/s'
    >>> in_us("hop of 0.80 km, 3 × 2.5 mm²")
    'hop of 0.5 mi, 3 × 2.5 mm² (12 AWG)'
    """
    if "m" not in text:
        return text
    told: dict[str, str] = {}

    def figure(number: str, unit: Unit) -> str:
        words = us_figure(number, unit)
        if told.setdefault(words, number) != number:
            return us_figure(number, unit, is_round=False)
        return words

    def figures(numbers: str, unit: Unit) -> str:
        return re.sub(_NUMBER, lambda found: figure(found[0], unit), numbers)

    def quantity(found: re.Match) -> str:
        unit, before = IN_US[found["unit"]], found["before"]
        if unit is FOOT and not before and found.string[: found.start()].endswith(_KEPT):
            return f"{kept_ft(distance_m=float(found['last'])):.1f} {unit.name}"
        if " and " not in before or found.string[: found.start()].endswith("between "):
            before = figures(before, unit)
        is_spread = (before or found.string[: found.start()]).endswith("± ")
        last = spread(found["last"], unit) if is_spread else figure(found["last"], unit)
        return f"{before}{last} {unit.name}"

    def cell(found: re.Match) -> str:
        return f"{found['name']}_{FOOT.name} {figures(found['figures'], FOOT)}"

    text = _CELL.sub(cell, text)
    text = _QUANTITY.sub(quantity, text)
    text = with_gauges(text)
    return _LABEL.sub(lambda found: IN_US[found[1]].name, text)


def with_gauges(text: str) -> str:
    """Sizes of conductors with the gauge that does for each beside them.

    >>> with_gauges("three-conductor cable 2.5 mm²"), with_gauges("2.5 mm² (12 AWG)")
    ('three-conductor cable 2.5 mm² (12 AWG)', '2.5 mm² (12 AWG)')
    """
    return _AREA.sub(_with_gauge, text)


def spread(number: str, unit: Unit) -> str:
    """How far a figure may be off: two digits where one was told.

    >>> spread("0.3", FOOT), spread("4.72", FOOT), spread("1.5", FOOT)
    ('0.98', '15.5', '4.92')
    """
    return us_figure(number, unit, significant=2 if _significant(number) < 2 else _SIGNIFICANT)


def _significant(number: str) -> int:
    """Digits that a printed figure was told with."""
    return len(number.lstrip("-").replace(".", "").lstrip("0"))


def us_figure(
    number: str, unit: Unit, *, is_round: bool = True, significant: int | None = None
) -> str:
    """A printed metric figure in a unit of the US, in as many digits as it was known.

    >>> us_figure("30.5", FOOT), us_figure("90", FOOT), us_figure("0.8", FOOT)
    ('100', '295', '2.62')
    >>> us_figure("0.1524", FOOT), us_figure("0.762", FOOT)
    ('0.5', '2.5')
    """
    plain = number.replace(",", "").replace("−", "-")
    value, decimals = float(plain), len(plain.partition(".")[2])
    converted = value / unit.factor
    if is_round:
        room = min(0.5 * 10.0**-decimals, unit.room, _ROUND_WITHIN * abs(value)) + 1e-9
        for digits in unit.round_digits:
            rounded = round(converted, digits)
            if abs(rounded * unit.factor - value) <= room and (rounded or not value):
                return f"{rounded + 0.0:.{digits}f}"
    if abs(round(converted, 2) - converted) < _TYPED_WITHIN:
        return f"{round(converted, 2) + 0.0:.10g}"
    size = floor(log10(abs(converted))) if converted else 0
    if significant is None:
        significant = max(_significant(plain), _SIGNIFICANT)
        if decimals:
            significant = min(significant, max(decimals + 1 + size, _SIGNIFICANT))
    digits = max(significant - 1 - size, 0)
    return f"{converted:.{digits}f}"


def kept_ft(*, distance_m):
    """A distance kept for safety, rounded up to 0.1 ft: over numbers, or cells.

    >>> print(kept_ft(distance_m=1.5))
    5.0
    """
    return np.ceil(np.round(distance_m / M_PER_FT * 10, 6)) / 10


def _with_gauge(found: re.Match) -> str:
    gauge = gauge_not_below(float(found[1]))
    return found[0] if gauge is None else f"{found[0]} ({gauge})"


def words_of(design: Design) -> Words:
    """How sentences about a design are shown: as they are, or in the units of the US.

    What its writer called things stays as it was written.
    """
    if design.project.units != US:
        return str
    columns = _in_feet(design)
    own = set(filter(_QUANTITY.search, _texts(design)))
    names = re.compile(f"({'|'.join(map(re.escape, sorted(own, key=len, reverse=True)))})")

    def plain(text: str) -> str:
        return _METRIC_NAME.sub(lambda name: columns.get(name[0], name[0]), in_us(text))

    def words(text: str) -> str:
        parts = names.split(text)
        return "".join(part if n % 2 else plain(part) for n, part in enumerate(parts))

    return words if own else plain


@cache
def _twin_names() -> Mapping[str, str]:
    """Columns and settings in feet, by the name of the metric one."""
    declared = [column for columns in (*TABLES.values(), SETTINGS) for column in columns]
    return {
        name: twin.column.name for name, twin in twins(declared).items() if twin.of.unit == METRE
    }


def _in_feet(design: Design) -> Mapping[str, str]:
    """Columns that the design has in feet alone, and those it lacks where it has none in metres."""
    known = _twin_names()
    heads: set[str] = set(design.project.rows)
    for row in _rows(design):
        heads.update(getattr(getattr(row, "table", None), "heads", ()))
    settings = {name for name in heads & set(known) if known[name] in design.project.rows}
    metric = (heads & set(known)) - settings
    if not heads & set(known.values()):
        return {}
    return {
        name: other
        for name, other in known.items()
        if name not in metric and (other in heads or not metric)
    }


def _texts(design: Design) -> Iterator[str]:
    """Every text that somebody typed into the design."""
    for row in _rows(design):
        for value in row:
            if isinstance(value, str):
                yield value
            elif isinstance(value, tuple):
                yield from (each for each in value if isinstance(each, str))


def _rows(design: Design) -> Iterable[Any]:
    """Every row of the design but those of terrain."""
    return (
        design.project,
        *design.sites.values(),
        *design.segments,
        *design.paths.values(),
        *design.waters.values(),
        *design.extras,
        *design.demand,
        *design.accepted,
    )
