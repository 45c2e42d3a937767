"""What of all other tables differs between two revisions."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from backhaul.design.columns import ACCEPTED, DEMAND, EXTRAS, PATHS, READINGS, SITES, WATER_BODIES
from backhaul.design.edits import written
from backhaul.design.model import Design, Terrain
from backhaul.design.settings import SETTINGS
from backhaul.physics.geometry import geodesic
from backhaul.revisions.change import (
    ADDED,
    CHANGED,
    MOVED,
    REMOVED,
    RENAMED,
    Change,
    of_cell,
    whole,
)
from backhaul.revisions.things import Layout, Pairs
from backhaul.units import M_PER_KM

#: Rows of a profile that a message shows.
_ROWS_SHOWN = 2
_PLACE = ("site", "latitude", "longitude")


def table_changes(
    old: Layout, new: Layout, sites: Mapping[str, str], paths: Mapping[str, str], pairs: Pairs
) -> Iterator[Change]:
    """Differences of settings, sites, paths, waters, terrain, demand and extras.

    sites, paths: name in the old revision -> in the new one.
    """
    one, other = old.design, new.design
    yield from _project(one, other)
    yield from _sites(one, other, sites)
    yield from _named("paths", PATHS, one.paths, other.paths, paths)
    yield from _named("waters", WATER_BODIES, one.waters, other.waters, {})
    yield from _terrain(old, new, pairs)
    yield from _listed("demand", DEMAND, ("path", "what"), one, other, {"path": paths})
    for table, columns, keys in (
        ("extras", EXTRAS, ("site", "part", "description")),
        ("accepted", ACCEPTED, ("check", "path", "label")),
        ("readings", READINGS, ("site", "reading")),
    ):
        yield from _listed(table, columns, keys, one, other, {"path": paths, "site": sites})


def _project(old: Design, new: Design) -> Iterator[Change]:
    for column in SETTINGS:
        name = column.attribute
        if getattr(old.project, name) != getattr(new.project, name):
            yield of_cell("project", CHANGED, column.name, old.project, new.project, name)


def _sites(old: Design, new: Design, sites: Mapping[str, str]) -> Iterator[Change]:
    for before, after in sites.items():
        one, other = old.sites[before], new.sites[after]
        if before != after:
            yield of_cell("sites", RENAMED, after, one, other, "site")
        at_old, at_new = (one.latitude, one.longitude), (other.latitude, other.longitude)
        if at_old != at_new:
            yield of_cell(
                "sites", MOVED, after, one, other, "latitude",
                before=_coordinates(at_old), after=_coordinates(at_new),
                text=_way(at_old, at_new),
            )  # fmt: skip
        rest = [column for column in SITES if column.name not in _PLACE]
        yield from _cells("sites", rest, after, one, other, {})
    yield from _gone_and_come("sites", "site", old.sites, new.sites, sites)


def _coordinates(place: tuple) -> str | None:
    return None if None in place else f"{place[0]:.6f}, {place[1]:.6f}"


def _way(old: tuple, new: tuple) -> str:
    if None in old or None in new:
        return ""
    line = geodesic(latitude1=old[0], longitude1=old[1], latitude2=new[0], longitude2=new[1])
    metres = float(line.distance_km[0]) * M_PER_KM
    return f"{metres:.1f} m towards {float(line.azimuth_deg[0]):.0f}°"


def _named(table: str, columns: Sequence, old, new, names: Mapping[str, str]) -> Iterator[Change]:
    """A table whose rows have a name of their own."""
    pairs = {name: names.get(name, name) for name in old if names.get(name, name) in new}
    for before, after in pairs.items():
        one, other = old[before], new[after]
        yield from _cells(table, columns[1:], after, one, other, {"backs_up": names})
    yield from _gone_and_come(table, columns[0].name, old, new, pairs)


def _gone_and_come(table: str, column: str, old, new, pairs: Mapping[str, str]) -> Iterator[Change]:
    kept = set(pairs.values())
    for name, row in old.items():
        if name not in pairs:
            yield whole(table, REMOVED, name, row, column, name)
    for name, row in new.items():
        if name not in kept:
            yield whole(table, ADDED, name, row, column, name)


def _cells(table: str, columns: Sequence, name: str, one, other, mapped) -> Iterator[Change]:
    for column in columns:
        was, now = getattr(one, column.attribute), getattr(other, column.attribute)
        if mapped.get(column.name, {}).get(was, was) != now:
            yield of_cell(table, CHANGED, name, one, other, column.attribute)


def _listed(
    table: str, columns: Sequence, keys: tuple[str, ...], old: Design, new: Design, mapped
) -> Iterator[Change]:
    """A table whose rows have no name of their own: alike rows first, then those of one key."""
    left = [_Told(row, columns, mapped) for row in getattr(old, table)]
    free = [_Told(row, columns, {}) for row in getattr(new, table)]
    places = [n for n, column in enumerate(columns) if column.name in keys]

    def name_of(told: "_Told") -> str:
        return " ".join(str(told.cells[n]) for n in places if told.cells[n] is not None)

    for key in (lambda told: told.cells, lambda told: tuple(told.cells[n] for n in places)):
        left, free, found = _matched(left, free, key)
        for one, other in found:
            for column, was, now in zip(columns, one.cells, other.cells, strict=True):
                if was != now:
                    yield of_cell(
                        table, CHANGED, name_of(other), one.row, other.row, column.attribute
                    )
    for rest, what in ((left, REMOVED), (free, ADDED)):
        for told in rest:
            words = [
                f"{column.name} {written(value)}"
                for column, value in zip(columns, told.cells, strict=True)
                if value is not None and column.name not in keys
            ]
            name = name_of(told)
            yield whole(table, what, name, told.row, keys[0], name, text=", ".join(words))


class _Told:
    """A row and its cells, names as the new revision has them."""

    def __init__(self, row: Any, columns: Sequence, mapped: Mapping[str, Mapping]):
        self.row = row
        cells = ((column.name, getattr(row, column.attribute)) for column in columns)
        self.cells = tuple(mapped.get(name, {}).get(value, value) for name, value in cells)


def _matched(left: list[_Told], free: list[_Told], key: Callable[[_Told], tuple]):
    waiting: dict[tuple, list[_Told]] = {}
    for told in free:
        waiting.setdefault(key(told), []).append(told)
    found, rest = [], []
    for told in left:
        same = waiting.get(key(told))
        if same:
            found.append((told, same.pop(0)))
        else:
            rest.append(told)
    return rest, [told for entries in waiting.values() for told in entries], found


def _terrain(old: Layout, new: Layout, pairs: Pairs) -> Iterator[Change]:
    """Profiles, each by the hop that it belongs to."""
    before, after = _by_hop(old), _by_hop(new)
    for key, (profile, name) in before.items():
        thing = pairs.things.get(key)
        other = after.pop(thing.key, None) if thing is not None else None
        if other is None:
            yield whole("terrain", REMOVED, name, profile, "ground_m", _words(profile))
        elif not _is_same(profile, other[0]):
            yield of_cell(
                "terrain", CHANGED, other[1], profile, other[0], "ground_m",
                before=_words(profile, other[0]), after=_words(other[0], profile),
            )  # fmt: skip
    for profile, name in after.values():
        yield whole("terrain", ADDED, name, profile, "ground_m", _words(profile))


def _by_hop(layout: Layout) -> dict[tuple, tuple[Terrain, str]]:
    at = {(p.path, p.row.step): p.thing for placings in layout.paths.values() for p in placings}
    found = {}
    for key, profile in layout.design.terrain.items():
        thing = layout.things.get(key) if key[0] == "label" else at.get(key)
        if thing is not None:
            found[thing.key] = profile, thing.name
    return found


def _is_same(one: Terrain, other: Terrain) -> bool:
    for name in ("distance_m", "ground_m", "cover_m", "surface"):
        a, b = np.asarray(getattr(one, name)), np.asarray(getattr(other, name))
        if len(a) != len(b) or not bool(np.all((a == b) | ((a != a) & (b != b)))):
            return False
    return True


def _rows(profile: Terrain) -> list[tuple]:
    """Rows of a profile as they are compared: distance, ground, cover, surface; blanks None."""
    columns = (profile.distance_m, profile.ground_m, profile.cover_m, profile.surface)
    return [
        tuple(None if cell != cell else cell for cell in row) for row in zip(*columns, strict=True)
    ]


def _row_words(row: tuple) -> str:
    distance, ground, cover, surface = row
    words = [f"{distance:g} m:", "no ground" if ground is None else f"ground {ground:g} m"]
    if cover:
        words.append(f"cover {cover:g} m")
    return " ".join([*words, *([str(surface)] if surface else [])])


def _words(profile: Terrain, other: Terrain | None = None) -> str:
    """A profile in short; beside another, the rows that only it has."""
    words = [f"{len(profile.distance_m)} rows"]
    for name, figures in (("ground", profile.ground_m), ("cover", profile.cover_m)):
        known = np.asarray(figures, float)
        known = known[known == known]
        if len(known) and (name == "ground" or known.max() > 0):
            words.append(f"{name} up to {known.max():g} m")
    if other is not None:
        have = Counter(_rows(other))
        own = [row for row, times in (Counter(_rows(profile)) - have).items() for _ in range(times)]
        words += [_row_words(row) for row in own[:_ROWS_SHOWN]]
        if len(own) > _ROWS_SHOWN:
            words.append(f"and {len(own) - _ROWS_SHOWN} more rows of its own")
    return ", ".join(words)
