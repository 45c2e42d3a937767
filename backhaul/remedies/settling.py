"""The cheapest set of changes with which the whole design passes, each proved by evaluating it."""

from collections.abc import Callable, Collection
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.design.edits import Edit, edited
from backhaul.design.model import Design
from backhaul.errors import InputError
from backhaul.findings import Finding
from backhaul.progress import unwatched
from backhaul.remedies.candidates import MOVES
from backhaul.remedies.moves import scene_of
from backhaul.remedies.search import How, cost_of_edits, search
from backhaul.remedies.standing import counted, is_worse, place_of
from backhaul.remedies.trial import Evaluate, Trial


class Settlement(NamedTuple):
    """What was changed, what came of it, and what could not be settled."""

    edits: tuple[Edit, ...]
    design: Design
    before: Results
    after: Results
    cost: float
    unsettled: tuple[tuple[Finding, str], ...]
    evaluated: int
    #: the search was stopped before its end: this is the best so far
    interrupted: bool = False


def settle(
    design: Design,
    evaluate: Evaluate,
    *,
    strict: bool = False,
    may_change_existing: bool = False,
    progress: Callable[[str, int], None] = unwatched,
) -> Settlement:
    """Settle the findings link by link, each on the paths that it touches, then prove the whole.

    What a change does elsewhere shows when the whole is evaluated; such a link is searched again
    on the whole design. What cannot be settled is left as it is, with the reason.
    """
    before = evaluate(design)
    trial = Trial(design, before, evaluate)
    edits: tuple[Edit, ...] = ()
    results, costs, given_up = before, {}, set()
    how = How(strict=strict, may_change_existing=may_change_existing)
    interrupted, retried = False, None
    for _ in range(_ROUNDS):
        left = [f for f in counted(results, strict=strict) if place_of(f) not in given_up]
        if not left and given_up and not strict and edits != retried:
            # what was given up is tried once more after other changes, and more widely
            how, left, retried = how._replace(wider=True), counted(results, strict=strict), edits
            given_up = set()
        if not left:
            break
        new_edits, new_costs = edits, costs
        groups = clusters(results, left)
        try:
            for number, cluster in enumerate(groups):
                progress(_name(cluster), len(groups) - number)
                found = search(trial, new_edits, new_costs, cluster, how)
                given_up |= found.given_up
                new_edits, new_costs = found.edits, found.costs
        except KeyboardInterrupt:
            interrupted = True
        if new_edits != edits:
            after = trial.whole(new_edits)
            if how.whole or not is_worse(
                results, after, for_a_fail=not strict, fails_alone=how.wider
            ):
                edits, costs, results = new_edits, new_costs, after
                how = how._replace(whole=False)
            else:
                how = how._replace(whole=True)
                given_up.clear()
        if interrupted:
            break
    edits, results = _pruned(trial, edits, results, strict=strict)
    left = tuple(
        (finding, _why(finding, results, given_up, may_change_existing))
        for finding in counted(results, strict=strict)
    )
    return Settlement(
        edits,
        edited(design, edits, before.context.catalog),
        before,
        results,
        cost_of_edits(edits, costs),
        left,
        trial.evaluated + 1,
        interrupted,
    )


def _pruned(
    trial: Trial, edits: tuple[Edit, ...], results: Results, *, strict: bool
) -> tuple[tuple[Edit, ...], Results]:
    """The edits without those that later ones made needless."""
    standing = {place_of(finding) for finding in counted(results, strict=strict)}
    for edit in edits:
        fewer = tuple(each for each in edits if each is not edit)
        try:
            after = trial.whole(fewer)
        except (InputError, KeyError):
            continue
        if is_worse(results, after, of_findings_alone=True):
            continue  # a terminal is not left without what it stands on, a ray not thin again
        if {place_of(finding) for finding in counted(after, strict=strict)} <= standing:
            edits, results = fewer, after
    return edits, results


_NO_MOVE = "the tables hold no change for it"
_FIXED = "what stands there is existing or another's"
_NOTHING = "no part, height or setting of the tables settles it"
_NOT_REACHED = "not searched yet"


def _why(
    finding: Finding, results: Results, given_up: Collection[tuple], may_change_existing: bool
) -> str:
    """Why a finding stays."""
    if finding.check not in MOVES:
        return _NO_MOVE
    if place_of(finding) not in given_up:
        return _NOT_REACHED
    scene = scene_of(results.context, finding, may_change_existing=may_change_existing)
    rows = [*scene.rows, *(row for link in scene.links for row in link.rows)]
    return _NOTHING if any(map(scene.may_change, rows)) else _FIXED


#: Rounds of settling and evaluating the whole; the second is for what the first brought up.
_ROUNDS = 8


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
