"""Feeds: does every load get its voltage, do the conductors carry it."""

from collections.abc import Iterator

from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.site_supply import site_volts, takes_site_volts
from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.checks.dark import missing_figure, paths_behind, paths_without
from backhaul.checks.feed_groups import failing, feeds, on_feeds, paths_of
from backhaul.checks.power_limits import carrying, thicker
from backhaul.figures.power_judgements import (
    CURRENT,
    DROP,
    FEED_POWER,
    FEED_VOLTAGE,
)
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.equipment import Equipment
from backhaul.units import DECIMALS
from backhaul.wording import against


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
            paths=paths_of(lines),
            remedy=thicker(context, lines[0]),
            value=drop,
            limit=limit,
            unit="%",
            source="IEC 60364-5-52:2009 Annex G, informative (to be confirmed)",
        )


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


def plugged_in_on_site(context: Context) -> Iterator[Finding]:
    """assumption: an AC or DC device without a feed is taken as plugged in on site."""
    with_mains = {
        equipment.site
        for equipment in context.network.all_equipment.values()
        if getattr(equipment.record, "output", None) == "AC"
    }
    for equipment in context.network.all_equipment.values():
        supply = equipment.record.supply
        if supply not in ("AC", "DC") or equipment.key in context.power.to_load:
            continue
        region = context.design.project.region
        volts = site_volts(equipment.record, region)
        what = f"{volts:g} V {supply}" if volts else supply
        takes = takes_site_volts(equipment.record, region)
        has_no_mains = (
            supply == "AC" and equipment.site not in with_mains and _is_bare(context, equipment)
        )
        unsaid = f": no row says that outdoor {equipment.site} has mains" * has_no_mains
        yield on_equipment(
            "assumption",
            NOTE if supply == "AC" and takes else THIN,
            equipment,
            "part",
            f"{equipment.name} is taken as powered on site ({what}){unsaid}"
            + ", which it is not made for" * (not takes),
            remedy="add a feed row if a run of its own brings the power",
            shared=f"{what} at {equipment.site}",
        )


def _is_bare(context: Context, equipment: Equipment) -> bool:
    """Whether new equipment stands outdoors, where mains is to be had only if a row says so."""
    site = context.design.sites.get(equipment.site or "")
    return site is not None and bool(site.outdoor) and equipment.segment.by != "existing"
