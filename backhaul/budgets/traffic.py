"""Demand: what each path carries, and what runs over each link once paths share it."""

from collections.abc import Mapping
from typing import NamedTuple

from backhaul.design.model import Design
from backhaul.path.branches import Branches
from backhaul.path.network import Network


class Load(NamedTuple):
    """Traffic on a link [Mb/s], along its own direction: near to far, and back."""

    forward_mbps: float = 0.0
    back_mbps: float = 0.0

    def along(self, use) -> tuple[float, float]:
        """The same as a path sees it that runs over the link: up, down."""
        up, down = (self[0], self[1]) if use.is_reversed else (self[1], self[0])
        return up, down


NO_LOAD = Load()


class Share(NamedTuple):
    """A path whose demand runs over a link, and whether it meets the link from its far end."""

    path: str
    is_reversed: bool


class Traffic(NamedTuple):
    """Demand of paths and load of links."""

    #: path -> up, down [Mb/s], of those that have rows of their own
    demand: Mapping[str, tuple[float, float]]
    load: Mapping[tuple, Load]
    #: link key -> paths whose demand runs over it
    shares: Mapping[tuple, list[Share]]

    def on(self, link) -> Load:
        """What runs over a link."""
        return self.load.get(link.key, NO_LOAD)


def traffic(network: Network, branches: Branches, design: Design) -> Traffic:
    """What runs over every link: of its own paths, and of branches that come in beyond it."""
    demand = path_demand(design)
    sums: dict[tuple, list[float]] = {}
    shares: dict[tuple, list[Share]] = {}
    for path, (up, down) in demand.items():
        if path not in network.chains:
            continue
        for use in branches.uses_to_root(path, network):
            forward, back = (up, down) if use.is_reversed else (down, up)
            total = sums.setdefault(use.link.key, [0.0, 0.0])
            total[0] += forward
            total[1] += back
            shares.setdefault(use.link.key, []).append(Share(path, use.is_reversed))
    return Traffic(demand, {key: Load(*total) for key, total in sums.items()}, shares)


def path_demand(design: Design) -> dict[str, tuple[float, float]]:
    """Demand of each path that has one, up and down [Mb/s]."""
    demand: dict[str, tuple[float, float]] = {}
    for row in design.demand:
        up, down = demand.get(row.path, (0.0, 0.0))
        count = 1.0 if row.count is None else row.count
        demand[row.path] = (
            up + count * (row.up_mbps or 0.0),
            down + count * (row.down_mbps or 0.0),
        )
    return demand
