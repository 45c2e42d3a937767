"""Paths without a rate: dark, broken, unfed, or branches of such."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.checks.context import Context
from backhaul.findings import FAIL, Finding

#: Checks whose failure leaves a path without light, without a joint or without power.
STOPPING = frozenset(
    (
        "chain-broken",
        "optics-wavelength",
        "optics-speed",
        "feed-power",
        "poe-power",
        "poe-type",
        "poe-budget",
        "over-voltage",
        "supply-type",
    )
)


class Stop(NamedTuple):
    """Why a path carries nothing, and the path in which that stands."""

    finding: Finding
    path: str


def stopped_paths(context: Context, findings: Iterable[Finding]) -> dict[str, Stop]:
    """Paths of data that carry nothing, each with the first cause."""
    network, branches = context.network, context.branches
    found: dict[str, Stop] = {}
    steps: dict[str, float] = {}
    for finding in findings:
        if finding.severity != FAIL or finding.check not in STOPPING:
            continue
        for path in finding.paths:
            if path in network.chains and network.carries_data(path):
                step = _step_in(context, path, finding)
                if path not in found or step < steps[path]:
                    found[path], steps[path] = Stop(finding, path), step
    waiting = list(found)
    while waiting:
        trunk = waiting.pop()
        for branch in branches.children.get(trunk, ()):
            if branch in found:
                continue
            before = network.uses[trunk][: branches.links_before[branch]]
            if before and steps[trunk] <= before[-1].last_step:
                found[branch], steps[branch] = found[trunk], float("-inf")
                waiting.append(branch)
    return found


def _step_in(context: Context, path: str, finding: Finding) -> float:
    """Step of a path at which a finding stands; its begin where it names no row of the path."""
    rows = set(finding.rows)
    return next(
        (row.step for row in context.network.chains[path].rows if row.id in rows), float("-inf")
    )
