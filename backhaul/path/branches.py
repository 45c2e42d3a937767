"""Which path grows out of which: a path that begins at a labelled thing inside another."""

from collections.abc import Mapping
from typing import NamedTuple

from backhaul.design.model import Design
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
        waiting = list(self.children.get(path, ()))[::-1]
        while waiting:
            child = waiting.pop()
            found.append(child)
            waiting.extend(self.children.get(child, ())[::-1])
        return found


class _Place(NamedTuple):
    """A labelled thing inside a path: how many of the path's links lead to it."""

    path: str
    links_before: int
    step: float


def find_branches(network: Network, design: Design) -> Branches:
    """Find the branches of a design.

    Data grows out of data and power out of power, whatever the order of the rows. A path that runs
    over all the links that lead to its first thing, or that backs the other up, is no branch of it.
    Raises InputError where paths begin inside each other round a loop.
    """
    inside = _things_inside(network)
    found = {path: _trunks(path, network, design, inside) for path in network.chains}
    trunk_of: dict[str, _Place | None] = {
        path: None for path, trunks in found.items() if not trunks
    }
    waiting = [path for path in found if path not in trunk_of]
    while waiting:  # from the roots outwards
        rooted = {
            path: place
            for path in waiting
            if (place := next((p for p in found[path] if p.path in trunk_of), None))
        }
        if not rooted:
            raise InputError(_loops(waiting, found, network))
        trunk_of.update(rooted)
        waiting = [path for path in waiting if path not in rooted]
    places = {path: place for path in network.chains if (place := trunk_of[path])}
    children: dict[str, list[str]] = {}
    for path, place in places.items():
        children.setdefault(place.path, []).append(path)
    return Branches(
        {path: place.path for path, place in places.items()},
        {path: place.links_before for path, place in places.items()},
        {path: tuple(branches) for path, branches in children.items()},
    )


def _things_inside(network: Network) -> dict[tuple, list[_Place]]:
    """Where every labelled thing stands, but for the first of each path."""
    inside: dict[tuple, list[_Place]] = {}
    for path, chain in network.chains.items():
        uses = network.uses[path]
        for number, node in enumerate(chain.nodes):
            step = node.segment.step
            for equipment in dict.fromkeys((node.enters, node.leaves)):
                if equipment.label and (number or equipment is not node.enters):
                    is_before_hop = equipment is not node.leaves
                    before = sum(
                        1
                        for use in uses
                        if use.last_step <= step and not (is_before_hop and use.first_step == step)
                    )
                    inside.setdefault(equipment.key, []).append(_Place(path, before, step))
    return inside


def _trunks(path: str, network: Network, design: Design, inside: Mapping) -> list[_Place]:
    """Where other paths hold the thing that this one begins at, in the order of the paths."""
    chain = network.chains[path]
    if not chain.nodes or chain.rows[0].id != chain.nodes[0].segment.id:
        return []
    own = {use.link.key for use in network.uses[path]}
    return [
        place
        for place in inside.get(chain.nodes[0].enters.key, ())
        if place.path != path
        and network.carries_data(place.path) == network.carries_data(path)
        and not _back_up(path, place.path, design)
        and not own.issuperset(
            use.link.key for use in network.uses[place.path][: place.links_before]
        )
    ]


def _back_up(path: str, other: str, design: Design) -> bool:
    rows = design.paths.get(path), design.paths.get(other)
    return any(row is not None and row.backs_up == name for row, name in zip(rows, (other, path)))


def _loops(paths: list[str], found: Mapping[str, list[_Place]], network: Network) -> list[Problem]:
    """One problem a loop, with all its members."""
    problems: list[Problem] = []
    told: set[str] = set()
    for start in paths:
        members = [start]
        while (follower := found[members[-1]][0].path) not in members:
            members.append(follower)
        members = members[members.index(follower) :]
        if told.intersection(members):
            continue
        told.update(members)
        begins = []
        for path in members:
            place, row = found[path][0], network.chains[path].rows[0]
            begins.append(f"{path} begins at {row.label} (step {place.step:g} of {place.path})")
        problems.append(
            Problem(
                network.chains[members[0]].rows[0].at("label"),
                f"paths that begin inside each other: {'; '.join(begins)}",
                "a path that begins outside the others",
                "write one of them from the other end, or say in paths which backs up which",
            )
        )
    return problems
