"""Who feeds whom, and what that takes: loads summed upward, voltages carried downward.

A line is a copper link that carries power or a feed. The need of a device is its own watts and
what it passes on over its efficiency, so lines are computed from the last load to the supply,
all lines of one depth at once.
"""

from collections import defaultdict
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.conductors import link_resistance, poe_pairs
from backhaul.design.model import Design
from backhaul.figures.arrays import number, numbers
from backhaul.figures.power_terms import AC, DC, LINE_TERMS, LOAD_TERMS
from backhaul.figures.terms import compute
from backhaul.path.equipment import Equipment
from backhaul.path.links import COPPER, FEED, Link
from backhaul.path.network import Network
from backhaul.path.ports import powers
from backhaul.physics.supply import POE_CLASSES

#: Efficiency of a device whose row leaves it blank (contract; common practice for converters).
DEFAULT_EFFICIENCY = 0.85
#: Rounds of carrying voltages down to sources that pass on what arrives.
_ROUNDS = 40


class Line:
    """A link that carries power from a source to its loads, and its figures."""

    __slots__ = (
        "depth",
        "is_reversed",
        "link",
        "load_port",
        "loads",
        "source",
        "source_port",
        "values",
    )

    def __init__(
        self,
        *,
        link: Link,
        source: Equipment,
        loads: list[Equipment],
        source_port,
        load_port,
        is_reversed: bool = False,
    ):
        self.link = link
        self.source = source
        self.loads = loads
        self.source_port = source_port
        self.load_port = load_port
        self.is_reversed = is_reversed  # the source is at the link's far end
        self.values: dict[str, Any] = {}
        self.depth = 0

    @property
    def is_poe(self) -> bool:
        return self.link.kind == COPPER


class PowerBudget(NamedTuple):
    """All lines with their figures, by source and by load."""

    lines: tuple[Line, ...]
    by_link: dict[tuple, Line]
    from_source: dict[tuple, list[Line]]
    to_load: dict[tuple, list[Line]]
    #: own_w, passed_on_w, efficiency, load_w of every thing that a line feeds
    loads: dict[tuple, dict[str, float]]
    #: things that feed themselves round a loop
    looped: tuple[Equipment, ...]


def power_budget(network: Network, catalog: Any, design: Design) -> PowerBudget:
    """Find every line of a design and compute it."""
    lines = [*_poe_lines(network), *_feed_lines(network)]
    from_source, to_load = defaultdict(list), defaultdict(list)
    for line in lines:
        from_source[line.source.key].append(line)
        for load in line.loads:
            to_load[load.key].append(line)
    looped = _set_depths(lines, from_source)
    inputs = {id(line): _line_givens(line, network, catalog, design) for line in lines}
    loads: dict[tuple, dict[str, float]] = {}
    passing = [line for line in lines if inputs[id(line)]["passes_on"]]
    for _ in range(_ROUNDS if passing else 1):
        loads.clear()
        for depth in sorted({line.depth for line in lines}):
            _compute_depth(
                [line for line in lines if line.depth == depth], inputs, from_source, loads
            )
        if not _carry_down(passing, inputs, to_load):
            break
    return PowerBudget(
        tuple(lines),
        {line.link.key: line for line in lines},
        dict(from_source),
        dict(to_load),
        loads,
        tuple(looped),
    )


def behind(budget: PowerBudget, line: Line) -> list[Equipment]:
    """Everything that is dark when a line fails: its loads and what they feed."""
    return dark_with(budget, line.loads)


def dark_with(budget: PowerBudget, all_equipment: list[Equipment]) -> list[Equipment]:
    """These things and everything that they feed."""
    found: dict[tuple, Equipment] = {}
    waiting = list(all_equipment)
    while waiting:
        equipment = waiting.pop()
        if equipment.key not in found:
            found[equipment.key] = equipment
            for next_line in budget.from_source.get(equipment.key, ()):
                waiting.extend(next_line.loads)
    return list(found.values())


def _poe_lines(network: Network):
    for link in network.links[COPPER]:
        for is_reversed, source, load, source_port, load_port in (
            (False, link.near, link.far, link.near_port, link.far_port),
            (True, link.far, link.near, link.far_port, link.near_port),
        ):
            if powers(source_port, load_port):
                yield Line(
                    link=link,
                    source=source,
                    loads=[load],
                    source_port=source_port,
                    load_port=load_port,
                    is_reversed=is_reversed,
                )
                break


def _feed_lines(network: Network):
    for link in network.links[FEED]:
        yield Line(link=link, source=link.near, loads=link.loads, source_port=None, load_port=None)


def _set_depths(lines, from_source) -> list[Equipment]:
    """Depth of a line: 0 feeds only loads that pass nothing on. Returns things in a loop."""
    looped: dict[tuple, Equipment] = {}
    done: set[int] = set()

    def visit(line: Line, above: tuple) -> int:
        if id(line) in done:
            return line.depth
        deepest = -1
        for load in line.loads:
            if load.key in above:
                looped[load.key] = load
                continue
            for below in from_source.get(load.key, ()):
                deepest = max(deepest, visit(below, (*above, load.key)))
        line.depth = deepest + 1
        done.add(id(line))
        return line.depth

    for line in lines:
        visit(line, (line.source.key,))
    return list(looped.values())


def _line_givens(line: Line, network: Network, catalog: Any, design: Design) -> dict[str, Any]:
    ohm, reactance = link_resistance(
        line.link, network, catalog, design, pairs=poe_pairs(line) if line.is_poe else None
    )
    record = line.source.record
    if line.is_poe:
        port = line.source_port
        poe_class = POE_CLASSES.get(port.poe_class)
        source_v, passes_on = port.volts, False
        if source_v is None:
            source_v, passes_on = _arriving_volts(record, poe_class), True
        nominal_v, current, factor = source_v, DC, 1.0
    else:
        nominal_v = getattr(record, "output_volts", None)
        source_v = getattr(record, "output_min_volts", None)
        source_v = nominal_v if source_v is None else source_v
        nominal_v = source_v if nominal_v is None else nominal_v
        passes_on = False
        current = AC if getattr(record, "output", None) == AC else DC
        factor = 1.0
        if current == AC:  # the lowest of several: a little more drop than by their sum
            factor = min((load.record.power_factor or 1.0 for load in line.loads), default=1.0)
    return {
        "source_v": number(source_v),
        "nominal_v": number(nominal_v),
        "loop_ohm": ohm,
        "loop_reactance_ohm": reactance if current == AC else 0.0,
        "power_factor": factor,
        "current": current,
        "passes_on": passes_on,
    }


def _arriving_volts(record: Any, poe_class: Any) -> float | None:
    """What a source passes on where no line of the design feeds it.

    A DC device has what it is supplied with; one on the mains makes the least of its class.
    """
    supplied = getattr(record, "supply_volts", None)
    if getattr(record, "supply", None) != AC and supplied is not None:
        return supplied
    return poe_class.source_min_v if poe_class else getattr(record, "output_volts", None)


def _own_watts(equipment: Equipment, line: Line) -> float:
    port = line.load_port
    if port is not None and port.watts is not None:
        return port.watts
    return number(equipment.record.watts)


def _compute_depth(lines, inputs, from_source, loads) -> None:
    needs: list[tuple[int, Equipment]] = []
    for place, line in enumerate(lines):
        needs.extend((place, load) for load in line.loads)
    own = np.array([_own_watts(load, lines[place]) for place, load in needs])
    passed = np.array(
        [sum(_drawn(below) for below in from_source.get(load.key, ())) for _, load in needs]
    )
    efficiency = numbers(
        (getattr(load.record, "efficiency", None) for _, load in needs), blank=DEFAULT_EFFICIENCY
    )
    values = compute(LOAD_TERMS, {"own_w": own, "passed_on_w": passed, "efficiency": efficiency})
    for index, (_, load) in enumerate(needs):
        loads[load.key] = {
            key: float(values[key][index])
            for key in ("own_w", "passed_on_w", "efficiency", "load_w")
        }
    places = np.array([place for place, _ in needs], dtype=int)
    line_givens = {
        key: np.array([inputs[id(line)][key] for line in lines])
        for key in (
            "source_v",
            "nominal_v",
            "loop_ohm",
            "loop_reactance_ohm",
            "power_factor",
            "current",
        )
    }
    line_givens["load_w"] = np.bincount(places, weights=values["load_w"], minlength=len(lines))
    computed = compute(LINE_TERMS, line_givens)
    columns = {key: np.asarray(column).tolist() for key, column in computed.items()}
    for index, line in enumerate(lines):
        line.values = {key: column[index] for key, column in columns.items()}
        line.values["passes_on"] = inputs[id(line)]["passes_on"]


def _drawn(line: Line) -> float:
    """What a line draws from its source; a line without a solution is counted as nothing."""
    drawn = line.values.get("source_w", 0.0)
    return 0.0 if drawn != drawn else drawn


def _carry_down(passing, inputs, to_load) -> bool:
    """Sources that pass on what arrives get the voltage that arrives; True while it still moves."""
    moved = False
    for line in passing:
        arriving = [
            above.values["load_v"]
            for above in to_load.get(line.source.key, ())
            if above.values["current"] != AC
        ]
        arriving = [volts for volts in arriving if volts == volts]
        if arriving:
            volts = min(arriving)
            held = inputs[id(line)]
            if not abs(held["source_v"] - volts) < 1e-9:
                held["source_v"] = held["nominal_v"] = volts
                moved = True
    return moved


def own_class(line: Line) -> float:
    """Power that a source sets aside for a load by its class [W]; as computed where it has none."""
    poe_class = POE_CLASSES.get(line.load_port.poe_class)
    if poe_class is not None:
        return poe_class.source_w
    drawn = line.values["source_w"]
    return 0.0 if drawn != drawn else drawn


def power_sources(budget: PowerBudget, network: Network) -> tuple[dict[str, Any], ...]:
    """What every source of a design gives and has, computed and by class."""
    rows = []
    for key, lines in budget.from_source.items():
        equipment = network.all_equipment[key]
        for is_poe in (True, False):
            some = [line for line in lines if line.is_poe == is_poe]
            if not some:
                continue
            name = "poe_budget_w" if is_poe else "output_w"
            rows.append(
                {
                    "equipment": equipment,
                    "lines": some,
                    "is_poe": is_poe,
                    "limit_w": getattr(equipment.record, name, None),
                    "used_w": float(sum(_drawn(line) for line in some)),
                    "class_w": float(sum(own_class(line) for line in some)) if is_poe else None,
                }
            )
    return tuple(rows)
