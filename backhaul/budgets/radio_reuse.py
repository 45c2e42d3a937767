"""Hops that a change of a design leaves as they are: their budget is taken over."""

from typing import Any, NamedTuple

from backhaul.budgets.radio import RadioBudget, radio_budget, with_remedies
from backhaul.design.model import Design
from backhaul.path.ends import hop_directions, hop_ends
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network

#: Budgets held at once: a search goes to and fro between a few sets of hops; and their modes.
MOST_HELD, MOST_MODES_HELD = 16, 1_000_000


class _Held(NamedTuple):
    design: Design
    budget: RadioBudget
    #: its remedies were sought
    is_sought: bool


class HopBudgets:
    """Radio budgets of designs of one catalogue that differ in little.

    All hops of a design hear each other, so a budget is taken over whole or not at all.
    """

    def __init__(self, catalog: Any):
        self._catalog = catalog
        self._held: dict[tuple, _Held] = {}

    def of(self, network: Network, design: Design, *, seek_remedies: bool) -> RadioBudget:
        """The budget of all hops: of an equal set of hops that was budgeted before, else anew.

        Remedies that were sought before stay.
        """
        links = network.links[RADIO]
        key = tuple(map(_content, links))
        held = self._held.pop(key, None)
        if held is None or not _same_tables(held.design, design):
            found = radio_budget(network, self._catalog, design, seek_remedies=seek_remedies)
        else:
            seek_remedies = held.is_sought or seek_remedies
            known = with_remedies(held.budget) if seek_remedies > held.is_sought else held.budget
            found = _of_links(known, links, self._catalog, design)
        self._held[key] = _Held(design, found, seek_remedies)
        while len(self._held) > 1 and (
            len(self._held) > MOST_HELD or self._modes_held() > MOST_MODES_HELD
        ):
            del self._held[next(iter(self._held))]
        return found

    def _modes_held(self) -> int:
        return sum(len(held.budget.modes["direction"]) for held in self._held.values())


def _content(link: Link) -> tuple:
    """What the budget of a hop reads from its link."""
    ends = (link.near, link.far)
    return (
        link.rows[0]._replace(id=0, table=None),
        *(end.part if end is not None else None for end in ends),
    )


#: Tables of a design that no hop reads.
_NOT_READ = ("segments", "paths", "demand", "accepted", "notes", "digest", "name")


def _same_tables(one: Design, other: Design) -> bool:
    return all(
        getattr(one, name) is getattr(other, name)
        for name in Design._fields
        if name not in _NOT_READ
    )


def _of_links(budget: RadioBudget, links: tuple[Link, ...], catalog: Any, design: Design):
    """The same figures, of the links of another network."""
    ends = tuple(hop_ends(link.rows[0], design.sites, catalog) for link in links)
    hops = budget.hops._replace(
        links=links,
        rows=tuple(link.rows[0] for link in links),
        ends=ends,
        directions=tuple(
            way
            for number, (link, both) in enumerate(zip(links, ends, strict=True))
            for way in hop_directions(link, number, both, design.project)
        ),
    )
    return budget._replace(links=links, hops=hops)
