"""Sections of cable in an optical link: splices between reels, and those that end a cable."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.budgets.terminations import BARE, end_faces
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import Link
from backhaul.physics import optics


class SplicePoint(NamedTuple):
    """Splices that stand side by side in a link: some end a cable, the others join reels."""

    rows: tuple[Segment, ...]
    #: cable on both sides, or on the one that is cable
    runs: tuple[Segment, ...]
    terminations: int
    mid_span: int


def splice_points(link: Link, catalog: Any) -> Iterator[SplicePoint]:
    """Every place of a link where splices stand.

    Between two bare ends every splice joins reels. Beside a pigtail, a connector or an optic one
    splice ends the cable that it stands beside, and the far end of that cable, too, where no
    splice stands there; what is counted beyond these joins reels.
    """
    for first, last, count in _stretches(link):
        rows = link.rows[first : last + 1]
        left, right = _is_bare(link, first - 1, 1, catalog), _is_bare(link, last + 1, 0, catalog)
        runs = [link.rows[first - 1]] * left + [link.rows[last + 1]] * right
        ends = count
        if left and right:
            ends = 0
        elif left or right:
            run = first - 1 if left else last + 1
            ends = min(count, _ends_of(link, run, -1 if left else 1, catalog))
        yield SplicePoint(rows, tuple(runs), ends, count - ends)


def mid_span_splices(link: Link, catalog: Any) -> int:
    """Splices between two lengths of cable; those that end a cable on a plug are terminations."""
    return sum(point.mid_span for point in splice_points(link, catalog))


def sections_of(link: Link, catalog: Any) -> float:
    """Sections of cable of a link: its mid-span splices and one more."""
    return float(optics.cable_sections(splices=mid_span_splices(link, catalog)))


def _stretches(link: Link):
    """Splice rows that follow each other: first and last place, splices in all."""
    first, count = None, 0
    for place, row in enumerate(link.rows):
        if KINDS[row.kind].divides_run:
            first = place if first is None else first
            count += 1 if row.count is None else row.count
        elif first is not None:
            yield first, place - 1, count
            first, count = None, 0


def _is_bare(link: Link, place: int, end: int, catalog: Any) -> bool:
    """Whether the row at a place is a run whose end (0 first, 1 last) bears no plug."""
    row = link.rows[place]
    return (
        KINDS[row.kind].is_run
        and not _is_pigtail(row, catalog)
        and (end_faces(link, place, catalog)[end] == BARE)
    )


def _is_pigtail(row: Any, catalog: Any) -> bool:
    """A short fiber with a plug on one end is no length of cable."""
    part = catalog.fibers[row.part]
    return bool(part.end_a) != bool(part.end_b)


def _ends_of(link: Link, run: int, away: int, catalog: Any) -> int:
    """Ends of a run that splices here must serve: this one, and the far one if none is there."""
    beyond = link.rows[run + away]
    far_is_bare = end_faces(link, run, catalog)[0 if away < 0 else 1] == BARE
    return 1 + (far_is_bare and not KINDS[beyond.kind].divides_run)
