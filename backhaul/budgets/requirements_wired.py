"""What equivalents of devices, supplies, copper, feeds and protectors must meet."""

from collections import Counter
from typing import Any

from backhaul.budgets.conductors import poe_pairs
from backhaul.budgets.orders import is_cord
from backhaul.budgets.power import Line, own_class
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, IS, Demand, stated, surroundings
from backhaul.design.kinds import KINDS
from backhaul.path.equipment import Equipment
from backhaul.path.links import COPPER, FEED
from backhaul.wording import length_text, rate_text

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
        what = f"ports {form}" + (f" at {rate_text(rate)}" if rate else "")
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
            round(poe, 1),
            "W",
            record.poe_budget_w,
            "sum by class of what it feeds",
            "poe_budget_w",
        )
    out = max(
        (
            sum(
                _drawn(line) for line in power.from_source.get(equipment.key, ()) if not line.is_poe
            )
            for equipment in all_equipment
        ),
        default=0.0,
    )
    if any(not line.is_poe for line in lines):
        found += stated("output", IS, record.output, "", record.output, "", "output")
        found += stated(
            "output, nominal", IS, record.output_volts, "V", record.output_volts, "", "output_volts"
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
        if out:  # nothing is known to be drawn where a feed has no solution
            found += stated(
                "output power",
                AT_LEAST,
                round(out, 1),
                "W",
                record.output_w,
                "what stands behind it, losses counted",
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
            used[(port.form, _rate(evaluation, link), _poe_words(evaluation, link, equipment))] += 1
        most |= used
    return sorted(most.items(), key=lambda item: (str(item[0][0]), -item[0][1], item[0][2]))


def _rate(evaluation: Any, link: Any) -> float:
    rate = evaluation.performance.rates.get(link.key, (0.0, 0.0))[0]
    return rate if rate == rate else 0.0


def _poe_words(evaluation: Any, link: Any, equipment: Equipment) -> str:
    line = evaluation.power.by_link.get(link.key)
    if line is None or not line.is_poe:
        return ""
    port = line.load_port
    kind = (
        f"class {port.poe_class}"
        if str(port.poe_class or "").isdigit()
        else (port.poe_class or "PoE")
    )
    return f"PoE {'source' if line.source is equipment else 'load'} {kind}"


def _ports_like(evaluation: Any, part: str, form: str, rate: float, poe: str) -> int:
    """Ports of our part of a form and rate, sourcing where a source is needed."""
    return sum(
        1
        for port in evaluation.catalog.ports.get(part, ())
        if port.form == form
        and (not rate or rate in port.rates_mbps)
        and ("source" not in poe or port.poe == "source")
    )


def _drawn(line: Line) -> float:
    drawn = line.values.get("source_w", 0.0)
    return 0.0 if drawn != drawn else drawn


def _supply_demands(evaluation: Any, record: Any, all_equipment: list[Equipment]) -> list[Demand]:
    """How it is fed: kind, voltage that arrives, most that it may take."""
    power = evaluation.power
    found: list[Demand] = []
    if record.supply not in _NONE:
        volts = f", {record.supply_volts:g} V" if record.supply_volts else ""
        words = f"{record.supply}{volts}"
        found += stated("supply", IS, words, "", words, "", "supply")
    lines = [line for equipment in all_equipment for line in power.to_load.get(equipment.key, ())]
    arriving = [line.values["load_v"] for line in lines]
    arriving = [volts for volts in arriving if volts == volts]
    if arriving:
        ours = getattr(record, "supply_min_volts", None)
        found += stated(
            "works down to",
            AT_MOST,
            int(10 * min(arriving)) / 10,
            "V",
            ours,
            "lowest voltage that arrives",
            "supply_min_volts",
        )
    if record.watts is not None and lines:
        found += stated(
            "own power",
            AT_MOST,
            record.watts,
            "W",
            record.watts,
            "as budgeted on its line",
            "watts",
        )
    return found


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
            pairs.add(poe_pairs(line))
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
            record.ohm_per_km,
            "ohm/km",
            record.ohm_per_km,
            f"carries PoE on {max(pairs)} pairs, as budgeted",
            "ohm_per_km",
        )
    if record.screened:
        found += stated(
            "screen", IS, "screened", "", "screened", "heat and reach were judged so", "screened"
        )
    if is_cord(record):
        found += stated("plugs", IS, "RJ45 on both ends", "", "RJ45 on both ends", "", "")
    return found + run_surroundings(record, sites)


def feed_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Conductors and jacket that an equivalent feed cable must have."""
    record = evaluation.catalog.feeds[part]
    found = stated(
        "conductors", AT_LEAST, record.area_mm2, "mm²", record.area_mm2, "two, copper", "area_mm2"
    )
    found += stated(
        "conductor, 20 °C",
        AT_MOST,
        record.ohm_per_km,
        "ohm/km",
        record.ohm_per_km,
        "as budgeted for voltage and drop",
        "ohm_per_km",
    )
    volts = [
        line.values["nominal_v"]
        for line in evaluation.power.lines
        if not line.is_poe and any(row.part == part for row in line.link.rows)
    ]
    volts = [v for v in volts if v == v]
    if volts:
        found += stated(
            "insulated for",
            AT_LEAST,
            max(volts),
            "V",
            None,
            "nominal; protection and installation by local code",
            "",
        )
    return found + run_surroundings(record, sites)


def run_surroundings(record: Any, sites: list[Any]) -> list[Demand]:
    """Jacket and temperature of a run: outdoors where either end is."""
    found: list[Demand] = []
    if any(site.outdoor for site in sites):
        found += stated(
            "jacket",
            IS,
            "for outdoors",
            "",
            "for outdoors" if record.outdoor else "for indoors",
            "a site of it is outdoors",
            "outdoor",
        )
    return found + surroundings(record, sites, enclosed=False, enclosure=False)


def protector_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """What an equivalent surge protector must pass and stand."""
    record = evaluation.catalog.protectors[part]
    found = stated("protects", IS, record.for_, "", record.for_, "", "for")
    rates, watts, volts = [], [], []
    for kind in (COPPER, FEED):
        for link in evaluation.network.links[kind]:
            if not any(row.part == part and (row.by or "") == by for row in link.rows):
                continue
            if kind == COPPER:
                rates.append(_rate(evaluation, link))
            line = evaluation.power.by_link.get(link.key)
            if line is not None:
                volts.append(line.values["nominal_v"])
                watts.append(_drawn(line))
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
            "nominal voltage of the run",
            "max_volts",
        )
    if max(watts, default=0.0):
        found += stated("passes power", AT_LEAST, round(max(watts), 1), "W", None, "", "")
    if record.ohm:
        found += stated(
            "resistance, out and back", AT_MOST, record.ohm, "ohm", record.ohm, "as budgeted", "ohm"
        )
    return found + surroundings(record, sites, enclosed=False)
