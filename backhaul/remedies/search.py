"""The cheapest set of changes with which the whole design passes, each proved by evaluating it."""

import heapq
from collections.abc import Callable, Iterable, Iterator
from itertools import count
from typing import Any, NamedTuple

from backhaul.checks.results import Results
from backhaul.design.edits import Edit, edited
from backhaul.design.model import Design
from backhaul.errors import InputError
from backhaul.findings import FAIL, THIN, Finding
from backhaul.progress import unwatched
from backhaul.remedies.candidates import candidates, cost_of
from backhaul.remedies.harm import is_worse, place_of, settles

#: Designs evaluated at most for one group of paths that share things; then the best so far.
MOST_EVALUATIONS = 400
#: Candidates tried for one finding at most.
MOST_CANDIDATES = 60

Evaluate = Callable[[Design], Results]


class Settlement(NamedTuple):
    """What was changed, what came of it, and what could not be settled."""

    edits: tuple[Edit, ...]
    design: Design
    before: Results
    after: Results
    cost: float
    unsettled: tuple[tuple[Finding, str], ...]
    evaluated: int


def counted(results: Results, *, strict: bool) -> list[Finding]:
    """Findings that stand in the way: what fails, with `strict` also what is thin."""
    wanted = (FAIL, THIN) if strict else (FAIL,)
    found = [finding for finding in results.findings if finding.verdict in wanted]
    causes = [finding for finding in found if not finding.cause]
    return causes or found


def settle(
    design: Design,
    evaluate: Evaluate,
    *,
    strict: bool = False,
    may_change_existing: bool = False,
    progress: Callable[[str], None] = unwatched,
) -> Settlement:
    """Settle the findings link by link, each on the paths that it touches, then prove the whole.

    What a change does elsewhere shows when the whole is evaluated; such a link is searched again
    on the whole design. What cannot be settled is left as it is, with the reason.
    """
    before = evaluate(design)
    trial = Trial(design, evaluate, before.context.catalog)
    edits: tuple[Edit, ...] = ()
    results, cost, given_up = before, 0.0, set()
    whole = False
    for _ in range(_ROUNDS):
        left = [f for f in counted(results, strict=strict) if place_of(f) not in given_up]
        if not left:
            break
        new_edits, new_cost = edits, cost
        for cluster in clusters(results, left):
            progress(_name(cluster))
            found = search(
                trial, new_edits, cluster, strict=strict, whole=whole,
                may_change_existing=may_change_existing,
            )  # fmt: skip
            given_up |= found.given_up
            new_edits, new_cost = found.edits, new_cost + found.cost
        if new_edits == edits:
            break
        after = trial.whole(new_edits)
        if whole or not is_worse(results, after):
            edits, cost, results, whole = new_edits, new_cost, after, False
        else:
            whole = True
            given_up.clear()
    left = tuple((finding, _NOTHING) for finding in counted(results, strict=strict))
    return Settlement(
        edits,
        edited(design, edits, before.context.catalog),
        before,
        results,
        cost,
        left,
        trial.evaluated + 1,
    )


_NOTHING = "no part, height or setting of the tables settles it"
#: Rounds of settling and evaluating the whole; the second is for what the first brought up.
_ROUNDS = 6


def clusters(results: Results, findings: list[Finding]) -> list[list[Finding]]:
    """Findings that stand on one link together, in order of their first."""
    links: dict[int, int] = {}
    for kind in results.network.links.values():
        for link in kind:
            for row in link.row_ids:
                links.setdefault(row, id(link))
    found: dict[object, list[Finding]] = {}
    for finding in findings:
        key = next((links[row] for row in finding.rows if row in links), None)
        found.setdefault(key or (finding.rows[:1] or finding.check), []).append(finding)
    return list(found.values())


def _name(cluster: list[Finding]) -> str:
    first = cluster[0]
    return (
        f"{first.check} {first.path or ''} {first.step if first.step is not None else ''}".strip()
    )


class Trial:
    """Evaluates the design with edits made, whole or only the paths that they touch."""

    def __init__(self, design: Design, evaluate: Evaluate, catalog: Any):
        self.design, self._evaluate, self._catalog = design, evaluate, catalog
        self.evaluated = self.rows_evaluated = 0
        self._known: dict[tuple, Results] = {}
        self._paths_of_label: dict[str, set[str]] = {}
        for row in design.segments:
            if row.label:
                self._paths_of_label.setdefault(row.label, set()).update(row.path)
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
        return frozenset(paths)

    def on(self, paths: frozenset[str], edits: tuple[Edit, ...]) -> Results:
        key = (paths, tuple(map(repr, edits)))
        if key not in self._known:
            part = part_of(edited(self.design, edits, self._catalog), paths)
            self.evaluated += 1
            # an edit passes the reader's checks over all rows
            self.rows_evaluated += len(self.design.segments) + len(part.segments)
            self._known[key] = self._evaluate(part)
        return self._known[key]


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


class _State(NamedTuple):
    edits: tuple[Edit, ...]
    cost: float
    left: tuple[Finding, ...]


class Found(NamedTuple):
    """Edits that settle a cluster, those before them included; findings that nothing settles."""

    edits: tuple[Edit, ...]
    cost: float
    given_up: frozenset[tuple]


def search(
    trial: Trial,
    edits: tuple[Edit, ...],
    cluster: list[Finding],
    *,
    strict: bool,
    whole: bool = False,
    may_change_existing: bool = False,
) -> Found:
    """Cheapest first over sets of edits: each step settles the first finding that is left."""
    places = {place_of(finding) for finding in cluster}
    order = count()
    first = _State(edits, 0.0, tuple(cluster))
    waiting: list[tuple] = [(0.0, len(cluster), next(order), first)]
    best = first
    given_up: set[tuple] = set()
    begun = trial.evaluated
    while waiting and trial.evaluated - begun < MOST_EVALUATIONS:
        *_, state = heapq.heappop(waiting)
        left = [finding for finding in state.left if place_of(finding) not in given_up]
        if (len(state.left), state.cost) < (len(best.left), best.cost):
            best = state
        if not left:
            break
        grown = 0
        for new in _grown(trial, state, left[0], places, strict, whole, may_change_existing):
            heapq.heappush(waiting, (new.cost, len(new.left), next(order), new))
            grown += 1
        if not grown and state is first:
            given_up.add(place_of(left[0]))
            heapq.heappush(waiting, (state.cost, len(left), next(order), state))
    given_up |= {place_of(finding) for finding in best.left}
    return Found(best.edits, best.cost, frozenset(given_up))


def _grown(
    trial: Trial,
    state: _State,
    finding: Finding,
    places: set[tuple],
    strict: bool,
    whole: bool,
    may_change_existing: bool,
) -> Iterator[_State]:
    """States in which the finding is gone and nothing is worse, the cheapest few."""
    everything = frozenset(path for row in trial.design.segments for path in row.path)
    paths = everything if whole else trial.touched(finding, state.edits)
    context = trial.on(paths, state.edits).context
    finding = _again(finding, trial.on(paths, state.edits)) or finding
    open_places = {place_of(other) for other in state.left}
    found = 0
    for candidate in candidates(context, finding, may_change_existing=may_change_existing)[
        :MOST_CANDIDATES
    ]:
        edits = (*state.edits, *candidate.edits)
        on = everything if whole else trial.touched(finding, edits)
        try:
            results = trial.on(on, edits)
        except (KeyError, InputError):
            continue
        base = trial.on(on, state.edits)
        if not settles(finding, results) or is_worse(base, results, but=open_places):
            continue
        left = tuple(
            other
            for other in counted(results, strict=strict)
            if place_of(other) in places and place_of(other) != place_of(finding)
        )
        yield _State(edits, state.cost + cost_of(candidate, context), left)
        found += 1
        if found >= BRANCHES:
            return


def _again(finding: Finding, results: Results) -> Finding | None:
    """The same finding in another evaluation, whose rows have other ids."""
    return next((other for other in results.findings if place_of(other) == place_of(finding)), None)


#: Candidates that settle a finding of which each is followed further.
BRANCHES = 4
