"""A reading at a site: its printed key, what is expected, lowest, highest, and how water moves it."""

from collections.abc import Callable, Mapping
from math import inf, isfinite, nan
from typing import Any, NamedTuple

from backhaul.budgets.water_bands import WaterBand

#: What a reading is of.
LOSS, LIGHT, LEVEL, CHAIN, AZIMUTH, TILT, HEIGHT, VOLTS, BREAKER, CHANNEL, LENGTH, TICK, SERIAL = (
    "loss",
    "light",
    "level",
    "chain",
    "azimuth",
    "tilt",
    "height",
    "volts",
    "breaker",
    "channel",
    "length",
    "tick",
    "serial",
)
EXPECTED, LOWEST, HIGHEST = "expected", "lowest", "highest"
#: Units of what is never below zero: lengths, voltages, ratings; antennas may hang below a deck.
_NEVER_NEGATIVE = frozenset(("m", "V", "A"))
#: No receiver of light or of a radio reads more than this [dBm]: it would be damaged. More is a minus
#: sign that is missing (common practice).
MOST_RECEIVED_DBM = 20.0
#: Kinds that are never zero, either, and the least that is printed or shown of them [m, A].
_NEVER_ZERO, _LEAST_SHOWN = frozenset((LENGTH, CHANNEL, BREAKER)), 0.1


class Bound(NamedTuple):
    """A figure of a reading: a formula over figures of the design, or one of them as it is."""

    values: Mapping[str, float]
    formula: Callable | None = None
    digits: int = 2

    @property
    def value(self) -> float:
        """The figure now, NaN where it is not known."""
        if self.formula is None:
            return float(next(iter(self.values.values())))
        return float(self.formula(**self.values))


class Limits(NamedTuple):
    """Three figures of a reading, NaN where there is none."""

    expected: float = nan
    lowest: float = nan
    highest: float = nan

    @property
    def can_be_met(self) -> bool:
        """Whether any reading lies between them."""
        return not self.lowest > self.highest


class SiteReading(NamedTuple):
    """One reading at one site.

    key: printed beside it, the same from revision to revision. kind: LOSS, LEVEL … . subject: what it is
    of: a link, a line of power, a run, a thing. end: 0 near and 1 far of a link. bounds: by EXPECTED,
    LOWEST, HIGHEST, those that there are. band: how a level moves with the water, None where it does not.
    needs_water: the limits hold for the water level of the day. is_optional: a card without it is whole.
    """

    key: str
    site: str | None
    kind: str
    label: str
    unit: str
    subject: Any
    end: int = 0
    how: str = ""
    bounds: Mapping[str, Bound] = {}
    band: WaterBand | None = None
    needs_water: bool = False
    is_optional: bool = False
    instrument: str = ""

    @property
    def is_bearing(self) -> bool:
        """Limits are an arc clockwise from lowest to highest, through north too."""
        return self.kind == AZIMUTH

    @property
    def is_tick(self) -> bool:
        """Answered by yes or no."""
        return self.kind == TICK

    @property
    def is_text(self) -> bool:
        """Written down, not judged."""
        return self.kind == SERIAL

    @property
    def least_value(self) -> float | None:
        """Below it a figure is none of this reading, whatever is expected; None where any may be."""
        if self.kind in _NEVER_ZERO:
            return _LEAST_SHOWN
        return 0.0 if self.unit in _NEVER_NEGATIVE and self.kind != HEIGHT else None

    @property
    def most_value(self) -> float | None:
        """Above it a figure is none of this reading; None where any may be."""
        return MOST_RECEIVED_DBM if self.unit == "dBm" else None

    @property
    def limits(self) -> Limits:
        """Over all water levels."""
        return Limits(**{name: bound.value for name, bound in self.bounds.items()})

    def limits_at(self, water_level_m: float | None) -> Limits | None:
        """Limits at a water level; None where the level is beyond what was computed.

        Without a level, or where water does not count, those over all levels.
        """
        limits = self.limits
        if self.band is None or water_level_m is None:
            return limits
        place = self.band.slice_at(water_level_m)
        if place is None:
            return None
        level, tolerance = self._flat_level()
        lowest = level + float(self.band.lowest_db[place]) - tolerance
        lowest = max(lowest, self.least_heard_dbm)
        highest = level + float(self.band.highest_db[place]) + tolerance
        if isfinite(limits.highest):
            highest = min(highest, limits.highest)
        return Limits(level + float(self.band.expected_db[place]), lowest, highest)

    @property
    def least_heard_dbm(self) -> float:
        """Below it the slowest mode hears nothing, -inf where that is not known."""
        values = self.bounds[LOWEST].values
        floor = values.get("slowest_dbm", nan) - values.get("split_db", nan)
        return floor if isfinite(floor) else -inf

    def _flat_level(self) -> tuple[float, float]:
        """Level without the mirror, and the tolerance of its reading."""
        values = self.bounds[LOWEST].values
        return values["received_dbm"], values["tolerance_db"]
