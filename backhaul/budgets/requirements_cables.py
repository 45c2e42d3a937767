"""What equivalents of copper, feeds and protectors must meet."""

from typing import Any

from backhaul.budgets.conductors import poe_pairs
from backhaul.budgets.orders import is_cord
from backhaul.budgets.power import PowerBudget
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    IS,
    Demand,
    down,
    stated,
    surroundings,
    up,
)
from backhaul.budgets.requirements_wired import agreed_v, drawn_w, link_rate
from backhaul.budgets.wired_slack import wired_slack
from backhaul.design.kinds import KINDS
from backhaul.figures.power_terms import AC, MAINS_CONDUCTORS
from backhaul.path.links import COPPER, FEED
from backhaul.physics.protection import air_factor
from backhaul.wording import length_text, rate_text


def copper_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Category, conductors and jacket that an equivalent copper cable must have."""
    record, copper = evaluation.catalog.coppers[part], evaluation.copper
    found = stated("category", AT_LEAST, record.category, "", record.category, "", "category")
    rates, metres, pairs = [], [], set()
    for index, link in enumerate(copper.links):
        if not any(row.part == part and (row.by or "") == by for row in link.rows):
            continue
        if copper.rate_mbps[index] == copper.rate_mbps[index]:
            rates.append(float(copper.rate_mbps[index]))
            metres.append(float(copper.length_m[index]))
        line = evaluation.power.by_link.get(link.key)
        if line is not None:
            pairs.add(poe_pairs(line.source, line.load))
    if rates:
        found += stated(
            "carries",
            AT_LEAST,
            f"{rate_text(max(rates))} over {length_text(max(metres))}",
            "",
            None,
            "channel of its longest link, temperature counted",
        )
    if pairs:
        found += stated(
            "conductor, 20 °C",
            AT_MOST,
            None
            if record.ohm_per_km is None
            else down(record.ohm_per_km * wired_slack(evaluation).ohm(part), 2),
            "ohm/km",
            record.ohm_per_km,
            f"carries PoE on {max(pairs)} pairs, its share of what the lines bear",
            "ohm_per_km",
        )
    if record.screened:
        found += stated(
            "cable", IS, "screened", "", "screened", "heat and reach were judged so", "screened"
        )
    if is_cord(record):
        found += stated("plugs", IS, "RJ45 on both ends", "", "RJ45 on both ends", "", "")
    return found + run_surroundings(record, sites, outdoors=lies_outdoors(evaluation, part, by))


def feed_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Conductors and jacket that an equivalent feed cable must have."""
    record, slack = evaluation.catalog.feeds[part], wired_slack(evaluation)
    lines = [
        line
        for line in slack.budget.lines
        if not line.is_poe and any(row.row.part == part for row in line.rows)
    ]
    mains = any(line.current == AC for line in lines)
    found = stated(
        "conductors",
        AT_LEAST,
        MAINS_CONDUCTORS if mains else 2,
        "",
        record.conductors,
        "copper, one of them the protective earth" if mains else "copper",
        "conductors",
    )
    found += stated(
        "conductor, 20 °C",
        AT_MOST,
        down(record.ohm_per_km * slack.ohm(part), 2),
        "ohm/km",
        record.ohm_per_km,
        "its share of what voltage, drop and fault current bear",
        "ohm_per_km",
    )
    found += stated(
        "carries in air of 30 °C",
        AT_LEAST,
        _ampacity(slack.budget, part),
        "A",
        record.ampacity_a,
        "its current and the breaker before it, at the air there (IEC 60364-5-52)",
        "ampacity_a",
    )
    volts = [line.values["highest_v"] for line in lines]
    volts = [v for v in volts if v == v]
    if volts:
        found += stated(
            "insulated for",
            AT_LEAST,
            up(max(volts), 1),
            "V",
            None,
            "the highest of its source; protection and installation by local code",
            "",
        )
    return found + run_surroundings(record, sites, outdoors=lies_outdoors(evaluation, part, by))


def _ampacity(budget: PowerBudget, part: str) -> float | None:
    """Capacity in air of 30 °C that a feed needs: for its current, and for the breaker [A]."""
    needed = []
    for number, line in enumerate(budget.lines):
        if line.is_poe:
            continue
        for place, row in enumerate(line.rows):
            factor = float(air_factor(air_c=row.temperature_c)) if row.row.part == part else 0.0
            current = line.values["current_a"] * budget.rows["share"][number][place]
            if factor and current == current:
                lets = (line.values["lasting_a"], line.values["unfused_a"])
                needed.append(max(current, *(a for a in lets if a == a), 0.0) / factor)
    return up(max(needed), 1) if needed else None


def lies_outdoors(evaluation: Any, part: str, by: str) -> bool:
    """Whether any run of a cable lies outdoors."""
    return any(
        row.part == part
        and (row.by or "") == by
        and KINDS[row.kind].is_run
        and evaluation.context.is_outdoor(row)
        for row in evaluation.design.segments
    )


def run_surroundings(record: Any, sites: list[Any], *, outdoors: bool) -> list[Demand]:
    """Jacket and temperature of a run."""
    found: list[Demand] = []
    if outdoors:
        found += stated(
            "jacket",
            IS,
            "for outdoors" if record.outdoor else "for outdoors, not that of the class named",
            "",
            "for outdoors" if record.outdoor else "for indoors",
            "a run of it lies outdoors",
            "outdoor",
        )
    return found + surroundings(record, sites, enclosed=False, enclosure=False)


def protector_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """What an equivalent surge protector must pass and stand."""
    record = evaluation.catalog.protectors[part]
    found = stated("protects", IS, record.for_, "", record.for_, "", "for")
    rates, watts, volts, currents = [], [], [], set()
    for kind in (COPPER, FEED):
        for link in evaluation.network.links[kind]:
            if not any(row.part == part and (row.by or "") == by for row in link.rows):
                continue
            if kind == COPPER:
                rates.append(link_rate(evaluation, link))
            line = evaluation.power.by_link.get(link.key)
            if line is not None:
                volts.append(agreed_v(line))
                currents.add(line.current)
                watts.append(drawn_w(line))
    if max(rates, default=0.0):
        found += stated(
            "passes",
            AT_LEAST,
            max(rates) / 1000,
            "Gb/s",
            max(record.rates_mbps, default=0) / 1000,
            "",
            "rates_mbps",
        )
    volts = [v for v in volts if v == v]
    if volts:
        found += stated(
            "works at",
            AT_LEAST,
            max(volts),
            "V",
            record.max_volts,
            "the highest of its source, for good",
            "max_volts",
        )
    if len(currents) == 1:
        kind = currents.pop()
        found += stated("current", IS, kind, "", record.supply or kind, "of the line", "supply")
    if max(watts, default=0.0):
        found += stated("passes power", AT_LEAST, up(max(watts), 1), "W", None, "", "")
    if record.ohm:
        found += stated(
            "resistance, out and back", AT_MOST, record.ohm, "ohm", record.ohm, "as budgeted", "ohm"
        )
    return found + surroundings(record, sites, enclosed=False)
