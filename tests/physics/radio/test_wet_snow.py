"""Wet snow with rain against figures computed independently from P.530-18 and P.2001-5."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import rain, wet_snow


def test_weights_add_up():
    assert len(wet_snow.WEIGHTS) == len(wet_snow.OFFSET_M) == 49
    assert wet_snow.WEIGHTS.sum() == pytest.approx(1.0, abs=2e-6)
    np.testing.assert_array_equal(wet_snow.WEIGHTS, wet_snow.WEIGHTS[::-1])


def test_multiplier(table):
    t = table("computed_wet_snow_multiplier.csv")
    t.check("multiplier", wet_snow.snow_multiplier(above_rain_height_m=t["above_rain_height_m"]))


def test_path_mean(table):
    t = table("computed_wet_snow_path.csv")
    got = wet_snow.path_multiplier(
        height1_m=t["height1_m"], height2_m=t["height2_m"], rain_height_m=t["rain_height_m"]
    )
    # the fourth is printed to the last digit but one
    np.testing.assert_allclose(got, t["multiplier"], atol=2e-6)


def test_attenuation_at_a_hundredth_of_a_percent(table):
    t = table("computed_wet_snow.csv")
    got = wet_snow.combined_exceeded_db(
        exceeded_0_01_db=t["rain_only_db"],
        frequency_exponent=rain.frequency_exponent(frequency_ghz=t["f_GHz"]),
        percent=t["percent"],
        height1_m=400.0,
        height2_m=450.0,
        rain_height_m=t["rain_height_m"],
    )
    # theirs reads the time law off pairs a tenth of a decade apart, and its end beyond 0.001 %
    # is its author's own choice
    loose = np.where(t["percent"] < 0.01, 0.01, np.where(t["percent"] > 0.01, 0.0025, 0.001))
    np.testing.assert_array_less(np.abs(got / t["combined_db"] - 1), loose)


HOP = {"exceeded_0_01_db": 22.0, "frequency_exponent": 0.236}


@given(st.floats(0, 4000), st.floats(0, 800), st.floats(4800, 9000), st.floats(2, 40))
def test_far_below_the_rain_height_stands_the_rain_alone(h1, rise, mean, margin):
    mean = max(mean, h1 + rise + wet_snow.RAIN_ALONE_BELOW_M)
    got = wet_snow.combined_outage_percent(
        margin_db=margin, height1_m=h1, height2_m=h1 + rise, rain_height_m=mean, **HOP
    )
    alone = rain.outage_percent(margin_db=margin, **HOP)
    assert got == pytest.approx(alone, rel=1e-4)  # the weights add up to 1 within 1e-6


def test_just_inside_and_outside_the_two_heights():
    mean = 3000.0
    for h, more in ((mean - 3600, False), (mean - 3599, True)):
        got = wet_snow.combined_exceeded_db(
            percent=0.01, height1_m=h - 5, height2_m=h, rain_height_m=mean, **HOP
        )
        alone = rain.exceeded_db(percent=0.01, **HOP)
        assert got == pytest.approx(alone, rel=1e-4) and (more or got <= alone * 1.0001)
    over = wet_snow.combined_exceeded_db(
        percent=0.01, height1_m=mean + 2401, height2_m=mean + 2500, rain_height_m=mean, **HOP
    )
    assert over == 0


@given(
    st.floats(0, 3000),
    st.floats(0, 3000),
    st.floats(500, 4000),
    st.floats(0, 60),
    st.floats(0, 20),
)
def test_outage_falls_with_the_margin_and_a_hop_can_be_turned(h1, h2, mean, margin, more):
    common = {"rain_height_m": mean, **HOP}
    margins = np.array([[margin, margin + more]])
    there = wet_snow.combined_outage_percent(
        margin_db=margins, height1_m=[h1], height2_m=[h2], **common
    )
    back = wet_snow.combined_outage_percent(
        margin_db=margins, height1_m=[h2], height2_m=[h1], **common
    )
    np.testing.assert_array_equal(there, back)
    assert 0.001 <= there[0, 1] <= there[0, 0] <= 1.0


@given(st.floats(0, 2500), st.floats(0, 2500), st.floats(0.002, 0.9))
def test_the_two_ways_of_asking_agree(h1, h2, percent):
    hop = {"height1_m": h1, "height2_m": h2, "rain_height_m": 2500.0, **HOP}
    fade = wet_snow.combined_exceeded_db(percent=percent, **hop)
    assert wet_snow.combined_outage_percent(margin_db=fade, **hop) == pytest.approx(
        percent, rel=1e-3
    )


def test_no_rain_and_unknown():
    dry = wet_snow.combined_outage_percent(
        margin_db=np.array([5.0, np.nan]),
        exceeded_0_01_db=np.array([0.0, 9.0]),
        frequency_exponent=0.12,
        height1_m=100.0,
        height2_m=200.0,
        rain_height_m=1000.0,
    )
    assert dry[0] == 0.001 and np.isnan(dry[1])


def test_where_no_mode_has_a_margin_there_is_nothing_to_compute():
    """A hop in snow whose radios share no mode: no margin is asked about."""
    nothing = np.empty(0)
    common = dict.fromkeys(("exceeded_0_01_db", "frequency_exponent"), nothing)
    heights = dict.fromkeys(("height1_m", "height2_m", "rain_height_m"), nothing)
    for margin in (nothing, np.empty((0, 0)), np.empty((0, 3))):
        found = wet_snow.combined_outage_percent(margin_db=margin, **common, **heights)
        assert found.shape == margin.shape
