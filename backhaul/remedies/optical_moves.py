"""Changes of an optical link: optics, strands, ports."""

from collections.abc import Iterator
from itertools import product
from typing import Any

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import OPTICAL, Link
from backhaul.path.ports import CAGES, cage_takes, lists_rate
from backhaul.remedies.moves import (
    Candidate,
    Scene,
    covers,
    differences,
    is_cord,
    like,
    optical_links,
    plugs,
    record_of,
    records,
)

#: Pairs of optics tried at most, the nearest first.
PAIRS_TRIED = 40


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


def _for_port(scene: Scene, link: Link, old: Any, port: Any) -> list[tuple[float, Any]]:
    """Optics that go into the cage at a rate that it lists, with the old one's plug, for the fiber.

    Each with how much it differs from the old one.
    """
    found = [
        (differences(old, optic), optic)
        for optic in records(scene.context, "optics")
        if (optic.receptacle, optic.polish) == (old.receptacle, old.polish)
        and covers(optic, old)
        and (port is None or (cage_takes(port, optic) and lists_rate(port, optic.rate_mbps)))
        and _may_serve(scene, link, optic)
    ]
    return sorted(found, key=lambda each: (each[0], each[1].part))


def swap_optics(scene: Scene) -> Iterator[Candidate]:
    """One optic, or both, by others that fit their ports and each other."""
    for link in optical_links(scene):
        ends = (link.rows[0], link.rows[-1])
        old = [record_of(scene.context, row) for row in ends]
        rates = {record.rate_mbps for record in old}  # a slower link is no remedy
        fitting = [
            _for_port(scene, link, record, port)
            if scene.may_change(row)
            else [(0.0, record)] * _may_serve(scene, link, record)
            for row, record, port in zip(ends, old, (link.near_port, link.far_port), strict=True)
        ]
        pairs = [
            (near + far, a, b)
            for (near, a), (far, b) in product(*fitting)
            if _matches(a, b)
            and (a.part, b.part) != (old[0].part, old[1].part)
            and _is_fast_enough(scene, rates, {a.rate_mbps, b.rate_mbps})
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


def _may_serve(scene: Scene, link: Link, optic: Any) -> bool:
    """Whether an optic may work on the fiber of the link, where it is of one mode."""
    classes = scene.context.optical.classes[link.index]
    mixed = len(scene.context.optical.modes[link.index]) > 1
    return mixed or all(serves(scene, optic, name) for name in classes)


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


def _is_fast_enough(scene: Scene, old: set[float], new: set[float]) -> bool:
    return min(new) > max(old) if scene.finding.check == "path-rate" else new <= old


def serves(scene: Scene, optic: Any, fiber_class: str) -> bool:
    """Whether an optic works on a class of fiber, over the length where that is what was found."""
    catalog, check = scene.context.catalog, scene.finding.check
    row = catalog.optic_reach.get((optic.part, fiber_class))
    if check == "fiber-mode":
        return row is not None or optic.fiber_mode in catalog.modes_of(fiber_class)
    length_m = scene.finding.value
    if check != "fiber-reach" or not isinstance(length_m, int | float):
        return True
    return row is not None and (row.reach_m or 0.0) >= length_m


def strands(scene: Scene) -> Iterator[Candidate]:
    """Free strands in the number that the optics want, or a cord or cable that has them.

    Of the row of the finding alone; of a wrong number also of all runs of the link together.
    """
    row = scene.rows[0]
    if row.kind != "fiber":
        return
    link = next((each for each in optical_links(scene) if row in each.rows), None)
    yield from _strands_of(scene, link, row)
    if scene.finding.check != "strand-count" or link is None:
        return
    wanted = _strands_needed(scene, link)
    wrong = [run for run in link.rows if run.kind == "fiber" and len(run.strand) != wanted]
    firsts = [next(_strands_of(scene, link, run), None) for run in wrong]
    named = [one for one in firsts if one is not None]
    if len(wrong) > 1 and len(named) == len(wrong):
        yield Candidate(
            tuple(edit for one in named for edit in one.edits),
            tuple(change for one in named for change in one.changes),
            sum(one.distance for one in named),
        )


def _strands_of(scene: Scene, link: Link | None, row: Segment) -> Iterator[Candidate]:
    """Free strands of the run of a row, its own first, or a run that has enough of them."""
    part, wanted = record_of(scene.context, row), _strands_needed(scene, link)
    is_wrong = scene.finding.check == "strand-count" and link is not None
    needed = wanted if is_wrong and len(row.strand) != wanted else max(len(row.strand), wanted)
    used = _used_by_others(scene, link, row)
    names = (*row.strand, *(str(n) for n in range(1, _MOST_STRANDS)))
    free = [name for name in dict.fromkeys(names) if name not in used]
    has = [name for name in free if not name.isdigit() or int(name) <= (part.strands or 0)]
    if len(has) >= needed:
        found = tuple(sorted(has[:needed], key=free.index))
        if found != row.strand:
            yield Candidate((scene.set(row, "strand", found),), ("strand",))
    if not scene.may_change(row):
        return
    kept = len(row.strand) == needed and len(free[:needed]) == needed
    found = row.strand if kept and not used.intersection(row.strand) else tuple(free[:needed])
    highest = max([len(used) + needed, *(int(s) for s in found if s.isdigit())])
    named = () if found == row.strand else (scene.set(row, "strand", found),)
    change = "cord" if is_cord(part) else "run"
    for new in like(records(scene.context, "fibers"), part, "fiber_class", "outdoor"):
        if (new.end_a, new.end_b) == (part.end_a, part.end_b) and (new.strands or 0) >= highest:
            edits = (scene.set(row, "part", new.part), *named)
            changes = (change, *("strand" for _ in named))
            dark = (new.strands - highest) / _FEW_STRANDS
            yield Candidate(edits, changes, differences(part, new) + dark)


#: More strands than the cables of the trade have.
_MOST_STRANDS = 1000
#: So many dark strands count as one difference more between two cables.
_FEW_STRANDS = 4


def _used_by_others(scene: Scene, link: Link | None, row: Segment) -> set[str]:
    """Strands of the cable of a row that other links are on."""
    if not row.label:
        return set()
    mates = scene.context.network.mates.get(row.label, ())
    mine = {row.id, *(mate.id for mate in mates if link and mate.id in link.row_ids)}
    return {
        strand
        for other in scene.context.design.segments
        if other.label == row.label and other.id not in mine
        for strand in other.strand
    }


def _strands_needed(scene: Scene, link: Link | None) -> int:
    if link is None:
        return 1
    ends = (record_of(scene.context, link.rows[0]), record_of(scene.context, link.rows[-1]))
    return int(max(optic.strands or 1 for optic in ends))


def other_port(scene: Scene) -> Iterator[Candidate]:
    """Another port of the same device, by name."""
    for link in scene.links:
        for row, column, equipment in plugs(link):
            if equipment is None or not scene.may_change(row):
                continue
            seen = set()  # of ports that are alike one is tried
            for port in scene.context.catalog.ports.get(equipment.part, ()):
                is_cage = (port.form or "").lower() in CAGES
                if is_cage != (link.kind == OPTICAL) or port.port == getattr(row, column):
                    continue
                if (equipment.key, port.port) in scene.context.network.ports_in_use:
                    continue
                if port._replace(port="") in seen:
                    continue
                seen.add(port._replace(port=""))
                yield Candidate((scene.set(row, column, port.port),), ("port",))
