"""Paths without a rate: dark, broken, unfed, or branches of such."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.budgets.power import dark_with
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
    """Step of a path from which on it carries nothing; its end where that is not known.

    Where a feed fails, that is the first thing of the path that goes dark.
    """
    rows = set(finding.rows)
    lines = [
        line
        for line in context.power.lines
        if not rows.isdisjoint(line.link.row_ids)
        or not rows.isdisjoint(line.source.equipment.row_ids)
    ]
    dark = dark_with(context.power, [equipment for line in lines for equipment in line.equipment])
    steps = [equipment.paths[path] for equipment in dark if path in equipment.paths]
    if not steps:
        steps = [row.step for row in context.network.chains[path].rows if row.id in rows]
    return min(steps, default=float("inf"))
