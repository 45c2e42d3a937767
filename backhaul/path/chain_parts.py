"""What a chain is made of: equipment, stretches of rows between it, links cut from them."""

from typing import NamedTuple

from backhaul.design.model import Segment
from backhaul.findings import FAIL, Finding
from backhaul.path.equipment import Equipment


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
        shared=f"{path} step {row.step:g}",
    )


def plugged(own: Termination, of_equipment: Termination | None) -> Termination:
    """The port that a run or an optic names, else the one that the equipment's row names."""
    if of_equipment is not None and of_equipment.port and not own.port:
        return of_equipment
    return own
