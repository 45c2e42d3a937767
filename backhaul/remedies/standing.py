"""What stands in the way of a design, and whether a change makes anything worse."""

from collections.abc import Collection, Iterable, Iterator
from math import inf
from typing import Any

import numpy as np

from backhaul.checks.results import PATH_CHECKS, Results
from backhaul.findings import FAIL, THIN, Finding
from backhaul.remedies.functions import loses_function


def place_of(finding: Finding) -> tuple:
    """What makes two findings the same in two evaluations: check, place and what is measured."""
    return finding.check, finding.path, finding.step, finding.unit


def counted(results: Results, *, strict: bool) -> list[Finding]:
    """Findings that stand in the way: what fails, with `strict` also what is thin."""
    wanted = (FAIL, THIN) if strict else (FAIL,)
    found = [finding for finding in results.findings if finding.verdict in wanted]
    causes = [finding for finding in found if not finding.cause]
    return causes or found


def is_worse(
    before: Results, after: Results, *, of_findings_alone: bool = False, **how: Any
) -> bool:
    """Whether anything is worse after a change; how: as `worsened` takes it.

    A part that does less than the one in whose place it stands is worse, too, unless findings
    alone are asked for, as where a change is taken back.
    """
    if not of_findings_alone and loses_function(before, after):
        return True
    return next(worsened(before, after, **how), None) is not None


def worsened(
    before: Results,
    after: Results,
    *,
    but: Collection[tuple] = frozenset(),
    for_a_fail: bool = False,
    fails_alone: bool = False,
) -> Iterator[Finding]:
    """What fails or is thin after a change and did not before, or by more.

    but: places of findings that are still to be settled, and may be worse for a while.
    for_a_fail: the change is for what fails: what was thin may be thinner. fails_alone: what is
    thin may be worse, if only it does not fail. A figure that can no longer be had is worse always.
    """
    stood = _stood(before)
    return (
        finding
        for finding in after.findings
        if not (fails_alone and finding.verdict == THIN) or _is_unknown(finding)
        if place_of(finding) not in but and not _was_hidden(finding, before)
        if _weight(finding) > _allowed(stood, finding, thinner=for_a_fail)
    )


def _stood(results: Results) -> dict[tuple, tuple[int, float]]:
    """How bad the worst finding of each place is."""
    stood: dict[tuple, tuple[int, float]] = {}
    for finding in results.findings:
        key = place_of(finding)
        stood[key] = max(stood.get(key, (0, 0.0)), _weight(finding))
    return stood


def are_all_known(before: Results, findings: Iterable[Finding]) -> bool:
    """Whether each of these was there before, as a fail or as thin: only its figure is worse."""
    stood = _stood(before)
    return all(stood.get(place_of(f), (0, 0.0))[0] == _weight(f)[0] for f in findings)


def comes_thin(finding: Finding, before: Results, after: Results) -> list[Finding]:
    """What is left of a finding that a change settles, and what it brings to light."""
    stood = _stood(before)
    mine = finding.check, finding.path, finding.step
    return [
        each
        for each in after.findings
        if each.verdict in _RANK and not each.cause
        if (each.check, each.path, each.step) == mine
        or _weight(each)[0] > stood.get(place_of(each), (0, 0.0))[0]
    ]


def _is_unknown(finding: Finding) -> bool:
    """Whether a finding says that a figure cannot be had: of a terminal without an antenna, say."""
    return finding.unit is not None and finding.value is None


def _was_hidden(finding: Finding, before: Results) -> bool:
    """Of what was dark nothing could be judged: what shows now is not worse.

    A path that was dark, broken or unfed had no rate. A link of unlike optics had no level: that its
    margin is thin now is better than no light; that it fails is not.
    """
    if finding.check in PATH_CHECKS:
        return finding.path in before.context.stops
    if finding.verdict != THIN or finding.check not in OF_LEVELS:
        return False
    optical = before.context.optical
    return any(
        np.isnan(optical.values["margin_db"][[each.place for each in optical.of(link)]]).any()
        for link in optical.links
        if finding.path in link.paths and link.first_step <= finding.step <= link.last_step
    )


#: What is judged by the levels and the length of a link of light.
OF_LEVELS = ("optical-margin", "receiver-overload", "fiber-reach", "fiber-dispersion")


def left_on(results: Results, steps: Collection[tuple]) -> tuple[int, int]:
    """How many findings fail and how many are thin at these steps of paths."""
    verdicts = [
        finding.verdict for finding in results.findings if (finding.path, finding.step) in steps
    ]
    return verdicts.count(FAIL), verdicts.count(THIN)


_RANK = {FAIL: 2, THIN: 1}
#: A figure that is off by so much more is worse: less is the rounding of a part's data sheet.
_NOTICED = 1e-6
#: What fails may be off by this share more, and is no other fault for it: common practice.
_DRIFT = 0.05


def hardest(findings: Iterable[Finding]) -> dict[tuple, Finding]:
    """Of the findings of each place the one that is furthest from its limit: what settles it settles
    the others."""
    found: dict[tuple, Finding] = {}
    for finding in findings:
        known = found.setdefault(place_of(finding), finding)
        if _weight(finding) > _weight(known):
            found[place_of(finding)] = finding
    return found


def _weight(finding: Finding) -> tuple[int, float]:
    """How bad a finding is: its severity, then how far its figure is from the limit."""
    rank = _RANK.get(finding.verdict, 0)
    if not rank or not isinstance(finding.value, (int, float)):
        return rank, 0.0
    limit = finding.limit if isinstance(finding.limit, (int, float)) else 0.0
    return rank, abs(float(finding.value) - limit)


def _allowed(
    stood: dict[tuple, tuple[int, float]], finding: Finding, *, thinner: bool
) -> tuple[int, float]:
    rank, off = stood.get(place_of(finding), (0, 0.0))
    if thinner and rank == _RANK[THIN]:
        return rank, inf
    return rank, off * (1 + _DRIFT * (rank == _RANK[FAIL])) + _NOTICED


def settles(finding: Finding, after: Results) -> bool:
    """Whether a finding is gone: no finding of its check and severity stands at its place."""
    return not any(
        place_of(other) == place_of(finding)
        and _RANK.get(other.verdict, 0) >= _RANK.get(finding.verdict, 0)
        for other in after.findings
    )
