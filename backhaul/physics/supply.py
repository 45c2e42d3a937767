"""Supply: constant-power loads on a line, DC, PoE and single-phase AC.

A switched-mode load draws the power that it needs at whatever voltage arrives, so the current
has two solutions or none. Only the stable one stands here, at or above half the source voltage.
Where `*_solvable` says no, the line cannot carry the power at any current; the other formulas
then stay at half the source voltage and mean nothing: in a cell write
`IF(solvable, formula, "no solution")`.
"""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.copper import temperature_factor
from backhaul.units import M_PER_KM, PERCENT

METHODS = (
    Method("constant-power load on a line", "Kirchhoff's laws, exact", "stable root"),
    Method("voltage drop of a feed", "IEC 60364-5-52 Annex G, drop limits", "2009"),
    Method("constant-power loads on a tree of feeds", "Kirchhoff's laws, exact", "stable root"),
)

RANGES = {"power_factor": (0.0, 1.0), "efficiency": (0.0, 1.0)}  # by definition; 0 excluded


def supply_load_w(*, own_w: Figure, passed_on_w: Figure, efficiency: Figure) -> Figure:
    """Power that a device draws: its own, and what it passes on over its efficiency [W].

    Valid: efficiency above 0 to 1 (RANGES); 0 divides by zero.
    Source: definition of the efficiency.

    >>> print(supply_load_w(own_w=10.0, passed_on_w=51.0, efficiency=0.85))
    70.0
    """
    return own_w + passed_on_w / efficiency


def feed_loop_ohm(*, length_m: Figure, ohm_per_km: Figure, temperature_c: Figure) -> Figure:
    """Resistance of a two-conductor copper run, out and back [ohm].

    length_m: of the route. ohm_per_km: one conductor at 20 C (IEC 60228:2004).
    Valid: figures of 0 or more, temperatures as in `copper.temperature_factor`.
    Source: IEC 60228:2004 for the resistance; Ohm's law.

    >>> print(feed_loop_ohm(length_m=2000, ohm_per_km=7.41, temperature_c=20))
    29.64
    """
    factor = temperature_factor(temperature_c=temperature_c)
    return 2 * (length_m / M_PER_KM) * ohm_per_km * factor


def feed_loop_reactance_ohm(*, length_m: Figure, reactance_ohm_per_km: Figure) -> Figure:
    """Reactance of a two-conductor run, out and back [ohm].

    reactance_ohm_per_km: one conductor, about 0.08 (IEC 60364-5-52:2009 Annex G; from memory).
    Valid: figures of 0 or more.
    Source: IEC 60364-5-52:2009 Annex G (from memory).

    >>> print(feed_loop_reactance_ohm(length_m=500, reactance_ohm_per_km=0.08))
    0.08
    """
    return 2 * (length_m / M_PER_KM) * reactance_ohm_per_km


def dc_solvable(*, source_v: Figure, loop_ohm: Figure, load_w: Figure) -> Figure:
    """Whether a DC line can carry the power at all.

    Valid: figures of 0 or more; exactly the most that the line carries does. NaN gives False, as
    nothing is known.
    Source: the discriminant of R I^2 - V I + P = 0.

    >>> dc_solvable(source_v=24, loop_ohm=9.38, load_w=16)
    False
    """
    return source_v**2 >= 4 * loop_ohm * load_w


def dc_load_v(*, source_v: Figure, loop_ohm: Figure, load_w: Figure) -> Figure:
    """Voltage at a constant-power load on a DC line [V], stable root.

    Valid: where dc_solvable. Source: the greater root of V^2 - Vs V + R P = 0.

    >>> print(dc_load_v(source_v=50, loop_ohm=12.5, load_w=25.5))
    42.5
    """
    return (source_v + np.sqrt(np.maximum(source_v**2 - 4 * loop_ohm * load_w, 0))) / 2


def dc_current_a(*, load_w: Figure, load_v: Figure) -> Figure:
    """Current of a DC load [A].

    Valid: load_v above 0: 0 divides by zero.
    Source: definition, P / V.

    >>> print(dc_current_a(load_w=25.5, load_v=42.5))
    0.6
    """
    return load_w / load_v


def reactive_var(*, load_w: Figure, power_factor: Figure) -> Figure:
    """Reactive power that a lagging load takes beside its power [var].

    power_factor: above 0, to 1.
    Valid: power_factor above 0 to 1 (RANGES): 0 divides by zero, above 1 counts as 1.
    Source: definition of the power factor.

    >>> print(reactive_var(load_w=400, power_factor=0.8))
    300.0
    """
    return load_w * np.sqrt(np.maximum(1 - power_factor**2, 0)) / power_factor


def _ac_coefficients(source_v, loop_ohm, loop_reactance_ohm, load_w, load_var):
    """V^4 - 2 h V^2 + c = 0: h [V^2] and c [V^4]."""
    half = source_v**2 / 2 - (loop_ohm * load_w + loop_reactance_ohm * load_var)
    return half, (loop_ohm**2 + loop_reactance_ohm**2) * (load_w**2 + load_var**2)


def ac_solvable(
    *,
    source_v: Figure,
    loop_ohm: Figure,
    loop_reactance_ohm: Figure,
    load_w: Figure,
    load_var: Figure,
) -> Figure:
    """Whether a single-phase line can carry the power at all.

    Valid: figures of 0 or more; NaN gives False, as nothing is known.
    Source: the discriminant of the equation of `ac_load_v`.

    >>> print(ac_solvable(source_v=230, loop_ohm=20, loop_reactance_ohm=0.2, load_w=800,
    ...                   load_var=0))
    False
    """
    half, constant = _ac_coefficients(source_v, loop_ohm, loop_reactance_ohm, load_w, load_var)
    return half >= np.sqrt(constant)


def ac_load_v(
    *,
    source_v: Figure,
    loop_ohm: Figure,
    loop_reactance_ohm: Figure,
    load_w: Figure,
    load_var: Figure,
) -> Figure:
    """Voltage at a constant-power load on a single-phase line [V], stable root.

    load_var: lagging, from reactive_var. Valid: where ac_solvable. Exact, the greater root of
    V^4 + (2 (R P + X Q) - Vs^2) V^2 + (R^2 + X^2) (P^2 + Q^2) = 0, never below half the source.
    Source: Kirchhoff's laws.

    >>> print(ac_load_v(source_v=230, loop_ohm=0.7128, loop_reactance_ohm=0, load_w=4663.1,
    ...                 load_var=0))
    214.5
    """
    half, constant = _ac_coefficients(source_v, loop_ohm, loop_reactance_ohm, load_w, load_var)
    square = half + np.sqrt(np.maximum(half**2 - constant, 0))
    return np.sqrt(np.maximum(square, source_v**2 / 4))


def ac_current_a(*, load_w: Figure, load_v: Figure, power_factor: Figure) -> Figure:
    """Current of a single-phase load [A].

    power_factor: of the load.
    Valid: load_v and power_factor above 0: 0 divides by zero.
    Source: definition of the power factor.

    >>> print(ac_current_a(load_w=460, load_v=230, power_factor=0.8))
    2.5
    """
    return load_w / (load_v * power_factor)


def line_loss_w(*, current_a: Figure, loop_ohm: Figure) -> Figure:
    """Power lost in a line [W].

    Valid: loop_ohm 0 or more, current of either sign.
    Source: Joule's law.

    >>> print(line_loss_w(current_a=0.6, loop_ohm=12.5))
    4.5
    """
    return current_a**2 * loop_ohm


def drop_percent(*, source_v: Figure, load_v: Figure) -> Figure:
    """Voltage lost on a line, of the source [%].

    Valid: source_v above 0: 0 divides by zero. Above 50 no stable load is left.
    Source: IEC 60364-5-52:2009 Annex G, of the source.

    >>> print(drop_percent(source_v=50, load_v=42.5))
    15.0
    """
    return (source_v - load_v) / source_v * PERCENT


CELL_FORMULAS = (
    "supply_load_w",
    "feed_loop_ohm",
    "feed_loop_reactance_ohm",
    "dc_solvable",
    "dc_load_v",
    "dc_current_a",
    "reactive_var",
    "ac_solvable",
    "ac_load_v",
    "ac_current_a",
    "line_loss_w",
    "drop_percent",
)
