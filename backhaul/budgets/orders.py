"""What a run must be cut from: order lengths, slack and loops."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.design.kinds import KINDS, LIGHT
from backhaul.design.model import Segment
from backhaul.units import PERCENT

#: Longest cord that is stocked with its plugs on [m]: common practice.
LONGEST_CORD_M = 30.0
#: Decimals at which lengths and packs are compared, here and in a spreadsheet.
_DECIMALS = 9


class Cut(NamedTuple):
    """Lengths that one run is ordered in [m]; joints where more than one is needed."""

    needed_m: float
    lengths_m: tuple[float, ...]

    @property
    def joints(self) -> int:
        return max(len(self.lengths_m) - 1, 0)


def run_needed_m(*, length_m, slack_percent, loop_m, loops):
    """Length of a run to be ordered [m]: with slack, and with a loop at each end outdoors.

    loops: 2 outdoors, else 0. Source: rules of the project.

    >>> run_needed_m(length_m=1700, slack_percent=5.0, loop_m=10.0, loops=2)
    1805.0
    """
    return length_m * (1 + slack_percent / PERCENT) + loops * loop_m


def whole_lengths(*, needed_m, largest_m):
    """How many of the largest order length go before the last one of a run; 0 if one holds it.

    >>> print(whole_lengths(needed_m=9100, largest_m=4000))
    2.0
    """
    return np.maximum(np.ceil(np.round(needed_m / largest_m, _DECIMALS)) - 1, 0)


def last_length_m(*, needed_m, whole, sizes_m: Sequence):
    """The smallest order length that holds a run, or what is left of it after whole lengths [m].

    sizes_m: rising.

    >>> print(last_length_m(needed_m=9100, whole=2, sizes_m=(1000, 2000, 4000)))
    2000
    """
    rest_m = needed_m - whole * sizes_m[-1]
    length_m = sizes_m[-1]
    for size_m in reversed(sizes_m[:-1]):
        length_m = np.where(np.round(rest_m - size_m, _DECIMALS) <= 0, size_m, length_m)
    return length_m


def spare_pieces(*, needed, spare_percent):
    """Spares ordered on whole pieces, rounded half up; none for a single piece.

    Source: rules of the project.

    >>> print(spare_pieces(needed=np.array([1, 12, 15]), spare_percent=10.0))
    [0. 1. 2.]
    """
    share = np.round(needed * spare_percent / PERCENT, _DECIMALS)
    return np.where(needed > 1, np.floor(share + 0.5), 0)


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
    whole = int(whole_lengths(needed_m=needed_m, largest_m=sizes[-1]))
    last = last_length_m(needed_m=needed_m, whole=whole, sizes_m=sizes)
    return Cut(needed_m, (*[sizes[-1]] * whole, sizes[sizes.index(float(last))]))


def run_loops(row: Segment, record: Any, *, is_outdoor: bool) -> int:
    """Loops of a run: at both ends of a fiber run outdoors, none of copper, feeds and assemblies.

    Source: rules of the project.
    """
    is_fiber = KINDS[row.kind].medium == LIGHT
    return 2 if is_fiber and is_outdoor and not is_factory_made(record) else 0


def needed_length_m(row: Segment, record: Any, project: Any, *, is_outdoor: bool) -> float:
    """Length of a run to be ordered: with slack and loops, without them for a factory assembly."""
    length_m = row.length_m or 0.0
    if is_factory_made(record):
        return length_m
    return run_needed_m(
        length_m=length_m,
        slack_percent=project.cable_slack_percent,
        loop_m=project.loop_m,
        loops=run_loops(row, record, is_outdoor=is_outdoor),
    )


def is_factory_made(record: Any) -> bool:
    """A cord or cable with plugs on: ordered at its length, it cannot be cut."""
    terminations = getattr(record, "end_a", None) or getattr(record, "end_b", None)
    return bool(terminations) or is_cord(record)


def pieces_of(record: Any, strands: int) -> int:
    """Pieces that one row of a run stands for: of a pigtail or a cord of one strand, one a strand.

    record: a row of fibers.csv. strands: that the optics of the link take, 1 or 2.

    >>> from backhaul.api import load_catalog
    >>> fibers = load_catalog().fibers
    >>> pieces_of(fibers["pigtail-os2-lcupc"], 2), pieces_of(fibers["os2-12"], 2)
    (2, 1)
    """
    if getattr(record, "strands", None) == 1 and is_cord(record):
        return strands
    return 1


def is_cord(record: Any) -> bool:
    """A part that is only sold in short pieces: a patch cord, with its plugs on."""
    sizes = record.order_lengths_m
    return bool(sizes) and max(sizes) <= LONGEST_CORD_M


def joints_forced(row: Segment, context: Any) -> int:
    """Splices that the order lengths of a run force."""
    kind = KINDS[row.kind]
    record = getattr(context.catalog, kind.families[0])[row.part]
    if row.length_m is None or row.by in ("existing", "client") or not record.order_lengths_m:
        return 0
    needed_m = needed_length_m(
        row, record, context.design.project, is_outdoor=context.is_outdoor(row)
    )
    if needed_m <= max(record.order_lengths_m):
        return 0
    return cut_run(needed_m=needed_m, order_lengths_m=record.order_lengths_m).joints
