"""Remedies of findings: the cheapest change that was made, evaluated, and settles the finding."""

from collections.abc import Iterable, Iterator
from itertools import groupby

from backhaul.checks.groups import few, figure_of
from backhaul.checks.results import Results
from backhaul.design.edits import Edit
from backhaul.errors import InputError
from backhaul.findings import FAIL, THIN, Finding
from backhaul.remedies.candidates import MOVES, candidates, cost_of
from backhaul.remedies.functions import loses_function
from backhaul.remedies.moves import Candidate, steps_of_links
from backhaul.remedies.standing import (
    are_all_known,
    comes_thin,
    hardest,
    is_worse,
    left_on,
    place_of,
    settles,
    worsened,
)
from backhaul.remedies.tolerance import varied
from backhaul.remedies.trial import Evaluate, Trial
from backhaul.remedies.words import sentence

#: Changes tried for one finding, of them of one kind, and rows evaluated for all of a design, itself
#: included: a check stays quick.
TRIES, OF_A_KIND, ROWS_TRIED = 40, 12, 80_000
#: Modes of hops evaluated for all of a design, itself included.
MODES_TRIED = 2_000_000
#: Before what a check advises: where nothing in the tables answers it, and where no one change of
#: them settles it without harm elsewhere.
NOT_IN_THE_TABLES = "by hand: "
ADVICE = "; advice: "
NOT_ALONE = f"no single change tried settles it{ADVICE}"
#: After a change that settles a finding, and before what it makes worse of what fails already.
WORKS_BUT = " works, but makes worse: "
#: Advice that asks for a fact which people have to find out: no change can prove it.
ASKS = (
    "fill ",
    "have the maker ",
    "margin and dispersion decide: ",
    "no change of both heights",  # says itself that none was found
)
#: Where so much was evaluated that nothing more was tried; `backhaul settle` searches on.
NOT_TRIED = "not tried in so large a design: "


def proved(results: Results, evaluate: Evaluate) -> tuple[Finding, ...]:
    """The findings of a design, each with the edits that settle it where there are any.

    A remedy is a set of edits after which the finding is gone and nothing else is worse. Where no
    edit of the tables does it, what the check advises stands, and says so.
    """
    trial = Trial(results.design, results, evaluate)
    shared: dict[tuple, Finding] = {}
    proposed: dict[str, tuple[Edit, ...]] = {}
    found = []
    at_place = hardest(finding for finding in results.findings if not finding.cause)
    for finding in results.findings:
        if finding.verdict not in (FAIL, THIN) or finding.cause:
            found.append(finding)
            continue
        key = place_of(finding)
        if key not in shared:
            shared[key] = settled = _with_remedy(results, at_place[key], trial, proposed.values())
            if settled.edits:
                proposed.setdefault(sentence(settled.edits), settled.edits)
        settled = shared[key]
        remedy = settled.remedy
        if not settled.edits and finding.remedy and remedy:  # each by its own words
            remedy = parted(remedy)[0] + finding.remedy
        found.append(finding._replace(remedy=remedy, edits=settled.edits))
    return tuple(_with_own_causes(results, found, trial, proposed))


def _with_own_causes(
    results: Results,
    found: list[Finding],
    trial: Trial,
    proposed: dict[str, tuple[Edit, ...]],
) -> Iterator[Finding]:
    """What stands alone once that is settled from which it was to follow is a finding of its own."""
    edits_of = {finding.id: finding.edits for finding in found if not finding.cause}
    for finding in found:
        edits = edits_of.get(finding.cause or "", ())
        if edits and _stands_alone(finding, trial.whole(edits)):
            own = _with_remedy(results, finding._replace(cause=None), trial, proposed.values())
            if own.edits:
                proposed.setdefault(sentence(own.edits), own.edits)
            yield own
        else:
            yield finding


def _stands_alone(finding: Finding, after: Results) -> bool:
    """Whether a finding is still there, as bad as it was, and follows from nothing else."""
    return any(
        place_of(each) == place_of(finding) and each.verdict == finding.verdict and not each.cause
        for each in after.findings
    )


def parted(remedy: str) -> tuple[str, str]:
    """Why a remedy is advice and no edit, blank where nothing says so; and the advice.

    >>> parted("by hand: add the sites table"), parted("add the sites table")
    (('by hand: ', 'add the sites table'), ('', 'add the sites table'))
    >>> parted("power 5 dBm works, but makes worse: radio-margin; advice: a smaller antenna")[1]
    'a smaller antenna'
    """
    before, found, advice = remedy.partition(ADVICE)
    if found and WORKS_BUT in before:
        return before + found, advice
    for why in (NOT_IN_THE_TABLES, NOT_ALONE, NOT_TRIED):
        if remedy.startswith(why):
            return why, remedy.removeprefix(why)
    return "", remedy


def _with_remedy(
    results: Results,
    finding: Finding,
    trial: Trial,
    proposed: Iterable[tuple[Edit, ...]],
) -> Finding:
    """The finding with what settles it: a change that is proposed anyway, else the cheapest."""
    for edits in proposed:
        if _is_proved(results, finding, trial, edits):
            return _settled(results, finding, trial, edits)
    may_try = not _is_spent(trial)
    tried = _of_every_kind(candidates(results.context, finding)) if may_try else []
    harmful: list[str] = []
    for _, alike in groupby(tried, key=lambda each: cost_of(each, results.context)):
        for candidate in _cleanest_first(results, finding, trial, alike, harmful):
            if _is_proved(results, finding, trial, candidate.edits):
                return _settled(results, finding, trial, candidate.edits)
    if not finding.remedy:
        return finding
    if finding.remedy.startswith(ASKS):
        return finding
    why = NOT_ALONE if tried else NOT_IN_THE_TABLES
    if harmful:
        why = harmful[0] + ADVICE
    if finding.check in MOVES and _is_spent(trial):
        why = NOT_TRIED
    return finding._replace(remedy=why + finding.remedy)


def _settled(results: Results, finding: Finding, trial: Trial, edits: tuple[Edit, ...]) -> Finding:
    """The finding with its remedy, which says what is thin or fails after it."""
    left = comes_thin(finding, results, trial.whole(edits))
    words = (f" (then {v}: {_named(some)})" for v, some in _by_verdict(left) if some)
    return finding._replace(remedy=sentence(edits) + "".join(words), edits=edits)


def _by_verdict(findings: list[Finding]) -> Iterator[tuple[str, list[Finding]]]:
    for verdict in (FAIL, THIN):
        yield verdict, [finding for finding in findings if finding.verdict == verdict]


def then(finding: Finding) -> str:
    """What a remedy says of what is left after it; blank where all is well."""
    return (finding.remedy or "").removeprefix(sentence(finding.edits)) if finding.edits else ""


def _is_spent(trial: Trial) -> bool:
    """Whether so much was evaluated that nothing more is tried."""
    return trial.rows_evaluated >= ROWS_TRIED or trial.modes_evaluated >= MODES_TRIED


def _of_every_kind(some: list[Candidate]) -> list[Candidate]:
    """The first candidates, of each kind of change its share, then of those that have more.

    Many frequencies leave room for the channel's width, and all settings for a terminal.
    """
    kinds: dict[tuple, list[int]] = {}
    for place, candidate in enumerate(some):
        kind = candidate.changes, frozenset(edit.column for edit in candidate.edits)
        kinds.setdefault(kind, []).append(place)
    share = min(max(TRIES // max(len(kinds), 1), 1), OF_A_KIND)
    first = sorted(place for places in kinds.values() for place in places[:share])
    more = sorted(place for places in kinds.values() for place in places[share:OF_A_KIND])
    return [some[place] for place in sorted((first + more)[:TRIES])]


def _cleanest_first(
    results: Results,
    finding: Finding,
    trial: Trial,
    alike: Iterable[Candidate],
    harmful: list[str],
) -> Iterator[Candidate]:
    """Of changes that cost the same those that settle the finding on the paths that they touch.

    One after which nothing is left on the link comes at once; of the others those first that leave
    the least. harmful: takes in words those that only make worse what is there already.
    """
    on_link = steps_of_links(results.context, finding)
    later: list[tuple[tuple[int, int], int, Candidate]] = []
    for candidate in alike:
        if _is_spent(trial):
            break
        on = trial.touched(finding, candidate.edits)
        try:
            after = trial.on(on, candidate.edits)
        except (InputError, KeyError):
            continue
        if not settles(finding, after):
            continue
        now = trial.on(on, ())
        is_fail = finding.verdict == FAIL
        if is_worse(now, after, for_a_fail=is_fail):
            harm = list(worsened(now, after, for_a_fail=is_fail))
            if harm and are_all_known(now, harm) and not loses_function(now, after):
                harmful.append(f"{sentence(candidate.edits)}{WORKS_BUT}{_named(harm)}")
            continue
        left = left_on(after, on_link)
        if not any(left):
            yield candidate
        else:
            later.append((left, len(later), candidate))
    yield from (candidate for *_, candidate in sorted(later, key=lambda each: each[:2]))


def _named(findings: Iterable[Finding]) -> str:
    """Findings by check and figure, each check once."""
    worst_of: dict[str, Finding] = {}
    for finding in findings:
        worst_of.setdefault(finding.check, finding)
    return few([f"{check}{figure_of(each)}" for check, each in worst_of.items()])


def _is_proved(results: Results, finding: Finding, trial: Trial, edits: tuple[Edit, ...]) -> bool:
    """Whether edits settle a finding on the whole design, exactly set or not."""
    # what other paths share with these shows on the whole design alone
    whole = trial.whole(edits)
    return (
        settles(finding, whole)
        and not is_worse(results, whole, for_a_fail=finding.verdict == FAIL)
        and all(trial.is_settled(finding, some) for some in varied(edits, finding, results.design))
    )
