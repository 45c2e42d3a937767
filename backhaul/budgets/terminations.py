"""What is on the ends of fiber runs, and the plugs that have to be fitted on site."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import OPTICAL, Link
from backhaul.path.network import Network

BARE = "bare"
EXISTING = "existing"


class TerminationNeed(NamedTuple):
    """Plugs of one kind at one end of a run, one for each strand in use."""

    termination: str
    run: Segment
    #: 0 where the path comes to the run, 1 where it leaves it
    end: int
    count: int


def terminations_to_fit(network: Network, catalog: Any) -> Iterator[TerminationNeed]:
    """Every bare end of a run that faces a mated pair or an optic, splices between left out.

    What lies there already has its plugs on.
    """
    for link in network.links[OPTICAL]:
        strands = strands_needed(link, catalog)
        for place, row in enumerate(link.rows):
            if not KINDS[row.kind].is_run or row.by == EXISTING:
                continue
            for end, face in enumerate(end_faces(link, place, catalog)):
                termination = termination_to_fit(link, place, end, catalog) if face == BARE else ""
                if termination:
                    yield TerminationNeed(termination, row, end, strands)


def strands_needed(link: Link, catalog: Any) -> int:
    """Strands that the optics of a link take."""
    optics = catalog.optics
    return max(int(optics[row.part].strands or 1) for row in (link.rows[0], link.rows[-1]))


def strand_name(strand: str) -> str:
    """One spelling of a strand: "01" and "1" are the same.

    >>> strand_name("01"), strand_name("A")
    ('1', 'A')
    """
    return str(int(strand)) if strand.isdecimal() else strand


def end_faces(link: Link, place: int, catalog: Any) -> tuple[str, str]:
    """What is on both ends of a fiber run; unlike ends lie the way that fits their neighbours."""
    record = catalog.fibers[link.rows[place].part]
    ends = (record.end_a or BARE, record.end_b or BARE)
    if ends[0] == ends[1]:
        return ends
    beside = [_neighbour_face(link, place + step, catalog) for step in (-1, 1)]

    def misses(order: tuple[str, str]) -> int:
        return sum(
            _family(face) != _family(other)
            for face, other in zip(order, beside, strict=True)
            if other is not None
        )

    is_reversed = ends[::-1]
    return is_reversed if misses(is_reversed) < misses(ends) else ends


def _family(face: str) -> str:
    return face.partition("/")[0].upper()


def _neighbour_face(link: Link, place: int, catalog: Any) -> str | None:
    """Plug family that a row takes; BARE for a splice, None where it does not say."""
    row = link.rows[place]
    kind = KINDS[row.kind]
    if kind.ends_light:
        return catalog.optics[row.part].receptacle
    if kind.divides_run:
        return BARE
    return None if kind.is_run else catalog.joints[row.part].family


def termination_to_fit(link: Link, place: int, end: int, catalog: Any) -> str:
    """The plug that a bare end needs, through splices; "" where it is spliced to a run."""
    step = 1 if end else -1
    place += step
    while KINDS[link.rows[place].kind].divides_run:
        place += step
    row, kind = link.rows[place], KINDS[link.rows[place].kind]
    if kind.is_run:
        return ""
    part = catalog.optics[row.part] if kind.ends_light else catalog.joints[row.part]
    family = part.receptacle if kind.ends_light else part.family
    return f"{family}/{part.polish or 'UPC'}" if family else ""
