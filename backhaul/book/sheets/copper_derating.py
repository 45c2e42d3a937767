"""The fixed cable that heat leaves of a copper channel, as one formula over its temperature."""

from functools import cache
from typing import Any

import numpy as np

from backhaul.physics import copper
from backhaul.spreadsheet.formula import Cell

_TEMPERATURE = Cell.ref("temperature_c")
#: Rows of the table of TIA-568.2-D stand 5 °C apart.
_TABLE_STEP_C = 5.0


def fixed_length_formula(temperature_c: Cell, *, screened: bool) -> str:
    """Fixed cable allowed at a temperature [m]: the table of TIA-568.2-D as a sum of ramps."""
    return _ramps(screened).replace(_TEMPERATURE.text, temperature_c.text)


@cache
def _ramps(screened: bool) -> str:
    first, last = copper.REFERENCE_C, copper.RANGES["cable_temperature_c"][1]
    knots = np.arange(first, last + 1, _TABLE_STEP_C)
    lengths = copper.fixed_length_m(cable_temperature_c=knots, screened=screened)
    slopes = np.diff(np.asarray(lengths)) / _TABLE_STEP_C
    total: Any = float(lengths[0])
    for knot, bend in zip(knots, np.diff(slopes, prepend=0.0), strict=False):
        if round(bend, 9):
            total = total + round(float(bend), 9) * np.maximum(_TEMPERATURE - float(knot), 0)
    return total.text
