"""Changes of copper drops, feeds, supplies and what stands in the weather."""

import re
from collections.abc import Iterator
from itertools import product
from typing import Any

from backhaul.budgets.conductors import is_by_gauge
from backhaul.budgets.orders import is_cord
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import COPPER, FEED
from backhaul.remedies.device_moves import has_ports, ports_of, rows_of, same_function
from backhaul.remedies.moves import (
    Candidate,
    Scene,
    beside,
    covers,
    differences,
    like,
    neighbours,
    record_of,
    records,
)

_CATEGORY = re.compile(r"(\d+(?:\.\d+)?)(\w?)")
#: Sizes of one system are offered for one another first.
_OTHER_SYSTEM = 1000.0


def swap_copper(scene: Scene) -> Iterator[Candidate]:
    """The runs of a copper channel by another cable, each alone and all together."""
    for link in (each for each in scene.links if each.kind == COPPER):
        runs = [row for row in link.rows if KINDS[row.kind].is_run and scene.may_change(row)]
        cables: dict[str, Any] = {part.part: part for part in records(scene.context, "coppers")}
        ranked = {
            row.id: [
                new
                for new in like(cables.values(), cables[row.part])
                if (new.outdoor or not cables[row.part].outdoor)
                and _may_help(scene, new, cables[row.part])
                and is_cord(new) == is_cord(cables[row.part])
            ]
            for row in runs
        }
        for row in runs:
            for new in ranked[row.id]:
                yield Candidate(
                    (scene.set(row, "part", new.part),),
                    ("run",),
                    differences(cables[row.part], new),
                )
        if len(runs) > 1:
            for name, new in cables.items():
                edits = [
                    scene.set(row, "part", name)
                    for row in runs
                    if row.part != name and _may_help(scene, new, cables[row.part])
                ]
                if len(edits) > 1:
                    yield Candidate(tuple(edits), ("run",) * len(edits), len(edits))


def _category(part: Any) -> tuple[float, str]:
    """Rank of a category: Cat 5e, Cat 6, Cat 6A, ... Cat 8.1."""
    found = _CATEGORY.search(part.category or "")
    return (float(found.group(1)), found.group(2).upper()) if found else (0.0, "")


def _may_help(scene: Scene, new: Any, old: Any) -> bool:
    """Whether another copper can do anything: where power falls short, thicker conductors alone.

    One of a lower category is none: what the run was laid for would not come back.
    """
    if _category(new) < _category(old):
        return False
    if scene.finding.check != "poe-power":
        return True
    return (new.ohm_per_km or 0.0) < (old.ohm_per_km or 0.0)


def swap_feed(scene: Scene) -> Iterator[Candidate]:
    """A run that several feeds share, or all runs of a feed, by thicker or better ones."""
    for link in (each for each in scene.links if each.kind == FEED):
        runs = [row for row in link.rows if KINDS[row.kind].is_run and scene.may_change(row)]
        shared = [row for row in runs if row.label and len(runs) > 1]
        for some in (*([row] for row in shared), runs):
            if some:
                yield from _thicker(scene, some)


def _thicker(scene: Scene, runs: list[Segment]) -> Iterator[Candidate]:
    """These runs by one part."""
    old = {row.id: record_of(scene.context, row) for row in runs}
    for new in sorted(
        records(scene.context, "feeds"), key=lambda part: (part.area_mm2 or 0.0, part.part)
    ):
        edits = [scene.set(row, "part", new.part) for row in runs if row.part != new.part]
        if edits and all(_replaces(scene, new, part) for part in old.values()):
            other_gauge = any(is_by_gauge(new) != is_by_gauge(part) for part in old.values())
            unlike = max(differences(part, new) for part in old.values())
            distance = (new.area_mm2 or 0.0) + unlike / _OTHER_SYSTEM
            distance += _OTHER_SYSTEM if other_gauge else 0.0
            distance += (
                _OTHER_SYSTEM if any(new.outdoor != p.outdoor for p in old.values()) else 0.0
            )
            yield Candidate(tuple(edits), ("feed",) * len(edits), distance)


def _replaces(scene: Scene, new: Any, old: Any) -> bool:
    """Whether a feed may lie in the place of another: thicker, or with an earth where that lacks."""
    if not (new.outdoor or not old.outdoor):
        return False
    if scene.finding.unit == "conductors":
        enough = (new.conductors or 0) >= (scene.finding.limit or 0)
        return enough and (new.ohm_per_km or 0.0) <= (old.ohm_per_km or 0.0)
    same = (new.conductors, new.voltage_grade) == (old.conductors, old.voltage_grade)
    return same and (new.ohm_per_km or 0.0) < (old.ohm_per_km or 0.0)


def swap_protector(scene: Scene) -> Iterator[Candidate]:
    """The protector by one for the run beside it, its kind of current and its voltage."""
    for row in rows_of(scene, lambda row: KINDS[row.kind].protects):
        old = record_of(scene.context, row)
        beside_it = {other.kind for other in neighbours(scene, row) if other is not None}
        for new in like(records(scene.context, "protectors"), old):
            if new.for_ not in beside_it or (new.for_ == old.for_ and not covers(new, old)):
                continue
            yield Candidate(
                (scene.set(row, "part", new.part),), ("protector",), differences(old, new)
            )


def faster_protectors(scene: Scene) -> Iterator[Candidate]:
    """All protectors of a copper channel by ones that pass a higher rate."""
    for link in (each for each in scene.links if each.kind == COPPER):
        beside_runs = [
            other
            for row in link.rows
            for other in (row, *neighbours(scene, row))
            if other is not None and KINDS[other.kind].protects
        ]
        rows = [row for row in dict.fromkeys(beside_runs) if scene.may_change(row)]
        parts = records(scene.context, "protectors")
        for rate in sorted({rate for part in parts for rate in part.rates_mbps}):
            choices = [(row, _passing(scene, row, rate)) for row in rows]
            edits = [
                scene.set(row, "part", new.part)
                for row, new in choices
                if new is not None and new.part != row.part
            ]
            if edits and all(new is not None for _, new in choices):
                yield Candidate(tuple(edits), ("protector",) * len(edits), rate)


def _passing(scene: Scene, row: Segment, rate_mbps: float) -> Any:
    """The protector of a row if it passes a rate, else the nearest that does; None without one."""
    old = record_of(scene.context, row)
    fitting = [old, *like(records(scene.context, "protectors"), old, "for_", "supply")]
    return next(
        (part for part in fitting if rate_mbps in part.rates_mbps and covers(part, old)), None
    )


def add_protectors(scene: Scene) -> Iterator[Candidate]:
    """A surge protector beside the run at the ends that lack one."""
    for link in (each for each in scene.links if each.kind in (COPPER, FEED)):
        runs = [row for row in link.rows if KINDS[row.kind].is_run]
        if not runs:
            continue
        media = {COPPER: "copper", FEED: "feed"}[link.kind]
        parts = [part for part in records(scene.context, "protectors") if part.for_ == media]
        run = next((row for row in scene.rows if row in runs), runs[0])
        ends = [
            before
            for before in (True, False)
            if not _is_protector(neighbours(scene, run)[0 if before else 1])
        ]
        places = scene.context.network.places[run.id]
        for choice in product(parts, repeat=len(ends)):
            found = [
                beside(
                    scene,
                    run,
                    before=before,
                    cells={
                        "kind": "protector",
                        "part": part.part,
                        "site": places[0 if before else 1],
                    },
                    change="protector",
                )
                for before, part in zip(ends, choice, strict=True)
            ]
            if found and None not in found:
                edits = tuple(edit for one in found for edit in one.edits)
                volts = sum(part.max_volts or 0.0 for part in choice)
                yield Candidate(edits, ("protector",) * len(edits), len(set(choice)) + volts / 1e4)


def _is_protector(row: Segment | None) -> bool:
    return row is not None and KINDS[row.kind].protects


def tougher_part(scene: Scene) -> Iterator[Candidate]:
    """The part of the finding by one that stands more, all that it does alike."""
    row = scene.rows[0]
    if KINDS[row.kind].ends_light or not scene.may_change(row):
        return
    family = KINDS[row.kind].families[0]
    old = record_of(scene.context, row)
    change = {
        "device": "device",
        "radio": "terminal",
        "fiber": "run",
        "copper": "run",
        "feed": "feed",
        "protector": "protector",
    }.get(row.kind, "cord")
    same = {"devices": ("supply", "output"), "radios": ("duplex",), "fibers": ("end_a", "end_b")}
    for new in like(records(scene.context, family), old, *same.get(family, ())):
        if not covers(new, old) or not _lies_alike(scene, new, old):
            continue
        if row.kind in ("device", "radio") and not has_ports(
            ports_of(scene, new.part), ports_of(scene, row.part)
        ):
            continue
        if getattr(new, "for_", None) != getattr(old, "for_", None):
            continue
        if row.kind == "device" and not same_function(new, old):
            continue
        edits = [scene.set(row, "part", new.part)]
        yield Candidate(tuple(edits), (change,), differences(old, new))


def _lies_alike(scene: Scene, new: Any, old: Any) -> bool:
    """Of cables: one for the place where the finding is, that carries at least as much."""
    if hasattr(old, "outdoor") and scene.finding.check == "environment" and not new.outdoor:
        return False
    route = scene.rows[0].route
    if route in getattr(old, "routes", ()) and route not in getattr(new, "routes", ()):
        return False
    if not hasattr(old, "fiber_class"):
        return True
    classes = (old.fiber_class, *scene.context.catalog.better_classes(old.fiber_class))
    return new.fiber_class in classes and (new.strands or 0) >= (old.strands or 0)


def in_a_duct(scene: Scene) -> Iterator[Candidate]:
    """The route of a run, where the table can say it."""
    row = scene.rows[0]
    if KINDS[row.kind].is_run and hasattr(row, "route") and row.route is None:
        yield Candidate((scene.set(row, "route", "duct"),), ("setting",))


def run_length(scene: Scene) -> Iterator[Candidate]:
    """A hop's typed length left blank; how a run is laid, no table tells: the line is the least."""
    row = scene.rows[0]
    if row.kind == "radio":
        yield Candidate((scene.set(row, "length_m", None),), ("setting",))
