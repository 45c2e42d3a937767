"""The chain of one path: its rows in order, joined at sites, cut into links at equipment.

Between two pieces of equipment stands a stretch of rows of one medium; a hop is its own link.
Whatever does not join is a `chain-broken` finding, and the rest is still evaluated.
"""

import itertools
from collections.abc import Callable, Iterator
from typing import NamedTuple

from backhaul.design.kinds import COPPER, FEED, KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.path import links as kinds_of_link
from backhaul.path.equipment import Equipment, row_key

_LINK_OF_MEDIUM = {
    LIGHT: kinds_of_link.OPTICAL,
    COPPER: kinds_of_link.COPPER,
    FEED: kinds_of_link.FEED,
}


class Termination(NamedTuple):
    """What a row says about the port at one end of a link."""

    row: Segment
    column: str
    port: str | None


class Node(NamedTuple):
    """Equipment in the chain: where a path comes in and where it leaves it."""

    segment: Segment
    enters: Equipment
    leaves: Equipment
    #: ports that the equipment's own row names, a radio's
    entry: Termination | None = None
    exit: Termination | None = None


class Stretch(NamedTuple):
    """Rows of one medium between two nodes; a node is None at an open end of the path."""

    before: Node | None
    rows: tuple[Segment, ...]
    after: Node | None


class CutLink(NamedTuple):
    """A link as the chain cuts it, before links of many paths are put together."""

    kind: str
    rows: tuple[Segment, ...]
    near: Equipment | None
    far: Equipment | None
    first_step: float
    last_step: float
    #: the rows stand in the path from their far end to their near end
    is_reversed: bool
    near_termination: Termination | None = None
    far_termination: Termination | None = None


class Chain(NamedTuple):
    """A path's rows in order of their steps, its equipment, its links, and what does not join."""

    path: str
    rows: tuple[Segment, ...]
    nodes: tuple[Node, ...]
    cut: tuple[CutLink, ...]
    findings: tuple[Finding, ...]


def broken(path: str, row: Segment, column: str, message: str, remedy: str) -> Finding:
    """A `chain-broken` finding at a cell of a row."""
    return Finding(
        "chain-broken",
        FAIL,
        message,
        path=path,
        paths=(path,),
        step=row.step,
        where=row.at(column),
        remedy=remedy,
        rows=(row.id,),
    )


def place_rows(path: str, rows, places: dict[int, tuple]) -> tuple[list[Finding], set[int]]:
    """Give each row its site or sites; rows that do not join up are findings.

    Fills `places`: segment id -> (site where the path comes in, site where it leaves). Returns the
    findings and the ids of rows that the path runs through from their far end. A run that names
    no far site ends at the site of the next row that names one.
    """
    findings, is_reversed = [], set()
    placed: list[list[str | None]] = []
    open_from = 0  # rows from here on follow the last row that names a site
    here = None
    for row in rows:
        start, end = row.site, row.to_site
        if start and start != here:
            if end and end == here:
                if row.label or len(row.path) > 1:
                    is_reversed.add(row.id)
                else:
                    findings.append(
                        broken(
                            path,
                            row,
                            "site",
                            f"the {row.kind} runs from {start} to {end}, but "
                            f"the path stands at {here}",
                            "swap site and to_site of this row",
                        )
                    )
                start, end = end, start
            elif not _bring_to(start, rows, placed, open_from) and here:
                findings.append(
                    broken(
                        path,
                        row,
                        "site",
                        f"the path stands at {here}, this {row.kind} begins at {start}",
                        f"add the run from {here} to {start}, or mend the site",
                    )
                )
        if start or end:
            open_from = len(placed)
        start = start or here
        here = end or start
        placed.append([start, here])
    for row, (start, end) in zip(rows, placed, strict=True):
        places.setdefault(row.id, (start, end))
    return findings, is_reversed


def _bring_to(site: str, rows, placed: list[list[str | None]], open_from: int) -> bool:
    """Let the longest run whose far end nothing names end at `site`; False if there is none.

    Where no row before names a site, rows with no run between stand at `site` too.
    """
    runs = [
        place
        for place in range(open_from, len(placed))
        if KINDS[rows[place].kind].is_run and not rows[place].to_site
    ]
    longest = max(runs, key=lambda place: rows[place].length_m or 0.0, default=None)
    if longest is None:
        is_known = any(start for start, _ in placed)
        for pair in () if is_known else placed:
            pair[:] = site, site
        return not is_known
    placed[longest][1] = site
    for pair in placed[longest + 1 :]:
        pair[:] = site, site
    return True


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
        yield from _cut_light(path, stretch, is_reversed, findings)
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
            _plug(Termination(first, *near), stretch.before.exit),
            _plug(Termination(last, *far), stretch.after.entry),
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
                "take it away: fiber needs none"
                if medium == LIGHT
                else f"use a protector for a {run.kind} run",
            )
        )


def _plug(own: Termination, of_equipment: Termination | None) -> Termination:
    """The port that a run or an optic names, else the one that the equipment's row names."""
    if of_equipment is not None and of_equipment.port and not own.port:
        return of_equipment
    return own


def _cut_light(path, stretch, is_reversed, findings) -> Iterator[CutLink]:
    rows = stretch.rows
    ends = [index for index, row in enumerate(rows) if KINDS[row.kind].ends_light]
    if len(ends) < 2:
        row = rows[ends[0]] if ends else rows[0]
        message = "this optic has no partner" if ends else f"this {row.kind} ends at no optic"
        remedy = "add the optic at the other end" if ends else "add an optic at each end"
        findings.append(broken(path, row, "kind", message, remedy))
        return
    for outside in (*rows[: ends[0]], *rows[ends[-1] + 1 :]):
        findings.append(
            broken(
                path,
                outside,
                "kind",
                f"this {outside.kind} stands outside the two optics",
                "put it between the optics",
            )
        )
    if len(ends) % 2:
        findings.append(
            broken(
                path,
                rows[ends[-1]],
                "kind",
                "this optic has no partner",
                "add the optic at the other end",
            )
        )
    pairs = list(zip(ends[::2], ends[1::2], strict=False))
    for (_, first_last), (second_first, _) in itertools.pairwise(pairs):
        for row in rows[first_last + 1 : second_first + 1]:
            findings.append(
                broken(
                    path,
                    row,
                    "kind",
                    "two optical links follow each other with no equipment between them",
                    "add the device whose ports the two optics are in",
                )
            )
            break
    for index, (first, last) in enumerate(pairs):
        before = stretch.before if index == 0 else None
        after = stretch.after if index == len(pairs) - 1 else None
        near, far = before and before.leaves, after and after.enters
        yield CutLink(
            kinds_of_link.OPTICAL,
            rows[first : last + 1],
            near,
            far,
            rows[first].step,
            rows[last].step,
            False,
            _plug(Termination(rows[first], "port", rows[first].port), before and before.exit),
            _plug(Termination(rows[last], "port", rows[last].port), after and after.entry),
        )
        for row, node in ((rows[first], near), (rows[last], far)):
            if node is None and len(pairs) == 1:
                findings.append(
                    Finding(
                        "assumption",
                        NOTE,
                        f"{row.part} stands in no device: its port was not checked",
                        path=path,
                        paths=(path,),
                        step=row.step,
                        where=row.at("kind"),
                        remedy="add the device beside it",
                        rows=(row.id,),
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
