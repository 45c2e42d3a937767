"""Delay of links and paths, live over lengths, group indices and latencies.

Keys: `delay.{kind}.{index}` of a link, one way; a path's stands on Chain.
"""

from functools import reduce
from operator import add

from backhaul.book.plan import Plan
from backhaul.book.sheets.path_loads import add_up
from backhaul.book.sheets.shared import is_known
from backhaul.figures.delays import INDEX, RADIO_LATENCY, glass_of, hop_delay_us, run_delay_us
from backhaul.figures.optical_items import LENGTH
from backhaul.figures.path_figures import LATENCY
from backhaul.path.links import OPTICAL, RADIO, Link
from backhaul.spreadsheet.cells import Calc, SheetCell
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Sheet


def delay_key(link: Link) -> str:
    """Key of the delay of a link."""
    return f"delay.{link.kind}.{link.index}"


def lay_delays(plan: Plan, sheet: Sheet, kind: str) -> None:
    """Lay the delay of every link of a kind beside its sheet; leaves their keys in the plan."""
    rows = []
    for link in plan.evaluation.network.links[kind]:
        cell = _delay(plan, link)
        if cell is not None:
            plan.delays[link.key] = delay_key(link)
            rows.append((plan.link_steps(link), cell))
    if rows:
        sheet.helper("Delay of links, one way", ("link", LATENCY.unit), rows)


def delay_formula(plan: Plan, sheet: Sheet, path: str, key: str) -> str:
    """Formula text of the delay of a path under that key: its links, added.

    Copper drops are too short to count.
    """
    evaluation = plan.evaluation
    added = [
        (f"{{{plan.delays[use.link.key]}}}", evaluation.performance.delays_us[use.link.key])
        for use in evaluation.network.uses[path]
        if use.link.key in plan.delays
    ]
    parts: list[tuple] = []
    formula = add_up(key, added, parts).formula if added else "0"
    if parts:
        sheet.helper(f"Parts of the delay, {path}", (LATENCY.unit,), parts)
    plan.path_delays[path] = key
    return formula


def _delay(plan: Plan, link: Link) -> SheetCell | None:
    value = plan.evaluation.performance.delays_us.get(link.key, float("nan"))
    if not is_known(value):
        return None
    text = {OPTICAL: _of_glass, RADIO: _of_hop}[link.kind](plan, link)
    return Calc(delay_key(link), text, value, format="0.00")


def _of_glass(plan: Plan, link: Link) -> str:
    found = []
    for run in glass_of(link, plan.evaluation.catalog):
        given = {name: plan.inputs.of(each, run) for name, each in _GLASS.items()}
        found.append(run_delay_us(**{name: Cell.ref(key or "") for name, key in given.items()}))
    return reduce(add, found).text if found else "0"


_GLASS = {"length_m": LENGTH, "group_index": INDEX}


def _of_hop(plan: Plan, link: Link) -> str:
    way = plan.evaluation.radio.hops.directions[2 * link.index]
    latency = plan.inputs.of(RADIO_LATENCY, way)
    return hop_delay_us(
        distance_km=Cell.ref(f"air.{link.index}.distance_km"),
        latency_us=Cell.ref(latency) if latency else 0.0,
    ).text
