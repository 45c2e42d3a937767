"""Verdicts of a supply: PoE drops, feeds, loads, protectors, sources; check and cell ask the same."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.verdicts import at_least, at_most, thin_above
from backhaul.findings import FAIL, LASTING_UNIT, PASS, THIN
from backhaul.physics import poe, protection
from backhaul.units import DECIMALS, PERCENT

#: Comparisons of power allow this much [W]: rules of the project.
ALLOWANCE_W = poe.POWER_TOLERANCE_W
#: What a breaker of type B trips at without delay, times its rating (IEC 60898-1).
TRIP_MULTIPLE = protection.TRIP_RANGE["B"][1]
#: Without these nothing of a line is known.
_BASE = ("load_w", "source_v", "loop_ohm", "seen_ohm")


class LineJudgement(NamedTuple):
    """A verdict of a line.

    of: arguments of `word` and the figures that they are. unsolved: the word where the line cannot
    carry its load. missing: where the line's figures are not known. no_limit: figures whose blank
    means that nothing is judged.
    """

    name: str
    label: str
    check: str
    word: Callable
    of: Mapping[str, str]
    how: str = ""
    unsolved: str = PASS
    missing: str = PASS
    no_limit: tuple[str, ...] = ()
    #: judged only where the line carries its load; its figures must be known
    needs_solution: bool = True
    #: of its findings, where its check measures several things
    unit: str | None = None

    def words(self, values: Mapping[str, Any]) -> np.ndarray:
        """The words of many lines at once."""
        arrays = {name: np.asarray(values[key], dtype=float) for name, key in self.of.items()}
        judged = self.word(**arrays)
        for key in self.of.values():
            blank = PASS if key in self.no_limit else self.missing
            judged = np.where(np.isnan(np.asarray(values[key], dtype=float)), blank, judged)
        if self.needs_solution:
            judged = np.where(np.asarray(values["solvable"], dtype=bool), judged, self.unsolved)
            for key in _BASE:
                judged = np.where(np.isnan(values[key]), self.missing, judged)
        return judged

    def word_of(self, values: Mapping[str, Any]) -> str:
        """The word of one line."""
        return str(self.words(values))

    def words_of(self, rows: Sequence[Mapping[str, Any]]) -> list[str]:
        """The word of each of some lines, or of each of their loads, in turn."""
        keys = {*self.of.values(), *((*_BASE, "solvable") if self.needs_solution else ())}
        values = {key: np.array([row[key] for row in rows], dtype=float) for key in keys}
        return self.words(values).tolist()

    def is_live(self, values: Mapping[str, Any]) -> bool:
        """Whether a cell can follow: its figures are known, or would be with a solution."""
        keys = (*_BASE, *self.of.values()) if self.needs_solution else tuple(self.of.values())
        unsolved = self.needs_solution and not values["solvable"]
        return not any(
            np.isnan(float(values[key])) and not (unsolved and key in _SOLVED) for key in keys
        )


_SOLVED = ("load_v", "current_a", "line_loss_w", "source_w", "nominal_load_v", "drop_percent")


def power_word(*, source_w, limit_w):
    """fail where a line draws more than its port gives; a tenth of a watt is allowed.

    >>> print(power_word(source_w=30.05, limit_w=30.0))
    pass
    """
    return np.where(np.round(source_w - limit_w, DECIMALS) > ALLOWANCE_W, FAIL, PASS)


def carries_word(*, solvable):
    """fail where the line cannot carry its load at any current.

    >>> print(carries_word(solvable=False))
    fail
    """
    return np.where(solvable, PASS, FAIL)


def class_load_w(poe_class):
    """Most that a load of a class may take [W], 0 below any class: numbers, arrays and cells.

    >>> print(class_load_w(4))
    25.5
    """
    watts: Any = 0.0
    for number, row in poe.POE_CLASSES.items():
        if number:  # a load that names no class is of class 3
            watts = np.where(poe_class == number, row.load_w, watts)
    return watts


def grant_word(*, source_class, load_class, source_v, load_w):
    """fail where a source grants a class on whose power the load does not work, thin where it does.

    Classes 4 to 6 are granted from 50 V, 7 and 8 from 52 V (IEEE 802.3 Tables 33-11, 145-16).

    >>> print(grant_word(source_class=6, load_class=8, source_v=52.0, load_w=40.0))
    thin
    >>> print(grant_word(source_class=4, load_class=4, source_v=47.0, load_w=20.0))
    fail
    """
    granted = poe.assigned_class(
        load_class=load_class, source_class=source_class, source_v=np.round(source_v, DECIMALS)
    )
    works = np.round(load_w - class_load_w(granted), DECIMALS) <= ALLOWANCE_W
    lower = granted < poe.class_power(poe_class=load_class)
    return np.where(lower, np.where(works, THIN, FAIL), PASS)


def protection_word(*, short_circuit_a, breaker_a):
    """thin where a fault at the far end does not trip the breaker at once.

    >>> print(protection_word(short_circuit_a=32.9, breaker_a=16))
    thin
    """
    needed_a = protection.trip_needed_a(breaker_a=breaker_a, trip_multiple=TRIP_MULTIPLE)
    low = np.round(short_circuit_a, DECIMALS) < np.round(needed_a, DECIMALS)
    return np.where(low, THIN, PASS)


def energy_word(*, autonomy_days, wanted_days, solar_w, panel_needed_w):
    """thin where a battery carries its load too short, or panels bring too little.

    >>> print(energy_word(autonomy_days=2.9, wanted_days=3, solar_w=150, panel_needed_w=100))
    thin
    """
    is_short = np.logical_or(
        np.round(autonomy_days, DECIMALS) < np.round(wanted_days, DECIMALS),
        np.round(solar_w, DECIMALS) < np.round(panel_needed_w, DECIMALS),
    )
    return np.where(is_short, THIN, PASS)


def supply_word(*, used_w, limit_w, reserve_percent):
    """fail where a supply gives more than it can, thin inside the share that is kept free.

    >>> print(supply_word(used_w=110.0, limit_w=120.0, reserve_percent=20.0))
    thin
    """
    kept_w = limit_w * (1 - reserve_percent / PERCENT)
    over = np.round(used_w - limit_w, DECIMALS) > ALLOWANCE_W
    tight = np.round(used_w - kept_w, DECIMALS) > ALLOWANCE_W
    return np.where(over, FAIL, np.where(tight, THIN, PASS))


def poe_source_word(*, used_w, class_w, limit_w):
    """fail as computed, thin where only the classes set aside more than there is.

    >>> print(poe_source_word(used_w=80.0, class_w=150.0, limit_w=120.0))
    thin
    """
    over = np.round(used_w - limit_w, DECIMALS) > ALLOWANCE_W
    by_class = np.round(class_w - limit_w, DECIMALS) > ALLOWANCE_W
    return np.where(over, FAIL, np.where(by_class, THIN, PASS))


GRANT = LineJudgement(
    "grant",
    "Class",
    "poe-power",
    grant_word,
    {
        "source_class": "source_class",
        "load_class": "load_class",
        "source_v": "source_v",
        "load_w": "load_w",
    },
    "class granted at the voltage of the port, IEEE 802.3",
    no_limit=("source_class", "load_class"),
)
POE_POWER = LineJudgement(
    "power",
    "Power",
    "poe-power",
    power_word,
    {"source_w": "source_w", "limit_w": "limit_w"},
    unsolved=FAIL,
    missing=THIN,
    no_limit=("limit_w",),
)
POE_VOLTAGE = LineJudgement(
    "voltage",
    "Voltage",
    "poe-power",
    at_least,
    {"value": "load_v", "limit": "least_v"},
    unsolved=FAIL,
    no_limit=("least_v",),
)
FEED_POWER = LineJudgement(
    "power",
    "Power",
    "feed-power",
    carries_word,
    {"solvable": "solvable"},
    "the line carries the load at some current",
    unsolved=FAIL,
    missing=THIN,
)
FEED_VOLTAGE = POE_VOLTAGE._replace(
    check="feed-power", how="lowest voltage at the load against what it starts at"
)
DROP = LineJudgement(
    "drop",
    "Drop",
    "feed-drop",
    thin_above,
    {"value": "drop_percent", "limit": "healthy_drop_percent"},
    "thin above the healthy drop, IEC 60364-5-52 Annex G (to be confirmed)",
)
CURRENT = LineJudgement(
    "current",
    "Current",
    "feed-current",
    at_most,
    {"value": "current_a", "limit": "capacity_a"},
    "what the conductors carry, all that share them counted",
    no_limit=("capacity_a",),
    unit="A",
)
FAULT = LineJudgement(
    "fault",
    "Fault current",
    "feed-protection",
    protection_word,
    {"short_circuit_a": "short_circuit_a", "breaker_a": "relied_on_a"},
    f"{TRIP_MULTIPLE:g} × the rating, type B of IEC 60898-1",
    no_limit=("relied_on_a", "short_circuit_a"),
    needs_solution=False,
    unit="A",
)
OVERLOAD = LineJudgement(
    "overload",
    "Breaker and conductors",
    "feed-protection",
    at_most,
    {"value": "lasting_a", "limit": "rated_a"},
    "no more than the conductors carry, IEC 60364-4-43",
    no_limit=("lasting_a", "rated_a"),
    needs_solution=False,
    unit=LASTING_UNIT,
)
UNFUSED = LineJudgement(
    "unfused",
    "Source and conductors, no breaker known",
    "feed-protection",
    thin_above,
    {"value": "unfused_a", "limit": "rated_a"},
    "thin where the source can give more than the conductors carry",
    no_limit=("unfused_a", "rated_a"),
    needs_solution=False,
    unit=LASTING_UNIT,
)
POE_JUDGEMENTS = (POE_POWER, POE_VOLTAGE, GRANT)
FEED_JUDGEMENTS = (FEED_POWER, FEED_VOLTAGE, DROP, CURRENT, FAULT, OVERLOAD, UNFUSED)
OVER_VOLTAGE = LineJudgement(
    "over_voltage",
    "Highest voltage",
    "over-voltage",
    at_most,
    {"value": "given_v", "limit": "stands_v"},
    no_limit=("given_v", "stands_v"),
    needs_solution=False,
)
RATING = LineJudgement(
    "rating",
    "Protector",
    "protector-rating",
    at_most,
    {"value": "highest_v", "limit": "max_volts"},
    no_limit=("highest_v", "max_volts"),
    needs_solution=False,
)
