"""What the runs of one cable are cut from, shared or each alone, and what to say of it."""

from typing import Any

from backhaul.budgets.order_lines import Run, packed_lengths_m, reels
from backhaul.design.kinds import KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.figures.power_terms import MAINS_CONDUCTORS


def cable_note(runs: tuple[Run, ...], record: Any) -> str:
    notes = []
    unknown = sum(not run.lengths_m for run in runs)
    if unknown:
        notes.append(f"the length of {unknown} run(s) is not given: not counted")
    joints = sum(len(run.lengths_m) - 1 for run in runs if run.lengths_m)
    if joints:
        notes.append(f"no order length holds the longest run: {joints} joint(s) to splice")
    if not record.order_lengths_m:
        notes.append("order lengths not known: the exact length stands here")
    elif len(shared_lengths(runs, record)) < sum(len(run.lengths_m) for run in runs):
        notes.append("cut from shared lengths")
    elif is_shareable(runs[0].row) is False and len(runs) > 1:
        packed = packed_lengths_m(
            [run.needed_m for run in runs if len(run.lengths_m) == 1], record.order_lengths_m
        )
        alone = sum(run.lengths_m[0] for run in runs if len(run.lengths_m) == 1)
        if packed and sum(packed) < alone:
            notes.append(f"cut from shared lengths, {reels(packed)} would do")
    if (
        any(run.mains for run in runs)
        and (getattr(record, "conductors", None) or 0) < MAINS_CONDUCTORS
    ):
        notes.append("on mains: order it with a protective earth, three conductors")
    return "; ".join(notes)


def is_shareable(row: Segment) -> bool:
    """Drops and feeds are cut from shared lengths; a fiber run has a length of its own."""
    return KINDS[row.kind].medium != LIGHT


def shared_lengths(runs: tuple[Run, ...], record: Any) -> tuple[float, ...]:
    """Order lengths that all runs of one cable are cut from [m]."""
    alone = tuple(metres for run in runs for metres in run.lengths_m)
    if not record.order_lengths_m or not runs or not is_shareable(runs[0].row):
        return alone
    joined = tuple(m for run in runs if len(run.lengths_m) > 1 for m in run.lengths_m)
    packed = packed_lengths_m(
        [run.needed_m for run in runs if len(run.lengths_m) == 1], record.order_lengths_m
    )
    return (*joined, *packed) if sum(joined) + sum(packed) <= sum(alone) else alone
