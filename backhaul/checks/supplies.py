"""Supplies: what they give against what stands behind them, their reserve, their energy."""

from collections.abc import Iterator
from math import ceil, isfinite, isnan

from backhaul.budgets.energy import (
    HOURS,
    EnergyBalance,
    dark_percent,
    draws,
    duty_of,
    energy_balances,
    night_of,
)
from backhaul.budgets.power import PowerSource
from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.checks.dark import paths_behind_all
from backhaul.design.model import Site
from backhaul.figures.power_judgements import supply_word
from backhaul.findings import AUTONOMY_UNIT, BREAKER_UNIT, FAIL, NOTE, PASS, THIN, Finding
from backhaul.physics.energy import ARRAY_TO_LOAD, PANEL_DERATE, ROUND_TRIP
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import against, listed_with_and

_ENERGY = "IEEE 1013:2007, IEEE 1562:2007 (to be confirmed)"


def supply_limit(context: Context) -> Iterator[Finding]:
    """feed-power, supply-reserve: a supply that is too small, or has too little left."""
    reserve = context.design.project.supply_reserve_percent
    for source in context.sources:
        if source.is_poe or source.limit_w is None or isnan(source.used_w):
            continue
        word = str(
            supply_word(used_w=source.used_w, limit_w=source.limit_w, reserve_percent=reserve)
        )
        if word == PASS:
            continue
        is_over = word == FAIL
        kept = source.limit_w * (1 - reserve / 100)
        draw, most = against(source.used_w, source.limit_w if is_over else kept)
        finding = on_row(
            "feed-power" if is_over else "supply-reserve",
            word,
            source.lines[0].run,
            "part",
            f"{source.equipment.name} gives {source.limit_w:g} W, its feeds draw {draw} W"
            + ("" if is_over else f": above {most} W, {reserve:g} % are kept free"),
            paths=paths_behind_all(context, source.lines)
            if is_over
            else tuple(dict.fromkeys(path for line in source.lines for path in line.link.paths)),
            remedy=f"use a supply of {ceil(source.used_w / (1 - reserve / 100)):g} W or more, or a "
            "second one",
            value=source.used_w,
            limit=source.limit_w if is_over else kept,
            unit="W",
            source="rules of the project",
        )
        yield finding._replace(rows=tuple(line.run.id for line in source.lines))


def source_breaker(context: Context) -> Iterator[Finding]:
    """feed-current: the feeds of a source together draw more than its breaker carries."""
    for source in context.sources:
        rating = getattr(source.equipment.record, "breaker_a", None)
        drawn = sum(line.values["current_a"] for line in source.lines)
        if source.is_poe or rating is None or not round(drawn - rating, DECIMALS) > 0:
            continue
        draw, carries = against(drawn, rating)
        yield on_row(
            "feed-current",
            FAIL,
            source.lines[0].run,
            "part",
            f"the feeds of {source.equipment.name} draw {draw} A, its breaker carries {carries} A",
            paths=tuple(dict.fromkeys(path for line in source.lines for path in line.link.paths)),
            remedy="feed some of them from another way, or a way of a larger rating with conductors "
            "to match; protection is chosen by a licensed electrician under local codes",
            value=drawn,
            limit=rating,
            unit=BREAKER_UNIT,
            source="IEC 60364-4-43 clause 433.1, at the power factors of the loads",
        )._replace(rows=tuple(line.run.id for line in source.lines))


def supply_energy(context: Context) -> Iterator[Finding]:
    """supply-reserve: days that a battery carries, and panels that the worst month asks for."""
    yield from _unknown_batteries(context)
    for found in energy_balances(context.sources, context.design, context.power):
        if found.is_on_mains:
            yield from _bridged(found)
            continue
        yield from _cannot_avoid_the_dark(context, found)
        if found.missing or isnan(found.day_wh):
            missing = listed_with_and(found.missing)
            verb = "are" if len(found.missing) > 1 else "is"
            yield _on(
                context,
                found.source,
                THIN,
                f"energy not judged: {missing or 'what is drawn'} of {found.equipment.name} {verb} not "
                "known",
                remedy=_fill(found) if missing else "settle what its feeds ask for",
                source=_ENERGY,
            )
        elif found.is_short:
            days, wanted = against(found.autonomy_days, found.wanted_days)
            is_night = found.wanted_days > context.design.project.autonomy_days
            asked = f"the night alone takes {wanted}" if is_night else f"{wanted} wanted"
            yield _on(
                context,
                found.source,
                THIN,
                f"{found.equipment.name}: {found.day_wh:.0f} Wh a day{_part_of_day(found)}; its battery "
                "carries "
                f"{days} days without sun ({asked}), {_panels(found)}",
                remedy=f"{_larger(found)}, or a smaller load",
                value=found.autonomy_days,
                limit=found.wanted_days,
                unit=AUTONOMY_UNIT,
                source=_ENERGY,
            )


def _cannot_avoid_the_dark(context: Context, found: EnergyBalance) -> Iterator[Finding]:
    """Loads of which less is said to be drawn in the dark than can be: judged with what must be."""
    dark = dark_percent(found.source, context.design)
    for load in draws(found.source, context.power):
        typed, judged = load.night_percent, night_of(load, dark)
        if typed is None or not round(judged - typed, DECIMALS) > 0:
            continue
        on_h, light_h = (HOURS * share / PERCENT for share in (duty_of(load), PERCENT - dark))
        yield on_equipment(
            "assumption",
            NOTE,
            load.equipment,
            "night_percent",
            f"{load.equipment.name} draws its power for {on_h:.1f} h a day, the shortest day has "
            f"{light_h:.1f} h of light: {judged:.1f} % of it are taken in the dark at the least, "
            f"not {typed:g} %, and counted so",
            remedy="correct night_percent, or duty_percent",
            value=judged,
            unit="%",
            source=_ENERGY,
        )


def _fill(found: EnergyBalance) -> str:
    """Where the figures that are missing stand."""
    of_site = [name for name in found.missing if name in Site._fields]
    of_part = [name for name in found.missing if name not in of_site]
    places = (
        (of_site, f"of the site {found.equipment.site or ''}".rstrip()),
        (of_part, f"of {found.equipment.part} in a devices.csv of your own"),
    )
    return "fill " + "; ".join(f"{listed_with_and(n)} {where}" for n, where in places if n)


def _unknown_batteries(context: Context) -> Iterator[Finding]:
    """Days of autonomy are asked for, and nobody knows what a battery on the mains holds."""
    if "autonomy_days" not in context.design.project.typed:
        return
    for source in context.sources:
        record = source.equipment.record
        is_charged = not source.is_poe and getattr(record, "charge_w", None)
        if is_charged and getattr(record, "battery_wh", None) is None:
            yield _on(
                context,
                source,
                THIN,
                f"energy not judged: battery_wh of {source.equipment.name} is not known, "
                f"{context.design.project.autonomy_days:g} days are asked for",
                remedy="fill battery_wh",
                source=_ENERGY,
            )


def _part_of_day(found: EnergyBalance) -> str:
    """That loads do not draw their power all day, where they do not."""
    if found.duty_percent == PERCENT:
        return ""
    return f" ({found.load_w:.1f} W in {found.duty_percent:.0f} % of it)"


def _panels(found: EnergyBalance) -> str:
    """What the sun of the worst month asks for, with what is taken over the energy of a day."""
    if not isfinite(found.panel_needed_w):
        return f"without sun no panels suffice (it has {found.solar_w:.0f} W)"
    panels, has = against(found.panel_needed_w, found.solar_w, 0)
    return (
        f"{found.sun_hours:g} h of sun ask for {panels} W of panels: {ARRAY_TO_LOAD:g} times the "
        f"day over the {PERCENT * ROUND_TRIP * PANEL_DERATE:.0f} % that losses leave "
        f"(it has {has} W)"
    )


def _larger(found: EnergyBalance) -> str:
    """What falls short, as large as it has to be; what else, where no size suffices."""
    ways = []
    if round(found.autonomy_days, DECIMALS) < found.wanted_days:
        ways.append(
            f"a battery of {ceil(found.battery_needed_wh):g} Wh or more"
            if isfinite(found.battery_needed_wh)
            else "a battery that still gives energy in the cold of its site, or one kept warmer"
        )
    if round(found.solar_w, DECIMALS) < round(found.panel_needed_w, DECIMALS):
        ways.append(
            f"panels of {ceil(found.panel_needed_w):g} W or more"
            if isfinite(found.panel_needed_w)
            else "a source that needs no sun"
        )
    return " and ".join(ways)


def _on(context: Context, supply: PowerSource, severity: str, message: str, **details) -> Finding:
    paths = tuple(dict.fromkeys(path for line in supply.lines for path in line.link.paths))
    return on_equipment(
        "supply-reserve", severity, supply.equipment, "part", message, paths=paths, **details
    )


def _bridged(found: EnergyBalance) -> Iterator[Finding]:
    """A battery behind the mains bridges an outage: how long, as a note."""
    hours = found.autonomy_days * HOURS
    if hours == hours:
        yield on_equipment(
            "assumption",
            NOTE,
            found.equipment,
            "part",
            f"the battery of {found.equipment.name} carries its load for {hours:.1f} h without the "
            "mains",
            remedy="size it for the longest outage that is to be bridged",
            value=hours,
            unit="h",
            source=_ENERGY,
        )
