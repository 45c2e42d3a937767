"""Copper and supply against published tables, and what must hold without any table."""

import csv
from cmath import phase, rect
from math import acos, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from power_line import ac_line, dc_line, greatest_w

from backhaul.physics import copper, poe, protection, supply

REFERENCE = Path(__file__).parents[2] / "reference" / "wired"


def rows(name):
    with open(REFERENCE / name, encoding="utf-8") as file:
        return list(csv.DictReader(file))


def half_digit(text):
    """Half a unit of the last printed digit."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])


def printed(text):
    return pytest.approx(float(text), abs=half_digit(text) + 1e-12)


voltages = st.floats(12, 400)
resistances = st.floats(0.01, 100)
shares = st.floats(0.001, 0.999)  # of the greatest power that the line carries


WIRES = rows("conductor_resistance.csv")
AWG = [row for row in WIRES if row["system"] == "AWG" and row["area_mm2"]]
SOLID_COPPER = [r for r in WIRES if r["material"] == "copper plain" and r["class"] == "1 and 2"]
#: Printed a digit short of ASTM B258: 52.96 (tables print 52.7, 52.9 or 52.94) and 8.285 ohm/km.
CUT_SHORT = ("22 AWG", "14 AWG")


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["size"])
def test_american_wire_gauge(row):
    area_mm2 = copper.awg_area_mm2(gauge=int(row["size"].split()[0]))
    assert area_mm2 == printed(row["area_mm2"])
    ohm_per_km = copper.conductor_ohm_per_km(area_mm2=area_mm2)
    if row["size"] in CUT_SHORT:
        whole_digit = 2 * half_digit(row["resistance_20c_ohm_per_km"])
        assert 0 < ohm_per_km - float(row["resistance_20c_ohm_per_km"]) < whole_digit
    else:
        assert ohm_per_km == printed(row["resistance_20c_ohm_per_km"])


@pytest.mark.parametrize("row", SOLID_COPPER, ids=lambda row: row["size"])
def test_standard_conductors_resist_more_than_pure_copper(row):
    """IEC 60228:2004 Tables 1 and 2 are maxima: 100 % IACS over the nominal area is less."""
    pure = copper.conductor_ohm_per_km(area_mm2=float(row["area_mm2"]))
    assert pure < float(row["resistance_20c_ohm_per_km"])


@pytest.mark.parametrize(
    "row", rows("conductor_temperature_factors.csv"), ids=lambda r: r["temperature_c"]
)
def test_temperature_factor(row):
    """The table follows 0.004 per K, the exact law 0.00393: they differ by up to 0.4 %."""
    to_20c = 1 / copper.temperature_factor(temperature_c=float(row["temperature_c"]))
    table = float(row["to_20c_factor"])
    assert to_20c == pytest.approx(table, abs=half_digit(row["to_20c_factor"]) + 0.004 * table)


@pytest.mark.parametrize("screened", [False, True])
def test_fixed_length_in_the_heat(screened):
    table = rows("copper_temperature_length.csv")
    column = ("" if screened else "un") + "screened_fixed_length_max_m"
    allowed_m = copper.fixed_length_m(
        cable_temperature_c=[float(row["cable_average_temperature_c"]) for row in table],
        screened=screened,
    )
    np.testing.assert_allclose(allowed_m, [float(row[column]) for row in table], rtol=1e-12)


def test_hundred_metres_shrink_as_read():
    """TIA-568.2-D Annex, from memory: at 40 C reduced from 90 to 84 m; so 100 m become 94."""
    fixed_m = copper.fixed_length_m(cable_temperature_c=40, screened=False)
    assert copper.reach_limit_m(reach_m=100, fixed_length_m=fixed_m) == pytest.approx(94)


@given(st.floats(-40, 90), st.floats(0, 30), st.booleans())
def test_warmer_cable_never_reaches_farther(cool_c, more_c, screened):
    cool, warm = copper.fixed_length_m(
        cable_temperature_c=[cool_c, cool_c + more_c], screened=screened
    )
    assert warm <= cool + 1e-12 <= 90 + 1e-9


def test_fixed_length_has_no_step_at_the_end_of_the_table():
    """Beyond it the slope from 55 to 60 C goes on: our own choice, no standard reaches there."""
    before, at, past = copper.fixed_length_m(cable_temperature_c=[55, 60, 65], screened=False)
    assert past - at == pytest.approx(at - before)


@pytest.mark.parametrize("row", rows("poe_classes.csv"), ids=lambda row: row["poe_class"])
def test_poe_classes(row):
    """P_PD = P_PSE - I^2 R with I = P_PSE / V_PSE,min gives every class of IEEE 802.3."""
    held = poe.POE_CLASSES[int(row["poe_class"])]
    columns = ["pairs", "pse_power_w", "pd_power_w", "pse_voltage_min_v", "pd_voltage_min_v"]
    assert list(held) == [float(row[c]) for c in [*columns, "channel_loop_resistance_ohm"]]
    loop_ohm = held.pair_loop_ohm * 2 / held.pairs
    current_a = held.source_w / held.source_min_v
    left_w = held.source_w - supply.line_loss_w(current_a=current_a, loop_ohm=loop_ohm)
    if row["poe_class"] == "1":  # 3.8347 W is printed as 3.84: rounded up
        assert left_w == pytest.approx(3.84, abs=0.01)
    else:
        assert left_w == printed(row["pd_power_w"])
    line = dc_line(source_v=held.source_min_v, loop_ohm=loop_ohm, load_w=held.load_w)
    assert line.solvable
    assert line.load_v >= held.load_min_v - 1e-9
    assert line.current_a * held.source_min_v == pytest.approx(held.source_w, abs=0.1)


@pytest.mark.parametrize("row", rows("constant_power_check.csv"), ids=lambda row: row["case"])
def test_constant_power(row):
    given_line = {
        "source_v": float(row["source_voltage_v"]),
        "loop_ohm": float(row["loop_resistance_ohm"]),
    }
    line = dc_line(load_w=float(row["load_power_w"]), **given_line)
    assert greatest_w(**given_line) == printed(row["max_load_power_w"])
    assert bool(line.solvable) == (row["solvable"] == "yes")
    for column, figure in [
        ("current_a", line.current_a),
        ("load_voltage_v", line.load_v),
        ("line_loss_w", line.line_loss_w),
    ]:
        if row[column]:
            assert figure == printed(row[column])
        else:
            assert np.isnan(figure)


@given(voltages, resistances, shares)
def test_stable_root_and_balance(source_v, loop_ohm, share):
    load_w = share * greatest_w(source_v=source_v, loop_ohm=loop_ohm)
    line = dc_line(source_v=source_v, loop_ohm=loop_ohm, load_w=load_w)
    assert line.load_v >= source_v / 2
    assert source_v * line.current_a == pytest.approx(load_w + line.line_loss_w, rel=1e-9)
    assert source_v - line.current_a * loop_ohm == pytest.approx(line.load_v, rel=1e-9)


@given(voltages, resistances, shares)
def test_without_reactance_alternating_current_is_direct_current(source_v, loop_ohm, share):
    load_w = share * greatest_w(source_v=source_v, loop_ohm=loop_ohm)
    given_line = {"source_v": source_v, "loop_ohm": loop_ohm, "load_w": load_w}
    direct = dc_line(**given_line)
    alternating = ac_line(loop_reactance_ohm=0.0, power_factor=1.0, **given_line)
    for one, other in zip(direct, alternating, strict=True):
        assert one == pytest.approx(other, rel=1e-6)


@given(
    voltages,
    resistances,
    st.floats(0, 20, allow_subnormal=False),
    st.floats(0.2, 1),
    st.floats(0.01, 0.9999),
)
def test_alternating_current_against_phasors(source_v, loop_ohm, reactance_ohm, pf, share):
    """Kirchhoff with complex numbers: what arrives, plus current times impedance, is the source."""
    impedance = complex(loop_ohm, reactance_ohm)
    # the greatest power by the matched magnitude: S = Vs^2 / (2 |Z| (1 + cos(angle between)))
    between = np.cos(phase(impedance) - acos(pf))
    most_w = pf * source_v**2 / (2 * abs(impedance) * (1 + between))
    given_line = {"source_v": source_v, "loop_ohm": loop_ohm, "loop_reactance_ohm": reactance_ohm}
    line = ac_line(load_w=share * most_w, power_factor=pf, **given_line)
    assert line.solvable
    assert line.load_v >= source_v / 2
    current = rect(float(line.current_a), -acos(pf))
    assert abs(float(line.load_v) + current * impedance) == pytest.approx(source_v, rel=1e-6)
    sent_w = ((float(line.load_v) + current * impedance) * current.conjugate()).real
    assert sent_w == pytest.approx(share * most_w + float(line.line_loss_w), rel=1e-6)
    too_much = ac_line(load_w=1.001 * most_w, power_factor=pf, **given_line)
    assert not too_much.solvable and np.isnan(too_much.load_v)
    fault = protection.least_fault_a(
        nominal_v=source_v, loop_ohm=loop_ohm, loop_reactance_ohm=reactance_ohm
    )
    assert abs(fault * impedance) == pytest.approx(0.95 * source_v, rel=1e-9)


def test_drop_formula_of_the_installation_standard():
    """IEC 60364-5-52:2009 Annex G, 2 I L (R cos + X sin), is the first order of the exact one."""
    loop_ohm = supply.feed_loop_ohm(length_m=300, ohm_per_km=3.08, temperature_c=70)
    reactance_ohm = supply.feed_loop_reactance_ohm(length_m=300, reactance_ohm_per_km=0.08)
    line = ac_line(
        source_v=230,
        loop_ohm=loop_ohm,
        loop_reactance_ohm=reactance_ohm,
        load_w=600,
        power_factor=0.9,
    )
    hot_ohm_per_km = 3.08 * (1 + 0.00393 * 50)
    annex_g_v = 2 * float(line.current_a) * 0.3 * (hot_ohm_per_km * 0.9 + 0.08 * sqrt(1 - 0.81))
    assert 230 - float(line.load_v) == pytest.approx(annex_g_v, abs=0.05)


def test_a_cell_stays_at_half_the_source_where_there_is_no_solution():
    """A cell has no NaN: what it holds there must be finite, and is hidden by `*_solvable`."""
    line = {"source_v": 48.0, "loop_ohm": 29.64, "load_w": 30.0}
    assert not supply.dc_solvable(**line)
    assert supply.dc_load_v(**line) == 24.0
    assert not supply.ac_solvable(loop_reactance_ohm=0.1, load_var=10.0, **line)
    assert supply.ac_load_v(loop_reactance_ohm=0.1, load_var=10.0, **line) == 24.0


@given(voltages, resistances, shares, st.floats(0, 50))
def test_longer_line_never_delivers_more_voltage(source_v, loop_ohm, share, more_ohm):
    load_w = share * greatest_w(source_v=source_v, loop_ohm=loop_ohm)
    near, far = dc_line(
        source_v=source_v, loop_ohm=np.array([loop_ohm, loop_ohm + more_ohm]), load_w=load_w
    ).load_v
    assert np.isnan(far) or far <= near


def test_line_of_no_length():
    line = dc_line(source_v=48.0, loop_ohm=0.0, load_w=30.0)
    assert line.load_v == 48.0 and line.line_loss_w == 0
    fault = protection.least_fault_a(nominal_v=48.0, loop_ohm=0.0, loop_reactance_ohm=0.0)
    assert np.isfinite(fault)


def test_three_halves_of_the_pairs():
    """A single pair out and back 25 ohm, two pairs 12.5, four 6.25 (IEEE 802.3, TIA-568.2-D)."""
    loops = [
        copper.pairs_loop_ohm(ohm_per_km=125.0, length_m=100, pairs=pairs, temperature_c=20)
        for pairs in (1, 2, 4)
    ]
    assert loops == pytest.approx([25.0, 12.5, 6.25])
