"""How voltages and supplies move with watts and resistances: computed anew, one percent higher.

A length moves a line as its resistance does: the spread of a run's resistance stands for both.
"""

from collections.abc import Iterator
from typing import Any

from backhaul.budgets.moves import Figure, Margin, Move
from backhaul.budgets.power import PowerBudget, power_budget, power_sources
from backhaul.budgets.power_solver import Factors
from backhaul.design.kinds import KINDS
from backhaul.figures.spreads import BY_BASIS, DRAWN, spread_of
from backhaul.path.links import COPPER
from backhaul.units import PERCENT

#: Computing a district anew for each of its parts is not worth the time.
MOST_LINES = 300
_STEP = 0.01
_OFFER = "data sheet of the offer"


def wired_moves(evaluation: Any) -> Iterator[Move]:
    """Voltages at loads and what supplies give, by part; lengths of copper against their reach."""
    yield from _reach(evaluation)
    budget = evaluation.power
    if not 0 < len(budget.lines) <= MOST_LINES:
        return
    loads = {load.part: load.record for line in budget.lines for load in line.equipment}
    cables = {
        row.part.part: row.part
        for line in budget.lines
        for row in line.rows
        if KINDS[row.row.kind].is_run
    }
    for part, record in loads.items():
        watts = getattr(record, "watts", None)
        if watts:
            yield from _moved(evaluation, "devices", record, "watts", watts, "W", part)
    for part, record in cables.items():
        if record.ohm_per_km:
            family = "coppers" if hasattr(record, "category") else "feeds"
            yield from _moved(
                evaluation, family, record, "ohm_per_km", record.ohm_per_km, "ohm/km", part
            )


def _moved(evaluation, family, record, column: str, value: float, unit: str, part: str):
    """What one figure moves, found by computing all lines with it one percent higher."""
    factors = {part: 1 + _STEP}
    changed = power_budget(
        evaluation.network,
        evaluation.catalog,
        evaluation.design,
        Factors(factors, {}) if column == "watts" else Factors({}, factors),
    )
    spread = spread_of(record.basis, unit, value)
    if column == "ohm_per_km":  # the length of the run besides
        spread = (spread**2 + (value * BY_BASIS[DRAWN].percent / PERCENT) ** 2) ** 0.5
    words = "own power" if column == "watts" else "resistance, and length of its runs"
    is_radio = column == "watts" and hasattr(record, "duplex")
    figure = Figure(
        "radios" if is_radio else family,
        part,
        column,
        f"{part}: {words}",
        float(value),
        unit,
        record.basis,
        spread,
        _OFFER if column == "watts" else f"{_OFFER}; measure the runs",
    )
    for margin, after in _margins(evaluation, evaluation.power, changed):
        yield Move(figure, margin, (after - margin.value) / (value * _STEP))


def _margins(
    evaluation: Any, now: PowerBudget, changed: PowerBudget
) -> Iterator[tuple[Margin, float]]:
    """Each margin as it is, and its value in the changed budget."""
    for number, (line, other) in enumerate(zip(now.lines, changed.lines, strict=True)):
        least = line.values["least_v"]
        label = f"{', '.join(line.link.paths[:2])}: voltage at {line.load.equipment.part}"
        cell = ("line", number, "load_v", "least_v")
        yield Margin(cell, label, line.values["load_v"], (least,)), other.values["load_v"]
    reserve = evaluation.design.project.supply_reserve_percent
    both = zip(
        power_sources(now, evaluation.network),
        power_sources(changed, evaluation.network),
        strict=True,
    )
    for place, (source, other) in enumerate(both):
        if source.limit_w is None or source.is_poe:
            continue
        edges = (source.limit_w, source.limit_w * (1 - reserve / PERCENT))
        label = f"supply {source.equipment.name}"
        cell = ("source", place, "used_w", reserve)
        yield Margin(cell, label, source.used_w, edges), other.used_w


def _reach(evaluation: Any) -> Iterator[Move]:
    copper = evaluation.copper
    for link in evaluation.network.links[COPPER]:
        limit, length = (float(getattr(copper, n)[link.index]) for n in ("limit_m", "length_m"))
        figure = Figure(
            "run",
            f"{link.index}",
            "length_m",
            f"{link.paths[0]} step {link.run.step:g}: length of the copper",
            length,
            "m",
            "as drawn",
            length * BY_BASIS[DRAWN].percent / PERCENT,
            "measure on site",
        )
        cell = ("copper", link.index, "length_m", "limit_m")
        yield Move(figure, Margin(cell, f"{link.paths[0]}: reach", length, (limit,)), -1.0)
