"""How often the mirror takes a margin, spacing of a second antenna, heights: against the plain way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from backhaul.physics import mirror_outage, mirror_search, water_hops, water_levels


def _hop(**change):
    hop = {
        "distance_km": 12.0,
        "height1_m": 20.0,
        "height2_m": 16.0,
        "water_low_m": -2.5,
        "water_high_m": 2.0,
        "worst_k_factor": 0.8,
        "frequency_ghz": 5.8,
        "vertical": False,
        "salinity_g_per_kg": 35.0,
    }
    return water_hops.hops_over_water(**{**hop, **change})


def _plain_losses(hop, points=4001):
    """Loss [k, level] at many levels and each k, one place after the other."""
    levels = np.linspace(hop.water_low_m[0], hop.water_high_m[0], points)
    return np.array(
        [
            -water_levels.rays_at(
                hop, owner=np.zeros(points, int), k_factor=np.full(points, k), level_m=levels
            ).level_db
            for k in water_hops.k_factors(hop)[0]
        ]
    )


@settings(max_examples=30)
@given(st.floats(10, 60), st.floats(10, 60), st.floats(0, 6), st.floats(0.5, 30), st.floats(3, 20))
def test_outage_is_the_share_of_levels_counted_one_by_one(h1, h2, tide, margin, ghz):
    hop = _hop(height1_m=h1, height2_m=h2, water_low_m=-tide, water_high_m=2.0, frequency_ghz=ghz)
    with np.errstate(invalid="ignore"):
        beyond = _plain_losses(hop) > margin
    got = mirror_outage.reflection_outage_percent(hop, margin_db=np.array([[margin]]))[0, 0]
    assert got == pytest.approx(100 * beyond.mean(), abs=1.0)


def test_share_of_a_turning_phase_by_hand():
    """Amplitude a over whole turns: 1 - arccos((m - 1 - a^2) / 2a) / pi, with m = 10^(-M/10)."""
    hop = _hop(
        height1_m=80.0,
        height2_m=80.0,
        frequency_ghz=60.0,
        water_low_m=-3.0,
        water_high_m=3.0,
        worst_k_factor=4 / 3,
    )
    amplitude = water_levels.rays_at(
        hop, owner=np.zeros(1, int), k_factor=np.array([4 / 3]), level_m=np.zeros(1)
    )
    a = amplitude.amplitude[0]
    for margin in (1.0, 3.0, 10.0, 15.0):
        by_hand = 1 - np.arccos((10 ** (-margin / 10) - 1 - a**2) / (2 * a)) / np.pi
        got = mirror_outage.reflection_outage_percent(hop, margin_db=np.array([[margin]]))[0, 0]
        assert got == pytest.approx(100 * by_hand, abs=0.6)


@settings(max_examples=30)
@given(st.floats(0, 30), st.floats(0, 10), st.floats(-6, 8))
def test_more_margin_or_a_second_antenna_never_takes_more(margin, more, spacing):
    hop = _hop()
    margins = np.array([[margin, margin + more]])
    one = mirror_outage.reflection_outage_percent(hop, margin_db=margins)[0]
    assert one[1] <= one[0] + 1e-9
    two = mirror_outage.reflection_outage_percent(hop, margin_db=margins, spacing2_m=spacing)[0]
    assert (two <= one + 1.0).all()  # counted in steps, not by phase


def test_a_second_antenna_under_water_is_none():
    hop = _hop()
    alone = mirror_outage.deepest_fade_with_two(hop)
    drowned = mirror_outage.deepest_fade_with_two(hop, spacing2_m=-40.0)
    assert drowned[0] == alone[0]


def test_no_margin_and_unknown_margin():
    got = mirror_outage.reflection_outage_percent(_hop(), margin_db=np.array([[-1.0, np.nan]]))[0]
    assert got[0] == 0 and np.isnan(got[1])


def _both(**change):
    return _hop(
        frequency_ghz=[5.75, 5.75, 5.85, 5.85], vertical=[False, True, False, True], **change
    )


@pytest.mark.parametrize("range_m", [(0.3, 6.0), (-6.0, -0.3), (-5.0, 7.0)])
@pytest.mark.parametrize("end", [1, 2])
def test_spacing_is_as_good_as_a_fine_search(range_m, end):
    hop = _both()
    found = mirror_search.best_spacing(
        hop, group=np.zeros(4, int), low_m=range_m[0], high_m=range_m[1], end=end
    )
    fine = [
        mirror_outage.deepest_fade_with_two(hop, **{f"spacing{end}_m": s}).max()
        for s in np.arange(range_m[0], range_m[1] + 0.01, 0.1)
    ]
    assert range_m[0] <= found.spacing_m[0] <= range_m[1]
    assert found.residual_db[0] <= min(fine) + mirror_search.TIE_DB + 0.05
    again = mirror_outage.deepest_fade_with_two(hop, **{f"spacing{end}_m": found.spacing_m[0]})
    assert again.max() == pytest.approx(found.residual_db[0], abs=0.05)


def test_half_a_null_spacing_is_not_the_best():
    """The deepest point alone is not the sweep: a reservoir that is drawn down by 25 m."""
    hop = _both(distance_km=4.0, height1_m=15.0, water_low_m=-20.0, water_high_m=5.0)
    group = np.zeros(4, int)
    deep = water_levels.deepest_fade(hop)
    half = deep.diversity_spacing2_m[:1]
    found = mirror_search.best_spacing(hop, group=group, low_m=-6.0, high_m=6.0)
    naive = mirror_outage.deepest_fade_with_two(hop, spacing2_m=half[0]).max()
    assert found.residual_db[0] < naive - 0.5 and naive < found.alone_db[0]


def test_turning_the_hop_round_swaps_the_spacing():
    hop = _both()
    back = _both(height1_m=16.0, height2_m=20.0)
    kwargs = {"group": np.zeros(4, int), "low_m": 0.3, "high_m": 6.0}
    there = mirror_search.best_spacing(hop, end=2, **kwargs)
    turned = mirror_search.best_spacing(back, end=1, **kwargs)
    assert there.residual_db[0] == pytest.approx(turned.residual_db[0], rel=1e-6)


def test_heights_hold_the_fade_and_say_so_off_the_mark():
    hop = _both()
    steps = np.arange(-8.0, 8.5, 0.5)
    found = mirror_search.best_heights(
        hop, group=np.zeros(4, int), changes1_m=steps, changes2_m=steps
    )
    moved = hop._replace(
        height1_m=hop.height1_m + found.change1_m[0], height2_m=hop.height2_m + found.change2_m[0]
    )
    assert water_levels.deepest_fade(moved).fade_db.max() == pytest.approx(found.fade_db[0])
    assert found.fade_db[0] <= 3.0 and found.fade_db[0] <= found.tolerance_fade_db[0]
    # mounted off by up to 30 cm at each end (common practice), the worst of the four corners
    corners = [
        water_levels.deepest_fade(
            moved._replace(height1_m=moved.height1_m + first, height2_m=moved.height2_m + second)
        ).fade_db.max()
        for first in (-0.3, 0.3)
        for second in (-0.3, 0.3)
    ]
    assert found.tolerance_fade_db[0] == pytest.approx(max(corners))
    assert found.tolerance_fade_db[0] > found.fade_db[0]
    assert found.tried[0] == steps.size**2
    forbidden = np.zeros((1, steps.size, steps.size), dtype=bool)
    none = mirror_search.best_heights(
        hop, group=np.zeros(4, int), changes1_m=steps, changes2_m=steps, permitted=forbidden
    )
    assert np.isnan(none.change1_m[0]) and none.tried[0] == 0
