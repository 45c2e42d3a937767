"""The chain of one path: its rows in order, joined at sites, cut into links at equipment.

Between two pieces of equipment stands a stretch of rows of one medium; a hop is its own link.
Whatever does not join is a `chain-broken` finding, and the rest is still evaluated.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from backhaul.design.kinds import COPPER, FEED, KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.path import links as kinds_of_link
from backhaul.path.things import Thing, row_key

_LINK_OF_MEDIUM = {
    LIGHT: kinds_of_link.OPTICAL, COPPER: kinds_of_link.COPPER, FEED: kinds_of_link.FEED,
}  # fmt: skip


class Node(NamedTuple):
    """Equipment in the chain: where a path comes in and where it leaves it."""

    segment: Segment
    enters: Thing
    leaves: Thing


class Stretch(NamedTuple):
    """Rows of one medium between two nodes; a node is None at an open end of the path."""

    before: Node | None
    rows: tuple[Segment, ...]
    after: Node | None


class CutLink(NamedTuple):
    """A link as the chain cuts it, before links of many paths are put together."""

    kind: str
    rows: tuple[Segment, ...]
    near: Thing | None
    far: Thing | None
    first_step: float
    last_step: float
    #: the rows stand in the path from their far end to their near end
    turned: bool


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
        "chain-broken", FAIL, message, path=path, paths=(path,), step=row.step,
        where=row.at(column), remedy=remedy, rows=(row.id,),
    )  # fmt: skip


def place_rows(path: str, rows, places: dict[int, tuple]) -> tuple[list[Finding], set[int]]:
    """Give each row its site or sites; rows that do not join up are findings.

    Fills `places`: segment id -> (site where the path comes in, site where it leaves). Returns the
    findings and the ids of rows that the path runs through from their far end.
    """
    findings, turned = [], set()
    here = None
    for row in rows:
        start, end = row.site, row.to_site
        if start and end and here and start != here and end == here:
            if row.label or len(row.path) > 1:
                start, end = end, start
                turned.add(row.id)
            else:
                findings.append(
                    broken(path, row, "site", f"the {row.kind} runs from {start} to {end}, but "
                           f"the path stands at {here}", "swap site and to_site of this row")
                )  # fmt: skip
                start, end = end, start
        elif start and here and start != here:
            findings.append(
                broken(path, row, "site", f"the path stands at {here}, this {row.kind} begins at "
                       f"{start}", f"add the run from {here} to {start}, or mend the site")
            )  # fmt: skip
        start = start or here
        here = end or start
        places.setdefault(row.id, (start, here))
    return findings, turned


def cut_chain(
    path: str,
    rows: tuple[Segment, ...],
    turned: set[int],
    node_of: Callable[[str, Segment, bool], Node],
    medium_of: Callable[[Segment], str | None],
) -> Chain:
    """Cut a path's rows into links; `node_of` makes the equipment, `medium_of` asks the part."""
    findings: list[Finding] = []
    nodes: list[Node] = []
    cut: list[CutLink] = []
    for stretch in _stretches(path, rows, turned, node_of):
        if stretch.rows:
            cut.extend(_cut_stretch(path, stretch, turned, medium_of, findings))
        elif stretch.before and stretch.after:
            before, after = stretch.before.segment, stretch.after.segment
            findings.append(
                broken(path, after, "kind", f"nothing joins {before.part} (step {before.step:g}) "
                       f"and {after.part}", "add the copper, feed or optics and fiber between them")
            )  # fmt: skip
        if stretch.after:
            node = stretch.after
            nodes.append(node)
            if node.enters is not node.leaves:
                step = node.segment.step
                hop = (node.enters, node.leaves)
                near, far = hop[::-1] if node.segment.id in turned else hop
                cut.append(
                    CutLink(kinds_of_link.RADIO, (node.segment,), near, far, step, step,
                            node.segment.id in turned)
                )  # fmt: skip
    return Chain(path, rows, tuple(nodes), tuple(cut), tuple(findings))


def _stretches(path, rows, turned, node_of) -> Iterator[Stretch]:
    before, held = None, []
    for row in rows:
        if KINDS[row.kind].has_ports:
            after = node_of(path, row, row.id in turned)
            if before is not None or held:
                yield Stretch(before, tuple(held), after)
            else:
                yield Stretch(None, (), after)
            before, held = after, []
        else:
            held.append(row)
    if held:
        yield Stretch(before, tuple(held), None)


def _cut_stretch(path, stretch, turned, medium_of, findings) -> Iterator[CutLink]:
    rows = stretch.rows
    media = {medium_of(row) for row in rows}
    if len(media) > 1:
        odd = next(row for row in rows if medium_of(row) != medium_of(rows[0]))
        findings.append(
            broken(path, odd, "kind", f"{rows[0].kind} and {odd.kind} follow each other with no "
                   "equipment between them", "add the device whose ports they are plugged into")
        )  # fmt: skip
        return
    medium = media.pop()
    if medium == LIGHT:
        yield from _cut_light(path, stretch, turned, findings)
        return
    runs = [row for row in rows if KINDS[row.kind].is_run]
    for node, row, side in ((stretch.before, rows[0], "begins"), (stretch.after, rows[-1], "ends")):
        if node is None:
            findings.append(
                broken(path, row, "kind", f"this {row.kind} {side} at no port",
                       f"add the device that it {side} at")
            )  # fmt: skip
    if not runs:
        findings.append(
            broken(path, rows[0], "kind", "a protector stands alone, with no run beside it",
                   "add the run that it protects")
        )  # fmt: skip
    elif stretch.before and stretch.after:
        yield CutLink(
            _LINK_OF_MEDIUM[medium], rows, stretch.before.leaves, stretch.after.enters,
            stretch.before.segment.step, stretch.after.segment.step, False,
        )  # fmt: skip


def _cut_light(path, stretch, turned, findings) -> Iterator[CutLink]:
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
            broken(path, outside, "kind", f"this {outside.kind} stands outside the two optics",
                   "put it between the optics")
        )  # fmt: skip
    if len(ends) % 2:
        findings.append(
            broken(path, rows[ends[-1]], "kind", "this optic has no partner",
                   "add the optic at the other end")
        )  # fmt: skip
    pairs = list(zip(ends[::2], ends[1::2], strict=False))
    for (_, first_last), (second_first, _) in zip(pairs, pairs[1:], strict=False):
        for row in rows[first_last + 1 : second_first + 1]:
            findings.append(
                broken(path, row, "kind", "two optical links follow each other with no equipment "
                       "between them", "add the device whose ports the two optics are in")
            )  # fmt: skip
            break
    for index, (first, last) in enumerate(pairs):
        near = stretch.before.leaves if stretch.before and index == 0 else None
        far = stretch.after.enters if stretch.after and index == len(pairs) - 1 else None
        yield CutLink(
            kinds_of_link.OPTICAL, rows[first : last + 1], near, far, rows[first].step,
            rows[last].step, False,
        )  # fmt: skip
        for row, node in ((rows[first], near), (rows[last], far)):
            if node is None and len(pairs) == 1:
                findings.append(
                    Finding("assumption", NOTE, f"{row.part} stands in no device: its port was "
                            "not checked", path=path, paths=(path,), step=row.step,
                            where=row.at("kind"), remedy="add the device beside it",
                            rows=(row.id,))
                )  # fmt: skip


def link_key(cut: CutLink) -> tuple:
    """Identity of a link: the things and strands that it is made of, either way round."""
    if not any(row.label for row in cut.rows):
        return (cut.kind, tuple(row.id for row in cut.rows))
    rows = tuple((row_key(row), row.strand) for row in cut.rows)
    if len(rows) == 1:
        return (cut.kind, rows)
    ends = (cut.near.key if cut.near else None, cut.far.key if cut.far else None)
    return (cut.kind, min((ends, rows), (ends[::-1], rows[::-1]), key=repr))
