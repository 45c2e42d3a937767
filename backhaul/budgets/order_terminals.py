"""Terminals of hops and their antennas, as they are ordered: each once, that of a hub too."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from backhaul.budgets.order_lines import ANTENNAS, PIECE, RADIOS, TO_ORDER, Item
from backhaul.design.model import Segment
from backhaul.path.ends import far_antenna
from backhaul.path.equipment import FAR, NEAR, terminal_key, terminal_label


class Terminal(NamedTuple):
    """One terminal and its antenna, and the rows that name it."""

    site: str | None
    part: str
    antenna: str | None
    label: str
    rows: list[Segment]

    @property
    def by(self) -> str:
        """Who provides it: what its own row says, else the first of its hops that says so."""
        alone = [row for row in self.rows if row.to_site is None]
        return next((row.by for row in (*alone, *self.rows) if row.by), None) or TO_ORDER

    def items(self, catalog: Any, place: Callable) -> Iterator[Item]:
        where = place(self.rows, (self.site,))._replace(name=self.label)
        for family, name, section in (
            ("radios", self.part, RADIOS),
            ("antennas", self.antenna, ANTENNAS),
        ):
            if name:
                record = getattr(catalog, family)[name]
                yield Item(section, family, record, self.by, 1, PIECE, True, where)


def add_terminals(rows: list[Segment], catalog: Any, found: dict[tuple, Terminal]) -> None:
    """The terminals of a hop, put to those that were found: that of a hub has all of its hops."""
    for row in sorted(rows, key=lambda row: row.to_site is None):
        ends = [(row.site, row.part, row.antenna, NEAR)]
        if row.to_site:
            far = row.to_part or row.part, far_antenna(row, catalog)
            ends.append((row.to_site, *far, FAR))
        for site, part, antenna, end in ends:
            key = terminal_key(row, site=site, end=end)
            first = Terminal(site, part, antenna, terminal_label(row, end) or "", [])
            terminal = found.setdefault(key, first)
            if terminal.antenna is None:
                terminal = found[key] = terminal._replace(antenna=antenna)
            terminal.rows.append(row)
