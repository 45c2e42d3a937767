"""Site cards: the table of readings with their keys, limits that follow the water level, verdicts."""

import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from backhaul.book.sheets.site_card import (
    COLUMNS,
    FAILED,
    LEAST,
    LEFT_OUT,
    MOST,
    NO_KEY,
    NO_WATER,
    OPEN,
    YES_KEY,
    Card,
    at_least_verdict,
    at_most_verdict,
    bare_verdict,
    bearing_verdict,
    between_verdict,
    tick_verdict,
)
from backhaul.book.sheets.site_card_limits import Band, limit_cells
from backhaul.book.us_sheet import measured
from backhaul.budgets.site_reading import (
    CHAIN,
    EXPECTED,
    HIGHEST,
    LEVEL,
    LOWEST,
    SERIAL,
    SiteReading,
)
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, ToFill, Verdict
from backhaul.spreadsheet.formula import Cell
from backhaul.wording import each_once

HEAD = (
    "Key",
    "What is read",
    Head("Expected", "card head right"),
    Head("Lowest", "card head right"),
    Head("Highest", "card head right"),
    Head("Unit", "card head center"),
    Head("Value", "card head right"),
    Head("Water, m", "card head right"),
    Head("By", "card head center"),
    Head("Date", "card head center"),
    Head("Remark", "card head center"),
    Head("Verdict", "card head center"),
)


MEASURE = "Measure"
#: Between the pieces of how something is read: what was said of a kind is not said again.
_PIECES = "; "
#: Where the name of a kind of reading ends in its label.
_CUT = re.compile(r",| at | of | from ")


def write_readings(card: Card, bands: dict[str, Band]) -> None:
    """One row a reading; `bands` are the slices of the water by the reading's key."""
    readings = [reading for reading in card.readings if reading.kind != SERIAL]
    if not readings:
        return
    card.section(MEASURE, *HEAD)
    water = ""
    for reading in readings:
        if reading.kind == LEVEL:
            water = card.key(f"{reading.key}.water_m") if reading.needs_water else ""
        _write(card, reading, bands.get(reading.key), water)


def _write(card: Card, reading: SiteReading, band: Band | None, water: str) -> None:
    key = card.key(f"{reading.key}.reading")
    for name in ("reading", EXPECTED, LOWEST, HIGHEST):  # one unit, whatever stands between them
        measured(card.sheet, card.key(f"{reading.key}.{name}"), reading.unit)
    limits = limit_cells(card, reading, band)
    verdict = Verdict(
        LEFT_OUT if reading.is_optional else OPEN,
        formula=_verdict(reading, key, limits, water if band else ""),
        key=card.key(f"{reading.key}.verdict"),
    )
    card.verdicts.append(verdict.key)
    card.open_now += not reading.is_optional
    card.sheet.row(
        Text(reading.key, "card text"),
        Text(reading.label, "card text"),
        *(
            limits.get(name) or Text("" if reading.is_tick else "–", "card right")
            for name in (EXPECTED, LOWEST, HIGHEST)
        ),
        Text(reading.unit, "card center"),
        _to_fill(reading, key),
        _water_cell(reading, water),
        *(
            ToFill(card.key(f"{reading.key}.{name}"), style="card fill")
            for name in ("by", "date", "remark")
        ),
        verdict,
    )


def _to_fill(reading: SiteReading, key: str) -> ToFill:
    if reading.is_tick:
        return ToFill(
            key, choices=f"{{{YES_KEY}}}:{{{NO_KEY}}}", note="yes or no", style="card fill"
        )
    least = LEAST if reading.least_value is None else reading.least_value
    most = MOST if reading.most_value is None else reading.most_value
    return ToFill(key, least=least, most=most, note="the reading as a number", style="card fill")


def _water_cell(reading: SiteReading, water: str) -> SheetCell:
    if not reading.needs_water:
        return Text("", "card text")
    if reading.kind == CHAIN:
        return Text("as above", "card text")
    return ToFill(
        water,
        format="0.00",
        least=LEAST,
        most=MOST,
        note="water level at the reading, in the datum of the design",
        style="card fill",
    )


def _verdict(reading: SiteReading, key: str, limits: dict[str, SheetCell], water: str) -> str:
    """Formula text: open without a reading, FAIL where what is typed is no figure."""
    formula, judged = _judge(reading, limits)
    refs = {"reading": Cell.ref(key), **{name: Cell.ref(cell.key) for name, cell in judged.items()}}
    text = formula(**refs).text
    if reading.is_tick:
        return text
    if water:
        text = f'IF(ISNUMBER({{{water}}}),{text},"{NO_WATER}")'
    empty = LEFT_OUT if reading.is_optional else OPEN
    return f'IF(ISNUMBER({{{key}}}),{text},IF({{{key}}}="","{empty}","{FAILED}"))'


def _judge(
    reading: SiteReading, limits: dict[str, SheetCell]
) -> tuple[Callable, dict[str, SheetCell]]:
    """The verdict that the known limits allow."""
    if reading.is_tick:
        return tick_verdict, {}
    known = {
        name: cell
        for name in (LOWEST, HIGHEST)
        if isinstance(cell := limits.get(name), Calc | Number)
    }
    if not reading.limits.can_be_met and not known and not reading.is_bearing:
        return _never, {}
    if reading.is_bearing:
        return (bearing_verdict, known) if len(known) == 2 else (bare_verdict, {})
    return {
        (): bare_verdict,
        (LOWEST,): at_least_verdict,
        (HIGHEST,): at_most_verdict,
        (LOWEST, HIGHEST): between_verdict,
    }[tuple(known)], known


def _never(*, reading: Any) -> Any:
    """No reading is accepted where the limits contradict each other."""
    return np.where(reading == "", OPEN, FAILED)


def write_how(card: Card) -> None:
    """How each kind of reading is taken, once a kind, and with what."""
    found: dict[str, str] = {}
    for reading in card.readings:
        if reading.how:
            found.setdefault(reading.how, _CUT.split(reading.label)[0])
    if not found:
        return
    tools = _together([reading.instrument for reading in card.readings])
    words = [f"With {tools}."] if tools else []
    said: dict[str, set[str]] = {}
    for how, what in found.items():
        if _is_said_in(how, what, found):
            continue
        known = said.setdefault(what, set())
        new = [piece for piece in how.split(_PIECES) if piece not in known]
        known.update(new)
        words.append(f"{what}: {_PIECES.join(new)}.")
    card.how_row = card.sheet.row(Text(" ".join(words), "card text", len(COLUMNS)))


def _together(instruments: list[str]) -> str:
    """Instruments once each, those of one name with their settings side by side.

    >>> _together(["meter", "source (850 nm)", "source (1310 nm)", "meter"])
    'meter, source (850 nm; 1310 nm)'
    """
    settings: dict[str, dict[str, None]] = {}
    for instrument in instruments:
        name, _, setting = instrument.partition(" (")
        found = settings.setdefault(name, {})
        if setting:
            found[setting.removesuffix(")")] = None
    return each_once(
        [f"{name} ({'; '.join(found)})" if found else name for name, found in settings.items()]
    )


def _is_said_in(how: str, what: str, found: Mapping[str, str]) -> bool:
    """Whether another way to take the same kind of reading begins with this one and says more."""
    return any(
        other != how and other.startswith(how) and kind == what for other, kind in found.items()
    )
