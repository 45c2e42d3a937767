"""Joints of fiber cables: each takes a splice of every strand of the cable, and a closure."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from backhaul.budgets.cable_sections import splice_points
from backhaul.budgets.order_lines import JOINTS, PIECE, SPLICE, TO_ORDER, WORK, AtSite, Item, Place
from backhaul.design.kinds import KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL
from backhaul.path.network import Network

#: Part of the splices that no row stands for.
JOINT_SPLICE = "splice of a joint"
#: What a line of splices counts.
SPLICES = "where a cable ends, the strands in the light's way; at a joint of cable every strand"


class CableJoint(NamedTuple):
    """Joints between the lengths of one cable, or of two that meet.

    count: joints, however many links run through them. told: those of them that rows of splices
    stand for. row: the splice row, of a joint that no row tells the cable.
    """

    row: Segment
    runs: tuple[Segment, ...]
    strands: int
    count: int
    told: int


def terminations_by_row(network: Network, catalog: Any) -> dict[tuple, int]:
    """Splices of each row that end a cable on a plug, by the key of the row."""
    found: dict[tuple, int] = {}
    for link in network.links[OPTICAL]:
        for point in splice_points(link, catalog):
            left = point.terminations
            for row in point.rows:
                ends = min(1 if row.count is None else row.count, left)
                left -= ends
                found[row_key(row)] = max(found.get(row_key(row), 0), ends)
    return found


def cable_joints(network: Network, catalog: Any, forced: dict[tuple, int]) -> Iterator[CableJoint]:
    """Every joint of cable once. forced: joints of a run by its key, since no length holds it."""
    told: dict[frozenset, tuple[Segment, tuple[Segment, ...], int]] = {}
    for link in network.links[OPTICAL]:
        for point in splice_points(link, catalog):
            if not point.mid_span:
                continue
            key = frozenset(row_key(run) for run in point.runs)
            before = told[key][2] if key in told else 0
            if point.mid_span > before:
                told[key] = (point.rows[0], point.runs, point.mid_span)
    by_run: dict[tuple, int] = {}
    for key, (row, runs, count) in told.items():
        yield CableJoint(row, runs, _strands(runs, catalog), count, count)
        for run in key:
            by_run[run] = by_run.get(run, 0) + count
    for run in _runs(network):
        missing = forced.get(row_key(run), 0) - by_run.get(row_key(run), 0)
        if missing > 0:
            yield CableJoint(run, (run,), _strands((run,), catalog), missing, 0)


def _runs(network: Network) -> Iterator[Segment]:
    seen = set()
    for link in network.links[OPTICAL]:
        for row in link.rows[1:-1]:
            is_fiber = KINDS[row.kind].is_run and KINDS[row.kind].medium == LIGHT
            if is_fiber and row_key(row) not in seen:
                seen.add(row_key(row))
                yield row


def _strands(runs: tuple[Segment, ...], catalog: Any) -> int:
    """Strands that a joint splices: all of the cable, of two cables those that both have."""
    known = [catalog.fibers[run.part].strands for run in runs]
    return int(min((strands for strands in known if strands), default=1))


def site_of_joint(joint: CableJoint, network: Network) -> str | None:
    """Where its row stands; of a joint without a row where its cable begins."""
    return network.places[joint.row.id][0]


def joint_lines(
    joints: list[CableJoint], network: Network
) -> Iterator[tuple[bool, list[CableJoint], dict]]:
    """Order lines of closures, and of splices that no row stands for: spared, joints, the line."""
    for section, what, amount in (
        (
            JOINTS,
            {
                "part": "splice closure",
                "unit": PIECE,
                "description": "Closure for a joint of cable",
                "note": "sized for the strands of the cable",
            },
            lambda joint: joint.count,
        ),
        (
            WORK,
            {
                "part": JOINT_SPLICE,
                "unit": SPLICE,
                "description": "Splices where lengths of a cable meet, every strand",
                "note": "the order lengths force them; no row stands for them",
            },
            lambda joint: (joint.count - joint.told) * joint.strands,
        ),
    ):
        groups: dict[str, list[CableJoint]] = defaultdict(list)
        for joint in joints:
            if amount(joint):
                groups[joint.row.by or ""].append(joint)
        for same in groups.values():
            line = what | {
                "section": section,
                "at_sites": tuple(
                    AtSite(site_of_joint(joint, network), amount(joint)) for joint in same
                ),
                "source": "counted from the chain and the order lengths",
                "basis": "computed",
            }
            yield section == JOINTS, same, line


def forced_joints(runs) -> dict[tuple, int]:
    """Joints that the order lengths of fiber runs force, by the key of the run."""
    return {
        row_key(run.row): len(run.lengths_m) - 1
        for family, _, run in runs
        if family == "fibers" and len(run.lengths_m) > 1
    }


def joint_splices(
    joints: list[CableJoint], catalog: Any, place_of: Callable[[list[Segment]], Place]
) -> Iterator[Item]:
    """Splices of every strand at joints that rows of splices stand for."""
    for joint in joints:
        if joint.told:
            row, count = joint.row, joint.told * joint.strands
            record, by = catalog.joints[row.part], row.by or TO_ORDER
            yield Item(WORK, "joints", record, by, count, SPLICE, False, place_of([row]), SPLICES)
