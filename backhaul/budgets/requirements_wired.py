"""What equivalents of devices and supplies must meet."""

from collections import Counter
from typing import Any

from backhaul.budgets.power import own_class
from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    IS,
    PORTS,
    Demand,
    down,
    stated,
    surroundings,
    up,
)
from backhaul.budgets.site_supply import site_volts
from backhaul.budgets.wired_slack import most_volts, wired_slack
from backhaul.design.kinds import KINDS
from backhaul.figures.power_judgements import ALLOWANCE_W
from backhaul.path.equipment import Equipment
from backhaul.units import PERCENT
from backhaul.wording import rate_text

_NONE = (None, "", "none")


def equipment_of(evaluation: Any, part: str, by: str) -> list[Equipment]:
    """Equipment of one part and provider."""
    return [
        equipment
        for equipment in evaluation.network.all_equipment.values()
        if equipment.part == part and (equipment.segment.by or "") == by
    ]


def device_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Ports, power and surroundings that an equivalent device must meet."""
    record, power = evaluation.catalog.devices[part], evaluation.power
    all_equipment = equipment_of(evaluation, part, by)
    found: list[Demand] = []
    for (form, rate, poe), count in ports_needed(evaluation, all_equipment):
        what = f"{PORTS}{form}" + (f" at {rate_text(rate)}" if rate else "")
        found += stated(
            what + (f", {poe}" if poe else ""),
            AT_LEAST,
            count,
            "",
            _ports_like(evaluation, part, form, rate, poe),
            "in use",
        )
    lines = [
        line for equipment in all_equipment for line in power.from_source.get(equipment.key, ())
    ]
    poe = max(
        (
            sum(own_class(line) for line in power.from_source.get(equipment.key, ()) if line.is_poe)
            for equipment in all_equipment
        ),
        default=0.0,
    )
    if poe:
        found += stated(
            "PoE budget",
            AT_LEAST,
            up(poe, 1),
            "W",
            record.poe_budget_w,
            "sum by class of what it feeds",
            "poe_budget_w",
        )
    out = _output_needed(evaluation, all_equipment)
    if any(not line.is_poe for line in lines):
        found += stated("output", IS, record.output, "", record.output, "", "output")
        found += stated(
            "output, nominal",
            AT_LEAST,
            record.output_volts,
            "V",
            record.output_volts,
            "the drop is judged from it",
            "output_volts",
        )
        found += stated(
            "output, lowest",
            AT_LEAST,
            record.output_min_volts or record.output_volts,
            "V",
            record.output_min_volts or record.output_volts,
            "as budgeted",
            "output_min_volts",
        )
        found += stated(
            "output, highest",
            AT_MOST,
            _most_given(lines),
            "V",
            max((line.values["highest_v"] for line in lines if not line.is_poe), default=None),
            "the highest voltage of its loads",
            "output_max_volts",
        )
        if out:  # nothing is known to be drawn where a feed has no solution
            found += stated(
                "output power",
                AT_LEAST,
                up(out, 1),
                "W",
                record.output_w,
                "what stands behind it, losses and reserve counted",
                "output_w",
            )
    found += _supply_demands(evaluation, record, all_equipment)
    return found + surroundings(record, sites, enclosed=KINDS["device"].enclosed)


def ports_needed(evaluation: Any, all_equipment: list[Equipment]) -> list[tuple[tuple, int]]:
    """Ports in use by form, rate and power: the most that one thing of a part needs."""
    most: Counter = Counter()
    wanted = {equipment.key for equipment in all_equipment}
    ports: dict[Any, list[tuple[str, Any]]] = {}
    for (key, name), link in evaluation.network.ports_in_use.items():
        if key in wanted:
            ports.setdefault(key, []).append((name, link))
    for equipment in all_equipment:
        used: Counter = Counter()
        for name, link in ports.get(equipment.key, ()):
            port = next(p for p in evaluation.catalog.ports[equipment.part] if p.port == name)
            used[
                (port.form, link_rate(evaluation, link), _poe_words(evaluation, link, equipment))
            ] += 1
        most |= used
    return sorted(most.items(), key=lambda item: (str(item[0][0]), -item[0][1], item[0][2]))


def link_rate(evaluation: Any, link: Any) -> float:
    rate = evaluation.performance.rates.get(link.key, (0.0, 0.0))[0]
    return rate if rate == rate else 0.0


def _poe_words(evaluation: Any, link: Any, equipment: Equipment) -> str:
    line = evaluation.power.by_link.get(link.key)
    if line is None or not line.is_poe:
        return ""
    port, is_source = line.load.port, line.source.equipment is equipment
    role = "PoE source" if is_source else "PoE load"
    if str(port.poe_class or "").isdigit():
        # more may be given, less may be taken
        return f"{role} of class {port.poe_class} or {'higher' if is_source else 'lower'}"
    return f"{role} {port.poe_class or 'PoE'}"


def _ports_like(evaluation: Any, part: str, form: str, rate: float, poe: str) -> int:
    """Ports of our part of a form and rate, sourcing where a source is needed."""
    return sum(
        1
        for port in evaluation.catalog.ports.get(part, ())
        if port.form == form
        and (not rate or rate in port.rates_mbps)
        and ("source" not in poe or port.poe == "source")
    )


def drawn_w(line: PowerLine) -> float:
    drawn = line.values.get("source_w", 0.0)
    return 0.0 if drawn != drawn else drawn


def _output_needed(evaluation: Any, all_equipment: list[Equipment]) -> float:
    """What a supply must give, with all offers at their edge and the reserve kept [W]."""
    kept = 1 - evaluation.design.project.supply_reserve_percent / PERCENT
    slack = wired_slack(evaluation)
    keys = {equipment.key for equipment in all_equipment}
    needed = 0.0
    for source in slack.sources:
        if source.equipment.key in keys and not source.is_poe and source.used_w == source.used_w:
            needed = max(needed, source.used_w / kept - ALLOWANCE_W)
    return needed


def _most_given(lines: list[PowerLine]) -> float | None:
    """Highest voltage that a source may give to what it feeds [V]."""
    most = [agreed_v(line) for line in lines if not line.is_poe]
    most = [volts for volts in most if volts == volts]
    return min(most) if most else None


def agreed_v(line: PowerLine) -> float:
    """Highest voltage that a source may give, and all behind it must stand [V]."""
    return round(most_volts(line), 2)


def _supply_demands(evaluation: Any, record: Any, all_equipment: list[Equipment]) -> list[Demand]:
    """How it is fed: kind, voltages that arrive, most that it may take."""
    slack = wired_slack(evaluation)
    found: list[Demand] = []
    lines = [
        line for equipment in all_equipment for line in slack.budget.to_load.get(equipment.key, ())
    ]
    arriving = [line.values["load_v"] for line in lines]
    arriving = [volts for volts in arriving if volts == volts]
    if record.supply not in _NONE:
        nominal = site_volts(record, evaluation.design.project.region)
        words = f"{record.supply}, {nominal:g} V" if nominal else record.supply
        # where the voltages that arrive are known, they are asked for and no nominal one
        found += stated("supply", IS, record.supply if arriving else words, "", words, "", "supply")
    if arriving:
        if record.supply_volts is not None:  # nothing starts above its nominal voltage
            arriving.append(record.supply_volts)
        # of PoE a load of its class works from the least that the standard lets arrive
        arriving += [v for line in lines if line.is_poe and (v := line.values["least_v"]) == v]
        ours = max((line.values["least_v"] for line in lines), default=None)
        found += stated(
            "supply voltage down to",
            AT_MOST,
            down(min(arriving), 1),
            "V",
            ours if ours == ours else None,
            "lowest voltage that arrives, all offers at their limits; of PoE that of its class",
            "supply_min_volts",
        )
    found += _endures(lines, all_equipment)
    port_watts = [line.load.port.watts for line in lines if line.is_poe and line.load.port.watts]
    ours = max(port_watts) if port_watts else record.watts
    if ours is not None and lines:
        found += stated(
            "own power",
            AT_MOST,
            down(ours * slack.watts(record.part), 1) if ours >= 1 else ours,
            "W",
            ours,
            "its share of what its line and source bear",
            "watts",
        )
    return found


def _endures(lines: list[PowerLine], all_equipment: list[Equipment]) -> list[Demand]:
    """Highest voltage that it must stand: what its source gives at the most."""
    keys = {equipment.key for equipment in all_equipment}
    given, stands = [], []
    for line in lines:
        for load, figures in zip(line.loads, line.load_values, strict=True):
            if load.equipment.key in keys:
                given.append(agreed_v(line))
                stands.append(figures["stands_v"])
    given = [volts for volts in given if volts == volts]
    known = [volts for volts in stands if volts == volts]
    return stated(
        "supply voltage up to",
        AT_LEAST,
        max(given) if given else None,
        "V",
        min(known) if known else None,
        "what its source gives at the most",
        "supply_max_volts",
    )
