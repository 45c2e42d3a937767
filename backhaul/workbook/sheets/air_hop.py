"""One hop on the Air sheet: its keys, its figures, and the rows that its sections write alike."""

from collections.abc import Mapping
from typing import Any

from backhaul.path.links import Link
from backhaul.workbook.cells import SheetCell, Text
from backhaul.workbook.grid import Sheet
from backhaul.workbook.plan import Plan
from backhaul.workbook.sheets.shared import is_known, site_given


class HopBlock:
    """A hop under construction; `air.{index}.…`, and `air.{index}.{a|b}.…` for its two ends.

    `a` is what the near end sends and where it stands, `b` the far end.
    """

    def __init__(self, plan: Plan, sheet: Sheet, link: Link):
        self.plan, self.sheet, self.link = plan, sheet, link
        self.evaluation = plan.evaluation
        self.radio = plan.evaluation.radio
        self.hops = plan.evaluation.radio.hops
        self.service = plan.evaluation.service.hops
        self.index = link.index
        self.row = link.rows[0]
        self.prefix = f"air.{link.index}"
        self.sections: list[int] = []

    def key(self, name: str) -> str:
        """Key of a figure of the whole hop."""
        return f"{self.prefix}.{name}"

    def end(self, way: int, name: str) -> str:
        """Key of a figure of one end, or of what that end sends."""
        return f"{self.prefix}.{'ab'[way]}.{name}"

    def direction(self, way: int) -> int:
        """Place in the arrays over directions."""
        return 2 * self.index + way

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
        return self.hops.site_pairs[self.index]

    @property
    def names(self) -> tuple[str, str]:
        """How the ends are called."""
        names = (self.row.site or "first end", self.row.to_site or "far end")
        return names if names[0] != names[1] else ("first end", "far end")

    def site_given(self, site: Any, column: str, label: str, unit: str) -> str | None:
        """A figure of a site on Givens."""
        return site_given(self.plan, site, column, label, unit)

    def head(self, title: str, columns: tuple[str, str], *, section: bool = True) -> None:
        """Column headings of a part of the block; a page may begin here."""
        self.sheet.blank()
        if section:
            self.sections.append(self.sheet.next_row)
        self.sheet.row(
            Text(title, "head", 3), Text(columns[0], "head right", 2),
            Text(columns[1], "head right", 2), Text("Unit", "head"), Text("How", "head", 6),
        )  # fmt: skip

    def pair(
        self, label: str, first: SheetCell | str, second: SheetCell | str | None = "",
        unit: str = "", how: str = "", style: str = "",
    ) -> None:  # fmt: skip
        """A row with a figure in each of the two columns."""
        cells = [Text(cell) if isinstance(cell, str) else cell for cell in (first, second or "")]
        self.sheet.row(
            Text(label, span=3), *(cell._replace(span=2) for cell in cells), unit,
            Text(how, "text small", 6), style=style,
        )  # fmt: skip


def known_terms(values: Mapping[str, Any], place: int) -> dict[str, bool]:
    """Which terms have a figure at a place of their arrays."""
    return {key: is_known(column[place]) for key, column in values.items()}
