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
from backhaul.tables.twins import METRE, metres, twins
from backhaul.units import (
    C_PER_F,
    F_AT_0_C,
    M_PER_FT,
    M_PER_KM,
    M_PER_MI,
    MM_PER_IN,
    N_PER_LBF,
    S_PER_H,
)

Words = Callable[[str], str]


class Unit(NamedTuple):
    """A unit of the US in place of a metric one."""

    name: str
    metric: str
    #: how many of the metric one it is
    factor: float
    #: nearer than this to a round figure, a figure was that one [metric unit]
    room: float = 0.0
    #: digits behind the point that a round figure may have
    round_digits: tuple[int, ...] = ()
    #: what it shows where the metric one is 0
    zero: float = 0.0

    def shown(self, figure: Any) -> Any:
        """A metric figure in this unit.

        >>> FAHRENHEIT.shown(100.0), round(FOOT.shown(3.048), 9)
        (212.0, 10.0)
        """
        return figure / self.factor + self.zero if self.zero else figure / self.factor

    def shown_text(self, formula: str) -> str:
        """The same over the text of a formula."""
        return f"({formula})/{self.factor!r}" + (f"+{self.zero:g}" if self.zero else "")

    def si_text(self, reference: str) -> str:
        """Formula text of the metric figure of a cell that shows this unit."""
        less = f"({reference}-{self.zero:g})" if self.zero else reference
        return f"({less}*{self.factor!r})"


FOOT = Unit("ft", "m", M_PER_FT, 0.05, (0,))
MILE = Unit("mi", "km", M_PER_MI / M_PER_KM, 0.005, (0, 1))
INCH = Unit("in", "mm", MM_PER_IN, 0.05, (0, 1))
FAHRENHEIT = Unit("°F", "°C", C_PER_F, zero=F_AT_0_C)
#: By the metric unit as it is declared and printed.
IN_US = {
    unit.metric: unit
    for unit in (
        FOOT,
        MILE,
        INCH,
        FAHRENHEIT,
        Unit("°F", "K", C_PER_F),
        Unit("ohm/kft", "ohm/km", 1 / M_PER_FT),
        Unit("mph", "m/s", M_PER_MI / S_PER_H),
        Unit("lbf", "N", N_PER_LBF),
        Unit("lbf·ft", "kNm", N_PER_LBF * M_PER_FT / 1000),
    )
}
_SIGNIFICANT = 3
#: No figure moves by more than this share to be round: 3 m are no 10 ft.
_ROUND_WITHIN = 0.006
#: A spread told with one digit moves by no more than this share to be whole.
_SPREAD_WITHIN = 0.02
#: A figure with two decimals was typed in the unit of the US if it is hit so closely.
_TYPED_WITHIN = 1e-5
_NUMBER = r"[-−]?\d+(?:,\d{3})*(?:\.\d+)?"
_PART = rf"(?:{_NUMBER}|not known|blank)"
#: Of a formula, whose constants hold in its own units alone.
_IN_A_FORMULA = "− "
_QUANTITY = re.compile(
    rf"(?<![\w.])(?P<before>(?:{_PART}(?: to | and |/| / | ± | -> | → | × ))*)"
    rf"(?P<last>{_NUMBER}) (?P<unit>ohm/km|m/s|mm|km|m|°C|kNm|N(?=[,;] \d)"
    rf"|K(?= (?:warmer|in |above|rise)))(?![\w²³/·^])"
)
#: A column of a table beside its figure, which has no unit.
_CELL = re.compile(
    rf"(?<![\w.])(?P<name>[a-z]\w*)_m (?P<figures>{_PART}(?: -> {_PART})*)(?![\w]|[.,]\d| k?m\b)"
)
_AREA = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) mm[²2](?![\w/]| \()")
_METRIC_NAME = re.compile(r"\b[a-z]\w*_m\b")
#: The unit at the end of a label, by itself or at its head.
_LABEL = re.compile(
    r"(?<=, )(?:m|km|mm|°C|ohm/km)$|(?<= in )m$|(?<=^by )°C(?=,)|(?<= in )ohm/km(?=,)|^(?:m|km)(?= (?:above|from|of)\b)"
)
_UNIT_FIRST = re.compile(rf"\[°C\] ({_NUMBER})")
#: Before a distance that someone keeps for his safety.
_KEPT = "stay "
#: Sizes of antennas by what the trade calls them in each system [m], [ft]: common practice.
_DISHES = {0.3: 1, 0.6: 2, 0.9: 3, 1.2: 4, 1.8: 6, 2.4: 8, 3.0: 10, 3.7: 12, 4.6: 15}
#: What a text without any of these needs no look at.
_ANY_UNIT = re.compile("m|°C|K|N")
_DISH = re.compile(r"(?<=antenna )(\d(?:\.\d)?) m(?![\w²³/·^])")


def in_us(text: str) -> str:
    """A sentence with its lengths in feet or miles, and sizes of conductors with their gauge.

    A figure that was typed round in feet is round again.

    >>> in_us("raise it by 5 m to 30.5 m; at most 100 m, ground 186 to 214 m")
    'raise it by 16.4 ft to 100 ft; at most 328 ft, ground 610 to 702 ft'
    >>> in_us("hop of 0.80 km, 3 × 2.5 mm²")
    'hop of 0.5 mi, 3 × 2.5 mm² (12 AWG)'
    >>> in_us("-20 to 55 °C, enclosures 15 K warmer; parabolic antenna 0.6 m")
    '-4 to 131 °F, enclosures 27 °F warmer; parabolic antenna 2 ft'
    """
    if not _ANY_UNIT.search(text):
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
        if unit is FAHRENHEIT and found.string[: found.start()].endswith(_IN_A_FORMULA):
            return found[0]
        if unit is FOOT and not before and found.string[: found.start()].lower().endswith(_KEPT):
            return f"{kept_ft(distance_m=float(found['last'])):.1f} {unit.name}"
        if " × " in before and unit is not INCH:
            pass  # so many pieces
        elif " and " not in before or found.string[: found.start()].endswith("between "):
            before = figures(before, unit)
        is_spread = (before or found.string[: found.start()]).endswith("± ")
        last = spread(found["last"], unit) if is_spread else figure(found["last"], unit)
        return f"{before}{last} {unit.name}"

    def cell(found: re.Match) -> str:
        return f"{found['name']}_{FOOT.name} {figures(found['figures'], FOOT)}"

    text = _UNIT_FIRST.sub(lambda found: f"[°F] {us_figure(found[1], FAHRENHEIT)}", text)
    text = _DISH.sub(_dish, text)
    text = _CELL.sub(cell, text)
    text = _QUANTITY.sub(quantity, text)
    text = with_gauges(text)
    return _LABEL.sub(lambda found: IN_US[found[0]].name, text)


def metric_unit_of_label(label: str) -> str | None:
    """The metric unit that a label, a heading or the title of an axis says.

    >>> metric_unit_of_label("Length, m"), metric_unit_of_label("km from Works")
    ('m', 'km')
    >>> metric_unit_of_label("Reach, 20 °C") is None
    True
    """
    found = _LABEL.search(label)
    return found[0] if found else None


def _dish(found: re.Match) -> str:
    size_ft = _DISHES.get(float(found[1]))
    return found[0] if size_ft is None else f"{size_ft} {FOOT.name}"


def range_in_us(text: str, metric: str) -> str:
    """What a cell may hold, in the unit that it is typed in.

    >>> range_in_us("0 to 60 K", "K"), range_in_us("at least 1 m", "m"), range_in_us("-90 to 70 °C", "°C")
    ('0 to 108 °F', 'at least 3.28 ft', '-130 to 158 °F')
    """
    unit = IN_US[metric]
    figures = re.sub(_NUMBER, lambda found: us_figure(found[0], unit), text.removesuffix(metric))
    return figures + unit.name


def with_gauges(text: str) -> str:
    """Sizes of conductors with the gauge that does for each beside them.

    >>> with_gauges("three-conductor cable 2.5 mm²"), with_gauges("2.5 mm² (12 AWG)")
    ('three-conductor cable 2.5 mm² (12 AWG)', '2.5 mm² (12 AWG)')
    """
    return _AREA.sub(_with_gauge, text)


def spread(number: str, unit: Unit) -> str:
    """How far a figure may be off: two digits where one was told, a whole one where it is nearly so.

    >>> spread("0.3", FOOT), spread("4.72", FOOT), spread("1.5", FOOT), spread("0.5", FOOT)
    ('1', '15.5', '4.92', '1.6')
    """
    shown = float(unit.shown(float(number)))
    if _significant(number) < 2 and abs(round(shown) - shown) <= _SPREAD_WITHIN * shown:
        return f"{round(shown)}"
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
    converted = unit.shown(value)
    if unit.name == FAHRENHEIT.name:
        return f"{round(converted, decimals + (not is_round)) + 0.0:.{decimals + (not is_round)}f}"
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


def as_shown_m(length_m: float) -> float:
    """A length that is exactly what is shown in feet [m].

    >>> as_shown_m(9.5), as_shown_m(1462.0), as_shown_m(30.48)
    (9.50976, 1462.1256, 30.48)
    """
    return metres(float(us_figure(f"{length_m:.10g}", FOOT)))


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
