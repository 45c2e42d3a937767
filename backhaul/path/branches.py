"""Which path grows out of which: a path that begins at a labelled thing inside another."""

from collections.abc import Mapping
from typing import NamedTuple

from backhaul.errors import InputError, Problem
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
    """Find the branches of a design. Raises InputError where paths grow out of each other."""
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
    parent, before, children = {}, {}, {}
    for path, chain in network.chains.items():
        if not chain.nodes or chain.rows[0].id != chain.nodes[0].segment.id:
            continue
        first = chain.nodes[0].enters
        found = inside.get(first.key)
        if first.label and found and found[0] != path:
            trunk, before[path] = found
            parent[path] = trunk
            children.setdefault(trunk, []).append(path)
    _refuse_loops(parent, network)
    return Branches(parent, before, {key: tuple(value) for key, value in children.items()})


def _refuse_loops(parent: Mapping[str, str], network: Network) -> None:
    for start in parent:
        seen, path = [start], start
        while path in parent:
            path = parent[path]
            if path == start:
                row = network.chains[start].rows[0]
                raise InputError([Problem(
                    row.at("label"), "paths that grow out of each other: " + ", ".join(seen),
                    "one of them to begin at a thing of its own",
                )])  # fmt: skip
            if path in seen:
                break
            seen.append(path)
