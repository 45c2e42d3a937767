"""The chain of one path: its rows in order, joined at sites, cut into links at equipment.

Between two pieces of equipment stands a stretch of rows of one medium; a hop is its own link.
Whatever does not join is a `chain-broken` finding, and the rest is still evaluated.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from backhaul.design.kinds import COPPER, FEED, KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.findings import Finding
from backhaul.path import links as kinds_of_link
from backhaul.path.chain_light import cut_light
from backhaul.path.chain_parts import CutLink, Node, Stretch, Termination, broken, plugged
from backhaul.path.equipment import row_key

_LINK_OF_MEDIUM = {
    LIGHT: kinds_of_link.OPTICAL,
    COPPER: kinds_of_link.COPPER,
    FEED: kinds_of_link.FEED,
}


class Chain(NamedTuple):
    """A path's rows in order of their steps, its equipment, its links, and what does not join."""

    path: str
    rows: tuple[Segment, ...]
    nodes: tuple[Node, ...]
    cut: tuple[CutLink, ...]
    findings: tuple[Finding, ...]


def cut_chain(
    path: str,
    rows: tuple[Segment, ...],
    is_reversed: set[int],
    node_of: Callable[[str, Segment, bool], Node],
    medium_of: Callable[[Segment], str | None],
) -> Chain:
    """Cut a path's rows into links; `node_of` makes the equipment, `medium_of` asks the part."""
    findings: list[Finding] = []
    nodes: list[Node] = []
    cut: list[CutLink] = []
    for stretch in _stretches(path, rows, is_reversed, node_of):
        if stretch.rows:
            cut.extend(_cut_stretch(path, stretch, is_reversed, medium_of, findings))
        elif stretch.before and stretch.after:
            before, after = stretch.before.segment, stretch.after.segment
            findings.append(
                broken(
                    path,
                    after,
                    "kind",
                    f"nothing joins {before.part} (step {before.step:g}) and {after.part}",
                    "add the copper, feed or optics and fiber between them",
                )
            )
        if stretch.after:
            node = stretch.after
            nodes.append(node)
            if node.enters is not node.leaves:
                step = node.segment.step
                hop = (node.enters, node.leaves)
                near, far = hop[::-1] if node.segment.id in is_reversed else hop
                cut.append(
                    CutLink(
                        kinds_of_link.RADIO,
                        (node.segment,),
                        near,
                        far,
                        step,
                        step,
                        node.segment.id in is_reversed,
                    )
                )
            elif node.segment.to_site and node.segment.to_site == node.segment.site:
                findings.append(
                    broken(
                        path,
                        node.segment,
                        "to_site",
                        f"this hop begins and ends at {node.segment.site}",
                        "name the site of the far end",
                    )
                )
    return Chain(path, rows, tuple(nodes), tuple(cut), tuple(findings))


def _stretches(path, rows, is_reversed, node_of) -> Iterator[Stretch]:
    before: Node | None = None
    held: list[Segment] = []
    for row in rows:
        if KINDS[row.kind].has_ports:
            after = node_of(path, row, row.id in is_reversed)
            if before is not None or held:
                yield Stretch(before, tuple(held), after)
            else:
                yield Stretch(None, (), after)
            before, held = after, []
        else:
            held.append(row)
    if held:
        yield Stretch(before, tuple(held), None)


def _cut_stretch(path, stretch, is_reversed, medium_of, findings) -> Iterator[CutLink]:
    rows = stretch.rows
    media = {medium_of(row) for row in rows}
    run_media = {medium_of(row) for row in rows if not KINDS[row.kind].protects}
    if len(media) > 1 and len(run_media) == 1:
        rows = tuple(_without_misfits(path, rows, run_media, medium_of, findings))
        stretch, media = stretch._replace(rows=rows), run_media
    if len(media) > 1:
        odd = next(row for row in rows if medium_of(row) != medium_of(rows[0]))
        findings.append(
            broken(
                path,
                odd,
                "kind",
                f"{rows[0].kind} and {odd.kind} follow each other with no equipment between them",
                "add the device whose ports they are plugged into",
            )
        )
        return
    medium = media.pop()
    if medium == LIGHT:
        yield from cut_light(path, stretch, is_reversed, findings)
        return
    runs = [row for row in rows if KINDS[row.kind].is_run]
    for node, row, side in ((stretch.before, rows[0], "begins"), (stretch.after, rows[-1], "ends")):
        if node is None:
            findings.append(
                broken(
                    path,
                    row,
                    "kind",
                    f"this {row.kind} {side} at no port",
                    f"add the device that it {side} at",
                )
            )
    if not runs:
        findings.append(
            broken(
                path,
                rows[0],
                "kind",
                "a protector stands alone, with no run beside it",
                "add the run that it protects",
            )
        )
    elif stretch.before and stretch.after:
        if medium == FEED and _is_from_load(stretch.before, stretch.after):
            yield _turned_feed(path, stretch.before, rows, stretch.after, findings)
            return
        first, last = runs[0], runs[-1]
        near = ("to_port", first.to_port) if first.id in is_reversed else ("port", first.port)
        far = ("port", last.port) if last.id in is_reversed else ("to_port", last.to_port)
        yield CutLink(
            _LINK_OF_MEDIUM[medium],
            rows,
            stretch.before.leaves,
            stretch.after.enters,
            stretch.before.segment.step,
            stretch.after.segment.step,
            False,
            plugged(Termination(first, *near), stretch.before.exit),
            plugged(Termination(last, *far), stretch.after.entry),
        )


def _is_from_load(before: Node, after: Node) -> bool:
    """Whether a feed is written from what takes power to what gives it."""
    first, last = (
        getattr(equipment.record, "output", None) in ("AC", "DC")
        for equipment in (before.leaves, after.enters)
    )
    return last and not first


def _turned_feed(
    path: str, before: Node, rows: tuple[Segment, ...], after: Node, findings: list[Finding]
) -> CutLink:
    """The feed as it was meant, and a finding that the path is written the wrong way round."""
    load, supply = before.leaves, after.enters
    run = next(row for row in rows if KINDS[row.kind].is_run)
    findings.append(
        broken(
            path,
            run,
            "step",
            f"this {run.kind} is written from {load.name}, which takes power, to {supply.name}, "
            "which gives it",
            "write the rows from the supply to the load",
        )
    )
    return CutLink(
        kinds_of_link.FEED,
        rows[::-1],
        supply,
        load,
        before.segment.step,
        after.segment.step,
        True,
        plugged(Termination(run, "to_port", run.to_port), after.entry),
        plugged(Termination(run, "port", run.port), before.exit),
    )


def _without_misfits(path, rows, run_media, medium_of, findings) -> Iterator[Segment]:
    """The rows but for protectors made for another kind of run, each of which is a finding."""
    (medium,) = run_media
    run = next(row for row in rows if KINDS[row.kind].medium == medium)
    for row in rows:
        if medium_of(row) in run_media:
            yield row
            continue
        findings.append(
            broken(
                path,
                row,
                "part",
                f"{row.part} is made for a {medium_of(row)} run, beside it "
                f"is {run.part} ({run.kind})",
                "take it out: fiber needs none"
                if medium == LIGHT
                else f"use a protector for a {run.kind} run",
            )
        )


def link_key(cut: CutLink) -> tuple:
    """Identity of a link: the things and strands that it is made of, either way round.

    A run with a label is one run, and two optics with labels are one pair, whatever rows without
    a label stand beside them in each path.
    """
    rows = cut.rows
    if not any(row.label for row in rows):
        return (cut.kind, tuple(row.id for row in rows))
    if len(rows) == 1:
        return (cut.kind, ((row_key(rows[0]), rows[0].strand),))
    ends = (cut.near.key if cut.near else None, cut.far.key if cut.far else None)
    if cut.kind == kinds_of_link.OPTICAL:
        is_pair = rows[0].label and rows[-1].label
        all_equipment = tuple(map(_alike if is_pair else _own, rows))
        return (cut.kind, frozenset(((ends, all_equipment), (ends[::-1], all_equipment[::-1]))))
    runs = [row for row in rows if KINDS[row.kind].is_run]
    if all(row.label for row in runs):
        return (cut.kind, tuple(sorted((row_key(row), ()) for row in runs)))
    all_equipment = tuple(map(_own, rows))
    return (cut.kind, frozenset(((ends, all_equipment), (ends[::-1], all_equipment[::-1]))))


def _own(row: Segment) -> tuple:
    return row_key(row), row.strand


def _alike(row: Segment) -> tuple:
    """A row between two optics that are known by their labels."""
    return row_key(row) if row.label else (row.kind, row.part, row.length_m, row.count)
