"""One hop on the Radio hops sheet: its keys, its figures, and the rows that its sections write alike."""

from collections.abc import Callable
from typing import Any

from backhaul.book.line_of_sight import how_cell
from backhaul.book.plan import Plan
from backhaul.figures.terms import Input
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import SheetCell, Text, as_cell
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.spreadsheet.styles import role_of

#: Two halves of seven columns: what (2), two figures, unit, how (2); modes take all fourteen.
HALF = (17, 15.5, 12, 12, 8.5, 12, 12)


class HopBlock:
    """A hop under construction; `air.{index}.…`, and `air.{index}.{a|b}.…` for its two ends.

    `a` is what the near end sends and where it stands, `b` the far end.
    """

    def __init__(self, plan: Plan, sheet: Sheet, link: Link):
        self.plan, self.sheet, self.link = plan, sheet, link
        self.evaluation = plan.evaluation
        self.radio = plan.evaluation.radio
        self.hops = plan.evaluation.radio.hops
        self.performance = plan.evaluation.performance.hops
        self.index = link.index
        self.row = link.rows[0]
        self.prefix = f"air.{link.index}"
        self.ends = self.hops.ends[link.index]
        self.ways = self.hops.directions[2 * link.index : 2 * link.index + 2]
        self.sections: list[int] = []

    def key(self, name: str) -> str:
        """Key of a figure of the whole hop."""
        return f"{self.prefix}.{name}"

    def end(self, way: int, name: str) -> str:
        """Key of a figure of one end, or of what that end sends."""
        return f"{self.prefix}.{self.ends[way].letter}.{name}"

    def direction(self, way: int) -> int:
        """Place in the arrays over directions."""
        return self.ways[way].place

    def value(self, name: str, way: int) -> float:
        """A term of one direction."""
        return float(self.radio.values[name][self.direction(way)])

    def modes(self, way: int) -> range:
        """Places of the modes of one direction in the flat arrays."""
        start = self.radio.mode_start
        return range(int(start[self.direction(way)]), int(start[self.direction(way) + 1]))

    @property
    def sites(self) -> tuple[Any, Any]:
        """Site records of both ends, None where a site is not known."""
        return self.ends[0].site, self.ends[1].site

    @property
    def names(self) -> tuple[str, str]:
        """How the ends are called."""
        names = (self.ends[0].name, self.ends[1].name)
        return names if names[0] != names[1] else ("first end", "far end")

    def given(self, declared: Input, subject: Any) -> str | None:
        """The yellow cell of an input."""
        return self.plan.inputs.of(declared, subject)

    def head(self, title: str, columns: tuple[str, str]) -> None:
        """Column headings of a part of the block."""
        if self.sheet.rows:
            self.sheet.blank()
        self.sheet.row(
            Text(title, "head", 2),
            Text(columns[0], "head right"),
            Text(columns[1], "head right"),
            Text("Unit", "head"),
            Text("How", "head", 2),
        )

    def begin(self) -> None:
        """An empty row, after which a page may begin."""
        self.sheet.blank()
        self.sections.append(self.sheet.next_row)

    def beside(self, left: Callable[[], None], right: Callable[[], None]) -> int:
        """What `left` writes, and beside it what `right` writes; returns the first row."""
        whole, halves = self.sheet, []
        for write in (left, right):
            self.sheet = Sheet(whole.name, "", HALF)
            write()
            halves.append(self.sheet.rows)
        self.sheet = whole
        first = whole.next_row
        for n in range(max(map(len, halves))):
            whole.row(*(cell for rows in halves for cell in _half_row(rows, n)))
        return first

    def pair(
        self,
        label: str,
        first: SheetCell | str,
        second: SheetCell | str | None = "",
        unit: str = "",
        how: str | SheetCell = "",
        style: str = "",
    ) -> None:
        """A row with a figure in each of the two columns."""
        cells = [Text(cell) if isinstance(cell, str) else cell for cell in (first, second or "")]
        self.sheet.row(
            Text(label, span=2),
            *cells,
            unit,
            how_cell(how.replace("ITU-R ", ""), cells[0], 2) if isinstance(how, str) else how,
            style=style,
        )


def _half_row(rows: list[Row], number: int) -> list[SheetCell]:
    """A row of one half, filled up to the width of the half and styled cell by cell."""
    row = rows[number] if number < len(rows) else Row(())
    cells = [cell._replace(style=role_of(cell, row.style)) for cell in map(as_cell, row.cells)]
    filled = sum(cell.span for cell in cells)
    if filled < len(HALF):
        cells.append(Text("", "plain", len(HALF) - filled))
    return cells
