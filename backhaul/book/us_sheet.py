"""Sheets that are read and typed into in units of the US; formulas stay in SI.

A figure becomes its formula in the unit that is shown, and where a formula refers to such a figure it is
taken back to SI (`us_references`). The unit of a cell is the one that stands beside it or over it, else the one
that its key ends with: what a reader sees decides. Figures beside the print area stay in SI, but for
those that a chart shows.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.us_charts import axes_of, shown_axes
from backhaul.design.model import Design
from backhaul.design.settings import US
from backhaul.figures.us_units import (
    FOOT,
    IN_US,
    Unit,
    Words,
    kept_ft,
    metric_unit_of_label,
    range_in_us,
    words_of,
)
from backhaul.spreadsheet.cells import Calc, Head, Input, Link, Number, Range, Text, ToFill, Verdict
from backhaul.spreadsheet.charts import Chart
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Content, Sheet

#: Of a figure that is shown with all its digits.
_TYPED_DECIMALS = 3
#: A figure nearer to a round one than this share of it was that one.
_SAME = 1e-9
#: A distance that is kept for safety.
_KEPT_KEY = ".keep_away_m"
_UNIT_OF_KEY = re.compile(r"(?<!per)(?<!db)(?<!nm2)_(m|km)$")
_OHM_KEY = "ohm_per_km"
_DEGREES_OF_KEY = re.compile(
    r"\.(?:ambient_m(?:in|ax)|temp_m(?:in|ax)|temperature|cable_temperature)_c$"
)
_FIGURES = (Calc, Number, Input, ToFill)


class Lengths(NamedTuple):
    """Lengths inside of words that a formula puts together: in metres, or in feet."""

    unit: str = "m"

    def text(self, length_m: float) -> str:
        """A length without its unit.

        >>> Lengths().text(500.0), Lengths("ft").text(500.0), Lengths("ft").text(304.8)
        ('500', '1640.4', '1000')
        """
        return f"{round(FOOT.shown(length_m), 1) if self.unit == FOOT.name else length_m:.10g}"

    def formula(self, length_m: str) -> str:
        """Formula text of it."""
        return f"ROUND({FOOT.shown_text(length_m)},1)" if self.unit == FOOT.name else length_m


def lengths_of(design: Design) -> Lengths:
    """How a project shows lengths."""
    return Lengths(FOOT.name) if design.project.units == US else Lengths()


@dataclass
class UsSheet(Sheet):
    """Rows are turned into units of the US as they are added, so that they are laid out with them."""

    words: Words = str
    #: units of the figures in each column, where the headings say one
    under: dict[int, Unit] = field(default_factory=dict)
    #: unit of every cell that shows one of the US, by its key
    turned: dict[str, Unit] = field(default_factory=dict)
    #: metric units of cells whose labels and keys say none, by their keys
    told: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.title, self.subtitle = self.words(self.title), self.words(self.subtitle)
        Sheet.__post_init__(self)

    def row(self, *cells: Content, height: float | None = None, style: str = "") -> int:
        return Sheet.row(self, *self._turned(cells), height=height, style=style)

    def table(self, rows: Iterable[Any]) -> Any:
        return Sheet.table(self, [tuple(self._turned(cells)) for cells in rows])

    def say(self, text: str, style: str = "plain") -> int:
        self.under = {}
        return Sheet.say(self, text, style)

    def helper(
        self, title: str, head: Sequence[str], rows: Sequence[Sequence[Content]]
    ) -> list[Range]:
        told = [tuple(self._beside_the_page(cell) for cell in cells) for cells in rows]
        return Sheet.helper(self, title, head, told)

    def overlay(
        self, chart: Chart, first_row: int, last_row: int, first_column: int, last_column: int = 0
    ) -> None:
        for unit, area in axes_of(chart):
            self._turn_helpers(unit, area)
        Sheet.overlay(
            self, shown_axes(chart, self.words), first_row, last_row, first_column, last_column
        )

    def _beside_the_page(self, cell: Content) -> Content:
        unit = IN_US.get(self.told.get(getattr(cell, "key", ""), ""))
        return _said(cell if unit is None else self._figure(cell, unit), self.words)

    def _turn_helpers(self, unit: Unit, area: Range) -> None:
        """A column of a chart's figures, its head with it."""
        for place, (row, column, cell) in enumerate(self.helpers):
            inside = column == area.column and area.first <= row <= area.last
            if inside and isinstance(cell, Calc | Number) and not isinstance(cell.value, str):
                self.helpers[place] = (row, column, self._figure(cell, unit))
            elif (row, column) == (area.first - 1, area.column):
                self.helpers[place] = (row, column, _said(cell, self.words))

    def _turned(self, given: Iterable[Content]) -> Iterator[Content]:
        """Cells of one row."""
        cells = list(given)
        if any(isinstance(cell, Head) for cell in cells) or _is_head_of_units(cells):
            self.under = _units_of_heads(cells)
        elif len(cells) == 1:
            self.under = {}  # a heading: another table begins
        column = 0
        for place, cell in enumerate(cells):
            if isinstance(cell, _FIGURES):
                unit = self._unit(cells, place, column)
                yield _said(cell if unit is None else self._figure(cell, unit), self.words)
            elif isinstance(cell, int | float) and not isinstance(cell, bool):
                unit = self._unit(cells, place, column)
                yield cell if unit is None else float(unit.shown(cell))
            else:
                yield _said(cell, self.words)
            column += getattr(cell, "span", 1)

    def _unit(self, cells: Sequence[Content], place: int, column: int) -> Unit | None:
        """The unit in which a figure is shown instead, None where it has none of the metre's."""
        cell = cells[place]
        key = getattr(cell, "key", "")
        if key in self.told:
            return IN_US.get(self.told[key])
        if getattr(cell, "unit", ""):
            return IN_US.get(cell.unit)
        if isinstance(cell, ToFill) and not cell.format and cell.least is None:
            return None  # words
        if (found := self._beside(cells, place)) is not None:
            return IN_US.get(found)
        if named := _UNIT_OF_KEY.search(key):
            return IN_US[named[1]]
        if _DEGREES_OF_KEY.search(key):
            return IN_US["°C"]
        if key.endswith(_OHM_KEY):
            return IN_US["ohm/km"]
        return self.under.get(column)

    def _beside(self, cells: Sequence[Content], place: int) -> str | None:
        """The unit that stands beside a figure: behind it, else before it or at the end of its label."""
        for cell in cells[place + 1 :]:
            if isinstance(cell, Verdict):
                break
            if (text := _text_of(cell)) is not None:
                if text in IN_US:
                    return text
                break
        for cell in reversed(cells[:place]):
            if (text := _text_of(cell)) is not None:
                return text if text in IN_US else self._unit_of_label(text)
        return None

    def _unit_of_label(self, text: str) -> str | None:
        if " " not in text and self.words(text) != text and (named := _UNIT_OF_KEY.search(text)):
            return named[1]  # a column of the design, its figures behind it
        return metric_unit_of_label(text)

    def _figure(self, cell: Any, unit: Unit) -> Content:
        """A figure in SI in a unit of the US; words in its place stay."""
        if cell.key:
            self.turned[cell.key] = unit
        return _figure(cell, unit)


def sheet_of(design: Design, *args: Any, **more: Any) -> Sheet:
    """A sheet in the units that the project shows."""
    if design.project.units != US:
        return Sheet(*args, **more)
    return UsSheet(*args, **more, words=words_of(design))


def take_over(sheet: Sheet, pages: Sheet) -> None:
    """What is known of the figures of pages whose rows a sheet takes."""
    if isinstance(sheet, UsSheet) and isinstance(pages, UsSheet):
        sheet.turned.update(pages.turned)


def measured(sheet: Sheet, key: str, unit: str) -> str:
    """The key of a cell, its metric unit told to the sheet: neither label nor key says it."""
    if isinstance(sheet, UsSheet):
        sheet.told[key] = unit
    return key


def _said(cell: Content, words: Words) -> Content:
    """A cell with its words as they are shown."""
    if isinstance(cell, str):
        return _worded(cell, words)
    if isinstance(cell, Text | Head | Link):
        return cell._replace(text=_worded(cell.text, words))
    if isinstance(cell, Input | ToFill) and cell.note:
        return cell._replace(note=words(cell.note))
    if isinstance(cell, Calc) and isinstance(cell.value, str) and cell.value:
        return cell._replace(value=_worded(cell.value, words))
    return cell


def _worded(text: str, words: Words) -> str:
    return IN_US[text].name if text in IN_US else words(text)


def _text_of(cell: Content) -> str | None:
    """Words of a cell; None where it holds a figure or is empty."""
    if isinstance(cell, str):
        return cell or None
    if isinstance(cell, Text | Head | Link):
        return cell.text if cell.text and cell.text != NOT_KNOWN else None
    return None


def _is_head_of_units(cells: Sequence[Content]) -> bool:
    """Whether a row holds units alone, which are those of the columns below."""
    texts = [_text_of(cell) for cell in cells if cell is not None]
    figures = any(isinstance(cell, (*_FIGURES, int, float)) for cell in cells)
    return not figures and sum(text in IN_US for text in texts) > 0 and len(cells) > 2


def _units_of_heads(cells: Sequence[Content]) -> dict[int, Unit]:
    found, column = {}, 0
    for cell in cells:
        text = _text_of(cell) or ""
        unit = IN_US.get(text if text in IN_US else metric_unit_of_label(text) or "")
        if unit is not None:
            found[column] = unit
        column += getattr(cell, "span", 1)
    return found


def _figure(cell: Any, unit: Unit) -> Content:
    kept = cell.key.endswith(_KEPT_KEY)
    shown = {"unit": unit.name} if getattr(cell, "unit", "") else {}
    if isinstance(cell, Input | ToFill):
        if cell.note.endswith(unit.metric):
            shown["note"] = range_in_us(cell.note, unit.metric)
        limits = {
            name: None if (limit := getattr(cell, name)) is None else typed(limit, unit)
            for name in ("least", "most")
        }
        shown.update(limits)
    if isinstance(cell, ToFill):
        return cell._replace(**shown)
    value = cell.value
    if value is not None and not isinstance(value, str):
        value = float(kept_ft(distance_m=value) if kept else unit.shown(value))
        if isinstance(cell, Input):
            value = typed(cell.value, unit)
            shown["format"] = "" if value == round(value, _TYPED_DECIMALS) else _TYPED_FORMAT
        elif cell.format in ("", "General"):
            shown["format"] = _TYPED_FORMAT if round(value, _TYPED_DECIMALS) % 1 else "0"
    if isinstance(cell, Calc):
        shown["formula"] = _shown_formula(cell.formula, unit, kept=kept)
    return cell._replace(value=value, **shown)


#: Format of a figure that is shown with all its digits.
_TYPED_FORMAT = "0." + "#" * _TYPED_DECIMALS


def typed(figure: float, unit: Unit) -> float:
    """A figure of SI as it stands in a yellow cell: round where it was typed so.

    >>> typed(30.48, FOOT), typed(38.0, IN_US["°C"]), typed(100.0, FOOT)
    (100.0, 100.4, 328.0839895013123)
    """
    shown = float(unit.shown(figure))
    rounded = round(shown, _TYPED_DECIMALS)
    return rounded if abs(rounded - shown) <= _SAME * max(1.0, abs(shown)) else shown


def _shown_formula(formula: str, unit: Unit, *, kept: bool) -> str:
    """Formula text of a figure in SI, as it is shown; `us_references` reads it back."""
    turned = kept_ft(distance_m=Cell(f"({formula})")).text if kept else unit.shown_text(formula)
    if '"' in formula or "INDEX(" in formula:  # it may give words
        return f"IF(ISNUMBER({formula}),{turned},{formula})"
    return turned
