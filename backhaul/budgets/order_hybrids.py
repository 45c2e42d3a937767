"""A cable of glass and copper in one sheath: two rows of a design, one thing to order."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from backhaul.budgets.order_cuts import cable_note
from backhaul.budgets.order_lines import Run

FIBERS, FEEDS = "fibers", "feeds"
GLASS_NOTE = "one sheath with the conductors of the feed of this name: counted once, here"
COPPER_NOTE = "in the sheath of the fiber cable of this name: not ordered again"
ALONE_NOTE = "{} run(s) without a fiber row of this name and length between the same sites"


def sheath(part: str, sites: Iterable[str | None], length_m: float | None, by: Any) -> tuple:
    """What the rows of fiber and of feed of one sheath have in common.

    >>> sheath("hybrid-os2-4-6mm2", ("A", "B"), 120.0, None) == sheath(
    ...     "hybrid-os2-4-6mm2", ("B", "A"), 120.0, None
    ... )
    True
    """
    return part, frozenset(sites), length_m, by


class Sheaths:
    """The runs of a design that share a sheath: one part, way, length and supplier."""

    def __init__(self, runs: Sequence[tuple[str, Any, Run]], catalog: Any):
        self.catalog = catalog
        found: dict[tuple, dict[str, list[Run]]] = defaultdict(lambda: {FIBERS: [], FEEDS: []})
        for family, record, run in runs:
            if family in (FIBERS, FEEDS):
                way = sheath(record.part, run.place.sites, run.row.length_m, run.by)
                found[way][family].append(run)
        #: fiber runs that bring conductors, and the feeds within them, by identity
        self.glass: set[int] = set()
        self.copper: set[int] = set()
        for both in found.values():
            for glass, copper in zip(both[FIBERS], both[FEEDS], strict=False):
                self.glass.add(id(glass))
                self.copper.add(id(copper))

    def ordered(self, runs: Sequence[Run]) -> tuple[Run, ...]:
        """The runs that are ordered by themselves."""
        return tuple(run for run in runs if id(run) not in self.copper)

    def note(self, family: str, runs: Sequence[Run], record: Any) -> str:
        """What to say of the runs of one cable."""
        alone = self.ordered(runs)
        notes = [cable_note(alone, record)] if alone else []
        if family == FIBERS and any(id(run) in self.glass for run in runs):
            notes.append(GLASS_NOTE)
        if family == FEEDS and self.catalog.is_hybrid(record.part):
            notes += [COPPER_NOTE] * (len(alone) < len(runs))
            notes += [ALONE_NOTE.format(len(alone))] * bool(alone)
        return "; ".join(filter(None, notes))
