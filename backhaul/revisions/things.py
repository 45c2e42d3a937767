"""The things of a design as two revisions have them: paired by label, then by their place."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from backhaul.design.kinds import AIR, KINDS
from backhaul.design.labels import as_meant, turned
from backhaul.design.model import Design, Segment
from backhaul.path.network import rows_by_path
from backhaul.revisions.alignment import aligned, unmoved

#: Columns of a row that belong to its place in a path, not to the thing.
OF_PLACE = ("strand", "port", "to_port", "note")
_ENDS_OF_A_THING = ("site", "to_site")
#: What weighs against two rows of one kind being one thing; beyond 100 they are not.
_OTHER_PART, _OTHER_SITE, _OTHER_LABEL, _OTHER_CELL = 30, 30, 20, 5


class Thing:
    """One physical thing: all rows of its label, or one row without a label."""

    __slots__ = ("key", "rows", "head", "meant", "signature")

    def __init__(self, key: tuple, rows: list[Segment], sites: Mapping[str, str]):
        self.key = key
        self.rows = rows
        #: the row that speaks for it, whatever order the rows are written in
        self.head = min(rows, key=lambda row: (min(row.path), row.step))
        self.meant = as_meant(self.head)
        for name in _ENDS_OF_A_THING:
            self.meant[name] = sites.get(self.meant[name], self.meant[name])
        self.signature = (self.head.kind, self.head.label, *self.meant.values())

    def __repr__(self) -> str:
        return repr(self.signature)

    @property
    def name(self) -> str:
        """How a message calls it."""
        head = self.head
        name = f"{head.label} ({head.part})" if head.label else f"{head.kind} {head.part}"
        if head.site and head.to_site and head.to_site != head.site:
            return f"{name}, {head.site} to {head.to_site}"
        return f"{name} at {head.site}" if head.site else name


class Placing(NamedTuple):
    """A thing as it stands in one path."""

    thing: Thing
    row: Segment
    path: str


class Layout:
    """A revision: its things, and each path as the things in order."""

    def __init__(self, design: Design, sites: Mapping[str, str] = {}):
        self.design = design
        groups: dict[tuple, list[Segment]] = defaultdict(list)
        for row in design.segments:
            groups[_key(row, sites)].append(row)
        self.things = {key: Thing(key, rows, sites) for key, rows in groups.items()}
        self.of_row = {row.id: thing for thing in self.things.values() for row in thing.rows}
        self.paths = {
            path: [Placing(self.of_row[row.id], row, path) for row in rows]
            for path, rows in rows_by_path(design).items()
        }


class Pairs(NamedTuple):
    """Which things of two revisions are one, and which rows stand at one place."""

    #: key of the old thing -> the new one
    things: Mapping[tuple, Thing]
    #: (old row, new row, old path, new path) of places that belong together
    places: tuple[tuple[Placing, Placing], ...]
    removed: tuple[Thing, ...]
    added: tuple[Thing, ...]
    #: pairs of places whose order in the path changed
    moved: tuple[tuple[Placing, Placing], ...]


def _key(row: Segment, sites: Mapping[str, str]) -> tuple:
    if not row.label:
        return ("row", row.id)
    if KINDS[row.kind].medium == AIR and row.to_site is None:
        return ("terminal", row.label, sites.get(row.site, row.site))
    return ("label", row.label)


def pair_things(old: Layout, new: Layout, paths: Mapping[str, str]) -> Pairs:
    """Pair the things of two revisions; paths: name in the old one -> in the new one."""
    of_old: dict[tuple, Thing] = {}
    taken: set[tuple] = set()

    def pair(one: Thing, other: Thing) -> None:
        of_old[one.key] = other
        taken.add(other.key)

    for key, thing in old.things.items():
        if key[0] != "row" and key in new.things:
            pair(thing, new.things[key])
    for before, after in paths.items():
        for one, other in _beside(old.paths[before], new.paths[after], of_old, taken):
            if one.thing.key not in of_old and other.thing.key not in taken:
                pair(one.thing, other.thing)
    _pair_moved(old, new, of_old, taken, pair)
    places, moved = _places(old, new, paths, of_old)
    return Pairs(
        of_old,
        tuple(places),
        tuple(thing for key, thing in old.things.items() if key not in of_old),
        tuple(thing for key, thing in new.things.items() if key not in taken),
        tuple(moved),
    )


def _beside(
    old: list[Placing], new: list[Placing], of_old: Mapping[tuple, Thing], taken: set[tuple]
) -> Iterator[tuple[Placing, Placing]]:
    """Places between things that are known on both sides, laid beside each other."""
    at = {placing.thing.key: n for n, placing in enumerate(new) if placing.thing.key in taken}
    known = [
        (n, at[of_old[p.thing.key].key])
        for n, p in enumerate(old)
        if p.thing.key in of_old and of_old[p.thing.key].key in at
    ]
    rank = {number: place for place, number in enumerate(sorted(b for _, b in known))}
    stay = unmoved([rank[b] for _, b in known]) if len(rank) == len(known) else set()
    fixed = [(-1, -1), *(known[n] for n in sorted(stay)), (len(old), len(new))]
    for (a, b), (next_a, next_b) in pairwise(fixed):
        one = [p for p in old[a + 1 : next_a] if p.thing.key not in of_old]
        other = [p for p in new[b + 1 : next_b] if p.thing.key not in taken]
        for m, n in aligned(one, other, _cost):
            yield one[m], other[n]


def _cost(one: Placing, other: Placing) -> int | None:
    """What weighs against two places being one thing: 0 where nothing does."""
    old, new = one.thing, other.thing
    if old.signature == new.signature:
        return 0
    if old.head.kind != new.head.kind:
        return None
    differing = {name for name in old.meant if old.meant[name] != new.meant[name]}
    if new.head.label and old.head.label and {"part", *_ENDS_OF_A_THING} & differing:
        return None  # a thing with another name, part or place is another thing
    weight = _OTHER_LABEL * (old.head.label != new.head.label)
    weight += _OTHER_PART * ("part" in differing)
    weight += _OTHER_SITE * bool(differing.intersection(_ENDS_OF_A_THING))
    weight += min(_OTHER_CELL * len(differing - {"part", *_ENDS_OF_A_THING}), 4 * _OTHER_CELL)
    return max(weight, 1)


def _pair_moved(old: Layout, new: Layout, of_old, taken, pair) -> None:
    """Things that stand elsewhere but are alike in every cell, and alone so on both sides."""
    left = [thing for key, thing in old.things.items() if key not in of_old]
    free = [thing for key, thing in new.things.items() if key not in taken]
    counts = Counter(thing.signature for thing in left), Counter(thing.signature for thing in free)
    by_signature = {thing.signature: thing for thing in free}
    for thing in left:
        if counts[0][thing.signature] == counts[1][thing.signature] == 1:
            pair(thing, by_signature[thing.signature])


def _places(old: Layout, new: Layout, paths: Mapping[str, str], of_old: Mapping[tuple, Thing]):
    """The places that belong together, and those whose order changed."""
    places: list[tuple[Placing, Placing]] = []
    moved: list[tuple[Placing, Placing]] = []
    for before, after in paths.items():
        standing: dict[tuple, list[int]] = defaultdict(list)
        for n, placing in enumerate(new.paths[after]):
            standing[placing.thing.key].append(n)
        found: list[tuple[Placing, int]] = []
        for placing in old.paths[before]:
            other = of_old.get(placing.thing.key)
            numbers = standing[other.key] if other is not None else None
            if numbers:
                found.append((placing, numbers.pop(0)))
        rank = {number: place for place, number in enumerate(sorted(n for _, n in found))}
        stay = unmoved([rank[n] for _, n in found])
        for place, (placing, number) in enumerate(found):
            both = placing, new.paths[after][number]
            places.append(both)
            if place not in stay:
                moved.append(both)
    return places, moved


def differing_cells(old: Thing, new: Thing) -> dict[str, tuple[Any, Any]]:
    """Cells of one thing that changed: column -> from, to. Either end may be written first."""
    straight = _differing(old.meant, new.meant)
    if straight and old.head.label:
        other_way = _differing(old.meant, turned(new.meant, new.head.kind))
        if len(other_way) < len(straight):
            return other_way
    return straight


def _differing(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    return {name: (old[name], new[name]) for name in old if old[name] != new[name]}
