"""Sums of outages against hand arithmetic, and properties of modes and margins."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import availability as av


@pytest.mark.parametrize(
    "available, minutes",
    [
        (99.9, 525.96),
        (99.99, 52.596),
        (99.995, 26.298),
        (99.999, 5.2596),
    ],
)
def test_minutes(available, minutes):
    # 365.25 days of 1440 minutes
    assert av.minutes_per_year(outage_percent=100 - available) == pytest.approx(minutes, rel=1e-9)


def test_worked_hop():
    # rain 2 km 38 GHz 42 mm/h at 30 dB: 0.0038467 %; multipath p0 10.4491 %, dG 6.6571 dB at
    # 30 dB: 0.00225614 % (both computed independently from P.530)
    o = av.outage(margin_db=np.array([30.0]), fading=av.Fading(22.1181, 0.30553, 10.4491, 6.6571))
    assert o.rain_percent[0] == pytest.approx(0.0038467, rel=1e-4)
    assert o.multipath_percent[0] == pytest.approx(0.00225614, rel=1e-5)
    assert o.outage_percent[0] == pytest.approx(0.0038467 + 0.00225614, rel=1e-4)
    assert o.bound[0] == 0


fadings = st.builds(
    av.Fading, st.floats(0, 150), st.floats(0.12, 0.44), st.floats(0, 500), st.floats(2, 10.8)
)


@given(fadings, st.floats(-5, 70), st.floats(0.5, 20))
def test_more_margin_never_costs_availability(fading, margin, more):
    low, high = (av.outage(margin_db=np.array([m]), fading=fading) for m in (margin, margin + more))
    slack = 0.013 * low.multipath_percent[0]  # the branches of P.530 meet within about 1 %
    assert high.outage_percent[0] <= low.outage_percent[0] + slack
    assert 0 <= high.availability_percent[0] <= 100
    if margin < 0:
        assert low.availability_percent[0] == 0


@given(fadings, st.floats(99.0, 99.998))
def test_needed_margin_is_needed_and_enough(fading, target):
    margin = av.needed_margin_db(target_percent=target, fading=fading)
    if np.isnan(margin):
        assert av.outage(margin_db=100.0, fading=fading).availability_percent < target
    else:
        assert av.outage(margin_db=margin, fading=fading).availability_percent >= target
        if margin > 0.1:
            less = av.outage(margin_db=margin - 0.01, fading=fading).availability_percent
            assert less < target


def test_mode_falls_back_to_the_toughest():
    index, good = av.mode_at_target(
        rate_mbps=np.array([[6.0, 60.0, np.nan], [6.0, 60.0, 90.0]]),
        margin_db=np.array([[8.0, 2.0, np.nan], [40.0, 30.0, 25.0]]),
        availability_percent=np.array([[99.0, 90.0, np.nan], [99.999, 99.99, 99.0]]),
        margin_wanted_db=np.array([10.0, 10.0]),
        target_percent=np.array([99.9, 99.9]),
    )
    assert index.tolist() == [0, 1] and good.tolist() == [False, True]


@given(st.floats(99, 99.999), st.integers(1, 6))
def test_hops_at_their_target_reach_that_of_the_path(target, hops):
    each = av.hop_target_percent(path_target_percent=target, hops=hops)
    total = 100 * (1 - (each / 100) ** hops)
    assert total <= (100 - target) * (1 + 1e-9)


def test_parts_join_without_a_seam():
    rng = np.random.default_rng(4)
    hops, modes = 4000, 7
    margin = rng.uniform(-5, 50, (hops, modes))
    occurrence = np.maximum(rng.uniform(-60, 90, (hops, 1)), 0)  # 40 % of the hops have none
    fading = av.Fading(rng.uniform(0, 90, (hops, 1)), 0.2, occurrence, 6.0)
    whole = av.outage(margin_db=margin, fading=fading)
    assert margin.size > av.POINTS_AT_ONCE
    for i in (0, 1, 1713, 1714, 1715, 3428, 3998, 3999):
        alone = av.outage(
            margin_db=margin[i],
            fading=av.Fading(fading.exceeded_0_01_db[i], 0.2, fading.occurrence_percent[i], 6.0),
        )
        np.testing.assert_array_equal(whole.outage_percent[i], alone.outage_percent)
        np.testing.assert_array_equal(whole.bound[i], alone.bound)
