"""What would settle a line: another feed, a shorter copper run, a smaller breaker."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.conductors import is_by_gauge, line_rows
from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_solver import row_figures
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design
from backhaul.figures.power_judgements import (
    CURRENT,
    DROP,
    FAULT,
    FEED_POWER,
    FEED_VOLTAGE,
    OVERLOAD,
    TRIP_MULTIPLE,
    UNFUSED,
    LineJudgement,
)
from backhaul.figures.power_terms import AC, LINE_TERMS, MAINS_CONDUCTORS
from backhaul.figures.terms import compute
from backhaul.findings import PASS
from backhaul.path.network import Network
from backhaul.physics.protection import largest_breaker_a

_SUMS = ("loop_ohm", "loop_reactance_ohm", "hot_ohm")


class OtherFeed(NamedTuple):
    part: str
    values: dict[str, Any]


def thicker_feed(
    line: PowerLine,
    network: Network,
    catalog: Any,
    design: Design,
    judgements: tuple[LineJudgement, ...] = (FEED_POWER, FEED_VOLTAGE, DROP, CURRENT),
) -> OtherFeed | None:
    """The smallest feed of the catalogue on which the line passes these judgements."""
    runs = [row for row in line.rows if KINDS[row.row.kind].is_run]
    if not runs:
        return None
    thinnest = max(runs, key=lambda row: row.part.ohm_per_km or 0.0).part
    for part in _thicker(thinnest, catalog, mains=line.current == AC):
        values = with_part(line, part.part, network, catalog, design)
        if all(judgement.word_of(values) == PASS for judgement in judgements):
            return OtherFeed(part.part, values)
    return None


def feed_for_current(line, network, catalog, design) -> OtherFeed | None:
    """The smallest feed that carries the current of the line."""
    return thicker_feed(line, network, catalog, design, (CURRENT,))


def feed_for_breaker(line, network, catalog, design) -> OtherFeed | None:
    """The smallest feed that the breaker in front of it, or the limit of its source, protects."""
    return thicker_feed(line, network, catalog, design, (FAULT, OVERLOAD, UNFUSED))


def breaker_for_feed(line: PowerLine) -> float | None:
    """Largest preferred rating that protects the feed as it is [A]; None where none does."""
    fault_a = line.values["short_circuit_a"]
    rating = float(largest_breaker_a(fault_a=fault_a, trip_multiple=TRIP_MULTIPLE))
    capacity = line.values["rated_a"]
    if capacity == capacity and rating > capacity:
        smaller = largest_breaker_a(fault_a=capacity * TRIP_MULTIPLE, trip_multiple=TRIP_MULTIPLE)
        rating = float(smaller)
    return rating if rating == rating else None


def earthed_twin(own: Any, catalog: Any) -> str | None:
    """The cable of the catalogue of the same size and place with a protective earth."""
    return next(
        (
            part.part
            for part in catalog.feeds.values()
            if part.area_mm2 == own.area_mm2
            and not catalog.is_hybrid(part.part)
            and part.outdoor == own.outdoor
            and (part.conductors or 0) == MAINS_CONDUCTORS
        ),
        None,
    )


def _thicker(own: Any, catalog: Any, *, mains: bool) -> list[Any]:
    """Feeds of less resistance for the same place, the smallest first; a blank fits any."""
    conductors = MAINS_CONDUCTORS if mains else own.conductors

    def fits(name: str, part: Any) -> bool:
        ours, theirs = getattr(own, name), getattr(part, name)
        return None in (ours, theirs) or ours == theirs

    return sorted(
        (
            part
            for part in catalog.feeds.values()
            if None not in (part.ohm_per_km, part.area_mm2, own.ohm_per_km)
            and not catalog.is_hybrid(part.part)
            and part.ohm_per_km < own.ohm_per_km
            and fits("outdoor", part)
            and (conductors is None or part.conductors in (None, conductors))
            and is_by_gauge(part) == is_by_gauge(own)
        ),
        key=lambda part: (part.area_mm2, part.part),
    )


def with_part(line: PowerLine, part: str, network, catalog, design) -> dict[str, Any]:
    """Figures of a line with its runs of another part; what shares them stays as it is."""
    rows = line_rows(line, network, catalog, design, part=part)
    return with_rows(line, list(rows))


def with_rows(line: PowerLine, rows: list[Any]) -> dict[str, Any]:
    """Figures of a line over other rows."""
    figures = row_figures(rows)
    share = np.array([row.share for row in line.rows])
    given = {key: np.array([value]) for key, value in line.values.items()}
    for key in _SUMS:
        given[key] = np.array([figures[key].sum()])
    given["seen_ohm"] = np.array([(figures["loop_ohm"] * share).sum()])
    given["seen_reactance_ohm"] = np.array([(figures["loop_reactance_ohm"] * share).sum()])
    for key, column in (
        ("rated_a", figures["capacity_a"]),
        ("capacity_a", figures["capacity_a"] / share),
    ):
        known = column[~np.isnan(column)]
        given[key] = np.array([known.min() if known.size else np.nan])
    return {key: column[0] for key, column in compute(LINE_TERMS, given).items()}


def longest_copper_m(line: PowerLine, catalog: Any) -> float:
    """Longest channel of the same cables on which a PoE load is fed [m]; 0 where none is.

    From the loop at which the least voltage arrives, (V - Vmin) Vmin / P, at half the source
    voltage where the load asks for less, and from that at which the source gives its most.
    """
    values = line.values
    volts, load_w, limit_w = values["source_v"], values["load_w"], values["limit_w"]
    least_v = values["least_v"] if values["least_v"] == values["least_v"] else 0.0
    ends_v = max(least_v, volts / 2)
    loop_ohm = (volts - ends_v) * ends_v / load_w if load_w > 0 else np.inf
    if limit_w == limit_w:
        loop_ohm = min(loop_ohm, (limit_w - load_w) * (volts / limit_w) ** 2)
    rows = line.link.rows
    fixed = sum(catalog.protectors[row.part].ohm or 0.0 for row in rows if KINDS[row.kind].protects)
    length_m = sum(row.length_m or 0.0 for row in rows if KINDS[row.kind].is_run)
    runs_ohm = values["loop_ohm"] - fixed
    if not runs_ohm > 0 or not np.isfinite(loop_ohm):
        return 0.0
    return max(0.0, float(np.floor(length_m * (loop_ohm - fixed) / runs_ohm)))
