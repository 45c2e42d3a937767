"""The lines of a supply budget: PoE over pairs, DC and AC feeds; constant power on a line."""

from backhaul.figures.terms import Term
from backhaul.physics import supply

DC, AC = "DC", "AC"
_CONSTANT = "constant power on a line, stable root"


def _reactive_var(*, load_w, power_factor):
    return supply.reactive_var(load_w=load_w, power_factor=power_factor)


def _source_w(*, load_w, line_loss_w):
    return load_w + line_loss_w


def _nominal_dc_v(*, nominal_v, loop_ohm, load_w):
    return supply.dc_load_v(source_v=nominal_v, loop_ohm=loop_ohm, load_w=load_w)


def _nominal_ac_v(*, nominal_v, loop_ohm, loop_reactance_ohm, load_w, load_var):
    return supply.ac_load_v(
        source_v=nominal_v,
        loop_ohm=loop_ohm,
        loop_reactance_ohm=loop_reactance_ohm,
        load_w=load_w,
        load_var=load_var,
    )


def _drop_percent(*, nominal_v, nominal_load_v):
    return supply.drop_percent(source_v=nominal_v, load_v=nominal_load_v)


def _short_circuit_a(*, nominal_v, loop_ohm, loop_reactance_ohm):
    return supply.short_circuit_a(
        source_v=nominal_v, loop_ohm=loop_ohm, loop_reactance_ohm=loop_reactance_ohm
    )


#: One load behind a line.
LOAD_TERMS = (
    Term("own_w", "Own need", "W"),
    Term("passed_on_w", "Passed on", "W", total="source_w"),
    Term("efficiency", "Efficiency of what it passes on"),
    Term("load_w", "Load", "W", supply.supply_load_w),
)

#: A line from source to load; `current` is DC (PoE too) or AC.
LINE_TERMS = (
    Term("source_v", "Voltage at the source, lowest", "V"),
    Term("nominal_v", "Voltage at the source, nominal", "V"),
    Term("loop_ohm", "Loop resistance, warm", "ohm", digits=3),
    Term("loop_reactance_ohm", "Loop reactance", "ohm", digits=3),
    Term("power_factor", "Power factor"),
    Term("load_w", "Load", "W", total="load_w"),
    Term("load_var", "Reactive power", "var", _reactive_var),
    Term(
        "solvable",
        "The line can carry it",
        "",
        {DC: supply.dc_solvable, AC: supply.ac_solvable},
        by="current",
        source=_CONSTANT,
    ),
    Term(
        "load_v",
        "Voltage at the load, lowest",
        "V",
        {DC: supply.dc_load_v, AC: supply.ac_load_v},
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
    Term("line_loss_w", "Lost in the line", "W", supply.line_loss_w, needs="solvable"),
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
    Term("short_circuit_a", "Fault current at the load", "A", _short_circuit_a, digits=1),
)
