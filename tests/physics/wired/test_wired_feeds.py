"""Trees of feeds, protection and energy: published figures and what must hold."""

import feed_tree
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from power_line import ac_line, dc_line
from published_tables import half_digit, rows

from backhaul.physics import energy, protection, supply

TRUNK = [feed_tree.SOURCE, 0, 0, 0, 0]


def tree(source_v, parent, loop_ohm, load_w, reactance=0.0, factor=1.0):
    return feed_tree.feed_tree(
        source_v=source_v,
        parent=parent,
        loop_ohm=loop_ohm,
        loop_reactance_ohm=reactance,
        load_w=load_w,
        power_factor=factor,
    )


def test_four_loads_at_the_end_of_a_trunk():
    """By the quadratic: four like tails are a quarter of one, in series with the trunk.

    V = (52.92 + sqrt(52.92^2 - 4 x 4.38 x 120)) / 2 = 39.67; without tails, 4.33 ohm and 722.1
    under the root, 39.90; one
    of the loads alone on 4.53 ohm 50.2 V.
    """
    loads = [0, 30, 30, 30, 30]
    assert tree(52.92, TRUNK, [4.33, 0.2, 0.2, 0.2, 0.2], loads).load_v[1:] == pytest.approx(
        [39.67] * 4, abs=0.005
    )
    bare = tree(52.92, TRUNK, [4.33, 0, 0, 0, 0], loads).load_v
    assert bare == pytest.approx([39.896] * 5, abs=0.005)
    alone = tree(52.92, [feed_tree.SOURCE, 0], [4.33, 0.2], [0, 30]).load_v[1]
    assert alone == pytest.approx(50.2, abs=0.05)


sources = st.floats(12, 400)
parents = st.lists(st.integers(-1, 6), min_size=1, max_size=6).map(
    lambda up: [min(p, n - 1) for n, p in enumerate(up)]
)


@st.composite
def trees(draw):
    parent = draw(parents)
    count = len(parent)
    ohm = draw(st.lists(st.floats(0, 5), min_size=count, max_size=count))
    watts = draw(st.lists(st.floats(0, 200), min_size=count, max_size=count))
    return draw(sources), parent, ohm, watts


@given(trees())
def test_kirchhoff_holds_at_every_node(drawn):
    """Every drop is current times resistance, every current the sum of those behind it."""
    source_v, parent, ohm, watts = drawn
    found = tree(*drawn)
    assume(found.solvable)
    for n, up in enumerate(parent):
        above = source_v if up == feed_tree.SOURCE else found.load_v[up]
        assert above - found.load_v[n] == pytest.approx(ohm[n] * found.current_a[n], abs=1e-5)
        behind = sum(found.current_a[k] for k, p in enumerate(parent) if p == n)
        own = watts[n] / found.load_v[n]
        assert found.current_a[n] == pytest.approx(own + behind, rel=1e-6, abs=1e-9)


@given(trees(), st.integers(0, 5), st.floats(0, 5), st.booleans())
def test_longer_or_thinner_feed_and_more_load_never_raise_a_voltage(drawn, which, more, is_load):
    source_v, parent, ohm, watts = drawn
    base = tree(*drawn)
    ohm, watts = list(ohm), list(watts)
    changed = watts if is_load else ohm
    changed[which % len(parent)] += more * (20 if is_load else 1)
    heavier = tree(source_v, parent, ohm, watts)
    if not base.solvable:
        assert not heavier.solvable
    elif heavier.solvable:
        assert np.all(heavier.load_v <= base.load_v + 1e-6)
        if is_load:  # a load that is added lowers no sum
            assert np.all(heavier.current_a >= base.current_a - 1e-6)


@given(sources, st.floats(0.01, 50), st.floats(0.01, 0.9999))
def test_one_feed_is_the_line_by_the_quadratic(source_v, loop_ohm, share):
    load_w = share * source_v**2 / (4 * loop_ohm)
    exact = dc_line(source_v=source_v, loop_ohm=loop_ohm, load_w=load_w)
    found = tree(source_v, [-1], [loop_ohm], [load_w])
    assert found.solvable
    assert found.load_v[0] == pytest.approx(float(exact.load_v), rel=1e-6)
    too_much = tree(source_v, [-1], [loop_ohm], [1.0001 * source_v**2 / (4 * loop_ohm)])
    assert not too_much.solvable
    assert all(np.all(np.isnan(figure)) for figure in too_much[1:])


@given(sources, st.floats(0.01, 5), st.floats(0, 2), st.floats(0.3, 1), st.floats(0.01, 0.9))
def test_one_alternating_feed_is_the_exact_line(source_v, ohm, reactance, factor, share):
    load_w = share * source_v**2 * factor / (4 * (ohm + reactance))
    exact = ac_line(
        source_v=source_v,
        loop_ohm=ohm,
        loop_reactance_ohm=reactance,
        load_w=load_w,
        power_factor=factor,
    )
    assume(exact.solvable)
    found = tree(source_v, [-1], [ohm], [load_w], reactance, factor)
    assert found.solvable
    assert found.load_v[0] == pytest.approx(float(exact.load_v), rel=1e-6)
    assert found.current_a[0] == pytest.approx(float(exact.current_a), rel=1e-5)


def test_many_trees_at_once():
    found = tree(np.array([52.92, 24.0]), TRUNK, [4.33, 0.2, 0.2, 0.2, 0.2], [0, 30, 30, 30, 30])
    assert list(found.solvable) == [True, False]
    assert found.load_v[0, 1] == pytest.approx(39.67, abs=0.005)
    assert np.all(np.isnan(found.load_v[1]))


def test_a_ring_is_no_tree():
    with pytest.raises(ValueError, match="leaves from the source"):
        tree(48, [1, 0], [1, 1], [10, 10])


@pytest.mark.parametrize("row", rows("wired/capacity_air_factors.csv"), ids=lambda r: r["air_c"])
def test_warm_air_lessens_the_capacity(row):
    factor = protection.air_factor(air_c=float(row["air_c"]))
    assert factor == pytest.approx(float(row["factor"]), abs=half_digit(row["factor"]))


@given(st.floats(-40, 90), st.floats(0, 40))
def test_warmer_air_never_carries_more(air_c, more):
    cool, warm = protection.capacity_a(ampacity_a=23.0, air_c=np.array([air_c, air_c + more]))
    assert 0 <= warm <= cool <= 23.0


@pytest.mark.parametrize("row", rows("wired/breaker_trips.csv"), ids=lambda r: r["type"])
def test_trip_ranges(row):
    assert protection.TRIP_RANGE[row["type"]] == (float(row["may_trip"]), float(row["must_trip"]))


def test_a_b16_wants_eighty_amperes():
    """IEC 60898-1: 5 x 16 A; with 79.9 A the next smaller preferred rating is 13 A."""
    assert protection.trip_needed_a(breaker_a=16, trip_multiple=5) == 80
    found = protection.largest_breaker_a(fault_a=[80.0, 79.9, 65.0, 29.9], trip_multiple=5)
    np.testing.assert_array_equal(found, [16, 13, 13, np.nan])


def test_fault_of_a_long_feed_by_hand():
    """440 m of 2.5 mm2 at 70 C: 2 x 0.44 x 7.41 x 1.1965 = 7.802 ohm; 0.95 x 230 / 7.802 = 28 A."""
    loop_ohm = supply.feed_loop_ohm(
        length_m=440, ohm_per_km=7.41, temperature_c=protection.CONDUCTOR_LIMIT_C
    )
    fault_a = protection.least_fault_a(nominal_v=230, loop_ohm=loop_ohm, loop_reactance_ohm=0.07)
    assert fault_a == pytest.approx(28.0, abs=0.05)


@pytest.mark.parametrize("row", rows("wired/off_grid.csv"), ids=lambda r: r["figure"])
def test_off_grid_steps(row):
    inputs = dict(pair.split("=") for pair in row["inputs"].split(";"))
    formula = getattr(energy, row["formula"].partition(".")[2])
    figure = formula(**{name: float(value) for name, value in inputs.items()})
    assert figure == pytest.approx(float(row["published"]), abs=float(row["tolerance"]))


@given(st.floats(1, 1e4), st.floats(0.5, 6), st.floats(1, 2))
def test_panels_that_are_asked_for_bring_what_was_asked(day_wh, sun_hours, ratio):
    solar_w = energy.panel_needed_w(day_wh=day_wh, sun_hours=sun_hours, array_to_load=ratio)
    # what reaches the battery: 80 % of the panels' rating, 80 % of it out again
    assert solar_w * sun_hours * 0.8 * 0.8 / day_wh == pytest.approx(ratio)


@given(st.floats(0.5, 10), st.floats(10, 80), st.floats(1, 1e4))
def test_a_battery_that_is_asked_for_carries_its_days(days, use_percent, day_wh):
    battery_wh = energy.battery_needed_wh(days=days, use_percent=use_percent, day_wh=day_wh)
    carried = energy.autonomy_days(battery_wh=battery_wh, use_percent=use_percent, day_wh=day_wh)
    assert carried == pytest.approx(days)
