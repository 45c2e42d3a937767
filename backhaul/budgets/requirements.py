"""What an equivalent of each part on the order list must meet."""

from collections.abc import Callable
from typing import Any

from backhaul.budgets.order_lines import OrderLine
from backhaul.budgets.requirement import Demand, surroundings
from backhaul.budgets.requirements_cables import (
    copper_demands,
    feed_demands,
    lies_outdoors,
    protector_demands,
    run_surroundings,
)
from backhaul.budgets.requirements_glass import fiber_demands, joint_demands
from backhaul.budgets.requirements_optical import optic_demands
from backhaul.budgets.requirements_radio import antenna_demands, radio_demands
from backhaul.budgets.requirements_wired import device_demands

_WITH_SITES = {
    "devices": device_demands,
    "coppers": copper_demands,
    "feeds": feed_demands,
    "protectors": protector_demands,
    "radios": radio_demands,
    "antennas": antenna_demands,
}


def demands(evaluation: Any, line: OrderLine) -> tuple[Demand, ...]:
    """Limits for an equivalent of one line; none for extras and plugs, which nothing computes."""
    sites = [
        evaluation.design.sites[name]
        for name in dict.fromkeys(site for place in line.places for site in place.sites)
        if name in evaluation.design.sites
    ]
    if line.family in _WITH_SITES:
        return tuple(_WITH_SITES[line.family](evaluation, line.part, line.by, sites))
    if line.family == "optics":
        record = evaluation.catalog.optics[line.part]
        found = optic_demands(evaluation, line.part, line.by)
        rise_of = _case_rise(evaluation, line.part)
        return (*found, *surroundings(record, sites, enclosed=True, rise_of=rise_of))
    if line.family == "fibers":
        record = evaluation.catalog.fibers[line.part]
        found = fiber_demands(evaluation, line.part, line.by)
        outdoors = lies_outdoors(evaluation, line.part, line.by)
        return (*found, *run_surroundings(record, sites, outdoors=outdoors))
    if line.family == "joints":
        return tuple(joint_demands(evaluation, line.part, line.by))
    return ()


def _case_rise(evaluation: Any, part: str) -> Callable[[Any], float]:
    """Rise of an optic's case over ambient at a site, in the warmest of its devices [K]."""
    placed = [p for p in evaluation.context.placed if p.record.part == part and p.cage_rise_c]

    def rise_of(site: Any) -> float:
        here = [p for p in placed if any(s.site == site.site for s in p.sites)]
        return max((p.case_rise_c(site) for p in here), default=site.rise_c)

    return rise_of
