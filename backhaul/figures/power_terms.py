"""The figures of a supply budget: rows of a line, loads, the line itself; PoE, DC and AC.

A line is a link that carries power from a source to its loads; constant power on a line. Where
several lines share a run by its label, that run carries the sum of their currents: each of them
sees it at its resistance times the share, the whole current over its own.
"""

from collections.abc import Callable
from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.figures.power_guard_terms import GUARD_TERMS, SOURCE_LIMITS
from backhaul.figures.power_places import (
    breaker_place,
    lowest_source_place,
    nominal_source_place,
    source_limit_place,
    stated_max_place,
)
from backhaul.figures.terms import ROW, Input, Term
from backhaul.path.ends import Place
from backhaul.physics import copper, poe, protection, supply, voltages

DC, AC = "DC", "AC"
#: Line, neutral and protective earth of a mains feed (IEC 60364-4-41 clause 411.3.1).
MAINS_CONDUCTORS = 3
#: How the resistance of a row is had.
PAIRS, FEED_RUN, SERIES = "pairs", "feed", "in line"
#: How the highest voltage of a source is had.
STATED, MAINS, CHARGED, CLASSIFIED, REGULATED, PASSED_ON = (
    "stated",
    "mains",
    "on charge",
    "PoE",
    "nominal",
    "passed on",
)
#: Efficiency of a device whose row leaves it blank (contract; common practice for converters).
DEFAULT_EFFICIENCY = 0.85
_CONSTANT = "constant power on a line, stable root"
_CAPACITY = "IEC 60364-5-52, at the air around"


class LineRow(NamedTuple):
    """A run or protector of a line; what it carries is `share` times the line's own current."""

    row: Any
    part: Any
    temperature_c: float
    pairs: int | None = None
    share: float = 1.0

    @property
    def medium(self) -> str:
        if not KINDS[self.row.kind].is_run:
            return SERIES
        return FEED_RUN if self.pairs is None else PAIRS


def _on_part(column: str) -> Callable[[LineRow], Place | None]:
    """Where a figure of the cable or protector stands, None where its family has none."""

    def place(row: LineRow) -> Place | None:
        if getattr(row.part, column, None) is None:
            return None
        return Place(row.part, column, KINDS[row.row.kind].families[0])

    return place


def _in_pairs(*, ohm_per_km, length_m, pairs, temperature_c):
    return copper.pairs_loop_ohm(
        ohm_per_km=ohm_per_km, length_m=length_m, pairs=pairs, temperature_c=temperature_c
    )


def _in_line(*, series_ohm):
    return series_ohm + 0


def _no_reactance(*, series_ohm):
    return series_ohm * 0


def _no_feed_reactance(*, length_m):
    return length_m * 0


def _hot_loop_ohm(*, length_m, ohm_per_km):
    return supply.feed_loop_ohm(
        length_m=length_m, ohm_per_km=ohm_per_km, temperature_c=protection.CONDUCTOR_LIMIT_C
    )


def _row_capacity_a(*, ampacity_a, temperature_c):
    return protection.capacity_a(ampacity_a=ampacity_a, air_c=temperature_c)


#: A run or protector of a line; `medium` is PAIRS, FEED_RUN or SERIES.
ROW_TERMS = (
    Input("length_m", "Length", "m", ROW, digits=1),
    Input(
        "ohm_per_km",
        "Resistance of a conductor at 20 °C",
        "ohm/km",
        _on_part("ohm_per_km"),
        digits=3,
    ),
    Input(
        "reactance_ohm_per_km",
        "Reactance of a conductor",
        "ohm/km",
        _on_part("reactance_ohm_per_km"),
        blank=0.0,
        digits=3,
    ),
    Input("ampacity_a", "Carries in air of 30 °C", "A", _on_part("ampacity_a"), digits=1),
    Input("series_ohm", "Resistance in line", "ohm", _on_part("ohm"), blank=0.0, digits=3),
    Term("temperature_c", "Cable", "°C", digits=1),
    Term("pairs", "Pairs", digits=0),
    Term(
        "loop_ohm",
        "Loop, warm",
        "ohm",
        {PAIRS: _in_pairs, FEED_RUN: supply.feed_loop_ohm, SERIES: _in_line},
        by="medium",
        digits=3,
    ),
    Term(
        "loop_reactance_ohm",
        "Reactance, loop",
        "ohm",
        {
            PAIRS: _no_feed_reactance,
            FEED_RUN: supply.feed_loop_reactance_ohm,
            SERIES: _no_reactance,
        },
        by="medium",
        digits=3,
    ),
    Term(
        "hot_ohm",
        "Loop, at 70 °C",
        "ohm",
        {PAIRS: _no_feed_reactance, FEED_RUN: _hot_loop_ohm, SERIES: _in_line},
        by="medium",
        digits=3,
    ),
    Term("capacity_a", "Carries", "A", _row_capacity_a, source=_CAPACITY, digits=1),
)


def _reactive_var(*, load_w, power_factor):
    return supply.reactive_var(load_w=load_w, power_factor=power_factor)


def _source_w(*, load_w, line_loss_w):
    return load_w + line_loss_w


def _dc_solvable(*, source_v, seen_ohm, load_w):
    return supply.dc_solvable(source_v=source_v, loop_ohm=seen_ohm, load_w=load_w)


def _dc_load_v(*, source_v, seen_ohm, load_w):
    return supply.dc_load_v(source_v=source_v, loop_ohm=seen_ohm, load_w=load_w)


def _ac_solvable(*, source_v, seen_ohm, seen_reactance_ohm, load_w, load_var):
    return supply.ac_solvable(
        source_v=source_v,
        loop_ohm=seen_ohm,
        loop_reactance_ohm=seen_reactance_ohm,
        load_w=load_w,
        load_var=load_var,
    )


def _ac_load_v(*, source_v, seen_ohm, seen_reactance_ohm, load_w, load_var):
    return supply.ac_load_v(
        source_v=source_v,
        loop_ohm=seen_ohm,
        loop_reactance_ohm=seen_reactance_ohm,
        load_w=load_w,
        load_var=load_var,
    )


def _line_loss_w(*, current_a, seen_ohm):
    return supply.line_loss_w(current_a=current_a, loop_ohm=seen_ohm)


def _nominal_dc_v(*, nominal_v, seen_ohm, load_w):
    return _dc_load_v(source_v=nominal_v, seen_ohm=seen_ohm, load_w=load_w)


def _nominal_ac_v(*, nominal_v, seen_ohm, seen_reactance_ohm, load_w, load_var):
    return _ac_load_v(
        source_v=nominal_v,
        seen_ohm=seen_ohm,
        seen_reactance_ohm=seen_reactance_ohm,
        load_w=load_w,
        load_var=load_var,
    )


def _drop_percent(*, nominal_v, nominal_load_v):
    return supply.drop_percent(source_v=nominal_v, load_v=nominal_load_v)


def _stated(*, stated_max_v):
    return stated_max_v + 0


def _nominal(*, nominal_v):
    return nominal_v + 0


def _poe_max(*, nominal_v):
    return nominal_v * 0 + poe.POE_MAX_V


#: A line from source to load; `current` is DC (PoE too) or AC.
LINE_TERMS = (
    Input("source_v", "Voltage at the source, lowest", "V", of=lowest_source_place),
    Input("nominal_v", "Voltage at the source, nominal", "V", of=nominal_source_place),
    Input("stated_max_v", "Voltage at the source, stated highest", "V", of=stated_max_place),
    Input("limit_w", "Source gives", "W", of=source_limit_place),
    Input("breaker_a", "Breaker or fuse of the source", "A", of=breaker_place, digits=1),
    *SOURCE_LIMITS,
    Term(
        "highest_v",
        "Voltage at the source, highest",
        "V",
        {
            STATED: _stated,
            MAINS: voltages.highest_mains_v,
            CHARGED: voltages.highest_battery_v,
            CLASSIFIED: _poe_max,
            REGULATED: _nominal,
            PASSED_ON: _nominal,
        },
        by="highest_basis",
        source="EN 50160, IEEE 802.3, or stated",
    ),
    Term("loop_ohm", "Loop resistance, warm", "ohm", total="loop_ohm", digits=3),
    Term("loop_reactance_ohm", "Loop reactance", "ohm", total="loop_reactance_ohm", digits=3),
    Term("seen_ohm", "Loop resistance that it sees, shared runs", "ohm", digits=3),
    Term("seen_reactance_ohm", "Loop reactance that it sees, shared runs", "ohm", digits=3),
    Term("power_factor", "Power factor"),
    Term("load_w", "Load", "W", total="load_w"),
    Term("load_var", "Reactive power", "var", _reactive_var),
    Term(
        "solvable",
        "The line can carry it",
        "",
        {DC: _dc_solvable, AC: _ac_solvable},
        by="current",
        source=_CONSTANT,
    ),
    Term(
        "load_v",
        "Voltage at the load, lowest",
        "V",
        {DC: _dc_load_v, AC: _ac_load_v},
        by="current",
        needs="solvable",
        source=_CONSTANT,
    ),
    Term(
        "current_a",
        "Current",
        "A",
        {DC: supply.dc_current_a, AC: supply.ac_current_a},
        by="current",
        needs="solvable",
        digits=3,
    ),
    Term("line_loss_w", "Lost in the line", "W", _line_loss_w, needs="solvable"),
    Term("source_w", "Drawn from the source", "W", _source_w, needs="solvable"),
    Term(
        "nominal_load_v",
        "Voltage at the load, nominal",
        "V",
        {DC: _nominal_dc_v, AC: _nominal_ac_v},
        by="current",
        needs="solvable",
    ),
    Term("drop_percent", "Voltage drop", "%", _drop_percent, needs="solvable"),
    Term("least_v", "Load starts at", "V"),
    Term(
        "capacity_a",
        "Current capacity, shared runs by their share",
        "A",
        source=_CAPACITY,
        digits=1,
    ),
    Term("rated_a", "Capacity of its conductors", "A", source=_CAPACITY, digits=1),
    Term("hot_ohm", "Loop resistance of a fault, 70 °C", "ohm", total="hot_ohm", digits=3),
    *GUARD_TERMS,
)
