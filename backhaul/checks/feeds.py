"""Feeds: does every load get its voltage, do the conductors carry it, is a fault cleared."""

from collections.abc import Iterator

from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_remedies import earthed_twin
from backhaul.checks.context import Context, on_equipment, on_link, on_row
from backhaul.checks.dark import missing_figure, paths_behind, paths_without
from backhaul.checks.power_limits import ELECTRICIAN, carrying, protected, thicker
from backhaul.figures.power_judgements import (
    CURRENT,
    DROP,
    FAULT,
    FEED_POWER,
    OVERLOAD,
    TRIP_MULTIPLE,
)
from backhaul.figures.power_terms import AC, MAINS_CONDUCTORS
from backhaul.findings import CAUTION, FAIL, NOTE, PASS, THIN, Finding
from backhaul.units import DECIMALS


def feeds(context: Context) -> Iterator[PowerLine]:
    return (line for line in context.power.lines if not line.is_poe)


def feed_power(context: Context) -> Iterator[Finding]:
    """feed-power: a supply run that cannot carry its load, or a supply that is too small."""
    for line in feeds(context):
        yield from _feed_line(context, line)
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


def _feed_line(context: Context, line: PowerLine) -> Iterator[Finding]:
    values, source = line.values, line.source.equipment
    names = ", ".join(equipment.name for equipment in line.equipment)

    def finding(severity, message, column="part", **details):
        details.setdefault("paths", paths_behind(context, line))
        return on_row("feed-power", severity, line.run, column, message, **details)

    if getattr(source.record, "output", None) not in ("AC", "DC"):
        yield finding(
            FAIL, f"{source.name} has no output for a feed", remedy="begin the feed at a supply"
        )
        return
    word = FEED_POWER.word_of(values)
    if word == THIN:
        yield finding(
            THIN,
            f"the feed of {names} cannot be computed: {missing_figure(values)}",
            remedy="fill length_m, or give the figure in the catalogue",
        )
    elif word == FAIL:
        yield finding(
            FAIL,
            f"no solution: the line from {source.name} cannot carry "
            f"{values['load_w']:.1f} W to {names} at any current",
            column="length_m",
            remedy=thicker(context, line),
            value=values["load_w"],
            unit="W",
            source="constant power on a line",
        )
    else:
        for load, figures in zip(line.equipment, line.load_values, strict=True):
            least = figures["least_v"]
            if round(values["load_v"], DECIMALS) < round(least, DECIMALS):
                yield finding(
                    FAIL,
                    f"{values['load_v']:.2f} V arrive at {load.name} from {source.name}, it needs "
                    f"{least:g} V",
                    column="length_m",
                    paths=paths_without(context, line.link.paths, [load]),
                    remedy=thicker(context, line),
                    value=values["load_v"],
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
            )


def feed_drop(context: Context) -> Iterator[Finding]:
    """feed-drop: more voltage lost than is healthy, though the load still starts."""
    for line in feeds(context):
        if DROP.word_of(line.values) != PASS:
            drop, limit = line.values["drop_percent"], line.values["healthy_drop_percent"]
            yield on_link(
                "feed-drop",
                THIN,
                line.link,
                line.run,
                "part",
                f"{drop:.1f} % of the voltage is lost, {limit:g} % is healthy",
                remedy=thicker(context, line),
                value=drop,
                limit=limit,
                unit="%",
                source="IEC 60364-5-52:2009 Annex G, informative (to be confirmed)",
            )


def feed_current(context: Context) -> Iterator[Finding]:
    """feed-current: more current than the conductors carry at the temperature around them."""
    for line in feeds(context):
        if CURRENT.word_of(line.values) != PASS:
            current, capacity = line.values["current_a"], line.values["capacity_a"]
            yield on_link(
                "feed-current",
                FAIL,
                line.link,
                line.run,
                "part",
                f"{current:.1f} A flow, the conductors carry {capacity:.1f} A there",
                paths=paths_behind(context, line),
                remedy=carrying(context, line),
                value=current,
                limit=capacity,
                unit="A",
                source="IEC 60364-5-52:2009 Table B.52.2, from memory; alone, not bunched",
            )


def feed_protection(context: Context) -> Iterator[Finding]:
    """feed-protection: the fault current that a breaker would see at the far end."""
    for line in feeds(context):
        values, row = line.values, line.run
        fault, breaker = values["short_circuit_a"], values["breaker_a"]
        if FAULT.word_of(values) != PASS:
            needed = TRIP_MULTIPLE * breaker
            yield on_link(
                "feed-protection",
                THIN,
                line.link,
                row,
                "part",
                f"a short at the far end draws {fault:.1f} A at the least, a {breaker:g} A breaker "
                f"of type B trips at once from {needed:g} A",
                remedy=protected(context, line, by_residual_current=True),
                value=fault,
                limit=needed,
                unit="A",
                source="IEC 60898-1:2015 Table 2, IEC 60364-4-41 clause 411",
            )
        elif fault == fault and breaker != breaker:
            yield on_link(
                "feed-protection",
                CAUTION,
                line.link,
                row,
                "part",
                f"a short at the far end draws {fault:.1f} A at the least: the breaker or fuse, "
                "whose rating is not known, must clear that in time",
                remedy=ELECTRICIAN,
                value=fault,
                unit="A",
                source="Ohm's law, conductors at 70 °C",
            )
        if OVERLOAD.word_of(values) != PASS:
            yield on_link(
                "feed-protection",
                THIN,
                line.link,
                row,
                "part",
                f"the breaker of {breaker:g} A lets more flow than the {values['rated_a']:.1f} A "
                "that the conductors carry there",
                remedy=protected(context, line, by_residual_current=False),
                value=breaker,
                limit=values["rated_a"],
                unit="A",
                source="IEC 60364-4-43 clause 433.1 (to be confirmed)",
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
            )


def plugged_in_on_site(context: Context) -> Iterator[Finding]:
    """assumption: an AC or DC device without a feed is taken as plugged in on site."""
    for equipment in context.network.all_equipment.values():
        supply = equipment.record.supply
        if supply not in ("AC", "DC") or equipment.key in context.power.to_load:
            continue
        volts = getattr(equipment.record, "supply_volts", None)
        what = f"{volts:g} V {supply}" if volts else supply
        yield on_equipment(
            "assumption",
            NOTE if supply == "AC" else THIN,
            equipment,
            "part",
            f"{equipment.name} is taken as plugged in on site ({what})",
            remedy="add a feed row if a run of its own brings the power",
        )
