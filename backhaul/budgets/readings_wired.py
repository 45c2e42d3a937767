"""Readings of copper, supply and cables; what is ticked off, and numbers that are written down."""

from collections.abc import Iterator
from typing import Any

from backhaul.budgets.cable_runs import Run
from backhaul.budgets.orders import run_loops, run_needed_m
from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.reading_keys import equipment_key, row_name, run_key, site_key
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_reading import (
    BREAKER,
    CHANNEL,
    EXPECTED,
    HIGHEST,
    LENGTH,
    LOWEST,
    SERIAL,
    TICK,
    VOLTS,
    Bound,
    SiteReading,
)
from backhaul.design.kinds import COPPER, KINDS
from backhaul.figures import reading_formulas as formulas
from backhaul.figures.arrays import number
from backhaul.figures.power_terms import AC
from backhaul.path.equipment import Equipment
from backhaul.path.routes import least_length_m
from backhaul.wording import each_once


def at_site(index: SiteIndex, site: str | None) -> Iterator[SiteReading]:
    """Voltages, breakers, lengths, ticks and serial numbers of a site."""
    here = index.at[site]
    for line, loads in here.lines:
        yield _volts(index, site, line, loads)
    for line in here.feeds:
        if line.source.equipment.site == site:
            yield _breaker(site, line)
    for link in here.channels:
        yield _channel(index, site, link)
    for run in here.runs:
        if _is_measured(run):
            yield _length(index, site, run)
    yield from _ticks(site, here)
    for equipment in here.all_equipment:
        yield _serial(site, equipment)


def _is_measured(run: Run) -> bool:
    """A cable from site to site; of copper the channel is measured, inside a site nothing hangs on it."""
    leaves = run.ends[0].site != run.ends[1].site or run.ends[0].site is None
    is_copper = KINDS[run.row.kind].medium == COPPER
    return bool(leaves and not run.is_made and not is_copper and run.row.length_m)


def _volts(
    index: SiteIndex, site: str | None, line: PowerLine, loads: list[Equipment]
) -> SiteReading:
    names = each_once([load.label or load.part for load in loads])
    values = line.values
    nominal = "load_v" if line.is_poe else "nominal_load_v"
    lowest = Bound({"load_v": number(values["load_v"])}, digits=1)
    if number(values["least_v"]) == number(values["least_v"]) and len(line.loads) == 1:
        lowest = Bound(
            {name: number(values[name]) for name in ("load_v", "least_v")}, formulas.least_volts, 1
        )
    bounds = {
        EXPECTED: Bound({nominal: number(values[nominal])}, digits=1),
        LOWEST: lowest,
        HIGHEST: _most_volts(line, loads),
    }
    how = "in line at the load, the load at work"
    if not line.is_poe:
        how = "at the terminals, the load at work"
        if line.current == AC:
            how += "; by a licensed electrician"
    return SiteReading(
        equipment_key(loads[0], "poe" if line.is_poe else VOLTS),
        site,
        VOLTS,
        f"{'PoE' if line.is_poe else 'Feed'} voltage at {names}",
        "V",
        line,
        how=how,
        bounds=bounds,
        instrument="PoE tester" if line.is_poe else "multimeter",
    )


def _most_volts(line: PowerLine, loads: list[Equipment]) -> Bound:
    """What the source gives at the most: at no load, all of it arrives; no more than loads stand."""
    highest = number(line.values["highest_v"])
    stands = [
        number(figures["stands_v"])
        for load, figures in zip(line.equipment, line.load_values, strict=True)
        if load in loads
    ]
    known = [volts for volts in stands if volts == volts]
    if highest != highest and known:
        return Bound({"stands_v": min(known)}, digits=1)
    if not known or min(known) >= highest:
        return Bound({"highest_v": highest}, digits=1)
    return Bound({"highest_v": highest, "stands_v": min(known)}, formulas.most_volts, 1)


def _breaker(site: str | None, line: PowerLine) -> SiteReading:
    bounds = {}
    for name, term in ((EXPECTED, "breaker_a"), (LOWEST, "current_a"), (HIGHEST, "rated_a")):
        value = number(line.values[term])
        if value == value:
            bounds[name] = Bound({term: value}, digits=1)
    if HIGHEST in bounds and number(line.values["relied_on_a"]) > 0:
        trips = {name: number(line.values[name]) for name in ("short_circuit_a", "breaker_a")}
        if all(value == value for value in trips.values()):
            values = {**bounds[HIGHEST].values, **trips}
            bounds[HIGHEST] = Bound(values, formulas.breaker_high_a, 1)
    return SiteReading(
        run_key(line.link.run, BREAKER),
        site,
        BREAKER,
        f"Breaker, {_run_name(line.link)}",
        "A",
        line,
        how="the rating printed on it, or on the fuse; it carries what is drawn, the run carries it, "
        "a short trips it (type B)",
        bounds=bounds,
    )


def _run_name(link: Any) -> str:
    """Label of a run; without one what it joins, as steps may be renumbered."""
    if link.run.label or link.near is None or link.far is None:
        return row_name(link.run)
    near, far = (each.label or each.part for each in (link.near, link.far))
    return f"{near} – {far}"


def _channel(index: SiteIndex, site: str | None, link: Any) -> SiteReading:
    copper, coppers = index.evaluation.copper, index.evaluation.catalog.coppers
    grade = (
        each_once(
            [
                coppers[row.part].category
                for row in link.rows
                if KINDS[row.kind].is_run and row.part in coppers
            ]
        )
        or "its category"
    )
    return SiteReading(
        run_key(link.run, CHANNEL),
        site,
        CHANNEL,
        f"Copper, {_run_name(link)}",
        "m",
        link,
        how=f"tester set to {grade}, with cords (TIA-1152-A, IEC 61935-1): the length once it passes",
        bounds={
            EXPECTED: Bound({"length_m": number(copper.length_m[link.index])}, digits=1),
            HIGHEST: Bound({"limit_m": number(copper.limit_m[link.index])}, digits=1),
        },
        instrument=f"cable tester ({grade})",
    )


def _length(index: SiteIndex, site: str | None, run: Run) -> SiteReading:
    project = index.evaluation.design.project
    outdoors = index.evaluation.context.is_outdoor(run.row)
    values = {
        "length_m": number(run.row.length_m),
        "slack_percent": float(project.cable_slack_percent),
        "loop_m": float(project.loop_m),
        "loops": float(run_loops(run.row, run.record, is_outdoor=outdoors)),
    }
    sites = index.evaluation.design.sites
    ends = [sites[end.site] for end in run.ends if end.site in sites]
    least = least_length_m(run.row, ends)
    bounds = {
        EXPECTED: Bound({"length_m": values["length_m"]}, digits=1),
        HIGHEST: Bound(values, run_needed_m, 1),
    }
    if least is not None:
        # a run that is shorter in the design as well is a finding, its reading is not off for it
        bounds[LOWEST] = Bound(
            {"length_m": values["length_m"], "straight_m": least}, formulas.least_length_m, 1
        )
    how = "marks on the sheath"
    if run.is_fiber:
        how += ", or reflectometer: glass is 1 to 5 % longer than the sheath (common practice)"
    return SiteReading(
        run_key(run.row, LENGTH),
        site,
        LENGTH,
        f"Length of {run.name}",
        "m",
        run,
        how=f"{how}; beyond the highest, into the design",
        bounds=bounds,
    )


def _ticks(site: str | None, here: Any) -> Iterator[SiteReading]:
    """What is looked at and answered by yes or no."""
    if not (here.all_equipment or here.optics or here.touching):
        return
    ticks = [
        (
            "earth",
            "Earth bonding done and tested",
            (
                "protectors, screens, mast, cabinet on one earth; resistance by local codes, by a "
                "licensed person"
            ),
            "earth tester",
        )
    ]
    if here.ends:
        ticks.append(
            (
                "faces",
                "End faces inspected and clean",
                "every plug before it is mated (IEC 61300-3-35); the far end dark",
                "fiber microscope and cleaner",
            )
        )
    if here.terminals:
        ticks.append(
            (
                "fixings",
                "Mount and fixings accepted",
                "by the engineer who is responsible for the structure",
                "",
            )
        )
    for name, label, how, instrument in ticks:
        yield SiteReading(
            site_key(site, name), site, TICK, label, "", site, how=how, instrument=instrument
        )


def _serial(site: str | None, equipment: Equipment) -> SiteReading:
    name = equipment.label or equipment.part
    return SiteReading(
        equipment_key(equipment, SERIAL),
        site,
        SERIAL,
        f"Serial number of {name}",
        "",
        equipment,
        is_optional=True,
    )
