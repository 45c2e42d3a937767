"""Changes of copper drops, feeds, supplies and what stands in the weather."""

from collections import Counter
from collections.abc import Iterator
from itertools import product
from typing import Any

from backhaul.budgets.orders import is_cord
from backhaul.design.edits import Edit
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import COPPER, FEED, OPTICAL, Link
from backhaul.path.ports import CAGES_FOR, PASSIVE
from backhaul.remedies.moves import (
    Candidate,
    Scene,
    beside,
    covers,
    differences,
    like,
    neighbours,
    plugs,
    record_of,
    records,
)

#: In the name of a supply that carries on without the mains.
_BATTERY = "battery"
#: Sizes of one system are offered for one another first.
_GAUGE, _OTHER_SYSTEM = "awg", 1000.0


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


def _may_help(scene: Scene, new: Any, old: Any) -> bool:
    """Whether another copper can do anything: where power falls short, thicker conductors alone."""
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
            other_gauge = any(
                (_GAUGE in new.part) != (_GAUGE in part.part) for part in old.values()
            )
            unlike = max(differences(part, new) for part in old.values())
            distance = (new.area_mm2 or 0.0) + unlike / _OTHER_SYSTEM
            distance += _OTHER_SYSTEM if other_gauge else 0.0
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
    for row in _rows_of(scene, lambda row: KINDS[row.kind].protects):
        old = record_of(scene.context, row)
        beside_it = {other.kind for other in neighbours(scene, row) if other is not None}
        for new in like(records(scene.context, "protectors"), old):
            if new.for_ not in beside_it or (new.for_ == old.for_ and not covers(new, old)):
                continue
            yield Candidate(
                (scene.set(row, "part", new.part),), ("protector",), differences(old, new)
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


def swap_device(scene: Scene) -> Iterator[Candidate]:
    """A device that feeds others by one with at least its ports."""
    for row in _rows_of(scene, lambda row: row.kind == "device", ends=True):
        old = record_of(scene.context, row)
        ports = _ports(scene, row.part)
        if not any(power == "source" for _, power in ports):
            continue  # a camera is what the job asks for, its source may be another
        for new in like(records(scene.context, "devices"), old):
            fits = covers(new, old) and same_function(new, old)
            fits = fits and _feeds_as_asked(scene, new.part, row.part)
            if fits and _has_ports(_ports(scene, new.part), ports):
                distance = differences(old, new) + _unlike_ports(scene, new.part, row.part)
                edits = (scene.set(row, "part", new.part), *_ports_left(scene, row, new.part))
                yield Candidate(edits, ("device",) + ("port",) * (len(edits) - 1), distance)


def _ports_left(scene: Scene, row: Segment, new: str) -> Iterator[Edit]:
    """Ports of a device that are named in rows and that the new one has not: left blank."""
    names = {port.port for port in scene.context.catalog.ports.get(new, ())}
    links = (link for kind in (OPTICAL, COPPER) for link in scene.context.network.links[kind])
    for plug in (plug for link in links for plug in plugs(link)):
        named = getattr(plug.row, plug.column)
        if (
            plug.end is not None
            and _is_thing(plug.end.segment, row)
            and named not in (None, *names)
        ):
            yield scene.set(plug.row, plug.column, None)


def _is_thing(one: Segment, other: Segment) -> bool:
    """Whether two rows stand for one thing: one row, or one label."""
    return one.id == other.id or (one.label is not None and one.label == other.label)


def _feeds_as_asked(scene: Scene, new: str, old: str) -> bool:
    """Of passive sources and such of a class, the kind that the finding can be settled with."""
    passive = [
        any(port.poe == "source" and port.poe_class == PASSIVE for port in ports)
        for ports in (scene.context.catalog.ports.get(part, ()) for part in (new, old))
    ]
    if scene.finding.check == "poe-type":
        return passive[0] != passive[1]
    return scene.finding.check != "over-voltage" or passive[0] == passive[1]


def _unlike_ports(scene: Scene, new: str, old: str) -> int:
    """In how many ports two devices differ."""
    ports = [
        Counter((port.form, port.rates_mbps) for port in scene.context.catalog.ports.get(part, ()))
        for part in (new, old)
    ]
    return sum(((ports[0] - ports[1]) + (ports[1] - ports[0])).values())


def _ports(scene: Scene, part: str) -> list[tuple[str, str]]:
    return [
        ((port.form or "").lower(), port.poe or "none")
        for port in scene.context.catalog.ports.get(part, ())
    ]


def _has_ports(new: list[tuple[str, str]], old: list[tuple[str, str]]) -> bool:
    """Whether every port of the old part finds one in the new: its power, a cage that takes it."""
    left = list(new)
    for form, power in sorted(old, key=lambda port: -len(port[0])):
        takes = CAGES_FOR.get(form, (form,))
        fitting = next((port for port in left if port[0] in takes and port[1] == power), None)
        if fitting is None:
            return False
        left.remove(fitting)
    return True


def same_function(new: Any, old: Any) -> bool:
    """Whether two classes do the same: the first word of their names, and a battery if any.

    A camera is no injector, and a supply that carries on without the mains stays one that does.
    """
    words = [part.part.split("-")[0] for part in (new, old)]
    batteries = [_BATTERY in part.part or bool(part.battery_wh) for part in (new, old)]
    return words[0] == words[1] and batteries[0] == batteries[1]


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
    same = {"devices": ("supply", "output"), "radios": ("duplex",), "fibers": ("fiber_class",)}
    for new in like(records(scene.context, family), old, *same.get(family, ())):
        if not covers(new, old):
            continue
        if row.kind in ("device", "radio") and not _has_ports(
            _ports(scene, new.part), _ports(scene, row.part)
        ):
            continue
        if getattr(new, "for_", None) != getattr(old, "for_", None):
            continue
        if row.kind == "device" and not same_function(new, old):
            continue
        edits = [scene.set(row, "part", new.part)]
        yield Candidate(tuple(edits), (change,), differences(old, new))


def in_a_duct(scene: Scene) -> Iterator[Candidate]:
    """The route of a run, where the table can say it."""
    row = scene.rows[0]
    if KINDS[row.kind].is_run and hasattr(row, "route") and row.route is None:
        yield Candidate((scene.set(row, "route", "duct"),), ("setting",))


def run_length(scene: Scene) -> Iterator[Candidate]:
    """The length of the run as the straight line between its sites, or a hop's left blank."""
    row, limit = scene.rows[0], scene.finding.limit
    if row.kind == "radio":
        yield Candidate((scene.set(row, "length_m", None),), ("setting",))
    elif isinstance(limit, (int, float)):
        yield Candidate((scene.set(row, "length_m", float(-(-limit // 1))),), ("setting",))


def _rows_of(scene: Scene, wanted, *, ends: bool = False) -> Iterator[Segment]:
    """Rows that may be changed: of the finding, then of its links, then at their ends."""
    seen: set[int] = set()
    pools: list[tuple[Segment, ...]] = [scene.rows, *(link.rows for link in scene.links)]
    if ends:
        pools += [_end_rows(link) for link in scene.links]
    for row in (row for pool in pools for row in pool):
        if row.id not in seen and wanted(row) and scene.may_change(row):
            seen.add(row.id)
            yield row


def _end_rows(link: Link) -> tuple[Segment, ...]:
    ends = [link.near, link.far, *link.loads]
    return tuple(end.segment for end in ends if end is not None)
