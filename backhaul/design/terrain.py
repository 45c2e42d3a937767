"""The terrain table: profiles, each of one radio hop."""

import itertools
from collections.abc import Collection, Sequence

import numpy as np

from backhaul.design.columns import LAND, SURFACES
from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Segment, Terrain
from backhaul.design.segments import read_surfaces
from backhaul.tables.collector import Collector
from backhaul.tables.names import plain, shown
from backhaul.tables.parse import Parsed
from backhaul.tables.twins import as_written


def read_terrain(
    read: Parsed, segments: tuple[Segment, ...], waters: Collection[str], collector: Collector
) -> dict[tuple[str, object], Terrain]:
    """Profiles by hop: ("label", label) where the hop has one, else (its first path, step)."""
    hops = _Hops(segments)
    places: dict[tuple, list[int]] = {}
    written: dict[tuple, tuple] = {}
    unknown: set[tuple] = set()
    keys = zip(read.column("label"), read.column("path"), read.column("step"))
    for place, (label, path, step) in enumerate(keys):
        given = ("label", label) if label is not None else (path, step)
        if given in unknown or not _is_named(read, place, label, path, step, collector):
            continue
        hop = hops.find(*given)
        if hop is None:
            unknown.add(given)
            hops.refuse(read, place, label, path, step, collector)
            continue
        key = ("label", hop.label) if hop.label is not None else (hop.path[0], hop.step)
        if written.setdefault(key, given) != given:
            collector.problem(
                read.table,
                read.numbers[place],
                "label" if label is not None else "path",
                "a second profile of the hop at " + hop.at("step"),
                "one profile a hop, named in one way",
            )
            continue
        places.setdefault(key, []).append(place)
    surfaces = read_surfaces(read, read.column("surface"), (*SURFACES, *waters), collector)
    return {key: _profile(read, rows, surfaces, collector) for key, rows in places.items()}


class _Hops:
    """Radio hops by label and by path and step."""

    def __init__(self, segments: tuple[Segment, ...]):
        self.by_key: dict[tuple, Segment] = {}
        self.others: dict[tuple, Segment] = {}
        for segment in segments:
            if segment.kind is None or segment.step is None:
                continue
            is_hop = KINDS[segment.kind].medium == AIR and segment.to_site is not None
            into = self.by_key if is_hop else self.others
            if segment.label is not None:
                into.setdefault(("label", segment.label), segment)
            for path in segment.path or ():
                into.setdefault((path, segment.step), segment)

    def find(self, first: str, second: object) -> Segment | None:
        return self.by_key.get((first, second))

    def refuse(self, read, place, label, path, step, collector: Collector) -> None:
        """Say that the key names no hop, and what comes near."""
        row = read.numbers[place]
        other = self.others.get(("label", label) if label is not None else (path, step))
        needed = "a radio hop of segments"
        if label is not None:
            labels = [name for kind, name in self.by_key if kind == "label"]
            remedy = collector.nearest(label, map(str, labels))
            found = f"the label {shown(label)}"
            column = "label"
        else:
            known = {name for name, _ in self.by_key}
            steps = [plain(s) for name, s in self.by_key if name == path and s is not path]
            found = f"step {plain(step)} of path {shown(path)}"
            column = "step" if path in known else "path"
            remedy = f"its hop is step {steps[0]}" if steps else ""
        if other is not None:
            found += (
                f", a {other.kind} without a far end"
                if other.kind == "radio"
                else (f", a {other.kind}")
            )
        collector.problem(read.table, row, column, found, needed, remedy)


def _is_named(read: Parsed, place: int, label, path, step, collector: Collector) -> bool:
    """Whether the row says which hop it belongs to."""
    if label is not None or (path is not None and step is not None):
        return True
    if read.is_blank(place, "label"):
        for name in ("path", "step"):
            if read.is_blank(place, name):
                collector.problem(
                    read.table,
                    read.numbers[place],
                    name,
                    "a blank",
                    "path and step of the hop, or its label",
                )
    return False


def _profile(
    read: Parsed, rows: list[int], surfaces: Sequence[str | None], collector: Collector
) -> Terrain:
    """One profile as arrays; distances rise, land has a level."""

    def numbers(name: str, blank: float) -> np.ndarray:
        values = read.column(name)
        return np.array([blank if values[r] is None else values[r] for r in rows], dtype=float)

    distance = numbers("distance_m", np.nan)
    ground = numbers("ground_m", np.nan)
    surface = [surfaces[r] or LAND for r in rows]
    for before, after in itertools.pairwise(rows):
        one, two = read.column("distance_m")[before], read.column("distance_m")[after]
        if one is not None and two is not None and two <= one:
            where = read.table.cell(read.numbers[before], "distance_m")
            nearer, further = (
                as_written(read.table, read.numbers[place], "distance_m", value)
                for place, value in ((before, one), (after, two))
            )
            collector.problem(
                read.table,
                read.numbers[after],
                "distance_m",
                f"'{further}'",
                f"more than at {where}, '{nearer}': distances rise",
            )
    for place, kind in zip(rows, surface):
        if kind == LAND and read.is_blank(place, "ground_m"):
            collector.problem(
                read.table,
                read.numbers[place],
                "ground_m",
                "a blank on land",
                "the level of the ground in m",
                "or the surface: sea, fresh or one of waters",
            )
    if len(rows) == 1:
        collector.problem(
            read.table,
            read.numbers[rows[0]],
            "distance_m",
            "a profile of one point",
            "two points or more, from end to end",
        )
    error = numbers("error_m", np.nan)
    return Terrain(
        distance,
        ground,
        numbers("cover_m", 0.0),
        np.array(surface),
        read.numbers[rows[0]],
        read.table,
        source=tuple(read.column("source")[r] for r in rows),
        rows=tuple(read.numbers[r] for r in rows),
        error_m=None if np.isnan(error).all() else error,
    )
