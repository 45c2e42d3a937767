"""Each reading that was taken against what was computed: good, off, noted, open or not usable."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from backhaul.as_built.cards import is_filled
from backhaul.as_built.entry import Entry
from backhaul.budgets.reading_keys import folded
from backhaul.budgets.site_reading import Limits, SiteReading
from backhaul.figures.reading_formulas import turned_deg
from backhaul.tables.column import DATE, NUMBER, TEXT, YES_NO, Column
from backhaul.tables.faults import Fault, Remarked, needs
from backhaul.tables.names import FEET, shown, squash
from backhaul.tables.twins import FOOT, METRE, feet, metres
from backhaul.tables.values import parser
from backhaul.units import DECIMALS

GOOD, OFF, NOTED, OPEN, UNUSABLE = "good", "off", "noted", "open", "not usable"
_WATER = Column("water_level_m", NUMBER, unit="m", low=-500, high=9000)
_DATE = parser(Column("date", DATE))
_TEXT = parser(Column("text", TEXT))
#: Of a level that no receiver reads, or whose opposite is what was expected.
SIGN_LEFT_OUT = "perhaps the sign left out"
#: Units that say the same on a card.
_SAME_UNITS = {"deg": "", "degree": "", "degrees": "", "metre": "m", "metres": "m", "volt": "v"}


class Taken(NamedTuple):
    """A figure that somebody wrote down for a reading of the design, as it can be used."""

    reading: SiteReading
    value: float | bool | str
    entry: Entry
    water_level_m: float | None = None
    by: str = ""
    date: str = ""
    remark: str = ""


class Judged(NamedTuple):
    """A reading of the design with what was written down for it.

    limits: at the water level of the day. why: of what is open, off or not usable.
    """

    reading: SiteReading
    status: str
    taken: Taken | None = None
    limits: Limits = Limits()
    why: str = ""
    hint: str = ""

    @property
    def value(self) -> float | bool | str | None:
        return self.taken.value if self.taken else None

    @property
    def apart(self) -> float | None:
        """Measured less expected, in the reading's unit."""
        value, expected = self.value, self.limits.expected
        if isinstance(value, bool | str) or value is None or expected != expected:
            return None
        if self.reading.is_bearing:
            return (value - expected + 180) % 360 - 180
        return value - expected


class NotUsed(NamedTuple):
    """What somebody wrote that is no reading of this design, or cannot be used."""

    where: str
    key: str
    why: str


def take(entry: Entry, reading: SiteReading, *, us: bool = False) -> Taken | NotUsed | None:
    """What an entry says of a reading; None where its cell was left blank.

    us: the project is told in feet, so that a length without its unit may be either.
    """
    if not is_filled(entry.value) and not entry.faults:
        return None

    def refused(why: str) -> NotUsed:
        return NotUsed(entry.where, reading.key, why)

    if entry.faults:
        return refused("; ".join(entry.faults))
    if us and reading.unit == METRE and not is_filled(entry.unit):
        return refused(f"found no unit; needed {FOOT} or {METRE} beside a length")
    value = _value(entry, reading)
    if isinstance(value, Fault):
        remedy = f"; {value.remedy}" if value.remedy else ""
        return refused(f"found {value.found}; needed {value.needed}{remedy}")
    if value is None:
        return None
    if not _is_unit(entry.unit, reading.unit):
        return refused(f"found the unit {shown(str(entry.unit))}; needed {reading.unit or 'none'}")
    water = _in_metres(_WATER, entry.water, entry.water_unit)
    if isinstance(water, Fault):
        return refused(f"water level: found {water.found}; needed {water.needed}")
    return Taken(
        reading,
        value,
        entry,
        water,
        *(_words(cell) for cell in (entry.by, entry.date, entry.remark)),
    )


def _value(entry: Entry, reading: SiteReading) -> Any:
    if reading.is_text:
        return _unremarked(_TEXT(entry.value))
    if reading.is_tick:
        column = Column("tick", YES_NO)
        value = _unremarked(parser(column)(entry.value))
        return Fault(value.found, needs(column)) if isinstance(value, Fault) else value
    column = Column("value", NUMBER, unit=reading.unit, low=reading.least_value)
    value = _in_metres(column, entry.value, entry.unit)
    most = reading.most_value
    if most is not None and isinstance(value, float) and value > most:
        return Fault(f"{value:g}", f"at most {most:g} {reading.unit}", SIGN_LEFT_OUT)
    return value


def _in_metres(column: Column, cell: Any, unit: Any) -> Any:
    """A figure in the unit of its column; one in feet is turned into metres."""
    if column.unit != METRE or not is_filled(unit) or squash(str(unit)) not in (FOOT, *FEET):
        return _unremarked(parser(column)(cell))
    low, high = ((limit and feet(limit)) for limit in (column.low, column.high))
    value = _unremarked(parser(column._replace(unit=FOOT, low=low, high=high))(cell))
    return metres(value) if isinstance(value, float) else value


def _unremarked(value: Any) -> Any:
    return value.value if isinstance(value, Remarked) else value


def _words(cell: Any) -> str:
    value = _unremarked(_TEXT(cell)) if is_filled(cell) else None
    return "" if value is None or isinstance(value, Fault) else str(value)


def _is_unit(found: Any, wanted: str) -> bool:
    if not is_filled(found) or (wanted == METRE and squash(str(found)) in (FOOT, *FEET)):
        return True
    names = [
        _SAME_UNITS.get(squash(str(unit)), squash(str(unit).replace("°", "")))
        for unit in (found, wanted)
    ]
    return names[0] == names[1]


def one_each(taken: Sequence[Taken]) -> tuple[list[Taken], list[NotUsed]]:
    """Each reading once a water level; copies that agree are one, those that do not are told.

    What disagrees is not used at all: which one holds would be a guess.
    """
    groups: dict[tuple, list[Taken]] = {}
    for each in taken:
        groups.setdefault((folded(each.reading.key), each.water_level_m), []).append(each)
    kept, refused = [], []
    for same in groups.values():
        if all(_agree(same[0], each) for each in same[1:]):
            kept.append(same[0])
            continue
        for each in same:
            others = ", ".join(
                f"{_shown(o.value)}{_length_unit(o.reading)} at {o.entry.where}"
                for o in same
                if o is not each
            )
            told = f"{_shown(each.value)}{_length_unit(each.reading)}"
            why = f"{told} here and {others}: they disagree, and none is taken"
            refused.append(NotUsed(each.entry.where, each.reading.key, why))
    return kept, refused


def _agree(one: Taken, other: Taken) -> bool:
    if isinstance(one.value, str) or isinstance(other.value, str):
        return str(one.value).strip() == str(other.value).strip()
    return round(float(one.value) - float(other.value), DECIMALS) == 0


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def judge(taken: Taken) -> Judged:
    """A reading against its limits at the water level of the day."""
    reading, value = taken.reading, taken.value
    if reading.is_text:
        return Judged(reading, NOTED, taken)
    if reading.is_tick:
        status = GOOD if value else OFF
        return Judged(reading, status, taken, why="" if value else "answered no")
    limits = reading.limits_at(taken.water_level_m)
    if limits is None:
        why = f"the water level of {taken.water_level_m:g} m lies beyond what was computed"
        return Judged(reading, OPEN, taken, reading.limits, why)
    if not limits.can_be_met:
        return Judged(reading, OFF, taken, limits, "no reading can meet its limits: see the design")
    if why := _beyond(float(value), limits, reading):
        return Judged(reading, OFF, taken, limits, why)
    if reading.needs_water and taken.water_level_m is None:
        why = "its limits hang on the water level, which is not stated"
        return Judged(reading, OPEN, taken, limits, why)
    if limits.lowest != limits.lowest and limits.highest != limits.highest:
        return Judged(reading, NOTED, taken, limits, "no limits are known")
    return Judged(reading, GOOD, taken, limits)


def _beyond(value: float, limits: Limits, reading: SiteReading) -> str:
    """Which limit a figure breaks; blank where none."""
    digits = max((bound.digits for bound in reading.bounds.values()), default=2)
    low, high = (round(float(limit), DECIMALS) for limit in (limits.lowest, limits.highest))
    value, unit = round(value, DECIMALS), f" {reading.unit}".rstrip()
    if reading.is_bearing:
        arc = float(turned_deg(angle_deg=high - low))
        if arc == arc and round(float(turned_deg(angle_deg=value - low)), DECIMALS) > arc:
            return f"outside {low:.{digits}f} to {high:.{digits}f}"
        return ""
    if value < low:
        return f"below the lowest, {low:.{digits}f}{unit}"
    return f"above the highest, {high:.{digits}f}{unit}" if value > high else ""


def _length_unit(reading: SiteReading) -> str:
    """The unit of a length, which the reader may have in feet."""
    return f" {METRE}" if reading.unit == METRE else ""


def still_open(readings: Sequence[SiteReading], judged: Sequence[Judged]) -> Iterator[Judged]:
    """Readings of the design that nobody has taken, but for those that a card can do without."""
    have = {folded(each.reading.key) for each in judged}
    for reading in readings:
        if not reading.is_optional and folded(reading.key) not in have:
            yield Judged(reading, OPEN, None, reading.limits, "not taken")
