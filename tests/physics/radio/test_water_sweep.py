"""The sweep of water levels and of k: the deepest fade, nothing lost between its steps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import mirror_outage, reflection, water, water_hops, water_levels


def _hop(**change):
    hop = {
        "distance_km": 12.0,
        "height1_m": 20.0,
        "height2_m": 16.0,
        "water_low_m": -2.0,
        "water_high_m": 2.0,
        "worst_k_factor": 0.57,
        "frequency_ghz": 5.8,
        "vertical": False,
        "salinity_g_per_kg": 35.0,
    }
    return water_hops.hops_over_water(**{**hop, **change})


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"vertical": True},
        {"frequency_ghz": 18.0},
        {"distance_km": 5.0, "frequency_ghz": 38.0},
        {"distance_km": 2.0, "frequency_ghz": 60.48, "deviation_m": 0.1},
        {"distance_km": 25.0, "height1_m": 40.0, "height2_m": 30.0},
        {"beamwidth1_deg": 0.4},
    ],
)
def test_sweep_finds_the_bottom_of_a_far_finer_one(change):
    hop = _hop(**change)
    deep = water_levels.deepest_fade(hop)
    level = np.linspace(-2, 2, 200_001)
    rays = [
        reflection.two_ray(
            distance_km=hop.distance_km,
            height1_m=hop.height1_m - level,
            height2_m=hop.height2_m - level,
            k_factor=k,
            frequency_ghz=hop.frequency_ghz,
            vertical=hop.vertical,
            permittivity=hop.permittivity,
            deviation_m=hop.deviation_m,
            beamwidth1_deg=hop.beamwidth1_deg,
        ).level_db
        for k in (hop.worst_k_factor[0], 1, 4 / 3, 3)
    ]
    brute = -np.nanmin(rays)
    assert deep.fade_db[0] >= brute - 0.02
    assert deep.fade_db[0] <= brute + 0.5  # the brute grid may itself stop short of a sharp null
    assert -2 <= deep.water_m[0] <= 2
    assert 0 < deep.distance1_km[0] < hop.distance_km[0]


def test_water_under_an_antenna_and_beyond_the_horizon():
    hop = _hop(
        height1_m=[20.0, 2.0, 1.0, 20.0, 3.0],
        height2_m=[16.0, 16.0, 16.0, np.nan, 3.0],
        distance_km=[12.0, 12.0, 12.0, 12.0, 40.0],
    )
    deep = water_levels.deepest_fade(hop)
    np.testing.assert_array_equal(np.isnan(deep.fade_db), [False, True, True, True, True])
    np.testing.assert_array_equal(deep.flooded, [False, True, True, True, False])
    assert deep.beyond_horizon[4]


def test_water_risen_by_nothing_changes_nothing():
    still = water_levels.deepest_fade(_hop(water_low_m=0.7, water_high_m=0.7))
    rays = [
        reflection.two_ray(
            distance_km=12.0,
            height1_m=19.3,
            height2_m=15.3,
            k_factor=k,
            frequency_ghz=5.8,
            vertical=False,
            permittivity=water.permittivity(
                frequency_ghz=5.8, salinity_g_per_kg=35.0, temperature_c=20.0
            ),
        ).level_db
        for k in (0.57, 1, 4 / 3, 3)
    ]
    assert still.fade_db[0] == pytest.approx(max(0, -min(rays)), abs=1e-9)
    assert still.water_m[0] == 0.7


@given(
    st.floats(0.5, 30),
    st.floats(3, 80),
    st.floats(3, 80),
    st.floats(0.9, 80),
    st.booleans(),
    st.floats(0, 5),
)
def test_turning_a_hop_round_changes_nothing(d, h1, h2, f, vertical, rise):
    hop = {
        "distance_km": d,
        "frequency_ghz": f,
        "vertical": vertical,
        "water_low_m": -rise / 2,
        "water_high_m": rise / 2,
    }
    there = water_levels.deepest_fade(_hop(height1_m=h1, height2_m=h2, **hop))
    back = water_levels.deepest_fade(_hop(height1_m=h2, height2_m=h1, **hop))
    np.testing.assert_allclose(there.fade_db, back.fade_db, atol=1e-3)
    assert np.isnan(there.fade_db[0]) or there.fade_db[0] >= 0


@given(st.floats(2, 25), st.floats(8, 60), st.floats(8, 60), st.floats(0.5, 3))
def test_a_wider_range_of_levels_never_gives_a_shallower_fade(d, h1, h2, more):
    hop = {"distance_km": d, "height1_m": h1, "height2_m": h2}
    narrow = water_levels.deepest_fade(_hop(**hop, water_low_m=-1, water_high_m=1)).fade_db[0]
    wide = water_levels.deepest_fade(
        _hop(**hop, water_low_m=-1 - more, water_high_m=1 + more)
    ).fade_db[0]
    assert np.isnan(narrow) or wide >= narrow - 0.05


def test_many_hops_are_the_loop_of_one():
    rng = np.random.default_rng(3)
    n = 150
    columns = {
        "distance_km": rng.uniform(0.3, 40, n),
        "height1_m": rng.uniform(3, 90, n),
        "height2_m": rng.uniform(3, 90, n),
        "water_low_m": rng.uniform(-4, 0, n),
        "water_high_m": rng.uniform(0, 4, n),
        "worst_k_factor": rng.uniform(0.5, 0.9, n),
        "frequency_ghz": rng.choice([2.4, 5.8, 18, 60.48, 80], n),
        "vertical": rng.random(n) < 0.5,
        "salinity_g_per_kg": rng.choice([0.0, 35.0], n),
        "deviation_m": rng.choice([0, 0.3], n),
        "beamwidth1_deg": rng.choice([np.inf, 6, 1], n),
    }
    together = water_levels.deepest_fade(water_hops.hops_over_water(**columns))
    for i in range(n):
        alone = water_levels.deepest_fade(
            water_hops.hops_over_water(**{name: column[i] for name, column in columns.items()})
        )
        for name in ("fade_db", "water_m", "k_factor", "null_spacing2_m"):
            np.testing.assert_allclose(
                getattr(together, name)[i], getattr(alone, name)[0], rtol=1e-9, atol=1e-9
            )


def test_the_tide_at_each_level(table):
    t = table("computed_tide.csv")
    many = np.zeros(len(t["tide_m"]), int)
    rays = water_levels.rays_at(
        _hop(), owner=many, k_factor=np.full(many.size, 4 / 3), level_m=np.array(t["tide_m"])
    )
    t.check("level_H_dB", rays.level_db)


def test_a_second_antenna_half_a_null_spacing_up():
    hop = _hop(worst_k_factor=1.0)
    before = water_levels.deepest_fade(hop)
    assert before.fade_db[0] > 10
    # a second antenna half a null spacing up helps, one at the same height does not
    middle = reflection.two_ray(
        distance_km=12.0,
        height1_m=20.0,
        height2_m=16.0,
        k_factor=4 / 3,
        frequency_ghz=5.8,
        vertical=False,
        permittivity=hop.permittivity,
    )
    spacing = reflection.diversity_spacing_m(
        distance_km=12.0, frequency_ghz=5.8, far_effective_m=middle.effective1_m
    )
    two = mirror_outage.deepest_fade_with_two(hop, spacing2_m=spacing)
    same = mirror_outage.deepest_fade_with_two(hop, spacing2_m=0.0)
    assert two[0] < before.fade_db[0] - 8
    assert same[0] == pytest.approx(before.fade_db[0], abs=3.0)


def test_a_narrow_beam_keeps_the_mirror_out():
    # two rays 0.4 degrees apart: a beam of 0.3 degrees tells them apart, one of 6 does not
    near = {
        "distance_km": 1.0,
        "height1_m": 4.0,
        "height2_m": 4.0,
        "frequency_ghz": 80.0,
        "water_low_m": -0.5,
        "water_high_m": 0.5,
    }
    wide = water_levels.deepest_fade(_hop(**near, beamwidth1_deg=6.0, beamwidth2_deg=6.0))
    narrow = water_levels.deepest_fade(_hop(**near, beamwidth1_deg=0.3, beamwidth2_deg=0.3))
    assert wide.fade_db[0] > 20 and narrow.fade_db[0] < 3


@pytest.mark.parametrize("ratio, peak, null", [(0.90, 5.58, -20.0), (0.95, 5.80, -26.0)])
def test_swing_of_two_rays(ratio, peak, null):
    # 20 log10(1 + D), 20 log10(1 - D)
    assert 20 * np.log10(1 + ratio) == pytest.approx(peak, abs=0.005)
    assert 20 * np.log10(1 - ratio) == pytest.approx(null, abs=0.05)
    # and the sweep touches that bottom to a tenth of a dB, whatever the grid's luck
    hop = _hop(water_low_m=-6.0, water_high_m=6.0)
    deep = water_levels.deepest_fade(hop)
    rays = reflection.two_ray(
        distance_km=12.0,
        height1_m=20 - deep.water_m,
        height2_m=16 - deep.water_m,
        k_factor=deep.k_factor,
        frequency_ghz=5.8,
        vertical=False,
        permittivity=hop.permittivity,
    )
    assert deep.fade_db[0] == pytest.approx(-20 * np.log10(1 - rays.amplitude[0]), abs=0.1)
