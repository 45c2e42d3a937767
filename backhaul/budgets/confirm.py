"""What to confirm first: the figures whose spread is the likeliest to turn a verdict.

Every margin knows how it moves with the figures that it rests on: from the declared influences, from
the lines of a hop's budget, or by computing copper and supply anew with a figure one percent higher.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from math import erfc, isfinite, sqrt
from typing import Any, NamedTuple

from backhaul.budgets.confirm_radio import radio_moves
from backhaul.budgets.confirm_wired import wired_moves
from backhaul.budgets.moves import Figure, Margin, Move
from backhaul.budgets.requirements_optical import shares_of
from backhaul.figures.optical_items import JOINT_TERMS, RUN_TERMS
from backhaul.figures.optical_terms import DIRECTION_TERMS
from backhaul.figures.spreads import DEMAND_PERCENT, spread_of
from backhaul.figures.terms import Input
from backhaul.units import PERCENT

#: Figures that are ranked; beyond so many spreads a verdict does not turn in practice.
MOST, FARTHEST = 40, 6.0
_LABELS = {
    figure.key: (figure.cell_label or figure.label.lower(), figure.unit)
    for figure in (*DIRECTION_TERMS, *RUN_TERMS, *JOINT_TERMS)
    if isinstance(figure, Input)
}


class Confirm(NamedTuple):
    """A figure to be confirmed, and the verdict that it may turn."""

    figure: Figure
    margin: Margin
    slope: float
    #: columns of the same part, or thing, that may turn a verdict too
    others: tuple[str, ...] = ()

    @property
    def reserve(self) -> float:
        """Spreads of the figure that the margin has before its verdict turns."""
        return self.margin.distance / (abs(self.slope) * self.figure.spread)

    @property
    def move(self) -> float:
        """How far the figure may be off before the verdict turns, in its unit."""
        return self.margin.distance / abs(self.slope)

    @property
    def chance(self) -> float:
        """Chance that it lies so far off on that side, the spread a standard deviation.

        >>> from backhaul.budgets.moves import Figure, Margin
        >>> figure = Figure("optics", "x", "sensitivity_dbm", "", -20, "dBm", "demo", 2.0, "")
        >>> round(Confirm(figure, Margin((), "", 2.0, (0.0,)), -1.0).chance, 3)
        0.159
        """
        return 0.5 * erfc(self.reserve / sqrt(2))


def confirm_first(evaluation: Any) -> tuple[Confirm, ...]:
    """Figures by how likely they turn a verdict, the likeliest first."""
    kept = evaluation.__dict__.get("confirm_first")
    if kept is None:
        kept = evaluation.__dict__["confirm_first"] = _ranked(_moves(evaluation))
    return kept


def _moves(evaluation: Any) -> Iterator[Move]:
    yield from _optical(evaluation)
    yield from radio_moves(evaluation)
    yield from wired_moves(evaluation)
    yield from _demands(evaluation)


def _ranked(moves: Iterable[Move]) -> tuple[Confirm, ...]:
    """The figure of each part that turns a verdict first; one that counts twice has both slopes."""
    slopes: dict[tuple, list] = {}
    for figure, margin, slope in moves:
        found = slopes.setdefault((figure.identity, margin.cell), [figure, margin, 0.0])
        found[2] += slope
    best: dict[tuple, tuple[float, Confirm]] = {}
    for (identity, _), (figure, margin, slope) in slopes.items():
        if not slope or not figure.spread > 0:
            continue
        if not all(map(isfinite, (margin.value, slope, figure.spread, *margin.edges))):
            continue
        found = Confirm(figure, margin, float(slope))
        reserve = found.reserve
        if identity not in best or reserve < best[identity][0]:
            best[identity] = reserve, found
    by_part: dict[tuple, list[Confirm]] = defaultdict(list)
    hopeful = [(reserve, found) for reserve, found in best.values() if reserve < FARTHEST]
    for _, found in sorted(hopeful, key=lambda one: (one[0], one[1].figure.identity)):
        by_part[found.figure.family, found.figure.name].append(found)
    firsts = [
        same[0]._replace(others=tuple(one.figure.column for one in same[1:]))
        for same in by_part.values()
    ]
    return tuple(sorted(firsts, key=lambda one: (one.reserve, one.figure.identity))[:MOST])


def _optical(evaluation: Any) -> Iterator[Move]:
    shares = shares_of(evaluation)
    wanted = {None: None, "": None} | {
        name: evaluation.optical.values[name].tolist()
        for name in {moved.influence.wanted for moved in shares.moved}
        if name
    }
    figures: dict[tuple, Figure] = {}
    margins: dict[tuple, Margin] = {}
    for moved in shares.moved:
        influence, place = moved.influence, moved.direction.place
        now = shares.values_of(moved)
        value = now[influence.input]
        column = _column(influence.input, moved)
        key = (moved.family, moved.part, column, influence.input, value)
        if key not in figures:
            figures[key] = _optical_figure(evaluation, moved, column, value)
        cell = ("light", place, influence.on, influence.wanted)
        if cell not in margins:
            asked = wanted[influence.wanted]
            edges = tuple(sorted({0.0 if asked is None else asked[place], 0.0}))
            link = moved.direction.link
            what = "light" if influence.on != "overload_margin_db" else "overload"
            where = f"{', '.join(link.paths[:2])} step {link.first_step:g}: {what}"
            margins[cell] = Margin(cell, where, now[influence.on], edges)
        yield Move(figures[key], margins[cell], influence.sign * now.get(influence.times, 1.0))


def _optical_figure(evaluation: Any, moved: Any, column: str, value: float) -> Figure:
    record = getattr(evaluation.catalog, moved.family)[moved.part]
    label, unit = _LABELS.get(moved.influence.input, (moved.influence.input, ""))
    return Figure(
        moved.family,
        moved.part,
        column,
        f"{moved.part}: {label}",
        value,
        unit,
        record.basis,
        spread_of(record.basis, unit, value),
        "data sheet of the offer",
    )


def _column(name: str, moved: Any) -> str:
    """Column of the catalogue of a figure of the budget."""
    if moved.family == "fibers":
        return f"max_db_km_{moved.direction.sender.tx_nominal_nm:g}"
    return {"channel_limit_db": "channel_loss_max_db", "each_max_db": "max_db"}.get(name, name)


def _demands(evaluation: Any) -> Iterator[Move]:
    """Demand of a path against its rate with the headroom kept free."""
    served = evaluation.performance.paths
    kept = 1 - evaluation.design.project.rate_headroom_percent / PERCENT
    asked: dict[str, float] = defaultdict(float)
    for path, of in served.items():
        if not of.has_demand or of.is_stopped:
            continue
        for way in ("up", "down"):
            rate, demand = (getattr(of, f"{name}_{way}_mbps") for name in ("rate", "demand"))
            if rate is None or not demand:
                continue
            asked[path] += demand
            figure = Figure(
                "demand",
                path,
                way,
                f"{path}: demand {way}",
                float(demand),
                "Mb/s",
                "stated by the user",
                float(demand) * DEMAND_PERCENT / PERCENT,
                "those who use it",
            )
            cell = ("path", path, way)
            yield Move(figure, Margin(cell, f"{path}: rate", float(demand), (rate * kept,)), -1.0)
