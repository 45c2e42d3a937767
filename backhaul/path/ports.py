"""Which port every link end is plugged into: the one that is named, else the free one that fits."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.path.equipment import Equipment, row_key
from backhaul.path.links import COPPER, OPTICAL, Link
from backhaul.physics.poe import POE_CLASSES
from backhaul.wording import rate_text

#: Cages by the optics that go in, INF-8074i, SFF-8431, SFF-8402, SFF-8436, SFF-8665 (from memory).
CAGES_FOR = {
    "sfp": ("sfp", "sfp+", "sfp28"),
    "sfp+": ("sfp+", "sfp28"),
    "sfp28": ("sfp28",),
    "qsfp+": ("qsfp+", "qsfp28"),
    "qsfp28": ("qsfp28",),
}
CAGES = frozenset(CAGES_FOR)
#: Ports of one pair: 10BASE-T1L, IEEE 802.3cg Clause 146. Every other copper port has four.
ONE_PAIR_FORMS = frozenset({"t1l"})
PASSIVE = "passive"


def cage_takes(port: Any, optic: Any) -> bool:
    """True where an optic of this form goes into the cage, whatever the rate."""
    form, cage = _form(optic), _form(port)
    if not form or not cage:
        return not cage or cage in CAGES
    return cage in CAGES_FOR.get(form, (form,))


def lists_rate(port: Any, rate_mbps: float) -> bool:
    """True where a port runs this rate; a blank list is no limit."""
    return not port.rates_mbps or rate_mbps in port.rates_mbps


def is_copper_port(port: Any) -> bool:
    return _form(port) not in CAGES


def has_one_pair(port: Any) -> bool:
    return _form(port) in ONE_PAIR_FORMS


def takes_cable(port: Any, cable: Any) -> bool:
    """True where a copper cable of so many pairs goes into the port; a blank form takes any."""
    return is_copper_port(port) and (
        not _form(port) or has_one_pair(port) == (cable is not None and cable.pairs == 1)
    )


def _form(record: Any) -> str:
    return (record.form or "").lower()


def best_common_rate(near: Any, far: Any) -> float | None:
    """Highest rate that both ports list [Mb/s]; a port that is not known lists all."""
    lists = [set(port.rates_mbps) for port in (near, far) if port is not None and port.rates_mbps]
    common = set.intersection(*lists) if lists else ()
    return max(common, default=None)


def powers(source: Any, load: Any) -> bool:
    """True where one port sources what the other needs, by kind of power and not yet by watts."""
    return source is not None and load is not None and source.poe == "source" and load.poe == "load"


def assign_ports(links: tuple[Link, ...], catalog: Any) -> tuple[dict, list[Finding]]:
    """Plug every optical and copper link in; fills `near_port` and `far_port` of each link.

    Returns the ports in use by (thing key, port name), and `optics-port` findings.
    """
    board = _Board(catalog)
    plugged = [link for link in links if link.kind in (OPTICAL, COPPER)]
    for link in plugged:
        board.plug_named(link)
    for link in plugged:
        board.plug_free(link)
    return board.in_use, board.findings


def link_ends(link: Link) -> Iterator[tuple[str, Equipment | None, Segment, str]]:
    """Both ends of an optical or copper link: side, equipment, the row and column of its port."""
    yield "near", link.near, link.near_termination.row, link.near_termination.column
    yield "far", link.far, link.far_termination.row, link.far_termination.column


class _Board:
    def __init__(self, catalog: Any):
        self.catalog = catalog
        self.in_use: dict[tuple, Link] = {}
        self.users: dict[tuple, tuple] = {}
        self.findings: list[Finding] = []
        #: groups of like ports by equipment and optic, None for copper
        self.fitting: dict[tuple, list[list[Any]]] = {}
        #: an optic or run that stands in several links keeps its port
        self.held: dict[tuple, Any] = {}

    def plug_named(self, link: Link) -> None:
        for side, equipment, row, column in link_ends(link):
            if equipment is None or not getattr(row, column):
                continue
            wanted = getattr(row, column)
            ports = self.catalog.ports.get(equipment.part, ())
            port = next((p for p in ports if p.port.lower() == wanted.lower()), None)
            if port is None:
                listed = ", ".join(p.port for p in ports) or "none"
                self._fail(
                    link,
                    row,
                    column,
                    f"{equipment.part} has no port {wanted}",
                    f"use one of its ports: {listed}",
                )
                continue
            self._take(link, side, equipment, row, column, port)

    def plug_free(self, link: Link) -> None:
        ends = {side: (equipment, row, column) for side, equipment, row, column in link_ends(link)}
        choice = {}
        for side, (equipment, row, column) in ends.items():
            named = getattr(link, f"{side}_port")
            if named is not None or equipment is None:
                choice[side] = [[named]]
            elif (held := self.held.get((equipment.key, _user(link, side)))) is not None:
                choice[side] = [[held]]
            elif getattr(row, column):
                choice[side] = [[None]]
            else:
                choice[side] = self._free(equipment, link, side)
        for side, (equipment, row, column) in ends.items():
            if not choice[side]:
                self._no_port(link, side, equipment, row, column)
                choice[side] = [[None]]
        ranked = self._ranked(link, choice)
        best, near_group, far_group = ranked[0]
        for side, group in (("near", near_group), ("far", far_group)):
            equipment, row, column = ends[side]
            port = choice[side][group][0]
            if getattr(link, f"{side}_port") is not None or port is None or equipment is None:
                continue
            self._take(link, side, equipment, row, column, port)
            slot = 1 if side == "near" else 2
            rivals = {item[slot] for item in ranked if item[0][:2] == best[:2]}
            if len(rivals) > 1:
                self._note_choice(link, equipment, row, column, port)

    def _ranked(self, link: Link, choice: dict) -> list[tuple]:
        """Every pair of ports that differ, with how well it fits, the best first."""
        near, far = choice["near"], choice["far"]
        if len(near) == len(far) == 1:
            return [((0, 0, 0), 0, 0)]
        return sorted(
            (
                (_fit(link, a[0], b[0], self.catalog), n, f)
                for n, a in enumerate(near)
                for f, b in enumerate(far)
            ),
            key=lambda item: (tuple(-score for score in item[0]), item[1], item[2]),
        )

    def _free(self, equipment: Equipment, link: Link, side: str) -> list[list[Any]]:
        """The first free port of every group of like ports that fits."""
        what = (equipment.part, _end_row(link, side).part)
        if what not in self.fitting:
            self.fitting[what] = [
                group
                for group in _grouped(self.catalog.ports.get(equipment.part, ()))
                if _takes(group[0], link, side, self.catalog)
            ]
        free = []
        for group in self.fitting[what]:
            port = next((p for p in group if (equipment.key, p.port) not in self.in_use), None)
            if port is not None:
                free.append([port])
        return free

    def _take(self, link, side, equipment, row, column, port) -> None:
        place = (equipment.key, port.port)
        user = _user(link, side)
        holder = self.in_use.get(place)
        if holder is not None and self.users[place] != user:
            other = _end_row(holder, "near" if holder.near is equipment else "far")
            self._fail(
                link,
                row,
                column,
                f"port {port.port} of {equipment.name} is taken by {other.part} (path "
                f"{holder.paths[0]}, step {other.step:g})",
                "name another port",
            )
        self.in_use.setdefault(place, link)
        self.users.setdefault(place, user)
        self.held[(equipment.key, user)] = port
        setattr(link, f"{side}_port", port)

    def _no_port(self, link, side, equipment, row, column) -> None:
        ports = self.catalog.ports.get(equipment.part, ())
        fitting = [port.port for port in ports if _takes(port, link, side, self.catalog)]
        if fitting:
            message = f"no port is free on {equipment.name}: {', '.join(fitting)} all taken"
            remedy = (
                "add a device, or one with more ports; if it is one cord or optic in several rows, "
                "give those rows one label"
            )
            if equipment.end and not equipment.segment.to_site:
                remedy = "fill to_site of the radio if its hop goes on from here; else " + remedy
        else:
            part = _end_row(link, side).part
            cable = self.catalog.coppers.get(part)
            is_usual = link.kind == COPPER and not (cable is not None and cable.pairs == 1)
            what = "a copper run" if is_usual else part
            listed = ", ".join(_listed(ports)) or "no port at all"
            message = f"{equipment.part} has no port for {what}: it has {listed}"
            remedy = "choose equipment with such a port"
        self._fail(link, row, column, message, remedy)

    def _note_choice(self, link, equipment, row, column, port) -> None:
        self.findings.append(
            Finding(
                "assumption",
                NOTE,
                f"port {port.port} of {equipment.name} was assumed; other ports that fit differ from it",
                path=link.paths[0],
                paths=link.paths,
                step=row.step,
                where=row.at(column),
                remedy="name the port",
                rows=(row.id,),
            )
        )

    def _fail(self, link, row, column, message, remedy) -> None:
        self.findings.append(
            Finding(
                "optics-port",
                FAIL,
                message,
                path=link.paths[0],
                paths=link.paths,
                step=row.step,
                where=row.at(column),
                remedy=remedy,
                rows=(row.id,),
            )
        )


def _grouped(ports) -> list[list[Any]]:
    """Ports alike in all but their name, in the catalogue's order."""
    groups: dict[tuple, list[Any]] = {}
    for port in ports:
        alike = (
            port.form,
            port.rates_mbps,
            port.poe,
            port.poe_class,
            port.poe_pairs,
            port.volts,
            port.watts,
            port.min_volts,
        )
        groups.setdefault(alike, []).append(port)
    return list(groups.values())


def _end_row(link: Link, side: str) -> Segment:
    """The row whose plug goes into the port: an optic, or the first or last run of copper."""
    rows = link.rows
    if link.kind == COPPER:
        rows = tuple(row for row in rows if KINDS[row.kind].is_run)
    return rows[0] if side == "near" else rows[-1]


def _user(link: Link, side: str) -> tuple:
    """What is plugged in: an optic, or one end of a run."""
    key = row_key(_end_row(link, side))
    return key if link.kind == OPTICAL else (*key, side)


def _takes(port, link: Link, side: str, catalog) -> bool:
    if link.kind == OPTICAL:
        optic = catalog.optics[_end_row(link, side).part]
        return cage_takes(port, optic) and lists_rate(port, optic.rate_mbps)
    return takes_cable(port, catalog.coppers.get(_end_row(link, side).part))


def _fit(link: Link, near: Any, far: Any, catalog: Any) -> tuple[float, float, float]:
    """How well two ports go together: power first, then rate, then no power left unused."""
    if link.kind == OPTICAL:
        exact = sum(
            1
            for side, port in (("near", near), ("far", far))
            if port is not None and _form(port) == _form(catalog.optics[_end_row(link, side).part])
        )
        return (0, 0, exact)
    loads = sum(1 for port in (near, far) if port is not None and port.poe == "load")
    power, is_powered = (0 if loads else 1), False
    for source, load, equipment in ((near, far, link.far), (far, near, link.near)):
        if powers(source, load):
            is_powered = True
            is_alike = (source.poe_class == PASSIVE) == (load.poe_class == PASSIVE)
            power = 1 if not is_alike else 3 if _is_enough(source, load, equipment) else 2
    unused = -sum(1 for p in (near, far) if p is not None and p.poe == "source" and not is_powered)
    return (power, best_common_rate(near, far) or 0, unused)


def _is_enough(source: Any, load: Any, equipment: Equipment | None) -> bool:
    """Whether a port gives what a load is classed for, or needs; the line is judged later."""
    given = source.watts
    if given is None and source.poe_class in POE_CLASSES:
        given = POE_CLASSES[source.poe_class].source_w
    if load.poe_class in POE_CLASSES:
        needed = POE_CLASSES[load.poe_class].source_w
    elif load.watts is not None or equipment is None:
        needed = load.watts
    else:
        needed = equipment.record.watts
    return given is None or needed is None or given >= needed


def _listed(ports) -> Iterator[str]:
    """Ports of a device in words, those that are alike counted."""
    alike = Counter((port.form, tuple(port.rates_mbps or ())) for port in ports)
    for (form, rates), count in alike.items():
        at = " or ".join(map(rate_text, rates))
        yield f"{count} {form}" + (f" at {at}" if at else "")
