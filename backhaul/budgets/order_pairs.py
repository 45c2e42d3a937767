"""Pairs of optics for one strand: one end sends where the other hears."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Any

from backhaul.budgets.order_lines import PairCount, Place
from backhaul.path.links import OPTICAL
from backhaul.path.network import Network


def strand_pairs(
    network: Network, catalog: Any, place_of: Callable[..., Place]
) -> Iterator[PairCount]:
    """Pairs of optics for one strand, by the links that they serve, to be ordered."""
    found: dict[tuple[str, str], list[Place]] = defaultdict(list)
    for link in network.links[OPTICAL]:
        ends = (link.rows[0], link.rows[-1])
        optics = [catalog.optics[row.part] for row in ends]
        if any(optic.strands != 1 for optic in optics) or any(row.by for row in ends):
            continue
        if optics[0].part == optics[1].part:
            continue  # no pair: a finding says so
        first, second = sorted(optics, key=lambda o: -(o.tx_nominal_nm or 0.0))
        sites = [s for row in ends if (s := network.places[row.id][0])]
        found[(first.part, second.part)].append(place_of(list(ends), sites))
    for (part, partner), places in found.items():
        yield PairCount(part, partner, len(places), tuple(places))
