"""Which path grows out of which: a path that begins at a labelled thing inside another."""

from collections.abc import Mapping
from typing import NamedTuple

from backhaul.path.links import LinkUse
from backhaul.path.network import Network


class Branches(NamedTuple):
    """The parent of each branch, and how many of the parent's links lead to the thing."""

    parent: Mapping[str, str]
    links_before: Mapping[str, int]
    children: Mapping[str, tuple[str, ...]]

    def uses_to_root(self, path: str, network: Network) -> list[LinkUse]:
        """Links of a path, and of those that it grows out of as far as it does."""
        uses = list(network.uses[path])
        if path not in self.parent and len({use.link.key for use in uses}) == len(uses):
            return uses
        while path in self.parent:
            before = self.links_before[path]
            path = self.parent[path]
            uses = [*network.uses[path][:before], *uses]
        seen: dict[tuple, LinkUse] = {}
        for use in uses:
            seen.setdefault(use.link.key, use)
        return list(seen.values())

    def below(self, path: str) -> list[str]:
        """All branches of a path, and theirs."""
        found = []
        for child in self.children.get(path, ()):
            found.append(child)
            found.extend(self.below(child))
        return found


def find_branches(network: Network) -> Branches:
    """Find the branches of a design."""
    inside: dict[tuple, tuple[str, int]] = {}
    for path, chain in network.chains.items():
        uses = network.uses[path]
        for place, node in enumerate(chain.nodes):
            step = node.segment.step
            for thing in dict.fromkeys((node.enters, node.leaves)):
                if thing.label and (place or thing is not node.enters):
                    is_before_hop = thing is not node.leaves
                    inside.setdefault(thing.key, (path, sum(
                        1 for use in uses
                        if use.last_step <= step and not (is_before_hop and use.first_step == step)
                    )))  # fmt: skip
    parent: dict[str, str] = {}
    before: dict[str, int] = {}
    places = {path: place for place, path in enumerate(network.chains)}
    found = {path: trunk for path in places if (trunk := _trunk(path, network, inside))}
    # of two paths that begin inside each other, the first is the trunk
    for path, (trunk, count) in sorted(
        found.items(), key=lambda item: places[item[1][0]] > places[item[0]]
    ):
        if path not in _with_trunks(trunk, parent):
            parent[path], before[path] = trunk, count
    children: dict[str, list[str]] = {}
    for path in places:
        if path in parent:
            children.setdefault(parent[path], []).append(path)
    return Branches(parent, before, {key: tuple(value) for key, value in children.items()})


def _trunk(path: str, network: Network, inside: Mapping) -> tuple[str, int] | None:
    """The path that this one begins inside of, with the links that lead there."""
    chain = network.chains[path]
    if not chain.nodes or chain.rows[0].id != chain.nodes[0].segment.id:
        return None
    first = chain.nodes[0].enters
    found = inside.get(first.key) if first.label else None
    return found if found and found[0] != path else None


def _with_trunks(path: str, parent: Mapping[str, str]) -> list[str]:
    trunks = [path]
    while trunks[-1] in parent:
        trunks.append(parent[trunks[-1]])
    return trunks
