"""Who feeds whom, and what that takes: loads summed upward, voltages carried downward.

The need of a device is its own watts, its optics', and what it passes on over its efficiency, so
lines are computed from the last load to the supply, all lines of one depth at once.
"""

from collections import defaultdict
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.power_lines import (
    PowerLine,
    feed_groups,
    optics_watts,
    power_lines,
    set_depths,
)
from backhaul.budgets.power_solver import Factors, Solver
from backhaul.design.model import Design
from backhaul.path.equipment import Equipment
from backhaul.path.network import Network
from backhaul.physics.poe import POE_CLASSES


class PowerBudget(NamedTuple):
    """All lines with their figures, by source and by load."""

    lines: tuple[PowerLine, ...]
    by_link: dict[tuple, PowerLine]
    from_source: dict[tuple, list[PowerLine]]
    to_load: dict[tuple, list[PowerLine]]
    #: every figure of LINE_TERMS over the lines
    values: dict[str, np.ndarray]
    #: figures of LOAD_TERMS of everything that a line feeds
    loads: dict[tuple, dict[str, float]]
    #: figures of ROW_TERMS of every row of every line, by line and place
    rows: dict[str, list[list[float]]]
    #: things that feed themselves round a loop
    looped: tuple[Equipment, ...]
    #: feeds, those together that share a run
    feed_groups: tuple[tuple[PowerLine, ...], ...]


_AS_IT_IS = Factors({}, {})


def power_budget(
    network: Network, catalog: Any, design: Design, factors: Factors = _AS_IT_IS
) -> PowerBudget:
    """Find every line of a design and compute it, with what offers change."""
    lines = power_lines(network, catalog, design)
    from_source, to_load = defaultdict(list), defaultdict(list)
    for line in lines:
        from_source[line.source.equipment.key].append(line)
        for equipment in line.equipment:
            to_load[equipment.key].append(line)
    looped = set_depths(lines, from_source)
    solver = Solver(
        lines, from_source, to_load, optics_watts(network, catalog), design.project, factors
    )
    solver.run()
    return PowerBudget(
        lines,
        {line.link.key: line for line in lines},
        dict(from_source),
        dict(to_load),
        solver.values,
        solver.loads,
        solver.rows_by_line(),
        tuple(looped),
        feed_groups(lines),
    )


def dark_with(budget: PowerBudget, all_equipment: list[Equipment]) -> list[Equipment]:
    """These things and everything that they feed."""
    found: dict[tuple, Equipment] = {}
    waiting = list(all_equipment)
    while waiting:
        equipment = waiting.pop()
        if equipment.key not in found:
            found[equipment.key] = equipment
            for next_line in budget.from_source.get(equipment.key, ()):
                waiting.extend(next_line.equipment)
    return list(found.values())


def own_class(line: PowerLine) -> float:
    """Power that a source sets aside for a load by its class [W]; as computed where it has none."""
    poe_class = POE_CLASSES.get(line.load.port.poe_class)
    return poe_class.source_w if poe_class is not None else line.values["source_w"]


class PowerSource(NamedTuple):
    """What a source gives and has, over PoE or over feeds; NaN where a line has no solution."""

    equipment: Equipment
    lines: tuple[PowerLine, ...]
    is_poe: bool
    limit_w: float | None
    used_w: float
    class_w: float | None


def power_sources(budget: PowerBudget, network: Network) -> tuple[PowerSource, ...]:
    """What every source of a design gives and has, computed and by class."""
    found = []
    for key, lines in budget.from_source.items():
        equipment = network.all_equipment[key]
        for is_poe in (True, False):
            some = tuple(line for line in lines if line.is_poe == is_poe)
            if not some:
                continue
            name = "poe_budget_w" if is_poe else "output_w"
            found.append(
                PowerSource(
                    equipment,
                    some,
                    is_poe,
                    getattr(equipment.record, name, None),
                    float(sum(line.values["source_w"] for line in some)),
                    float(sum(own_class(line) for line in some)) if is_poe else None,
                )
            )
    return tuple(found)
