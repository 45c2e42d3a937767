"""Changes of cords, mated pairs, splices and attenuators of an optical link."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from backhaul.budgets.attenuators import two_to_fit
from backhaul.design.edits import put_in, take_out
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import Link
from backhaul.remedies.moves import (
    ATTENUATOR,
    Candidate,
    Scene,
    beside,
    differences,
    is_cord,
    like,
    neighbours,
    optical_links,
    record_of,
    records,
)

#: Digits of a step between two others.
_STEP_DIGITS = 3


def swap_joint(scene: Scene) -> Iterator[Candidate]:
    """A mated pair or splice of a better class, with the same face."""
    for link in optical_links(scene):
        for row in link.rows[1:-1]:
            if KINDS[row.kind].is_run or row.kind == ATTENUATOR or not scene.may_change(row):
                continue
            old = record_of(scene.context, row)
            for new in like(records(scene.context, "joints"), old, "kind", "family", "polish"):
                better = (new.max_db or 0.0) < (old.max_db or 0.0)
                if better and (new.mode in (None, old.mode) or old.mode is None):
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, ("cord",), differences(old, new))


def other_mode(scene: Scene) -> Iterator[Candidate]:
    """The joint of the finding by one for the other mode, with the same face."""
    for row in scene.rows[:1]:
        if row.kind == "fiber" or not scene.may_change(row):
            continue
        old = record_of(scene.context, row)
        for new in like(records(scene.context, "joints"), old, "kind", "family", "polish"):
            if new.mode != old.mode:
                edits = (scene.set(row, "part", new.part),)
                yield Candidate(edits, ("cord",), differences(old, new))


def less_attenuation(scene: Scene) -> Iterator[Candidate]:
    """A smaller attenuator in the place of one, or none."""
    for link in optical_links(scene):
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
    for link in optical_links(scene):
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
                if not _is_enough(scene, link, size):
                    continue
                cells = {"kind": ATTENUATOR, "part": size.part, "site": row.site}
                found = beside(
                    scene, row, before=before, cells=cells, change="cord", distance=size.max_db
                )
                if found is not None:
                    yield found
            yield from _in_series(scene, link, row, before=before)


def _is_enough(scene: Scene, link: Link, size: Any) -> bool:
    """Whether an attenuator is for the fiber of a link, and takes at least what its light needs."""
    optical = scene.context.optical
    mode = record_of(scene.context, link.rows[-1]).fiber_mode
    if size.mode not in (None, mode):
        return False
    needed = [optical.values["attenuation_needed_db"][d.place] for d in optical.of(link)]
    least = size.max_db if size.min_db is None else size.min_db
    return not any(least < each for each in needed)  # what is not known asks for nothing


def _in_series(scene: Scene, link: Link, row: Segment, *, before: bool) -> Iterator[Candidate]:
    """Two attenuators beside each other, where none alone settles the link."""
    optical, catalog = scene.context.optical, scene.context.catalog
    two = two_to_fit(link, optical.modes, optical.values, catalog)
    other = neighbours(scene, row)[0 if before else 1]
    if two is None or other is None:
        return
    optic = record_of(scene.context, row)
    by_nominal = {
        part.max_db if part.typical_db is None else part.typical_db: part.part
        for part in reversed(_sizes(scene, optic.receptacle, optic.polish))
    }
    parts = [by_nominal.get(size.nominal_db) for size in two]
    if None in parts:
        return
    counts = Counter(parts)
    path = scene.path_of(row)
    edits = []
    for place, (part, count) in enumerate(counts.items(), start=1):
        step = other.step + (row.step - other.step) * place / (len(counts) + 1)
        cells = {"kind": ATTENUATOR, "part": part, "site": row.site, "count": count}
        edits.append(put_in(row, path, round(step, _STEP_DIGITS), **cells))
    yield Candidate(tuple(edits), ("cord",) * 2, sum(size.max_db for size in two))


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
    for link in optical_links(scene):
        place = {row.id: n for n, row in enumerate(link.rows)}
        close = [place[row.id] for row in scene.rows if row.id in place]
        for n, row in enumerate(link.rows[1:-1], start=1):
            if scene.may_change(row) and any(abs(n - at) <= 1 for at in close):
                yield from _fitting(scene, row, (link.rows[n - 1], link.rows[n + 1]))


def _fitting(scene: Scene, row: Segment, beside_it: tuple[Segment, ...]) -> Iterator[Candidate]:
    """Parts in the place of a cord or pair whose faces are those beside it."""
    old = record_of(scene.context, row)
    faces = {face for other in beside_it if (face := _fixed_face(scene, other))}
    if row.kind == ATTENUATOR:
        plugs = _plugs_beside(scene, beside_it)
        fitting = [
            new
            for new in like(records(scene.context, "joints"), old, "kind", "mode", "max_db")
            if _face(new.family, new.polish) in faces | plugs
        ]
    elif row.kind == "connector":
        parts = like(records(scene.context, "joints"), old, "kind")
        fitting = [new for new in parts if _face(new.family, new.polish) in faces]
        # a pair also follows the plugs of the cords beside it
        plugs = _plugs_beside(scene, beside_it)
        fitting += [new for new in parts if _face(new.family, new.polish) in plugs - faces]
    elif row.kind == "fiber" and is_cord(old):
        parts = like(records(scene.context, "fibers"), old, "fiber_class", "strands")
        fitting = [new for new in parts if faces <= _ends_of(new)]
    else:
        return
    for new in fitting:
        edits = (scene.set(row, "part", new.part),)
        yield Candidate(edits, ("cord",), differences(old, new))


def _plugs_beside(scene: Scene, beside_it: tuple[Segment, ...]) -> set[str]:
    """Plugs of the cords beside a joint."""
    return {
        end
        for other in beside_it
        if other.kind == "fiber"
        for end in _ends_of(record_of(scene.context, other))
    }


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
