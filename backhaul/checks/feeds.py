"""Feeds: does every load get its voltage, do the conductors carry it, is a fault cleared."""

from collections.abc import Iterator

from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_remedies import earthed_twin
from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.checks.dark import missing_figure, paths_behind, paths_without
from backhaul.checks.feed_groups import failing, groups, on_feeds
from backhaul.checks.power_limits import ELECTRICIAN, carrying, protected, thicker
from backhaul.figures.power_judgements import (
    CURRENT,
    DROP,
    FAULT,
    FEED_POWER,
    FEED_VOLTAGE,
    OVERLOAD,
    TRIP_MULTIPLE,
)
from backhaul.figures.power_terms import AC, MAINS_CONDUCTORS
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.path.equipment import Equipment
from backhaul.units import DECIMALS
from backhaul.wording import against


def feeds(context: Context) -> Iterator[PowerLine]:
    return (line for line in context.power.lines if not line.is_poe)


def feed_power(context: Context) -> Iterator[Finding]:
    """feed-power: a supply run that cannot carry its load, or a supply that is too small."""
    for line in feeds(context):
        source = line.source.equipment
        if getattr(source.record, "output", None) not in ("AC", "DC"):
            yield on_row(
                "feed-power",
                FAIL,
                line.run,
                "part",
                f"{source.name} has no output for a feed",
                paths=paths_behind(context, line),
                remedy="begin the feed at a supply",
            )
    for lines in failing(context, FEED_POWER, lambda line: line.values["load_w"]):
        lines = [line for line in lines if _gives(line)]
        if lines:
            yield _not_carried(context, lines)
    for lines in failing(context, FEED_VOLTAGE, _missing_v):
        yield from _too_low(context, [line for line in lines if _gives(line)])
    for equipment in context.power.looped:
        yield on_equipment(
            "feed-power",
            FAIL,
            equipment,
            "part",
            f"{equipment.name} feeds itself round a loop",
            paths=paths_without(context, (), [equipment]),
            remedy="take one of its feeds away",
        )


def _gives(line: PowerLine) -> bool:
    return getattr(line.source.equipment.record, "output", None) in ("AC", "DC")


def _missing_v(line: PowerLine) -> float:
    """How far what arrives lies below what the loads of a feed start at [V]."""
    return line.values["least_v"] - line.values["load_v"]


def _not_carried(context: Context, lines: list[PowerLine]) -> Finding:
    """A line whose figures are missing, or that has no solution."""
    line, values = lines[0], lines[0].values
    names = ", ".join(equipment.name for equipment in line.equipment)
    if FEED_POWER.word_of(values) == THIN:
        return on_feeds(
            context,
            "feed-power",
            THIN,
            lines,
            "part",
            f"the feed of {names} cannot be computed: {missing_figure(values)}",
            remedy="fill length_m, or give the figure in the catalogue",
        )
    return on_feeds(
        context,
        "feed-power",
        FAIL,
        lines,
        "length_m",
        f"no solution: the line from {line.source.equipment.name} cannot carry "
        f"{values['load_w']:.1f} W to {names} at any current",
        remedy=thicker(context, line),
        value=values["load_w"],
        unit="W",
        source="constant power on a line",
    )


def _too_low(context: Context, lines: list[PowerLine]) -> Iterator[Finding]:
    """What arrives at loads, below what they start at; a feed with several loads by the load."""
    if not lines:
        return
    line = lines[0]
    for load, figures in zip(line.equipment, line.load_values, strict=True):
        least, volts = figures["least_v"], line.values["load_v"]
        if round(volts, DECIMALS) < round(least, DECIMALS):
            arrive, needed = against(volts, least)
            yield on_feeds(
                context,
                "feed-power",
                FAIL,
                lines,
                "length_m",
                f"{arrive} V arrive at {load.name} from {line.source.equipment.name}, it needs "
                f"{needed} V",
                paths=paths_without(
                    context,
                    tuple(dict.fromkeys(path for each in lines for path in each.link.paths)),
                    [load, *(equipment for each in lines[1:] for equipment in each.equipment)],
                ),
                remedy=thicker(context, line),
                value=volts,
                limit=least,
                unit="V",
                source="constant power on a line",
            )


def supply_type(context: Context) -> Iterator[Finding]:
    """supply-type: a supply of a kind that the load has no terminals for."""
    for line in feeds(context):
        output = getattr(line.source.record, "output", None)
        if output not in ("AC", "DC"):
            continue
        for load in line.equipment:
            takes = load.record.supply
            if takes == output:
                continue
            other = takes in ("AC", "DC")
            yield on_row(
                "supply-type",
                FAIL,
                line.run,
                "part",
                f"{load.name} takes {takes}, {line.source.equipment.name} gives {output}"
                if other
                else f"{load.name} has no terminals for a feed: it takes "
                + ("PoE" if takes == "PoE" else "no supply"),
                paths=paths_without(context, line.link.paths, [load]),
                remedy="use a supply of the other kind, or a converter at the load"
                if other
                else "put an injector before it, or use a part with such an input",
                value=takes,
                limit=output,
                shared=f"{takes} from {line.source.equipment.key}",
            )


def feed_drop(context: Context) -> Iterator[Finding]:
    """feed-drop: more voltage lost than is healthy, though the load still starts."""
    for lines in failing(context, DROP, lambda line: line.values["drop_percent"]):
        values = lines[0].values
        drop, limit = values["drop_percent"], values["healthy_drop_percent"]
        lost, healthy = against(drop, limit)
        yield on_feeds(
            context,
            "feed-drop",
            THIN,
            lines,
            "part",
            f"{lost} % of the voltage is lost, at most {healthy} % is wanted",
            paths=_paths(lines),
            remedy=thicker(context, lines[0]),
            value=drop,
            limit=limit,
            unit="%",
            source="IEC 60364-5-52:2009 Annex G, informative (to be confirmed)",
        )


def _paths(lines: list[PowerLine]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(path for line in lines for path in line.link.paths))


def feed_current(context: Context) -> Iterator[Finding]:
    """feed-current: more current than the conductors carry at the temperature around them."""
    for lines in failing(context, CURRENT, lambda line: line.values["current_a"]):
        values = lines[0].values
        current, capacity = values["current_a"], values["capacity_a"]
        flows, carried = against(current, capacity)
        yield on_feeds(
            context,
            "feed-current",
            FAIL,
            lines,
            "part",
            f"{flows} A flow, the conductors carry {carried} A there",
            remedy=carrying(context, lines[0]),
            value=current,
            limit=capacity,
            unit="A",
            source="IEC 60364-5-52:2009 Table B.52.2, from memory; alone, not bunched",
        )


def feed_protection(context: Context) -> Iterator[Finding]:
    """feed-protection: the fault current that a breaker would see at the far end."""
    for lines in failing(context, FAULT, lambda line: -line.values["short_circuit_a"]):
        fault, breaker = (lines[0].values[key] for key in ("short_circuit_a", "breaker_a"))
        needed = TRIP_MULTIPLE * breaker
        least, trips = against(fault, needed)
        yield on_feeds(
            context,
            "feed-protection",
            THIN,
            lines,
            "part",
            f"a short at the far end draws {least} A at the least, a {breaker:g} A breaker "
            f"of type B trips at once from {trips} A",
            paths=_paths(lines),
            remedy=protected(context, lines[0], by_residual_current=True),
            value=fault,
            limit=needed,
            unit="A",
            source="IEC 60898-1:2015 Table 2, IEC 60364-4-41 clause 411",
        )
    yield from _unknown_breakers(context)
    for lines in failing(context, OVERLOAD, lambda line: -line.values["rated_a"]):
        breaker, rated = (lines[0].values[key] for key in ("breaker_a", "rated_a"))
        lets, carried = against(breaker, rated)
        yield on_feeds(
            context,
            "feed-protection",
            THIN,
            lines,
            "part",
            f"the breaker of {lets} A lets more flow than the {carried} A that the "
            "conductors carry there",
            paths=_paths(lines),
            remedy=protected(context, lines[0], by_residual_current=False),
            value=breaker,
            limit=rated,
            unit="A",
            source="IEC 60364-4-43 clause 433.1 (to be confirmed)",
        )


def _unknown_breakers(context: Context) -> Iterator[Finding]:
    """A caution where nobody knows what clears a short."""
    for together in groups(context):
        lines = [
            line
            for line in together
            if line.values["short_circuit_a"] == line.values["short_circuit_a"]
            and line.values["breaker_a"] != line.values["breaker_a"]
        ]
        if lines:
            lines.sort(key=lambda line: line.values["short_circuit_a"])
            fault = lines[0].values["short_circuit_a"]
            yield on_feeds(
                context,
                "feed-protection",
                CAUTION,
                lines,
                "part",
                f"least fault current {fault:.1f} A: the fuse or breaker (rating not known) must "
                "clear it",
                paths=_paths(lines),
                remedy=ELECTRICIAN,
                value=fault,
                unit="A",
                source="Ohm's law, conductors at 70 °C",
            )


def protective_earth(context: Context) -> Iterator[Finding]:
    """feed-protection: a mains feed without an earth conductor."""
    for line in feeds(context):
        for row in line.rows if line.current == AC else ():
            conductors = getattr(row.part, "conductors", None)
            if conductors is None or conductors >= MAINS_CONDUCTORS:
                continue
            twin = earthed_twin(row.part, context.catalog)
            yield on_row(
                "feed-protection",
                THIN,
                row.row,
                "part",
                f"{row.part.part} has {conductors:g} conductors, a mains feed has a protective "
                "earth besides",
                paths=line.link.paths,
                remedy=f"use {twin or 'a cable with three conductors'}; {ELECTRICIAN}",
                value=conductors,
                limit=MAINS_CONDUCTORS,
                unit="conductors",
                source="IEC 60364-4-41 clause 411.3.1",
                shared=row.part.part,
            )


def plugged_in_on_site(context: Context) -> Iterator[Finding]:
    """assumption: an AC or DC device without a feed is taken as plugged in on site."""
    for equipment in context.network.all_equipment.values():
        supply = equipment.record.supply
        if supply not in ("AC", "DC") or equipment.key in context.power.to_load:
            continue
        volts = getattr(equipment.record, "supply_volts", None)
        what = f"{volts:g} V {supply}" if volts else supply
        has_no_mains = supply == "AC" and _is_bare(context, equipment)
        unsaid = f": no row says that outdoor {equipment.site} has mains" * has_no_mains
        yield on_equipment(
            "assumption",
            NOTE if supply == "AC" else THIN,
            equipment,
            "part",
            f"{equipment.name} is taken as powered on site ({what}){unsaid}",
            remedy="add a feed row if a run of its own brings the power",
            shared=f"{what} at {equipment.site}",
        )


def _is_bare(context: Context, equipment: Equipment) -> bool:
    """Whether nothing says that there is mains where new equipment stands outdoors."""
    site = context.design.sites.get(equipment.site or "")
    if site is None or not site.outdoor or equipment.segment.by == "existing":
        return False
    return not any(
        other.site == equipment.site and getattr(other.record, "output", None) == "AC"
        for other in context.network.all_equipment.values()
    )
