"""Evaluates a design with edits made, whole or only the paths that they touch."""

from collections.abc import Callable, Iterable

from backhaul.checks.results import Results
from backhaul.design.edits import Edit, edited, merged
from backhaul.design.model import Design
from backhaul.errors import InputError
from backhaul.findings import Finding
from backhaul.remedies.standing import settles

Evaluate = Callable[[Design], Results]

#: Modes of hops in the evaluations that are held: most of their memory.
MODES_HELD = 2_000_000
#: Points of terrain that take as long as a row.
POINTS_A_ROW = 4


class Trial:
    """Evaluates the design with edits made, whole or only the paths that they touch."""

    def __init__(self, design: Design, results: Results, evaluate: Evaluate):
        self.design, self._evaluate = design, evaluate
        self._catalog = results.context.catalog
        self.evaluated = 0
        self.rows_evaluated = len(design.segments)
        self.modes_evaluated = _modes_of(results)
        self._known: dict[tuple, Results] = {}
        self._paths_of_label: dict[str, set[str]] = {}
        for row in design.segments:
            if row.label:
                self._paths_of_label.setdefault(row.label, set()).update(row.path)
        self._paths_of_hub: dict[str, set[str]] = {}
        for row in design.segments:
            if row.hub:
                self._paths_of_hub.setdefault(row.hub, set()).update(row.path)
        self._hops = {path for row in design.segments if row.kind == "radio" for path in row.path}

    def whole(self, edits: tuple[Edit, ...]) -> Results:
        return self.on(frozenset(row for each in self.design.segments for row in each.path), edits)

    def touched(self, finding: Finding, edits: Iterable[Edit]) -> frozenset[str]:
        """Paths that a finding counts for and that edits touch."""
        paths = set(finding.paths)
        named = {(edit.key.get("path"), edit.key.get("step")) for edit in edits}
        for row in self.design.segments:
            if any((path, row.step) in named for path in row.path):
                paths |= set(row.path) | self._paths_of_label.get(row.label or "", set())
                if row.kind == "radio":
                    paths |= self._hops
        # hops of a hub share its time: none is evaluated without the others
        for shared in self._paths_of_hub.values():
            if not paths.isdisjoint(shared):
                paths |= shared
        return frozenset(paths)

    def is_settled(
        self, finding: Finding, edits: tuple[Edit, ...], paths: frozenset[str] | None = None
    ) -> bool:
        """Whether a finding is gone with these edits, on some paths or on those touched."""
        try:
            results = self.on(paths or self.touched(finding, edits), merged(edits))
        except (InputError, KeyError):
            return False
        return settles(finding, results)

    def on(self, paths: frozenset[str], edits: tuple[Edit, ...]) -> Results:
        key = (paths, tuple(map(repr, edits)))
        if key not in self._known:
            part = part_of(edited(self.design, edits, self._catalog), paths)
            self.evaluated += 1
            # an edit passes the reader's checks over all rows
            self.rows_evaluated += len(self.design.segments) + len(part.segments)
            self._known[key] = found = self._evaluate(part)
            self.rows_evaluated += _points_of(found) // POINTS_A_ROW
            self.modes_evaluated += _modes_of(found)
            self._let_go()
        return self._known[key]

    def _let_go(self) -> None:
        """The oldest evaluations, but the last, where all together hold too much."""
        held = sum(map(_modes_of, self._known.values()))
        while held > MODES_HELD and len(self._known) > 1:
            held -= _modes_of(self._known.pop(next(iter(self._known))))


def _modes_of(results: Results) -> int:
    return len(results.radio.modes["direction"])


def _points_of(results: Results) -> int:
    profile = results.radio.hops.ground.profile
    return 0 if profile is None else len(profile.distance_km)


def part_of(design: Design, paths: frozenset[str]) -> Design:
    """The design of some of its paths alone."""
    rows = [row for row in design.segments if not paths.isdisjoint(row.path)]
    if len(rows) == len(design.segments):
        return design
    numbered = tuple(
        row._replace(id=place, path=tuple(path for path in row.path if path in paths))
        for place, row in enumerate(rows)
    )
    return design._replace(
        segments=numbered,
        paths={name: row for name, row in design.paths.items() if name in paths},
        demand=tuple(row for row in design.demand if row.path in paths),
    )
