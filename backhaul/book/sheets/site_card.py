"""One site card: its grid, its words of verdict, its parts."""

from typing import Any

import numpy as np

from backhaul.book.keys import safe
from backhaul.book.plan import Plan
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_reading import SiteReading
from backhaul.figures.reading_formulas import turned_deg
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import Head, Text
from backhaul.spreadsheet.grid import Sheet
from backhaul.units import DECIMALS

#: Key, what, expected, lowest, highest, unit, value, water level, by, date, remark, verdict: with them
#: a page in landscape holds words of ten points.
COLUMNS = (25, 32.8, 10, 9.6, 9.6, 5.5, 10, 10, 8.5, 8.5, 8.5, 8)
#: A heading with the room above it.
HEADING_PT = 15.0
OPEN, OK, FAILED, NOTED = "open", "OK", "FAIL", "note"
#: Where no reading can be met: the lowest limit lies above the highest.
NONE = "no pass"
#: A reading whose limits hang on the water level, typed without it; one that may be left out.
NO_WATER, LEFT_OUT = "water?", "–"
YES, NO = "yes", "no"
YES_KEY, NO_KEY = "card.answer.yes", "card.answer.no"
#: Readings beyond these are slips of the pen.
LEAST, MOST = -1e6, 1e6


def between_verdict(*, reading, lowest, highest):
    """OK within both limits, else FAIL; open while there is no reading. No reading meets none.

    >>> print(between_verdict(reading=-61.0, lowest=-63.2, highest=-57.2))
    OK
    """
    inside = np.logical_and(
        np.round(reading, DECIMALS) >= np.round(lowest, DECIMALS),
        np.round(reading, DECIMALS) <= np.round(highest, DECIMALS),
    )
    met = np.where(lowest == NONE, FAILED, np.where(inside, OK, FAILED))
    return np.where(reading == "", OPEN, met)


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


class Section:
    """Rows of a part of a card: its heading, its heads; whether it is never parted."""

    def __init__(self, first: int, head: int, whole: bool, has_head: bool):
        self.first, self.head, self.whole, self.has_head = first, head, whole, has_head


class Card:
    """The card under construction. `name` is the site, None where a design has no sites."""

    def __init__(
        self,
        plan: Plan,
        sheet: Sheet,
        number: int,
        name: str | None,
        index: SiteIndex,
        readings: list[SiteReading],
    ):
        self.plan, self.sheet, self.name, self.index = plan, sheet, name, index
        self.readings = readings
        self.here = index.at[name]
        self.evaluation = plan.evaluation
        self.prefix = f"card.{number}"
        self.site = plan.evaluation.design.sites.get(name) if name else None
        self.title = name or "no site given"
        #: keys of verdicts from the first to the last
        self.verdicts: list[str] = []
        #: readings that are wanted
        self.open_now = 0
        #: parts of the card
        self.sections: list[Section] = []
        #: row of the heading of its drawing, which comes last; 0 without one
        self.drawing_row = 0
        #: row that says how readings are taken, which may stand on a page of its own; 0 without one
        self.how_row = 0
        #: which cautions apply here
        self.cautions: list[str] = []

    def key(self, name: str) -> str:
        return f"{self.prefix}.{safe(name)}"

    def section(self, title: str, *heads: Head | str, whole: bool = False) -> None:
        """Begin a part of the card; `whole` keeps it on one page."""
        first = self.sheet.row(Text(title, "heading", len(COLUMNS)), height=HEADING_PT)
        head = first + 1
        if heads:
            head = self.sheet.row(
                *(Head(each, "card head") if isinstance(each, str) else each for each in heads)
            )
        self.sections.append(Section(first, head, whole, bool(heads)))

    def is_live(self, link: Link) -> bool:
        """Whether a sheet before this one holds the figures of a link."""
        return link.key in self.plan.anchors

    def rule(self, name: str, label: str, value: float, unit: str, source: str) -> str:
        """A tolerance on Inputs, where it may be typed over."""
        key = f"given.rule.{safe(name)}"
        self.plan.inputs.add(key, group="Rules", label=label, value=value, unit=unit, source=source)
        return key


def row_words(row: Any) -> str:
    """How a row is called where it has no label."""
    return row.label or f"{row.path[0]} {row.step:g}"
