"""What a run must be cut from: order lengths, slack and loops."""

import math
from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.units import PERCENT


class Cut(NamedTuple):
    """Lengths that one run is ordered in [m]; joints where more than one is needed."""

    needed_m: float
    lengths_m: tuple[float, ...]

    @property
    def joints(self) -> int:
        return max(len(self.lengths_m) - 1, 0)


def cut_run(*, needed_m: float, order_lengths_m: tuple[float, ...]) -> Cut:
    """The smallest order length that holds a run; several of the largest only if none does.

    Source: rules of the project; order lengths are common practice.

    >>> cut_run(needed_m=1460, order_lengths_m=(1000, 2000, 4000)).lengths_m
    (2000,)
    >>> cut_run(needed_m=9100, order_lengths_m=(1000, 2000, 4000)).lengths_m
    (4000, 4000, 2000)
    >>> cut_run(needed_m=35, order_lengths_m=()).lengths_m
    (35,)
    """
    sizes = sorted(order_lengths_m)
    if not sizes:
        return Cut(needed_m, (needed_m,))
    whole = max(math.ceil(round(needed_m / sizes[-1], 9)) - 1, 0)
    rest = needed_m - whole * sizes[-1]
    last = next(size for size in sizes if round(size - rest, 9) >= 0)
    return Cut(needed_m, (*[sizes[-1]] * whole, last))


def needed_length_m(row: Segment, record: Any, project: Any, *, is_outdoor: bool) -> float:
    """Length of a run to be ordered: with slack and loops, without them for a factory assembly."""
    length_m = row.length_m or 0.0
    if is_factory_made(record):
        return length_m
    loops = 2 * project.loop_m if is_outdoor else 0.0
    return length_m * (1 + project.cable_slack_percent / PERCENT) + loops


def is_factory_made(record: Any) -> bool:
    """A cord or cable with plugs on: ordered at its length, it cannot be cut."""
    return bool(getattr(record, "end_a", None) or getattr(record, "end_b", None))


def joints_forced(row: Segment, context: Any) -> int:
    """Splices that the order lengths of a run force."""
    kind = KINDS[row.kind]
    record = getattr(context.catalog, kind.families[0])[row.part]
    if row.by in ("existing", "client") or not record.order_lengths_m:
        return 0
    needed_m = needed_length_m(
        row, record, context.design.project, is_outdoor=context.is_outdoor(row)
    )
    return cut_run(needed_m=needed_m, order_lengths_m=record.order_lengths_m).joints
