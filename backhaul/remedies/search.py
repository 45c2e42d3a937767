"""Sets of edits that settle the findings of one link, the cheapest first."""

import heapq
from collections.abc import Iterator
from itertools import count
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.design.edits import Edit, merged
from backhaul.errors import InputError
from backhaul.findings import FAIL, Finding
from backhaul.remedies.candidates import candidates, cost_of
from backhaul.remedies.standing import counted, is_worse, place_of, settles
from backhaul.remedies.tolerance import holds_varied
from backhaul.remedies.trial import Trial

#: Designs evaluated at most for one group of paths that share things; then the best so far.
MOST_EVALUATIONS = 400
#: Candidates tried for one finding at most.
MOST_CANDIDATES = 60
#: Candidates that settle a finding of which each is followed further.
BRANCHES = 4


class How(NamedTuple):
    """How it is searched.

    strict: what is thin is settled, too. whole: on the whole design, not only on the paths that a
    change touches. fails_alone: what a change makes thin does not stand against it.
    """

    strict: bool = False
    may_change_existing: bool = False
    whole: bool = False
    fails_alone: bool = False


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
    how: How,
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
        for new in _grown(trial, state, left[0], places, how):
            heapq.heappush(waiting, (new.cost, len(new.left), next(order), new))
            grown += 1
        if not grown:
            given_up.add(place_of(left[0]))
            heapq.heappush(waiting, (state.cost, len(left), next(order), state))
    given_up |= {place_of(finding) for finding in best.left}
    return Found(best.edits, best.cost, frozenset(given_up))


def _grown(
    trial: Trial,
    state: _State,
    finding: Finding,
    places: set[tuple],
    how: How,
) -> Iterator[_State]:
    """States in which the finding is gone and nothing is worse, the cheapest few."""
    everything = frozenset(path for row in trial.design.segments for path in row.path)
    paths = everything if how.whole else trial.touched(finding, state.edits)
    context = trial.on(paths, state.edits).context
    finding = _again(finding, trial.on(paths, state.edits)) or finding
    open_places = {place_of(other) for other in state.left}
    found = 0
    for candidate in candidates(context, finding, may_change_existing=how.may_change_existing)[
        :MOST_CANDIDATES
    ]:
        edits = merged((*state.edits, *candidate.edits))
        on = everything if how.whole else trial.touched(finding, edits)
        try:
            results = trial.on(on, edits)
        except (KeyError, InputError):
            continue
        base = trial.on(on, state.edits)
        if not settles(finding, results) or is_worse(
            base,
            results,
            but=open_places,
            for_a_fail=finding.verdict == FAIL,
            fails_alone=how.fails_alone,
        ):
            continue
        if not _holds_varied(trial, state.edits, candidate.edits, finding, on):
            continue
        left = tuple(
            other
            for other in counted(results, strict=how.strict)
            if place_of(other) in places and place_of(other) != place_of(finding)
        )
        yield _State(edits, state.cost + cost_of(candidate, context), left)
        found += 1
        if found >= BRANCHES:
            return


def _holds_varied(
    trial: Trial,
    edits: tuple[Edit, ...],
    new: tuple[Edit, ...],
    finding: Finding,
    paths: frozenset[str],
) -> bool:
    def is_settled(some: tuple[Edit, ...]) -> bool:
        try:
            return settles(finding, trial.on(paths, merged((*edits, *some))))
        except InputError:
            return False

    return holds_varied(new, is_settled)


def _again(finding: Finding, results: Results) -> Finding | None:
    """The same finding in another evaluation, whose rows have other ids."""
    return next((other for other in results.findings if place_of(other) == place_of(finding)), None)
