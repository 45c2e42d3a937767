"""PoE: does every load get its power and its voltage, and who goes dark if not."""

from collections.abc import Iterator
from math import isnan
from typing import Any

from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.checks.dark import missing_figure, paths_behind, paths_behind_all, paths_without
from backhaul.checks.power_limits import is_above, shorter, stronger
from backhaul.figures.power_judgements import GRANT, POE_POWER, POE_VOLTAGE
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.equipment import Equipment
from backhaul.path.ports import PASSIVE
from backhaul.physics import copper
from backhaul.physics.poe import NO_CLASS, POE_CLASSES, assigned_class
from backhaul.wording import against, steps_text

_SOURCE = "IEEE 802.3 Clauses 33, 145"
#: Loads that a message names; of more it tells how many.
_NAMED = 3


def poe_power(context: Context) -> Iterator[Finding]:
    """poe-power: a load that its line cannot carry, or that nothing feeds."""
    drops = [line for line in context.power.lines if line.is_poe]
    values = [line.values for line in drops]
    words = POE_POWER.words_of(values)
    yield from _grants(context, drops, words)
    low = POE_VOLTAGE.words_of(values)
    for line, power, voltage in zip(drops, words, low, strict=True):
        if not power == voltage == PASS:
            yield from _poe_line(context, line, power, voltage)
    needs: dict[str, bool] = {}
    for equipment in context.network.all_equipment.values():
        if equipment.part not in needs:
            needs[equipment.part] = _needs_poe(context, equipment)
        if not needs[equipment.part] or equipment.key in context.power.to_load:
            continue
        yield on_equipment(
            "poe-power",
            FAIL,
            equipment,
            "part",
            f"nothing feeds {equipment.name}",
            paths=paths_without(context, (), [equipment]),
            remedy="add the copper from a port that sources PoE, or its injector",
            source=_SOURCE,
        )


def _needs_poe(context: Context, equipment: Equipment) -> bool:
    supply = equipment.record.supply
    ports = context.catalog.ports.get(equipment.part, ())
    return supply == "PoE" or (
        supply in (None, "none", "") and any(port.poe == "load" for port in ports)
    )


def _poe_line(context: Context, line: PowerLine, power: str, voltage: str) -> Iterator[Finding]:
    """What is wrong with a drop. power, voltage: what they are judged."""
    values = line.values
    source, load = line.source.equipment, line.load.equipment
    what = f"{load.name} from {source.name}"

    def finding(severity, message, **details):
        details.setdefault("paths", paths_behind(context, line))
        details.setdefault("source", f"{_SOURCE}; constant power on a line")
        return on_row("poe-power", severity, line.run, "part", message, **details)

    if power == THIN:
        yield finding(
            THIN,
            f"the power of {what} cannot be calculated: {missing_figure(values)}",
            remedy="fill length_m, or give the figure in the catalogue",
        )
        return
    if not values["solvable"]:
        most = values["source_v"] ** 2 / (4 * values["seen_ohm"])
        asked, carried = against(values["load_w"], most)
        yield finding(
            FAIL,
            f"no solution: {asked} W for {what}, the line carries at most {carried} W at any "
            "current",
            remedy=shorter(context, line),
            value=values["load_w"],
            limit=most,
            unit="W",
        )
        return
    if power == FAIL:
        drawn, given = against(values["source_w"], values["limit_w"])
        yield finding(
            FAIL,
            f"{what} draws {drawn} W at the port, loss in the cable included; the port gives "
            f"{given} W",
            remedy=stronger(line),
            value=values["source_w"],
            limit=values["limit_w"],
            unit="W",
        )
    if voltage == FAIL:
        arrive, needed = against(values["load_v"], values["least_v"])
        yield finding(
            FAIL,
            f"{arrive} V arrive at {load.name} from {source.name}, it needs {needed} V",
            remedy=shorter(context, line),
            value=values["load_v"],
            limit=values["least_v"],
            unit="V",
        )


def _grants(context: Context, drops: list[PowerLine], powers: list[str]) -> Iterator[Finding]:
    """Loads that are granted a lower class than they ask for: one finding a source and class.

    powers: what the power of each drop is judged.
    """
    groups: dict[tuple, list[PowerLine]] = {}
    granted = GRANT.words_of([line.values for line in drops])
    for line, power, word in zip(drops, powers, granted, strict=True):
        if power == PASS and word != PASS and line.values["solvable"]:
            asked = line.load.port.poe_class
            key = (line.source.equipment.key, word, asked, _granted(line))
            groups.setdefault(key, []).append(line)
    for (_, word, asked, granted), lines in groups.items():
        found = on_row(
            "poe-power",
            word,
            lines[0].run,
            "part",
            paths=paths_behind_all(context, lines),
            **_grant(lines, word, asked, granted),
        )
        yield found._replace(rows=tuple(line.run.id for line in lines))


def _granted(line: PowerLine) -> int:
    """The class that a source grants to a load."""
    return int(
        assigned_class(
            load_class=line.load.port.poe_class,
            source_class=line.source.port.poe_class,
            source_v=round(line.values["source_v"], 6),
        )
    )


def _grant(lines: list[PowerLine], word: str, asked: int, granted: int) -> dict:
    """What a source grants, against what its loads ask for."""
    volts, most_w = lines[0].values["source_v"], max(line.values["load_w"] for line in lines)
    names = [line.load.equipment.name for line in lines]
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    loads = ", ".join(names[:_NAMED]) + more
    given = "no class" if granted == NO_CLASS else f"class {granted}"
    works = (
        f"the load works on {POE_CLASSES[granted].load_w:g} W of it"
        if word == THIN
        else f"too little for {most_w:.1f} W"
    )
    needed_v = POE_CLASSES[asked].source_min_v
    low = f", {needed_v:g} V at the port" if volts < needed_v else ""
    return {
        "message": f"{loads} from {lines[0].source.equipment.name}: class {asked} is asked for, "
        f"{given} is granted at {volts:.1f} V; {works}",
        "remedy": f"use a source of class {asked} ({POE_CLASSES[asked].source_w:g} W){low}",
        "value": granted,
        "limit": asked,
        "unit": "class",
        "source": "IEEE 802.3-2018 Table 33-11, IEEE 802.3bt-2018 Table 145-16",
    }


def poe_type(context: Context) -> Iterator[Finding]:
    """poe-type: a passive feed against a classified port."""
    for link in context.copper.links:
        a, b = link.near_port, link.far_port
        if a is None or b is None:
            continue
        for source, load, load_equipment in ((a, b, link.far), (b, a, link.near)):
            if source.poe != "source":
                continue
            passive = source.poe_class == PASSIVE
            if load.poe == "load" and passive != (load.poe_class == PASSIVE):
                message = (
                    f"a passive feed into {load_equipment.part}, which expects a classified source"
                    if passive
                    else f"{load_equipment.part} takes a passive feed; a classified source never turns on"
                )
            elif passive and load.poe != "load":
                message = f"a passive feed, always live, into a data port of {load_equipment.part}"
            else:
                continue
            yield on_row(
                "poe-type",
                FAIL,
                link.run,
                "part",
                message,
                paths=paths_without(context, link.paths, [load_equipment]),
                remedy="use a source and a load of one kind",
                source="IEEE 802.3 detection; passive feeds have none, common practice",
            )


def poe_budget(context: Context) -> Iterator[Finding]:
    """poe-budget: all loads of a source together, as computed and by class."""
    for source in context.sources:
        if source.limit_w is None or not source.is_poe:
            continue
        unknown = isnan(source.used_w)  # a drop without a solution, or a figure that is missing
        by_class = is_above(source.class_w, source.limit_w)
        computed = is_above(source.used_w, source.limit_w) or (unknown and by_class)
        if not computed and not by_class:
            continue
        found = on_equipment(
            "poe-budget",
            FAIL if computed else THIN,
            source.equipment,
            "part",
            f"{source.equipment.name}: " + _budget_words(source, computed=computed),
            # light that only passes through the device goes on
            paths=paths_behind_all(context, source.lines),
            remedy="spread the loads, or use a source with a larger budget",
            value=source.used_w if computed and not unknown else source.class_w,
            limit=source.limit_w,
            unit="W",
            source="IEEE 802.3 class powers",
        )
        drops = (line.run.id for line in source.lines)  # of a protector in line nothing is wrong
        yield found._replace(rows=tuple(dict.fromkeys((*found.rows, *drops))))


def _budget_words(source: Any, *, computed: bool) -> str:
    set_aside, budget = against(source.class_w, source.limit_w, 0)
    classes = f"their classes set aside {set_aside} W of {budget} W"
    if isnan(source.used_w):
        return f"what its loads draw is not known, {classes}"
    draw, budget = against(source.used_w, source.limit_w)
    return (
        f"its loads draw {draw} W, above its {budget} W"
        if computed
        else f"its loads draw {draw} W and fit, but {classes}"
    )


def poe_bundles(context: Context) -> Iterator[Finding]:
    """assumption: cables that carry much PoE are judged alone, not in a bundle."""
    strong = [
        line
        for line in context.power.lines
        if line.is_poe and copper.bundle_matters(source_w=line.values["source_w"])
    ]
    if strong:
        places = steps_text((line.link.paths[0], line.link.first_step) for line in strong[:8])
        yield on_row(
            "assumption",
            NOTE,
            strong[0].run,
            "part",
            f"drops of more than {copper.BUNDLE_RULE_ABOVE_W:g} W are judged alone ({places}): in "
            f"the midst of a bundle, cable is up to {copper.BUNDLE_RISE_MAX_K:g} K warmer",
            remedy="look the size of a bundle up in the local code, or type cable_temperature_c",
            value=copper.BUNDLE_RISE_MAX_K,
            unit="K",
            source="TIA TSB-184-A; ISO/IEC TS 29125; NFPA 70 725.144",
        )
