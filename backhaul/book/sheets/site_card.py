"""One site card: its columns, its readings with live verdicts, figures from other sheets."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, number_format
from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import is_known
from backhaul.budgets.site_index import SiteIndex
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, ToFill, Verdict
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Sheet
from backhaul.units import DECIMALS

COLUMNS = (37, 74, 12, 11, 11, 8.5, 13, 10.5)
OPEN, OK, FAILED, NOTED = "open", "OK", "FAIL", "note"
YES, NO = "yes", "no"
YES_KEY, NO_KEY = "card.answer.yes", "card.answer.no"
FULL_TURN_DEG = 360
#: Readings beyond these are slips of the pen.
LEAST, MOST = -1e6, 1e6
NEVER_NEGATIVE = ("m", "V")


def between_verdict(*, reading, lowest, highest):
    """OK within both limits, else FAIL; open while there is no reading.

    >>> print(between_verdict(reading=-61.0, lowest=-63.2, highest=-57.2))
    OK
    """
    inside = np.logical_and(
        np.round(reading, DECIMALS) >= np.round(lowest, DECIMALS),
        np.round(reading, DECIMALS) <= np.round(highest, DECIMALS),
    )
    return np.where(reading == "", OPEN, np.where(inside, OK, FAILED))


def at_least_verdict(*, reading, lowest):
    """OK at the lowest or above, else FAIL; open while there is no reading.

    >>> print(at_least_verdict(reading=41.0, lowest=42.5))
    FAIL
    """
    inside = np.round(reading, DECIMALS) >= np.round(lowest, DECIMALS)
    return np.where(reading == "", OPEN, np.where(inside, OK, FAILED))


def at_most_verdict(*, reading, highest):
    """OK at the highest or below, else FAIL; open while there is no reading.

    >>> print(at_most_verdict(reading=101.0, highest=100.0))
    FAIL
    """
    inside = np.round(reading, DECIMALS) <= np.round(highest, DECIMALS)
    return np.where(reading == "", OPEN, np.where(inside, OK, FAILED))


def bearing_verdict(*, reading, lowest, highest):
    """OK on the arc clockwise from lowest to highest, through north too; open without a reading.

    >>> print(bearing_verdict(reading=359.5, lowest=358.0, highest=2.0))
    OK
    """
    inside = np.round(turned_deg(angle_deg=reading - lowest), DECIMALS) <= np.round(
        turned_deg(angle_deg=highest - lowest), DECIMALS
    )
    return np.where(reading == "", OPEN, np.where(inside, OK, FAILED))


def bare_verdict(*, reading):
    """note where something is read that has no limits; open while there is no reading.

    >>> print(bare_verdict(reading=3.2))
    note
    """
    return np.where(reading == "", OPEN, NOTED)


def tick_verdict(*, reading):
    """OK for yes, FAIL for any other answer; open while there is none.

    >>> print(tick_verdict(reading="no"))
    FAIL
    """
    return np.where(reading == "", OPEN, np.where(reading == YES, OK, FAILED))


def turned_deg(*, angle_deg):
    """An angle between 0 and 360 [degrees].

    >>> print(turned_deg(angle_deg=-1.5))
    358.5
    """
    return angle_deg - FULL_TURN_DEG * np.floor(angle_deg / FULL_TURN_DEG)


class Reading(NamedTuple):
    """What is to be measured; a limit that does not exist is None, one not known is a Text."""

    name: str
    what: str
    how: str
    expected: SheetCell | None = None
    lowest: SheetCell | None = None
    highest: SheetCell | None = None
    unit: str = ""
    is_bearing: bool = False
    is_tick: bool = False
    instrument: str = ""


class Section(NamedTuple):
    """Rows of a part of a card: the blank one before it, its heads; whether it is never parted."""

    first: int
    head: int
    whole: bool


class Card:
    """The card under construction. `name` is the site, None where a design has no sites."""

    def __init__(self, plan: Plan, sheet: Sheet, number: int, name: str | None, index: SiteIndex):
        self.plan, self.sheet, self.name, self.index = plan, sheet, name, index
        self.here = index.at[name]
        self.evaluation = plan.evaluation
        self.prefix = f"card.{number}"
        self.site = plan.evaluation.design.sites.get(name) if name else None
        self.title = name or "no site given"
        #: keys of verdicts from the first to the last
        self.verdicts: list[str] = []
        #: parts of the card, and the row of who measured
        self.sections: list[Section] = []
        self.signature = 0
        #: which cautions apply here
        self.cautions: list[str] = []
        #: instruments that the readings ask for
        self.instruments: list[str] = []

    def key(self, name: str) -> str:
        return f"{self.prefix}.{name}"

    def section(self, title: str, *heads: str | Head, whole: bool = False) -> None:
        """Begin a part of the card; `whole` keeps it on one page. Without a title, its heads tell."""
        first = self.sheet.next_row
        if title:
            self.sheet.heading(title)
        head = self.sheet.head(*heads) if heads else first + 1
        self.sections.append(Section(first, head, whole))

    def is_live(self, link: Link) -> bool:
        """Whether a sheet before this one holds the figures of a link."""
        return link.key in self.plan.anchors

    def figure(self, link: Link, source: str, key: str, value: Any, digits: int = 2) -> SheetCell:
        """A figure of a link: live where a sheet has it, words where it is not known."""
        if not is_known(value):
            return Text(NOT_KNOWN, "text right", key=key)
        shown = number_format(digits)
        if self.is_live(link):
            return Calc(key, f"{{{source}}}", _plain(value), format=shown)
        return Number(_plain(value), key=key, format=shown)

    def computed(
        self,
        link: Link | None,
        formula: Callable,
        key: str,
        refs: Mapping[str, str],
        values: Mapping[str, Any],
        digits: int = 2,
    ) -> SheetCell:
        """A figure from figures of a link's sheet (None: from cells that stand in any case)."""
        if link is None or self.is_live(link):
            return formula_cell(formula, key, refs, values, digits=digits)
        value = _plain(formula(**values))
        if not is_known(value):
            return Text(NOT_KNOWN, "text right", key=key)
        return Number(value, key=key, format=number_format(digits))

    def rule(self, name: str, label: str, value: float, unit: str, source: str) -> str:
        """A tolerance on Inputs, where it may be typed over."""
        key = f"given.rule.{name}"
        self.plan.inputs.add(key, group="Rules", label=label, value=value, unit=unit, source=source)
        return key

    def read(self, reading: Reading) -> None:
        """A row to be measured, with its cell for the reading and its verdict."""
        key = self.key(f"{reading.name}.reading")
        verdict = self.key(f"{reading.name}.verdict")
        if reading.is_tick:
            cell = ToFill(key, choices=f"{{{YES_KEY}}}:{{{NO_KEY}}}", note="yes or no")
        else:
            least = 0.0 if reading.unit in NEVER_NEGATIVE else LEAST
            cell = ToFill(key, least=least, most=MOST, note="the reading as a number")
        formula, limits = _verdict_formula(reading)
        refs = {"reading": Cell.ref(key), **{name: Cell.ref(c.key) for name, c in limits.items()}}
        self.verdicts.append(verdict)
        if reading.instrument:
            self.instruments.append(reading.instrument)
        self.sheet.row(
            reading.what,
            Text(reading.how, "text small"),
            *(
                _shown(limit, reading.is_tick)
                for limit in (reading.expected, reading.lowest, reading.highest)
            ),
            reading.unit,
            cell,
            Verdict(OPEN, formula=formula(**refs).text, key=verdict),
        )


def _shown(cell: SheetCell | None, is_tick: bool) -> SheetCell:
    """A figure, a dash where a reading has no such limit."""
    return cell or (Text("", "text") if is_tick else Text("–", "text right"))


def _verdict_formula(reading: Reading) -> tuple[Callable, dict[str, Any]]:
    """The verdict that the known limits allow."""
    if reading.is_tick:
        return tick_verdict, {}
    limits = {
        name: cell
        for name, cell in (("lowest", reading.lowest), ("highest", reading.highest))
        if isinstance(cell, Calc | Number)
    }
    if reading.is_bearing:
        return (bearing_verdict, limits) if len(limits) == 2 else (bare_verdict, {})
    return {
        (): bare_verdict,
        ("lowest",): at_least_verdict,
        ("highest",): at_most_verdict,
        ("lowest", "highest"): between_verdict,
    }[tuple(limits)], limits


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic | np.ndarray) else value
