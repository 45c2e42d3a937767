"""What the parts of an optical link may cost its margins, shared out among all that are ordered.

Each figure of an offer that moves a margin gets an equal share of what the margin has to spare, so
that all of them may stand at their limits at once.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from math import isnan
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.orders import is_factory_made
from backhaul.budgets.requirement import Figure, Need
from backhaul.figures.influences import Influence
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_influences import (
    HEARS,
    JOINT_INFLUENCES,
    PENALTY,
    RUN_INFLUENCES,
    SENDS,
)
from backhaul.figures.optical_items import ATTENUATOR

#: What is there already is no offer.
NOT_ORDERED = ("existing", "client")


class Moved(NamedTuple):
    """A figure of a part that moves a margin of a direction, and the rows that it stands in."""

    direction: Direction
    influence: Influence
    family: str
    part: str
    by: str
    #: of runs and joints: rows, and their place in the arrays
    rows: tuple[Any, ...] = ()
    places: tuple[int, ...] = ()

    @property
    def margin(self) -> tuple[int, str]:
        return self.direction.place, self.influence.on


def moved_by_optics(direction: Direction) -> Iterator[Moved]:
    """Figures of the two optics of a direction, each with the end that it is of."""

    def of(influence: Influence, optic: Any, row: Any) -> Moved:
        return Moved(direction, influence, "optics", optic.part, row.by or "")

    for influence in SENDS:
        yield of(influence, direction.sender, direction.sender_row)
    for influence in HEARS:
        yield of(influence, direction.receiver, direction.receiver_row)
    if direction.penalized is not None:
        sends = direction.penalized is direction.sender
        row = direction.sender_row if sends else direction.receiver_row
        yield of(PENALTY, direction.penalized, row)


def moved_by_runs(optical: Any) -> Iterator[Moved]:
    """Attenuation of cables by the length of each on a link; of a cord it decides nothing."""
    for (direction, part, by), items in _grouped(optical, optical.runs).items():
        runs = [run for run, _ in items]
        if not is_factory_made(runs[0].part) and not any(run.is_measured for run in runs):
            for influence in RUN_INFLUENCES[:2]:
                yield _of_rows(optical, direction, influence, "fibers", part, by, items)


def moved_by_joints(optical: Any) -> Iterator[Moved]:
    """Loss of joints by the count of each on a link; of attenuators the least loss, too."""
    for (direction, part, by), items in _grouped(optical, optical.joints).items():
        is_attenuator = items[0][0].part.kind == ATTENUATOR
        for influence in JOINT_INFLUENCES if is_attenuator else JOINT_INFLUENCES[:2]:
            yield _of_rows(optical, direction, influence, "joints", part, by, items)


def _grouped(optical: Any, items: Any) -> dict[tuple, list[tuple[Any, int]]]:
    groups: dict[tuple, list[tuple[Any, int]]] = defaultdict(list)
    for place, subject in enumerate(items["subjects"]):
        key = (int(items["direction"][place]), subject.part.part, subject.row.by or "")
        groups[key].append((subject, place))
    return groups


def _of_rows(optical: Any, direction: int, influence, family, part, by, items) -> Moved:
    rows = tuple(subject.row for subject, _ in items)
    places = tuple(place for _, place in items)
    return Moved(optical.directions[direction], influence, family, part, by, rows, places)


class Shares:
    """All figures that move margins, and how many share each margin."""

    def __init__(self, optical: Any):
        self.optical = optical
        self._values = _as_lists(optical.values)
        self._items = {"fibers": _as_lists(optical.runs), "joints": _as_lists(optical.joints)}
        moved = [m for direction in optical.directions for m in moved_by_optics(direction)]
        moved += [*moved_by_runs(optical), *moved_by_joints(optical)]
        now = ((m, self._read(m)) for m in moved)
        real = [(m, values) for m, values in now if _is_real(m, values)]
        self.moved = [m for m, _ in real]
        self._now = {id(m): values for m, values in real}
        self.sharers: dict[tuple[int, str], int] = defaultdict(int)
        for m in self.moved:
            self.sharers[m.margin] += m.by not in NOT_ORDERED

    def values_of(self, moved: Moved) -> dict[str, float]:
        """The figures that an influence rests on, as they are now; rows added up."""
        return self._now[id(moved)]

    def _read(self, moved: Moved) -> dict[str, float]:
        influence, place = moved.influence, moved.direction.place
        found = {}
        for name in influence.figures:
            if moved.places and name in (influence.input, influence.times):
                column = self._items[moved.family][name]
                places = moved.places if name == influence.times else moved.places[:1]
                found[name] = sum(column[p] for p in places)
            else:
                found[name] = self._values[name][place]
        return found

    def needs(self, family: str, part: str, by: str) -> Iterator[tuple[Moved, Need]]:
        """What each link asks of the figures of a part."""
        for moved in self.moved:
            if (moved.family, moved.part, moved.by) != (family, part, by):
                continue
            influence = moved.influence
            figures = {}
            for name in influence.figures:
                rows: tuple[Any, ...] = (None,)
                if moved.rows and name in (influence.input, influence.times):
                    rows = moved.rows if name == influence.times else moved.rows[:1]
                figures[name] = tuple(Figure(moved.direction, name, row and row.id) for row in rows)
            sharers = max(self.sharers[moved.margin], 1)
            yield moved, Need(influence, figures, self.values_of(moved), sharers)


def _is_real(moved: Moved, values: dict[str, float]) -> bool:
    amount = values.get(moved.influence.times, 1.0)
    return not any(map(isnan, values.values())) and amount > 0


def _as_lists(columns: Mapping[str, Any]) -> dict[str, list[float]]:
    """Columns of figures as plain numbers: one by one they are read thrice as fast."""
    return {
        name: column.tolist()
        for name, column in columns.items()
        if isinstance(column, np.ndarray) and column.dtype.kind in "fib"
    }
