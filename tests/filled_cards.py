"""Site cards as a crew gives them back: the heads that are printed, filled by hand."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import openpyxl

from backhaul.budgets.site_readings import readings_of
from backhaul.checks.results import Results

HEADS = (
    "Key",
    "What is read",
    "Expected",
    "Lowest",
    "Highest",
    "Unit",
    "Value",
    "Water, m",
    "By",
    "Date",
    "Remark",
    "Verdict",
)


def write_cards(
    path: Path,
    results: Results,
    values: Mapping[str, Any],
    *,
    heads: Sequence[str] = HEADS,
    water: Mapping[str, Any] | None = None,
    digest: str | None = None,
    revision: str = "B",
    by: str = "crew one",
    date: str = "2026-05-02",
) -> Path:
    """A book with one sheet a site, every reading a row; `values` by key, the rest left blank."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, (site, readings) in enumerate(readings_of(results).items()):
        sheet = book.create_sheet(f"card {number}")
        told = digest or results.design.digest
        sheet.append([f"Site card: {site}", "", f"revision {revision}, design digest {told}"])
        sheet.append(["Beware of heights."])
        sheet.append(["Measure"])
        sheet.append(list(heads))
        for reading in readings:
            cells = {
                "Key": reading.key,
                "What is read": reading.label,
                "Unit": reading.unit,
                "Value": values.get(reading.key),
                "Water, m": (water or {}).get(reading.key),
            }
            sheet.append([cells.get(head) for head in heads])
        sheet.append(["Measured by", by, None, None, None, "Date", date])
    book.save(path)
    return path


def cell_of(book: Any, key: str, head: str = "Value") -> Any:
    """The cell of a reading in an open book."""
    for sheet in book:
        places = {}
        for row in sheet.iter_rows():
            words = [cell.value for cell in row]
            if "Key" in words and head in words:
                places = {word: n for n, word in enumerate(words)}
            elif places and words[places["Key"]] == key:
                return row[places[head]]
    raise KeyError(key)


def expected(results: Results) -> dict[str, Any]:
    """Every reading as expected; ticks answered yes."""
    found: dict[str, Any] = {}
    for readings in readings_of(results).values():
        for reading in readings:
            figure = reading.limits.expected
            if reading.is_tick:
                found[reading.key] = "yes"
            elif figure == figure:
                found[reading.key] = float(figure)
    return found
