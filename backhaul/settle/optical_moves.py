"""Changes of an optical link: optics, cords and cables, joints, attenuators, strands."""

from collections.abc import Iterator
from itertools import product
from typing import Any

from backhaul.design.edits import Edit
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import OPTICAL, Link
from backhaul.path.ports import CAGES, cage_takes, lists_rate
from backhaul.settle.moves import (
    Candidate,
    Scene,
    beside,
    covers,
    differences,
    like,
    neighbours,
    record_of,
    records,
    take_out,
)

ATTENUATOR = "attenuator"
#: Pairs of optics tried at most, the nearest first.
PAIRS_TRIED = 40


def _optical(scene: Scene) -> Iterator[Link]:
    return (link for link in scene.links if link.kind == OPTICAL)


def _hears(optic: Any, other: Any) -> bool:
    """Whether an optic's window takes the nominal wavelength of the other."""
    if None in (optic.rx_min_nm, optic.rx_max_nm, other.tx_nominal_nm):
        return True
    return optic.rx_min_nm <= other.tx_nominal_nm <= optic.rx_max_nm


def _matches(a: Any, b: Any) -> bool:
    return (
        a.rate_mbps == b.rate_mbps
        and a.fiber_mode == b.fiber_mode
        and a.strands == b.strands
        and _hears(a, b)
        and _hears(b, a)
    )


def _for_port(scene: Scene, old: Any, port: Any) -> list[Any]:
    """Optics that go into the cage at a rate that it lists, with the old one's plug."""
    found = [
        optic
        for optic in records(scene.context, "optics")
        if (optic.receptacle, optic.polish) == (old.receptacle, old.polish)
        and covers(optic, old)
        and (port is None or (cage_takes(port, optic) and lists_rate(port, optic.rate_mbps)))
    ]
    return sorted(found, key=lambda optic: (differences(old, optic), optic.part))


def swap_optics(scene: Scene) -> Iterator[Candidate]:
    """One optic, or both, by others that fit their ports and each other."""
    for link in _optical(scene):
        ends = (link.rows[0], link.rows[-1])
        old = [record_of(scene.context, row) for row in ends]
        fitting = [
            _for_port(scene, record, port) if scene.may_change(row) else [record]
            for row, record, port in zip(ends, old, (link.near_port, link.far_port), strict=True)
        ]
        pairs = [
            (differences(old[0], a) + differences(old[1], b), a, b)
            for a, b in product(*fitting)
            if _matches(a, b) and (a.part, b.part) != (old[0].part, old[1].part)
        ]
        pairs.sort(
            key=lambda pair: (
                sum(new.part != was.part for new, was in zip(pair[1:], old, strict=True)),
                pair[0],
                pair[1].part,
                pair[2].part,
            )
        )
        for distance, *pair in pairs[:PAIRS_TRIED]:
            edits, changes = [], []
            for row, was, new in zip(ends, old, pair, strict=True):
                if new.part != was.part:
                    edits.append(scene.set(row, "part", new.part))
                    changes.append("optic")
            yield Candidate(tuple(edits), tuple(changes), distance)


def wider_optic(scene: Scene) -> Iterator[Candidate]:
    """The optic of the finding in a wider temperature class, all else alike."""
    row = scene.rows[0]
    if not KINDS[row.kind].ends_light or not scene.may_change(row):
        return
    old = record_of(scene.context, row)
    same = ("rate_mbps", "form", "receptacle", "polish", "strands", "fiber_mode", "tx_nominal_nm")
    for new in like(records(scene.context, "optics"), old, *same):
        if covers(new, old):
            yield Candidate((scene.set(row, "part", new.part),), ("optic",), differences(old, new))


def better_cable(scene: Scene) -> Iterator[Candidate]:
    """A cable with less loss at the wavelength of the link, all else alike."""
    for link in _optical(scene):
        nm = record_of(scene.context, link.rows[0]).tx_nominal_nm
        for row in link.rows:
            if not KINDS[row.kind].is_run or not scene.may_change(row):
                continue
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "fibers"), old, *_PLACE):
                if covers(new, old) and _loss_at(new, nm) < _loss_at(old, nm):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("run",), differences(old, new))


#: What a fiber keeps that takes another's place.
_PLACE = ("end_a", "end_b", "outdoor", "strands", "fiber_class")


def _loss_at(part: Any, nm: float | None) -> float:
    columns = part.max_db_km
    if not columns or nm is None:
        return 0.0
    return columns[min(columns, key=lambda column: abs(column - nm))]


def one_class(scene: Scene) -> Iterator[Candidate]:
    """All runs of the link by ones of another fiber class, each the nearest of its kind."""
    for link in _optical(scene):
        runs = [row for row in link.rows if KINDS[row.kind].is_run and scene.may_change(row)]
        yield from _all_of_one_class(scene, runs)


def one_length(scene: Scene) -> Iterator[Candidate]:
    """A cable of the same make that is sold in longer lengths."""
    for row in scene.rows[:1]:
        if KINDS[row.kind].is_run and scene.may_change(row):
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "fibers"), old, "end_a", "end_b", "outdoor"):
                longest = max(new.order_lengths_m, default=0.0)
                if longest > (row.length_m or 0.0) and (new.strands or 0) >= len(row.strand):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("run",), differences(old, new))


def _is_cord(part: Any) -> bool:
    return bool(part.end_a or part.end_b)


def _all_of_one_class(scene: Scene, runs: list[Segment]) -> Iterator[Candidate]:
    """All runs of the link by ones of another class, each the nearest of its kind."""
    fibers = records(scene.context, "fibers")
    for name in dict.fromkeys(fiber.fiber_class for fiber in fibers):
        edits: list[Edit] = []
        changes: list[str] = []
        distance = 0.0
        for row in runs:
            old = record_of(scene.context, row)
            if old.fiber_class == name:
                continue
            near = [
                new
                for new in like(fibers, old, "end_a", "end_b", "outdoor")
                if new.fiber_class == name and (new.strands or 0) >= (old.strands or 0)
            ]
            if not near:
                edits = []
                break
            edits.append(scene.set(row, "part", near[0].part))
            changes.append("cord" if _is_cord(old) else "run")
            distance += differences(old, near[0])
        if edits:
            yield Candidate(tuple(edits), tuple(changes), distance)


def swap_joint(scene: Scene) -> Iterator[Candidate]:
    """A mated pair or splice of a better class, with the same face."""
    for link in _optical(scene):
        for row in link.rows[1:-1]:
            if KINDS[row.kind].is_run or row.kind == ATTENUATOR or not scene.may_change(row):
                continue
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "joints"), old, "kind", "family", "polish"):
                better = (new.max_db or 0.0) < (old.max_db or 0.0)
                if better and (new.mode in (None, old.mode) or old.mode is None):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("cord",), differences(old, new))


def less_attenuation(scene: Scene) -> Iterator[Candidate]:
    """A smaller attenuator in the place of one, or none."""
    for link in _optical(scene):
        for row in link.rows:
            if row.kind != ATTENUATOR or not scene.may_change(row):
                continue
            yield Candidate((take_out(row, scene.path_of(row)),), ("cord",))
            old = record_of(scene.context, row)
            for size in _sizes(scene, old.family, old.polish):
                if size.max_db < old.max_db:
                    edits = (scene.set(row, "part", size.part),)
                    yield Candidate(edits, ("cord",), old.max_db - size.max_db)


def attenuator(scene: Scene) -> Iterator[Candidate]:
    """A fixed attenuator before a receiver, or a larger one in the place of one."""
    for link in _optical(scene):
        present = [row for row in link.rows if row.kind == ATTENUATOR]
        for row in present:
            old = record_of(scene.context, row)
            for size in _sizes(scene, old.family, old.polish):
                if scene.may_change(row) and size.max_db > old.max_db:
                    edits = (scene.set(row, "part", size.part),)
                    yield Candidate(edits, ("cord",), size.max_db)
        if present:
            continue
        for row, before in ((link.rows[-1], True), (link.rows[0], False)):
            optic = record_of(scene.context, row)
            for size in _sizes(scene, optic.receptacle, optic.polish):
                cells = {"kind": ATTENUATOR, "part": size.part, "site": row.site}
                found = beside(
                    scene, row, before=before, cells=cells, change="cord", distance=size.max_db
                )
                if found is not None:
                    yield found


def _sizes(scene: Scene, family: str | None, polish: str | None) -> list[Any]:
    """Attenuators with this face, the smallest first."""
    found = [
        part
        for part in records(scene.context, "joints")
        if part.kind == ATTENUATOR and (part.family, part.polish) == (family, polish)
    ]
    return sorted(found, key=lambda part: part.max_db)


def mated_pair(scene: Scene) -> Iterator[Candidate]:
    """A mated pair between two plugs that meet without one."""
    pairs = [part for part in records(scene.context, "joints") if part.kind == "connector"]
    for row in scene.rows[:1]:
        if row.kind != "fiber":
            continue
        ends = _ends_of(record_of(scene.context, row))
        sides = zip((True, False), neighbours(scene, row), strict=True)
        for before in (before for before, other in sides if other and other.kind == "fiber"):
            for part in (part for part in pairs if _face(part.family, part.polish) in ends):
                cells = {"kind": "connector", "part": part.part, "site": row.site, "count": 1}
                found = beside(scene, row, before=before, cells=cells, change="cord")
                if found is not None:
                    yield found


def swap_cord_or_pair(scene: Scene) -> Iterator[Candidate]:
    """Cords and mated pairs around a face that does not fit, by ones that fit both neighbours."""
    for link in _optical(scene):
        place = {row.id: n for n, row in enumerate(link.rows)}
        close = [place[row.id] for row in scene.rows if row.id in place]
        for n, row in enumerate(link.rows[1:-1], start=1):
            if scene.may_change(row) and any(abs(n - at) <= 1 for at in close):
                yield from _fitting(scene, row, (link.rows[n - 1], link.rows[n + 1]))


def _fitting(scene: Scene, row: Segment, beside_it: tuple[Segment, ...]) -> Iterator[Candidate]:
    """Parts in the place of a cord or pair whose faces are those beside it."""
    old = record_of(scene.context, row)
    faces = {face for other in beside_it if (face := _fixed_face(scene, other))}
    if row.kind == "connector":
        parts = like(records(scene.context, "joints"), old, "kind")
        fitting = [new for new in parts if _face(new.family, new.polish) in faces]
        # a pair also follows the plugs of the cords beside it
        plugs = {
            end
            for other in beside_it
            if other.kind == "fiber"
            for end in _ends_of(record_of(scene.context, other))
        }
        fitting += [new for new in parts if _face(new.family, new.polish) in plugs - faces]
    elif row.kind == "fiber" and _is_cord(old):
        parts = like(records(scene.context, "fibers"), old, "fiber_class", "strands")
        fitting = [new for new in parts if faces <= _ends_of(new)]
    else:
        return
    for new in fitting:
        edits = (scene.set(row, "part", new.part),)
        yield Candidate(edits, ("cord",), differences(old, new))


def _face(family: str | None, polish: str | None) -> str:
    return f"{family}/{polish}"


def _ends_of(part: Any) -> set[str]:
    return {end for end in (part.end_a, part.end_b) if end}


def _fixed_face(scene: Scene, row: Segment) -> str:
    """The face that an optic or a joint turns to its neighbour; "" of a fiber."""
    part = record_of(scene.context, row)
    if KINDS[row.kind].ends_light:
        return _face(part.receptacle, part.polish)
    return "" if KINDS[row.kind].is_run or row.kind == "splice" else _face(part.family, part.polish)


def splices(scene: Scene) -> Iterator[Candidate]:
    """As many mid-span splices as the order lengths force, or a cable in one length."""
    wanted = scene.finding.limit
    for row in scene.rows[:1]:
        if not isinstance(wanted, (int, float)) or not KINDS[row.kind].is_run:
            continue
        missing = int(wanted - float(scene.finding.value or 0))
        if missing > 0:
            yield from _split(scene, row, missing)


def _split(scene: Scene, row: Segment, count: int) -> Iterator[Candidate]:
    for part in records(scene.context, "joints"):
        if part.kind != "splice":
            continue
        cells = {"kind": "splice", "part": part.part, "count": count}
        found = beside(scene, row, before=False, cells=cells | {"site": row.to_site}, change="cord")
        if found is not None:
            yield found


def strands(scene: Scene) -> Iterator[Candidate]:
    """Free strands of the cable, or a cable with more."""
    network, rows = scene.context.network, scene.context.design.segments
    for row in scene.rows[:1]:
        if row.kind != "fiber":
            continue
        part = record_of(scene.context, row)
        link = next((each for each in _optical(scene) if row in each.rows), None)
        needed = max(len(row.strand), _strands_needed(scene, link))
        mine = (
            [row.id]
            + [
                mate.id
                for mate in network.mates.get(row.label, ())
                if link and mate.id in link.row_ids
            ]
            if row.label
            else [row.id]
        )
        used = {
            strand
            for other in rows
            if row.label and other.label == row.label and other.id not in mine
            for strand in other.strand
        }
        free = [str(n) for n in range(1, (part.strands or 0) + 1) if str(n) not in used]
        if len(free) >= needed:
            yield Candidate((scene.set(row, "strand", tuple(free[:needed])),), ("strand",))
        highest = max([len(used) + needed, *(int(s) for s in row.strand if s.isdigit())])
        if scene.may_change(row):
            for new in like(
                records(scene.context, "fibers"), part, "fiber_class", "outdoor", "end_a", "end_b"
            ):
                if (new.strands or 0) >= highest:
                    yield Candidate(
                        (scene.set(row, "part", new.part),), ("run",), differences(part, new)
                    )


def _strands_needed(scene: Scene, link: Link | None) -> int:
    if link is None:
        return 1
    ends = (record_of(scene.context, link.rows[0]), record_of(scene.context, link.rows[-1]))
    return int(max(optic.strands or 1 for optic in ends))


def other_port(scene: Scene) -> Iterator[Candidate]:
    """Another port of the same device, by name."""
    for link in scene.links:
        for row, column, equipment in (
            (link.rows[0], "port", link.near),
            (link.rows[-1], "to_port" if link.kind != OPTICAL else "port", link.far),
        ):
            if equipment is None or not scene.may_change(row):
                continue
            for port in scene.context.catalog.ports.get(equipment.part, ()):
                is_cage = (port.form or "").lower() in CAGES
                if is_cage != (link.kind == OPTICAL) or port.port == getattr(row, column):
                    continue
                if (equipment.key, port.port) in scene.context.network.ports_in_use:
                    continue
                yield Candidate((scene.set(row, column, port.port),), ("port",))


def add_fiber(scene: Scene) -> Iterator[Candidate]:
    """The run that a broken chain lacks: a cord within a site, a cable between two."""
