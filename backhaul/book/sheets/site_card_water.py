"""Site cards: level by water level: the slices beside the sheet, and the table that is printed."""

from itertools import pairwise

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import COLUMNS, Card
from backhaul.book.sheets.site_card_limits import Band, heard_text, term_key
from backhaul.budgets.site_reading import EXPECTED, HIGHEST, LEVEL, LOWEST, SiteReading
from backhaul.budgets.water_bands import WaterBand
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text
from backhaul.spreadsheet.grid import Sheet

#: Printed slices of the water level in one row of the table, and rows of them at most.
_IN_A_ROW, _MOST_ROWS = 9, 2
#: A printed slice holds no more than this share of a null to null, where rows allow it.
_SHARE_OF_A_NULL = 0.25


def lay_bands(card: Card, sheet: Sheet) -> dict[str, Band]:
    """Slices of the water beside the sheet, for every level that moves with it."""
    found: dict[str, Band] = {}
    by_level: dict[tuple, Band] = {}
    for reading in card.readings:
        if reading.band is None:
            continue
        place = (reading.subject.index, reading.end)
        if place not in by_level:
            by_level[place] = _lay_band(card, sheet, reading, reading.band)
        found[reading.key] = by_level[place]
    return found


def _lay_band(card: Card, sheet: Sheet, reading: SiteReading, band: WaterBand) -> Band:
    name = card.key(f"{reading.key}.band")
    count = len(band.from_m)
    columns = (
        ("from", band.from_m),
        (EXPECTED, band.expected_db),
        (LOWEST, band.lowest_db),
        (HIGHEST, band.highest_db),
    )
    sheet.helper(
        f"Level by water level, {reading.key}, against that without reflection: value",
        ("from, m", "expected, dB", "lowest, dB", "highest, dB"),
        [
            tuple(
                Number(float(values[n]), key=f"{name}.{n}.{column}", format="0.00")
                for column, values in columns
            )
            for n in range(count)
        ],
    )
    water = card.key(f"{reading.key}.water_m")
    return Band(water, f"{name}.0", f"{name}.{count - 1}", band.low_m, band.high_m)


def write_band_tables(card: Card, bands: dict[str, Band]) -> None:
    """What is accepted by the water level, for a card that is filled in on paper."""
    levels = [r for r in card.readings if r.kind == LEVEL and r.key in bands]
    if not levels:
        return
    card.section(
        "Level accepted by water level (typed above it narrows the limits; on paper: the last column "
        "whose water level is not above that of the day)",
        whole=True,
    )
    for reading in levels:
        if reading.band is not None:
            _write_band(card, reading, reading.band, bands[reading.key])


def _write_band(card: Card, reading: SiteReading, band: WaterBand, keys: Band) -> None:
    slices = _printed(card, reading, band)
    for first in range(0, len(slices), _IN_A_ROW):
        shown = slices[first : first + _IN_A_ROW]
        spare = len(COLUMNS) - 2 - len(shown)
        edges = [
            Number(float(band.from_m[start]), format="0.0", style="card figure")
            for start, _ in shown
        ]
        card.sheet.row(
            Text(reading.key, "card text"),
            Text(f"water of {band.water} from, m", "card text"),
            *edges,
            *[Text("", "card text")] * spare,
        )
        for name in (LOWEST, HIGHEST):
            card.sheet.row(
                Text("", "card text"),
                Text(f"{name}, dBm", "card text"),
                *(_slice_cell(card, reading, band, keys, name, span) for span in shown),
                *[Text("", "card text")] * spare,
            )


def _printed(card: Card, reading: SiteReading, band: WaterBand) -> list[tuple[int, int]]:
    """First and last fine slice of every printed one."""
    count = len(band.from_m)
    spacing = float(card.evaluation.radio.reflection.null_spacing_m[reading.subject.index])
    wanted = (band.high_m - band.low_m) / (_SHARE_OF_A_NULL * spacing) if spacing > 0 else 0
    most = min(count, _IN_A_ROW * _MOST_ROWS)
    number = most if wanted > _IN_A_ROW else min(count, _IN_A_ROW)
    edges = np.unique(np.round(np.linspace(0, count, number + 1)).astype(int)).tolist()
    return [(start, end - 1) for start, end in pairwise(edges)]


def _slice_cell(
    card: Card,
    reading: SiteReading,
    band: WaterBand,
    keys: Band,
    name: str,
    span: tuple[int, int],
) -> SheetCell:
    """Expected, lowest or highest over a printed slice: live over the level without the mirror."""
    start, end = span
    values = reading.bounds[LOWEST].values
    root = keys.first.removesuffix(".0")
    area = f"{{{root}.{start}.{name}}}:{{{root}.{end}.{name}}}"
    received = term_key(card, reading, "received_dbm")
    tolerance = term_key(card, reading, "tolerance_db")
    is_low = name == LOWEST
    moved = (band.lowest_db if is_low else band.highest_db)[start : end + 1]
    found = float(
        moved.min() - values["tolerance_db"] if is_low else moved.max() + values["tolerance_db"]
    )
    value = values["received_dbm"] + found
    if is_low:
        value = max(value, reading.least_heard_dbm)
    style = "card figure"
    if not is_known(value):
        return Text(NOT_KNOWN, style)
    if received is None:
        return Number(value, format="0.0", style=style)
    function, sign = ("MIN", "-") if is_low else ("MAX", "+")
    text = f"{{{received}}}+{function}({area}){sign}{{{tolerance}}}"
    if is_low:
        text = heard_text(card, reading, text)
    return Calc(
        card.key(f"{reading.key}.band.{start}-{end}.{name}"), text, value, format="0.0", style=style
    )
