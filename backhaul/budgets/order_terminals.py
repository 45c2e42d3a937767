"""Terminals of hops and their antennas, as they are ordered: each once, that of a hub too."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from backhaul.budgets.order_lines import ANTENNAS, PIECE, RADIOS, TO_ORDER, Item
from backhaul.design.model import Segment
from backhaul.path.ends import far_antenna, near_antenna
from backhaul.path.equipment import FAR, NEAR, terminal_key, terminal_label


class Terminal(NamedTuple):
    """One terminal and its antenna, and the rows that name it."""

    site: str | None
    part: str
    antenna: str | None
    label: str
    rows: list[Segment]
    antennas: int = 1

    @property
    def by(self) -> str:
        """Who provides it: what its own row says, else the first of its hops that says so."""
        alone = [row for row in self.rows if row.to_site is None]
        return next((row.by for row in (*alone, *self.rows) if row.by), None) or TO_ORDER

    def items(self, catalog: Any, place: Callable) -> Iterator[Item]:
        where = place(self.rows, (self.site,))._replace(name=self.label)
        for family, name, section, count in (
            ("radios", self.part, RADIOS, 1),
            ("antennas", self.antenna, ANTENNAS, self.antennas),
        ):
            if name:
                record = getattr(catalog, family)[name]
                yield Item(section, family, record, self.by, count, PIECE, True, where)


def add_terminals(rows: list[Segment], catalog: Any, found: dict[tuple, Terminal]) -> None:
    """The terminals of a hop, put to those that were found: that of a hub has all of its hops."""
    for row in sorted(rows, key=lambda row: row.to_site is None):
        ends = [(row.site, row.part, near_antenna(row, catalog), row.diversity_m, NEAR)]
        if row.to_site:
            far = row.to_part or row.part, far_antenna(row, catalog), row.to_diversity_m
            ends.append((row.to_site, *far, FAR))
        for site, part, antenna, spacing, end in ends:
            key = terminal_key(row, site=site, end=end)
            first = Terminal(site, part, antenna, terminal_label(row, end) or "", [])
            terminal = found.setdefault(key, first)
            if terminal.antenna is None:
                terminal = found[key] = terminal._replace(antenna=antenna)
            if spacing:
                terminal = found[key] = terminal._replace(antennas=2)
            terminal.rows.append(row)
