"""Paths without a rate: dark, broken, unfed, or branches of such."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.budgets.power import dark_with
from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.context import Context
from backhaul.checks.dark import lines_on
from backhaul.findings import FAIL, Finding
from backhaul.path.links import COPPER, Link

#: The margin of light, which a book judges live: mended there, the path has its rate again.
OF_LIGHT_LEFT = "optical-margin"
#: What leaves a link of light dark whatever its margin.
OF_LIGHT = frozenset(
    ("optics-wavelength", "optics-speed", "strand-count", "fiber-mode", "connector-family")
)
#: Checks whose failure leaves a path without light, without a joint or without power.
STOPPING = frozenset(
    (
        "chain-broken",
        *OF_LIGHT,
        OF_LIGHT_LEFT,
        "feed-power",
        "poe-power",
        "poe-type",
        "poe-budget",
        "over-voltage",
        "supply-type",
    )
)
#: What may leave a copper link without a rate.
_OF_COPPER = ("copper-reach", "copper-rate")


class Stop(NamedTuple):
    """Why a path carries nothing, and the path in which that stands."""

    finding: Finding
    path: str


def stopped_paths(context: Context, findings: Iterable[Finding]) -> dict[str, Stop]:
    """Paths of data that carry nothing, each with the first cause.

    A path over copper on which no rate runs tells its rate and its year by its other links, too;
    what branches from it beyond is stopped.
    """
    failing = [finding for finding in findings if finding.severity == FAIL]
    stopped = _stopped(context, (f for f in failing if f.check in STOPPING))
    beyond = _stopped(context, (f for f in failing if _has_no_rate(context, f)))
    return {p: stop for p, stop in beyond.items() if stop.path != p} | stopped


def _stopped(context: Context, findings: Iterable[Finding]) -> dict[str, Stop]:
    """Paths on which these findings stand, and what branches from them beyond."""
    network, branches = context.network, context.branches
    on_row = lines_on(context)
    found: dict[str, Stop] = {}
    steps: dict[str, float] = {}
    for finding in findings:
        for path in finding.paths:
            if path in network.chains and network.carries_data(path):
                step = _step_in(context, path, finding, on_row)
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


def _has_no_rate(context: Context, finding: Finding) -> bool:
    """Whether a finding is of copper on which no rate runs."""
    if finding.check not in _OF_COPPER:
        return False
    rates = context.performance.rates
    rows = set(finding.rows)
    links = (link for link in context.network.links[COPPER] if rows & set(link.row_ids))
    return any(rates[link.key][0] != rates[link.key][0] for link in links)


def dead_links(context: Context, findings: Iterable[Finding]) -> list[Link]:
    """Links of light on which nothing runs, whatever their margin."""
    rows = {
        row
        for finding in findings
        if finding.severity == FAIL and finding.check in OF_LIGHT
        for row in finding.rows
    }
    return [link for link in context.optical.links if not rows.isdisjoint(link.row_ids)]


def _step_in(
    context: Context, path: str, finding: Finding, on_row: dict[int, list[PowerLine]]
) -> float:
    """Step of a path from which on it carries nothing; its end where that is not known.

    Where a feed fails, that is the first thing of the path that goes dark.
    """
    lines = [line for row in set(finding.rows) for line in on_row.get(row, ())]
    dark = dark_with(context.power, [equipment for line in lines for equipment in line.equipment])
    steps = [equipment.paths[path] for equipment in dark if path in equipment.paths]
    if not steps:
        rows = set(finding.rows)
        steps = [row.step for row in context.network.chains[path].rows if row.id in rows]
    return min(steps, default=float("inf"))
