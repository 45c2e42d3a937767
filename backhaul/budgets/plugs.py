"""Plugs that have to be fitted on site: where a bare end of cable meets a pair or an optic."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import OPTICAL, Link
from backhaul.path.network import Network


class PlugNeed(NamedTuple):
    """Plugs of one kind at one end of a run, one for each strand in use."""

    plug: str
    run: Segment
    count: int


def plugs_to_fit(network: Network, catalog: Any) -> Iterator[PlugNeed]:
    """Every bare end of a run that faces a mated pair or an optic, splices between left out."""
    for link in network.links[OPTICAL]:
        strands = max(int(catalog.optics[row.part].strands or 1)
                      for row in (link.rows[0], link.rows[-1]))  # fmt: skip
        for place, row in enumerate(link.rows):
            if not KINDS[row.kind].is_run:
                continue
            for step, plugged in zip((-1, 1), _plugged(link, place, catalog), strict=True):
                face = None if plugged else _face(link, place, step, catalog)
                if face:
                    yield PlugNeed(face, row, strands)


def _plugged(link: Link, place: int, catalog: Any) -> tuple[bool, bool]:
    """Which sides of a run have a plug on; one with a single plug turns it to what it mates."""
    part = catalog.fibers[link.rows[place].part]
    ends = bool(part.end_a), bool(part.end_b)
    if ends[0] == ends[1]:
        return ends
    before = link.rows[place - 1]
    is_spliced = KINDS[before.kind].divides_run or KINDS[before.kind].is_run
    return (False, True) if is_spliced else (True, False)


def _face(link: Link, place: int, step: int, catalog: Any) -> str | None:
    """Plug family and polish that a bare end faces, through splices."""
    place += step
    while KINDS[link.rows[place].kind].divides_run:
        place += step
    row = link.rows[place]
    if KINDS[row.kind].is_run:
        return None
    if KINDS[row.kind].ends_light:
        record = catalog.optics[row.part]
        family, polish = record.receptacle, record.polish
    else:
        record = catalog.joints[row.part]
        family, polish = record.family, record.polish
    return f"{family}/{polish or 'UPC'}" if family else None
