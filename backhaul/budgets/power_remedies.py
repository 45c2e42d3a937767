"""What would settle a line that loses too much: a thicker feed, a shorter copper run."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.conductors import row_resistance
from backhaul.budgets.power import Line
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design
from backhaul.figures.power_terms import LINE_TERMS
from backhaul.figures.terms import compute
from backhaul.path.network import Network

_GIVENS = ("source_v", "nominal_v", "power_factor", "load_w", "current")
#: Sizes of one system are offered for one another.
_GAUGE = "awg"
#: Figures are compared to this many decimals.
_DECIMALS = 6


class ThickerFeed(NamedTuple):
    part: str
    drop_percent: float


def thicker_feed(line: Line, network: Network, catalog: Any, design: Design) -> ThickerFeed | None:
    """The smallest feed of the catalogue on which the loads start and the drop is healthy."""
    parts = {row.part for row in line.link.rows if KINDS[row.kind].is_run}
    if len(parts) != 1:
        return None
    own = catalog.feeds[parts.pop()]
    least_v = max((load.record.supply_min_volts or 0.0 for load in line.loads), default=0.0)
    for part in _thicker(own, catalog):
        values = _with(line, part.part, network, catalog, design)
        if (
            values["solvable"]
            and round(values["load_v"] - least_v, _DECIMALS) >= 0
            and round(values["drop_percent"], _DECIMALS) <= design.project.feed_drop_percent
        ):
            return ThickerFeed(part.part, values["drop_percent"])
    return None


def _thicker(own: Any, catalog: Any) -> list[Any]:
    return sorted(
        (
            part
            for part in catalog.feeds.values()
            if None not in (part.ohm_per_km, part.area_mm2, own.ohm_per_km)
            and part.ohm_per_km < own.ohm_per_km
            and part.outdoor == own.outdoor
            and (_GAUGE in part.part.lower()) == (_GAUGE in own.part.lower())
        ),
        key=lambda part: part.area_mm2,
    )


def _with(line: Line, part: str, network, catalog, design) -> dict[str, Any]:
    """Figures of the line with its runs of another part."""
    ohm = reactance = 0.0
    for row in line.link.rows:
        run = row._replace(part=part) if KINDS[row.kind].is_run else row
        more = row_resistance(run, network, catalog, design, pairs=None)
        ohm, reactance = ohm + more[0], reactance + more[1]
    inputs = {key: np.array([line.values[key]]) for key in _GIVENS}
    inputs["loop_ohm"] = np.array([ohm])
    inputs["loop_reactance_ohm"] = np.array([reactance if line.values["current"] == "AC" else 0.0])
    return {key: column[0] for key, column in compute(LINE_TERMS, inputs).items()}


def longest_copper_m(
    line: Line, *, least_v: float | None, limit_w: float | None, catalog: Any
) -> float:
    """Longest channel of the same cables on which a PoE load is fed [m]; 0 where none is.

    From the loop at which the least voltage arrives, (V - Vmin) Vmin / P, at half the source
    voltage where the load asks for less, and from that at which the source gives its most.
    """
    volts, load_w = line.values["source_v"], line.values["load_w"]
    ends_v = max(least_v or 0.0, volts / 2)
    loop_ohm = (volts - ends_v) * ends_v / load_w if load_w > 0 else np.inf
    if limit_w is not None:
        loop_ohm = min(loop_ohm, (limit_w - load_w) * (volts / limit_w) ** 2)
    rows = line.link.rows
    fixed = sum(catalog.protectors[row.part].ohm or 0.0 for row in rows if KINDS[row.kind].protects)
    length_m = sum(row.length_m or 0.0 for row in rows if KINDS[row.kind].is_run)
    runs_ohm = line.values["loop_ohm"] - fixed
    if not runs_ohm > 0 or not np.isfinite(loop_ohm):
        return 0.0
    return max(0.0, float(np.floor(length_m * (loop_ohm - fixed) / runs_ohm)))
