"""PoE and feeds: does every load get its power and its voltage, and who goes dark if not."""

from collections.abc import Iterator
from math import isnan, nan

from backhaul.budgets.power import Line, dark_with
from backhaul.checks.context import Context, on_equipment, on_link, on_row
from backhaul.checks.power_limits import (
    PASSIVE,
    is_above,
    is_below,
    load_min_v,
    shorter,
    source_limit_w,
    stronger,
    thicker,
)
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.path.equipment import Equipment
from backhaul.units import DECIMALS


def poe_power(context: Context) -> Iterator[Finding]:
    """poe-power: a load that its line cannot carry, or that nothing feeds."""
    for line in context.power.lines:
        if line.is_poe:
            yield from _poe_line(context, line)
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
            paths=_dark(context, (), [equipment]),
            remedy="add the copper from a port that sources PoE, or its injector",
            source="IEEE 802.3 Clauses 33, 145",
        )


def _needs_poe(context: Context, equipment: Equipment) -> bool:
    supply = equipment.record.supply
    ports = context.catalog.ports.get(equipment.part, ())
    return supply == "PoE" or (
        supply in (None, "none", "") and any(port.poe == "load" for port in ports)
    )


def _poe_line(context: Context, line: Line) -> Iterator[Finding]:
    values = line.values
    source, load = line.source, line.loads[0]
    what = f"{load.name} from {source.name}"

    def finding(severity, message, **details):
        return on_row(
            "poe-power",
            severity,
            line.link.run,
            "part",
            message,
            paths=_dark_paths(context, line),
            source="IEEE 802.3 Clauses 33, 145; constant power on a line",
            **details,
        )

    if isnan(values["load_w"]) or isnan(values["source_v"]) or isnan(values["loop_ohm"]):
        yield finding(
            THIN,
            f"the power of {what} cannot be had: {_missing(values)}",
            remedy="fill length_m, or give the figure in the catalogue",
        )
        return
    if not values["solvable"]:
        most = values["source_v"] ** 2 / (4 * values["loop_ohm"])
        yield finding(
            FAIL,
            f"no solution: {values['load_w']:.1f} W for {what}, the line carries at most "
            f"{most:.1f} W at any current",
            remedy=shorter(context, line),
            value=values["load_w"],
            limit=most,
            unit="W",
        )
        return
    limit = source_limit_w(line)
    if limit is not None and is_above(values["source_w"], limit):
        yield finding(
            FAIL,
            f"{what} draws {values['source_w']:.1f} W, the port gives {limit:g} W",
            remedy=stronger(line),
            value=values["source_w"],
            limit=limit,
            unit="W",
        )
    least = load_min_v(line)
    if least is not None and is_below(values["load_v"], least):
        yield finding(
            FAIL,
            f"{values['load_v']:.2f} V arrive at {load.name} from {source.name}, it "
            f"needs {least:g} V",
            remedy=shorter(context, line),
            value=values["load_v"],
            limit=least,
            unit="V",
        )


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
                paths=_dark(context, link.paths, [load_equipment]),
                remedy="use a source and a load of one kind",
                source="IEEE 802.3 detection; passive feeds have none, common practice",
            )


def poe_budget(context: Context) -> Iterator[Finding]:
    """poe-budget: all loads of a source together, as computed and by class."""
    for source in sources(context):
        if source["limit_w"] is None or not source["is_poe"]:
            continue
        limit, used, class_w = source["limit_w"], source["used_w"], source["class_w"]
        computed = is_above(used, limit)
        if not computed and not is_above(class_w, limit):
            continue
        equipment, lines = source["equipment"], source["lines"]
        paths = tuple(
            dict.fromkeys(
                path
                for line in lines
                for path in (_dark_paths(context, line) if computed else line.link.paths)
            )
        )
        yield on_equipment(
            "poe-budget",
            FAIL if computed else THIN,
            equipment,
            "part",
            f"{equipment.name}: its loads draw {used:.1f} W"
            + (
                f", above its {limit:g} W"
                if computed
                else f" and fit, but their classes set aside {class_w:g} W of {limit:g} W"
            ),
            paths=tuple(dict.fromkeys((*equipment.paths, *paths))),
            remedy="spread the loads, or use a source with a larger budget",
            value=used if computed else class_w,
            limit=limit,
            unit="W",
            source="IEEE 802.3 class powers",
        )


def sources(context: Context) -> tuple[dict, ...]:
    """What every source of the design gives and has, computed and by class."""
    return context.sources


def feed_power(context: Context) -> Iterator[Finding]:
    """feed-power: a supply run that cannot carry its load, or a supply that is too small."""
    for line in context.power.lines:
        if line.is_poe:
            continue
        yield from _feed_line(context, line)
    for source in sources(context):
        limit, used = source["limit_w"], source["used_w"]
        if source["is_poe"] or limit is None or not is_above(used, limit):
            continue
        line = source["lines"][0]
        paths = tuple(
            dict.fromkeys(path for each in source["lines"] for path in _dark_paths(context, each))
        )
        yield on_row(
            "feed-power",
            FAIL,
            line.link.run,
            "part",
            f"{source['equipment'].name} gives {limit:g} W, its feeds draw {used:.1f} W",
            paths=paths,
            remedy="use a larger supply, or a second one",
            value=used,
            limit=limit,
            unit="W",
        )
    for equipment in context.power.looped:
        yield on_equipment(
            "feed-power",
            FAIL,
            equipment,
            "part",
            f"{equipment.name} feeds itself round a loop",
            paths=_dark(context, (), [equipment]),
            remedy="take one of its feeds away",
        )


def _feed_line(context: Context, line: Line) -> Iterator[Finding]:
    values = line.values
    names = ", ".join(load.name for load in line.loads)

    def finding(severity, message, column="part", **details):
        return on_row(
            "feed-power",
            severity,
            line.link.run,
            column,
            message,
            paths=_dark_paths(context, line),
            **details,
        )

    output = getattr(line.source.record, "output", None)
    if output not in ("AC", "DC"):
        yield finding(
            FAIL,
            f"{line.source.name} has no output for a feed",
            remedy="begin the feed at a supply",
        )
        return
    for load in line.loads:
        if load.record.supply in ("AC", "DC") and load.record.supply != output:
            yield finding(
                FAIL,
                f"{load.name} takes {load.record.supply}, {line.source.name} gives {output}",
                remedy="use a supply of the other kind, or a converter at the load",
                value=load.record.supply,
                limit=output,
            )
    if any(isnan(values[key]) for key in ("load_w", "source_v", "loop_ohm")):
        yield finding(
            THIN,
            f"the feed of {names} cannot be computed: {_missing(values)}",
            remedy="fill length_m, or give the figure in the catalogue",
        )
        return
    if not values["solvable"]:
        yield finding(
            FAIL,
            f"no solution: the line from {line.source.name} cannot carry "
            f"{values['load_w']:.1f} W to {names} at any current",
            column="length_m",
            remedy=thicker(context, line),
            value=values["load_w"],
            unit="W",
            source="constant power on a line",
        )
        return
    for load in line.loads:
        least = load.record.supply_min_volts
        if least is not None and is_below(values["load_v"], least):
            yield finding(
                FAIL,
                f"{values['load_v']:.2f} V arrive at {load.name} from "
                f"{line.source.name}, it needs {least:g} V",
                column="length_m",
                remedy=thicker(context, line),
                value=values["load_v"],
                limit=least,
                unit="V",
                source="constant power on a line",
            )


def feed_drop(context: Context) -> Iterator[Finding]:
    """feed-drop: more voltage lost than is healthy, though the load still starts."""
    limit = context.design.project.feed_drop_percent
    for line in context.power.lines:
        drop = line.values.get("drop_percent", nan)
        if not line.is_poe and round(drop, DECIMALS) > limit:
            yield on_link(
                "feed-drop",
                THIN,
                line.link,
                line.link.run,
                "part",
                f"{drop:.1f} % of the voltage is lost, {limit:g} % is healthy",
                remedy=thicker(context, line),
                value=drop,
                limit=limit,
                unit="%",
                source="IEC 60364-5-52:2009 Annex G, informative (to be confirmed)",
            )


def feed_protection(context: Context) -> Iterator[Finding]:
    """feed-protection: the fault current that a breaker would see at the far end."""
    for line in context.power.lines:
        if line.is_poe or isnan(line.values.get("short_circuit_a", nan)):
            continue
        yield on_link(
            "feed-protection",
            CAUTION,
            line.link,
            line.link.run,
            "part",
            f"a short at the far end draws at most {line.values['short_circuit_a']:.1f} A: the "
            "breaker or fuse must clear that in time",
            remedy="protection is chosen by a licensed electrician under local codes",
            value=line.values["short_circuit_a"],
            unit="A",
            source="Ohm's law",
        )


def plugged_in_on_site(context: Context) -> Iterator[Finding]:
    """assumption: an AC or DC device without a feed is taken as plugged in on site."""
    for equipment in context.network.all_equipment.values():
        if equipment.record.supply in ("AC", "DC") and equipment.key not in context.power.to_load:
            volts = getattr(equipment.record, "supply_volts", None)
            what = f"{volts:g} V {equipment.record.supply}" if volts else equipment.record.supply
            yield on_equipment(
                "assumption",
                NOTE,
                equipment,
                "part",
                f"{equipment.name} is taken as plugged in on site ({what})",
                remedy="add a feed row if a run of its own brings the power",
            )


def _dark_paths(context: Context, line: Line) -> tuple[str, ...]:
    """Paths over a line and through everything that is dark when it fails."""
    return _dark(context, line.link.paths, line.loads)


def _dark(context: Context, first: tuple[str, ...], all_equipment) -> tuple[str, ...]:
    """The first paths, then those through the things and through what they feed."""
    dark = (
        path for equipment in dark_with(context.power, all_equipment) for path in equipment.paths
    )
    return tuple(dict.fromkeys((*first, *dark)))


def _missing(values) -> str:
    for key, what in (
        ("load_w", "the watts of the load are not known"),
        ("source_v", "the voltage of the source is not known"),
        ("loop_ohm", "the length of the run or the resistance of its conductors is not known"),
    ):
        if isnan(values[key]):
            return what
    return "a figure is missing"
