"""Sets of edits that settle the findings of one link, the cheapest first."""

import heapq
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import count
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.design.edits import Edit, merged
from backhaul.errors import InputError
from backhaul.findings import FAIL, Finding
from backhaul.remedies.candidates import candidates, costs_of
from backhaul.remedies.moves import steps_of_links
from backhaul.remedies.standing import counted, hardest, is_worse, left_on, place_of, settles
from backhaul.remedies.tolerance import varied
from backhaul.remedies.trial import Trial

#: Designs evaluated at most for one group of paths that share things; then the best so far.
MOST_EVALUATIONS = 400
#: Candidates tried for one finding at most.
MOST_CANDIDATES = 60
#: Candidates that settle a finding of which each is followed further.
BRANCHES = 4
#: States from which a finding was tried to be settled in vain; then it is let be.
MOST_IN_VAIN = 2


class How(NamedTuple):
    """How it is searched.

    strict: what is thin is settled, too. whole: on the whole design, not only on the paths that a
    change touches. wider: what a change makes thin does not stand against it, and what it brings
    up on the same link is settled after it.
    """

    strict: bool = False
    may_change_existing: bool = False
    whole: bool = False
    wider: bool = False


class _State(NamedTuple):
    edits: tuple[Edit, ...]
    #: of each cell that is changed
    costs: Mapping[tuple, float]
    left: tuple[Finding, ...]
    #: places of findings that nothing settles from here
    given_up: frozenset[tuple] = frozenset()
    #: findings that are thin on the link that was settled last
    thin: int = 0

    @property
    def cost(self) -> float:
        return cost_of_edits(self.edits, self.costs)


class Found(NamedTuple):
    """Edits that settle a cluster, those before them included; findings that nothing settles."""

    edits: tuple[Edit, ...]
    costs: Mapping[tuple, float]
    given_up: frozenset[tuple]


def cost_of_edits(edits: tuple[Edit, ...], costs: Mapping[tuple, float]) -> float:
    """Of edits of which each cell's cost is known."""
    return sum(costs[edit.cell] for edit in edits)


def search(
    trial: Trial,
    edits: tuple[Edit, ...],
    costs: Mapping[tuple, float],
    cluster: list[Finding],
    how: How,
) -> Found:
    """Cheapest first over sets of edits: each step settles the first finding that is left."""
    places = {place_of(finding) for finding in cluster}
    order = count()
    first = _State(edits, costs, tuple(cluster))
    waiting: list[tuple] = [(first.cost, len(cluster), 0, next(order), first)]
    best = first
    begun = trial.evaluated
    in_vain: Counter[tuple] = Counter()
    seen: set[tuple] = set()
    while waiting and trial.evaluated - begun < MOST_EVALUATIONS:
        *_, state = heapq.heappop(waiting)
        left = [
            finding
            for finding in state.left
            if place_of(finding) not in state.given_up and in_vain[place_of(finding)] < MOST_IN_VAIN
        ]
        if (len(state.left), state.cost) < (len(best.left), best.cost):
            best = state
        if not state.left:
            break
        if not left:
            if all(in_vain[place_of(finding)] >= MOST_IN_VAIN for finding in state.left):
                break
            continue
        grown = list(_grown(trial, state, left[0], places, how))
        if not grown:
            in_vain[place_of(left[0])] += 1
            grown = [state._replace(given_up=state.given_up | {place_of(left[0])})]
        for new in grown:
            key = frozenset((edit.cell, repr(edit.to)) for edit in new.edits), new.given_up
            if key in seen:
                continue
            seen.add(key)
            heapq.heappush(waiting, (new.cost, len(new.left), new.thin, next(order), new))
    return Found(best.edits, best.costs, frozenset(map(place_of, best.left)))


def _grown(
    trial: Trial,
    state: _State,
    finding: Finding,
    places: set[tuple],
    how: How,
) -> Iterator[_State]:
    """States in which the finding is gone and nothing is worse elsewhere, the cheapest few.

    Where there are none: states in which the change brings up something else on the same link,
    to be settled next.
    """
    everything = frozenset(path for row in trial.design.segments for path in row.path)
    paths = everything if how.whole else trial.touched(finding, state.edits)
    now = trial.on(paths, state.edits)
    again = _again(finding, now)
    if again is None:  # it comes from what stands in other paths: a port, a feed
        how, paths = how._replace(whole=True), everything
        now = trial.on(paths, state.edits)
        again = _again(finding, now)
    context, finding = now.context, again or finding
    causes = [other for other in now.findings if other.id == finding.cause]
    on_link = steps_of_links(context, finding)
    open_places = {place_of(other) for other in state.left}
    found, with_more = 0, []
    for candidate in candidates(
        context, finding, *causes, may_change_existing=how.may_change_existing
    )[:MOST_CANDIDATES]:
        edits = merged((*state.edits, *candidate.edits))
        on = everything if how.whole else trial.touched(finding, edits)
        try:
            results = trial.on(on, edits)
        except (KeyError, InputError):
            continue
        left = tuple(
            other
            for other in counted(results, strict=how.strict)
            if place_of(other) in places or (other.path, other.step) in on_link
        )
        brought = {place_of(other) for other in left} - open_places
        if not settles(finding, results) or (brought and len(with_more) >= BRANCHES):
            continue
        if is_worse(
            trial.on(on, state.edits),
            results,
            but=open_places | brought,
            for_a_fail=finding.verdict == FAIL,
            fails_alone=how.wider,
        ):
            continue
        if not all(
            trial.is_settled(finding, (*state.edits, *some), on)
            for some in varied(candidate.edits, finding, now.design)
        ):
            continue
        costs = {**state.costs, **costs_of(candidate, context)}
        _, thin = left_on(results, on_link)
        new = _State(edits, costs, left, state.given_up, thin)
        if brought:
            with_more.append(new)
            continue
        yield new
        found += 1
        if found >= BRANCHES:
            return
    if how.wider or not found:
        yield from with_more


def _again(finding: Finding, results: Results) -> Finding | None:
    """The same finding in another evaluation, whose rows have other ids."""
    return hardest(results.findings).get(place_of(finding))
