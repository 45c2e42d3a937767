"""One line that carries a constant power, put together from the formulas of its cells."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.physics import supply


class Line(NamedTuple):
    """A loaded line; NaN where it cannot carry its load."""

    solvable: Any
    load_v: Any
    current_a: Any
    line_loss_w: Any


def dc_line(*, source_v, loop_ohm, load_w):
    given = {"source_v": source_v, "loop_ohm": loop_ohm, "load_w": load_w}
    load_v = supply.dc_load_v(**given)
    current_a = supply.dc_current_a(load_w=load_w, load_v=load_v)
    return _line(supply.dc_solvable(**given), load_v, current_a, loop_ohm)


def ac_line(*, source_v, loop_ohm, loop_reactance_ohm, load_w, power_factor):
    given = {
        "source_v": source_v,
        "loop_ohm": loop_ohm,
        "loop_reactance_ohm": loop_reactance_ohm,
        "load_w": load_w,
        "load_var": supply.reactive_var(load_w=load_w, power_factor=power_factor),
    }
    load_v = supply.ac_load_v(**given)
    current_a = supply.ac_current_a(load_w=load_w, load_v=load_v, power_factor=power_factor)
    return _line(supply.ac_solvable(**given), load_v, current_a, loop_ohm)


def _line(solvable, load_v, current_a, loop_ohm):
    loss_w = supply.line_loss_w(current_a=current_a, loop_ohm=loop_ohm)
    return Line(
        solvable, *(np.where(solvable, each, np.nan) for each in (load_v, current_a, loss_w))
    )


def greatest_w(*, source_v, loop_ohm):
    """What a DC line carries at the most, at half the voltage (Kirchhoff, by hand)."""
    return source_v**2 / (4 * loop_ohm)
