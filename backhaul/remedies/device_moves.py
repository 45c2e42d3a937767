"""A device by another one that has its ports and does the same."""

from collections import Counter
from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.design.edits import Edit
from backhaul.design.model import Segment
from backhaul.path.links import COPPER, OPTICAL, Link
from backhaul.path.ports import CAGES_FOR, PASSIVE
from backhaul.remedies.functions import stores
from backhaul.remedies.moves import (
    Candidate,
    Scene,
    covers,
    differences,
    like,
    plugs,
    record_of,
    records,
)


def swap_device(scene: Scene) -> Iterator[Candidate]:
    """A device that feeds others, or lacks a port, by one with at least its ports."""
    for row in rows_of(scene, lambda row: row.kind == "device", ends=True):
        old = record_of(scene.context, row)
        ports = ports_of(scene, row.part)
        powers = [port.poe for port in ports]
        if "source" not in powers and ("load" in powers or scene.finding.check not in _WANT_PORTS):
            continue  # a camera is what the job asks for, its source may be another
        for new in like(records(scene.context, "devices"), old):
            fits = covers(new, old) and same_function(new, old)
            fits = fits and _feeds_as_asked(scene, new.part, row.part)
            if fits and has_ports(ports_of(scene, new.part), ports):
                distance = differences(old, new) + _unlike_ports(scene, new.part, row.part)
                edits = (scene.set(row, "part", new.part), *_ports_left(scene, row, new.part))
                yield Candidate(edits, ("device",) + ("port",) * (len(edits) - 1), distance)


#: Findings that a device with other ports may settle.
_WANT_PORTS = ("optics-port", "path-rate", "copper-rate", "poe-power")


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


class _Port(NamedTuple):
    form: str
    poe: str
    is_passive: bool
    rate_mbps: float
    #: of IEEE 802.3, 0 where there is none
    poe_class: int


def ports_of(scene: Scene, part: str) -> list[_Port]:
    return [
        _Port(
            (port.form or "").lower(),
            port.poe or "none",
            port.poe_class == PASSIVE,
            max(port.rates_mbps, default=0.0),
            port.poe_class if isinstance(port.poe_class, int) else 0,
        )
        for port in scene.context.catalog.ports.get(part, ())
    ]


def has_ports(new: list[_Port], old: list[_Port]) -> bool:
    """Whether every port of the old part finds one in the new: its rate and power, a cage that
    takes it.

    A source of a class asks before it gives, so that it also serves what wants data alone.
    """
    left = sorted(new, key=lambda port: (port.poe != "none", port.rate_mbps, port.poe_class))
    for port in sorted(old, key=lambda port: (-len(port.form), -port.rate_mbps, -port.poe_class)):
        takes = CAGES_FOR.get(port.form, (port.form,))
        fitting = next((one for one in left if one.form in takes and _powers(one, port)), None)
        if fitting is None:
            return False
        left.remove(fitting)
    return True


def _powers(new: _Port, old: _Port) -> bool:
    """Whether a port does what another does, as fast, and is of no lower class of PoE."""
    if new.rate_mbps < old.rate_mbps or (new.poe_class < old.poe_class and not new.is_passive):
        return False
    return new.poe == old.poe or ((new.poe, old.poe) == ("source", "none") and not new.is_passive)


def same_function(new: Any, old: Any) -> bool:
    """Whether two classes do the same: the first word of their names, and a battery if any.

    A camera is no injector, and a supply that carries on without the mains stays one that does.
    """
    words = [part.part.split("-")[0] for part in (new, old)]
    batteries = [stores(part) for part in (new, old)]
    return words[0] == words[1] and batteries[0] == batteries[1]


def replaces(scene: Scene, new: Any, old: Any) -> bool:
    """Whether a device may do what another does: its function, with at least its ports."""
    return same_function(new, old) and has_ports(
        ports_of(scene, new.part), ports_of(scene, old.part)
    )


def rows_of(scene: Scene, wanted, *, ends: bool = False) -> Iterator[Segment]:
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
