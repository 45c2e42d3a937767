"""Changes of the cables and joints of an optical link: less loss, another class, another length."""

from collections.abc import Iterator
from typing import Any

from backhaul.design.edits import Edit
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.remedies.moves import (
    Candidate,
    Scene,
    covers,
    differences,
    is_cord,
    like,
    optical_links,
    record_of,
    records,
)
from backhaul.remedies.optical_moves import serves


def better_cable(scene: Scene) -> Iterator[Candidate]:
    """A cable with less loss at the wavelength of the link, all else alike."""
    for link in optical_links(scene):
        nm = record_of(scene.context, link.rows[0]).tx_nominal_nm
        for row in link.rows:
            if not KINDS[row.kind].is_run or not scene.may_change(row):
                continue
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "fibers"), old, *_PLACE):
                if not _lies_there(scene, row, new):
                    continue
                if covers(new, old) and _loss_at(new, nm) < _loss_at(old, nm):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("run",), differences(old, new))


def less_loss(scene: Scene) -> Iterator[Candidate]:
    """All splices, all mated pairs, or both of a link by their best class; with the best cable."""
    for link in optical_links(scene):
        nm = record_of(scene.context, link.rows[0]).tx_nominal_nm
        rows = [row for row in link.rows[1:-1] if scene.may_change(row)]
        splices = _best(scene, [row for row in rows if row.kind == "splice"])
        pairs = _best(scene, [row for row in rows if row.kind == "connector"])
        cable: list[Edit] = []
        for row in (row for row in rows if KINDS[row.kind].is_run):
            old = record_of(scene.context, row)
            better = [
                new
                for new in like(records(scene.context, "fibers"), old, *_PLACE)
                if covers(new, old)
                and _loss_at(new, nm) < _loss_at(old, nm)
                and _lies_there(scene, row, new)
            ]
            if better and not is_cord(old):
                best = min(better, key=lambda new: (_loss_at(new, nm), len(new.part)))
                cable.append(scene.set(row, "part", best.part))
        for laid in ([], cable) if cable else ([],):
            for some in (splices, pairs, splices + pairs):
                if len(some) + len(laid) > 1:
                    changes = ("cord",) * len(some) + ("run",) * len(laid)
                    yield Candidate((*some, *laid), changes, len(some))


def _best(scene: Scene, rows: list[Segment]) -> list[Edit]:
    """Joints by the best of their face."""
    edits = []
    for row in rows:
        old = record_of(scene.context, row)
        fitting = [
            new
            for new in like(records(scene.context, "joints"), old, "kind", "family", "polish")
            if new.max_db is not None and new.mode in {None, "single"} | {old.mode}
        ]
        best = min(fitting, key=lambda new: new.max_db, default=old)
        if (best.max_db or 0.0) < (old.max_db or 0.0):
            edits.append(scene.set(row, "part", best.part))
    return edits


#: What a fiber keeps that takes another's place.
_PLACE = ("end_a", "end_b", "strands", "mode")


def _lies_there(scene: Scene, row: Segment, new: Any) -> bool:
    """Whether a cable is for the place of a row: outdoors where it, or the old one, is."""
    old = record_of(scene.context, row)
    return bool(new.outdoor) == bool(old.outdoor or scene.context.is_outdoor(row))


def _loss_at(part: Any, nm: float | None) -> float:
    columns = part.max_db_km
    if not columns or nm is None:
        return 0.0
    return columns[min(columns, key=lambda column: abs(column - nm))]


def one_class(scene: Scene) -> Iterator[Candidate]:
    """All runs of the link by ones of another fiber class, each the nearest of its kind."""
    for link in optical_links(scene):
        runs = [row for row in link.rows if KINDS[row.kind].is_run and scene.may_change(row)]
        ends = [record_of(scene.context, row) for row in (link.rows[0], link.rows[-1])]
        for name in dict.fromkeys(part.fiber_class for part in records(scene.context, "fibers")):
            if all(serves(scene, end, name) for end in ends):
                yield from _all_of_one_class(scene, runs, name)


def one_length(scene: Scene) -> Iterator[Candidate]:
    """A cable of the same make that is sold in longer lengths."""
    for row in scene.rows[:1]:
        if KINDS[row.kind].is_run and scene.may_change(row):
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "fibers"), old, "end_a", "end_b"):
                if not _lies_there(scene, row, new):
                    continue
                longest = max(new.order_lengths_m, default=0.0)
                if longest > (row.length_m or 0.0) and (new.strands or 0) >= len(row.strand):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("run",), differences(old, new))


def _all_of_one_class(scene: Scene, runs: list[Segment], name: str) -> Iterator[Candidate]:
    """All runs of the link by ones of another class, each the nearest of its kind."""
    fibers = records(scene.context, "fibers")
    edits: list[Edit] = []
    changes: list[str] = []
    distance = 0.0
    for row in runs:
        old = record_of(scene.context, row)
        if old.fiber_class == name:
            continue
        near = [
            new
            for new in like(fibers, old, "end_a", "end_b")
            if new.fiber_class == name
            and (new.strands or 0) >= (old.strands or 0)
            and _lies_there(scene, row, new)
        ]
        if not near:
            return
        edits.append(scene.set(row, "part", near[0].part))
        changes.append("cord" if is_cord(old) else "run")
        distance += differences(old, near[0])
    if edits:
        yield Candidate(tuple(edits), tuple(changes), distance)
