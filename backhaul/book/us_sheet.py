"""A sheet that is read and filled in in feet: figures on it are converted, formulas stay in metres.

A figure in metres becomes its formula divided by the foot; what it refers to stays in SI, and so
does every cell of other sheets. A water level that is typed in feet is taken back to metres where a
formula asks for it.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.design.model import Design
from backhaul.design.settings import US
from backhaul.figures.us_units import FOOT, IN_US, Unit, Words, kept_ft, words_of
from backhaul.spreadsheet.cells import Calc, Head, Link, Number, Text, Verdict
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Content, Sheet
from backhaul.units import M_PER_FT

#: A typed water level in a formula of its card; whether it is typed is asked of the cell as it is.
_TYPED_WATER = re.compile(r"(?<!ISNUMBER\()\{(card\.[^{}]*\.water_m)\}")
_UNIT_OF_LABEL = re.compile(r", (m|km)$")
#: Of a figure that is shown with all its digits.
_TYPED_DECIMALS = 3
#: A distance that is kept for safety.
_KEPT_KEY = ".keep_away_m"
_UNIT_OF_KEY = re.compile(r"_(m|km)$")


@dataclass
class UsSheet(Sheet):
    """Rows are turned into units of the US as they are added, so that they are laid out with them."""

    words: Words = str
    #: units of the figures under the column headings, where a heading says one
    under: tuple[Unit | None, ...] = ()

    def head(self, *names: Content, repeat: bool = False, freeze_columns: int = 0) -> int:
        texts = [getattr(name, "text", name) for name in names]
        found = [_UNIT_OF_LABEL.search(text) if isinstance(text, str) else None for text in texts]
        self.under = tuple(IN_US[unit[1]] if unit else None for unit in found)
        return Sheet.head(self, *names, repeat=repeat, freeze_columns=freeze_columns)

    def row(self, *cells: Content, height: float | None = None, style: str = "") -> int:
        return Sheet.row(self, *_turned(cells, self.words), height=height, style=style)

    def table(self, rows: Iterable[Any]) -> Any:
        return Sheet.table(self, [tuple(_turned(cells, self.words, self.under)) for cells in rows])


def sheet_of(design: Design, *args: Any, **more: Any) -> Sheet:
    """A sheet in the units that the project shows."""
    if design.project.units != US:
        return Sheet(*args, **more)
    return UsSheet(*args, **more, words=words_of(design))


def _turned(
    cells: Iterable[Content], words: Words, under: Sequence[Unit | None] = ()
) -> Iterator[Content]:
    """Cells of one row; a unit that stands in a cell of its own holds for the whole row.

    under: units that the headings of its columns say.
    """
    cells = [Text(cell) if isinstance(cell, str) and cell in IN_US else cell for cell in cells]
    alone = next((cell.text for cell in cells if isinstance(cell, Text) and cell.text in IN_US), "")
    of_row, of_label = IN_US.get(alone), None
    for cell, of_column in zip_longest(cells, under[: len(cells)]):
        if isinstance(cell, Text) and cell.text in IN_US:
            yield cell._replace(text=IN_US[cell.text].name)
            continue
        if isinstance(cell, str):
            shown = words(cell)
            if shown != cell and _UNIT_OF_KEY.search(cell) and " " not in cell:
                of_label = FOOT  # a column of the design, its figures behind it
            yield shown
            continue
        if isinstance(cell, Text | Head | Link):
            if cell.text and cell.text != NOT_KNOWN:
                found = _UNIT_OF_LABEL.search(cell.text)
                of_label = IN_US[found[1]] if found else None
            yield cell._replace(text=words(cell.text))
            continue
        if isinstance(cell, Calc | Verdict) and cell.formula:
            cell = cell._replace(formula=_TYPED_WATER.sub(rf"({{\1}}*{M_PER_FT})", cell.formula))
        unit = of_row or of_label or _of_key(cell) or of_column
        yield _figure(cell, unit) if unit and isinstance(cell, Calc | Number) else cell


def _of_key(cell: Content) -> Unit | None:
    found = _UNIT_OF_KEY.search(getattr(cell, "key", ""))
    return IN_US[found[1]] if found else None


def _figure(cell: Calc | Number, unit: Unit) -> Calc | Number:
    """A figure in SI in a unit of the US; words in its place stay."""
    kept = cell.key.endswith(_KEPT_KEY)
    value = cell.value
    if not isinstance(value, str):
        value = float(kept_ft(distance_m=value)) if kept else value / unit.factor
    if isinstance(cell, Number):
        if cell.format == "General" and isinstance(value, float):
            value = round(value, _TYPED_DECIMALS)
        return cell._replace(value=value)
    turned = f"({cell.formula})/{unit.factor:.10g}"
    if kept:
        turned = kept_ft(distance_m=Cell(f"({cell.formula})")).text
    if '"' in cell.formula:  # it may give words
        turned = f"IF(ISNUMBER({cell.formula}),{turned},{cell.formula})"
    return cell._replace(formula=turned, value=value)
