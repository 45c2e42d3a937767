"""Ways to change what stands around a finding: each yields candidate sets of edits.

A candidate is not yet a remedy: only its evaluation tells. Parts are proposed where they fit their
place in every respect that can be told without a budget; the nearest to the old part come first.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple

from backhaul.checks.context import Context
from backhaul.design.edits import Edit, put_in, set_cell
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.design.settings import US
from backhaul.figures.us_units import as_shown_m
from backhaul.findings import Finding
from backhaul.path.equipment import Equipment
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO, Link
from backhaul.remedies.tolerance import TOLERANCES, mounted_m


class Candidate(NamedTuple):
    """Edits that belong together, and what kinds of change they are (keys of the costs)."""

    edits: tuple[Edit, ...]
    changes: tuple[str, ...]
    #: how far the new part is from the old one; ties go to the nearer
    distance: float = 0.0


class Scene(NamedTuple):
    """A finding, and what stands around it."""

    context: Context
    finding: Finding
    rows: tuple[Segment, ...]
    links: tuple[Link, ...]
    #: rows that may not be changed: existing, by the client, later
    fixed: frozenset[int]

    @property
    def path(self) -> str:
        return self.finding.path or self.rows[0].path[0]

    def may_change(self, row: Segment) -> bool:
        return row.id not in self.fixed

    def hops_of_hub(self, row: Segment) -> tuple[Segment, ...]:
        """All hops that share the terminal of a hop at its first end, itself among them."""
        if not row.hub:
            return (row,)
        rows = self.context.design.segments
        return tuple(each for each in rows if each.hub == row.hub and each.to_site is not None)

    def may_change_hub(self, row: Segment) -> bool:
        """Whether what a hop shares with others of its hub may be changed in all of them."""
        return all(map(self.may_change, self.hops_of_hub(row)))

    def path_of(self, row: Segment) -> str:
        """The path in which an edit names a row: the finding's where it stands there."""
        return self.path if self.path in row.path else row.path[0]

    def set(self, row: Segment, column: str, to: Any) -> Edit:
        """The change of a cell; a length is the one that the project shows."""
        is_length = column.endswith("_m") and isinstance(to, int | float)
        if is_length and self.context.design.project.units == US:
            before = getattr(row, column)
            to = mounted_m(to, before) if column in TOLERANCES else as_shown_m(to)
        elif is_length and column in TOLERANCES:
            to = round(to, 2)
        return set_cell(row, self.path_of(row), column, to)


Move = Callable[[Scene], Iterator[Candidate]]


def scene_of(context: Context, finding: Finding, *, may_change_existing: bool = False) -> Scene:
    """What stands around a finding: its rows, the links over them."""
    by_id = {row.id: row for row in context.design.segments}
    rows = tuple(by_id[row] for row in finding.rows if row in by_id)
    wanted = set(finding.rows)
    links = tuple(
        link
        for kind in (OPTICAL, RADIO, COPPER, FEED)
        for link in context.network.links[kind]
        if wanted & set(link.row_ids)
    ) or _links_at(context, wanted)
    at_step = [
        row
        for row in rows
        if row.step == finding.step and (finding.path or row.path[0]) in row.path
    ]
    first = at_step or list(rows[:1])
    rest = [row for row in rows if row not in first]
    fixed = frozenset(
        row.id for row in context.design.segments if row.by and not may_change_existing
    )
    return Scene(context, finding, (*first, *rest), links, fixed)


def _links_at(context: Context, rows: set[int]) -> tuple[Link, ...]:
    """Copper and feeds that end at equipment: of a finding on a thing that they could feed."""
    return tuple(
        link
        for kind in (COPPER, FEED)
        for link in context.network.links[kind]
        if any(
            end is not None and not rows.isdisjoint(end.row_ids)
            for end in (link.near, link.far, *link.loads)
        )
    )


def steps_of_links(context: Context, finding: Finding) -> set[tuple[str, float]]:
    """Where the links of a finding stand."""
    links = scene_of(context, finding).links
    return {(path, row.step) for link in links for row in link.rows for path in row.path}


def differences(old: Any, new: Any) -> float:
    """In how many columns two parts of a family differ: the nearest part is proposed first.

    Between parts that differ in as many, the words of their names tell.
    """
    skipped = ("part", "description", "note", "source", "basis", "price")
    columns = sum(
        getattr(old, name) != getattr(new, name) for name in old._fields if name not in skipped
    )
    words = set(old.part.split("-")) ^ set(new.part.split("-"))
    return columns + len(words) / _MOST_WORDS


#: More words than two names of parts have together.
_MOST_WORDS = 100


def like(parts: Iterable[Any], old: Any, *same: str) -> list[Any]:
    """Parts that agree with the old one in these columns, the nearest first, itself left out."""
    found = [
        part
        for part in parts
        if part.part != old.part and all(getattr(part, name) == getattr(old, name) for name in same)
    ]
    return sorted(found, key=lambda part: (differences(old, part), part.part))


def covers(new: Any, old: Any) -> bool:
    """Whether a part stands at least the climate that the old one stands."""
    for name, sign in (("temp_min_c", 1), ("temp_max_c", -1)):
        a, b = getattr(new, name, None), getattr(old, name, None)
        if a is not None and b is not None and sign * (a - b) > 0:
            return False
    rank = ("C1", "C2", "C3", "C4", "C5", "CX")
    a, b = getattr(new, "corrosivity", None), getattr(old, "corrosivity", None)
    return not (a in rank and b in rank and rank.index(a) < rank.index(b))


def records(context: Context, family: str) -> list[Any]:
    """All parts of a family that stand by themselves: half a hybrid cable cannot be swapped."""
    return context.catalog.alone(family)


def record_of(context: Context, row: Segment) -> Any:
    """The part of a row."""
    return getattr(context.catalog, KINDS[row.kind].families[0]).get(row.part)


def neighbours(scene: Scene, row: Segment) -> tuple[Segment | None, Segment | None]:
    """The rows before and after a row in its path."""
    rows = scene.context.network.chains[scene.path_of(row)].rows
    place = next((n for n, each in enumerate(rows) if each.id == row.id), None)
    if place is None:
        return None, None
    before = rows[place - 1] if place else None
    return before, rows[place + 1] if place + 1 < len(rows) else None


def step_between(first: Segment, second: Segment | None) -> float:
    """A step between two rows."""
    return (first.step + second.step) / 2 if second is not None else first.step + 1


def beside(
    scene: Scene, row: Segment, *, before: bool, cells: dict[str, Any], change: str, distance=0.0
) -> Candidate | None:
    """A new row right before or after another."""
    left, right = neighbours(scene, row)
    other = left if before else right
    if other is None:
        return None
    first, second = (other, row) if before else (row, other)
    path = scene.path_of(row)
    edit = put_in(first, path, step_between(first, second), **cells)
    return Candidate((edit,), (change,), distance)


ATTENUATOR = "attenuator"


def optical_links(scene: Scene) -> Iterator[Link]:
    """Optical links of the scene."""
    return (link for link in scene.links if link.kind == OPTICAL)


def is_cord(part: Any) -> bool:
    """Whether a fiber comes with plugs on."""
    return bool(part.end_a or part.end_b)


class Plug(NamedTuple):
    """Where a link is plugged in: the row and column that name the port, and what has the port."""

    row: Segment
    column: str
    end: Equipment | None


def plugs(link: Link) -> tuple[Plug, Plug]:
    """Both plugs of a link; a port stands with the optic or with the run: a protector has none."""
    runs = [row for row in link.rows if KINDS[row.kind].is_run]
    rows = runs if runs and link.kind != OPTICAL else link.rows
    far = "port" if link.kind == OPTICAL else "to_port"
    return Plug(rows[0], "port", link.near), Plug(rows[-1], far, link.far)
