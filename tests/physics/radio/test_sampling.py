"""Samples of a profile: the found faults by hand, and that finer typing of the same ground is nothing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from backhaul.physics import diffraction, geometry, sampling
from backhaul.physics.profiles import clear_and_zone, profiles


def _tightest(km, ground, h1, h2, *, cover=None, water=None, ghz=6.5, k=4 / 3):
    profile = profiles(distance_km=km, ground_m=ground, cover_m=cover, count=[len(km)])
    return sampling.tightest_clearance(
        samples=sampling.sampled(profile=profile, water_m=water),
        height1_m=h1,
        height2_m=h2,
        frequency_ghz=ghz,
        k_factor=k,
    )


def _by_hand(d, h1, h2, top, ghz, k, at):
    """Straight line, parabola of the earth, first zone: P.530 sec. 2.2.2 and P.526 sec. 2."""
    ray = h1 + (h2 - h1) * at / d
    bulge = at * (d - at) / (2 * 6371 * k) * 1000
    zone = 17.3145 * np.sqrt(at * (d - at) / (ghz * d))
    return (ray - top - bulge) / zone


def test_sea_typed_as_shore_and_sea_is_as_tight_as_sea_typed_finely():
    few = _tightest([0, 0.2, 10.9, 11.1], [3, 0, 0, 3], 8, 8, water=[np.nan, 0, 0, np.nan])
    expected = _by_hand(11.1, 8, 8, 0, 6.5, 4 / 3, 5.55)
    assert few.ratio[0] == pytest.approx(expected, rel=1e-4)
    assert few.at_km[0] == pytest.approx(5.55, abs=0.01)
    assert few.kind[0] == sampling.WATER and few.top_m[0] == pytest.approx(0)


def test_flat_land_of_40_km_typed_in_four_rows():
    few = _tightest([0, 0.4, 39.6, 40.044], [0, 0, 0, 0], 10, 10)
    assert few.ratio[0] == pytest.approx(_by_hand(40.044, 10, 10, 0, 6.5, 4 / 3, 20.022), rel=1e-4)
    assert few.ratio[0] < -0.6 and few.kind[0] == sampling.GROUND


def test_cover_stands_to_the_next_row_and_not_at_the_ends():
    wood = _tightest([0, 2, 3, 8], [0, 0, 0, 0], 30, 30, cover=[0, 18, 0, 0])
    assert wood.kind[0] == sampling.COVER and wood.cover_m[0] == 18
    assert wood.at_km[0] == pytest.approx(3.0, abs=1e-6)  # its far edge, nearest to the middle
    assert wood.top_m[0] == pytest.approx(18)
    # trees at the foot of the first mast reach from it to the next row, but not on it
    foot = _tightest([0, 1, 8], [0, 0, 0], 30, 30, cover=[25, 0, 0])
    assert 0 < foot.at_km[0] <= 1 and foot.kind[0] == sampling.COVER


def test_a_cliff_after_the_water():
    s = sampling.sampled(
        profile=profiles(distance_km=[0, 4, 6, 10], ground_m=[0, -9, 30, 0], count=[4]),
        water_m=[np.nan, 1.0, np.nan, np.nan],
    )
    p = s.profile
    assert p.ground_m[(p.distance_km > 4) & (p.distance_km < 6)].max() == 1.0
    assert p.ground_m[p.distance_km == 6].max() == 30
    np.testing.assert_array_equal(s.wet, (p.distance_km >= 4) & (p.distance_km < 6))


def test_a_row_between_samples_is_not_lost():
    mast = _tightest([0, 5.013, 5.014, 5.015, 12], [0, 0, 40, 0, 0], 60, 60)
    assert mast.at_km[0] == pytest.approx(5.014, abs=1e-3)


def test_without_terrain_the_smooth_earth_is_judged():
    profile = profiles(distance_km=[0, 40.0, 0, 5.0], ground_m=np.zeros(4), count=[2, 2])
    t = sampling.tightest_clearance(
        samples=sampling.sampled(profile=profile),
        height1_m=10,
        height2_m=10,
        frequency_ghz=6.5,
        k_factor=4 / 3,
    )
    assert t.ratio[0] < 0 < t.ratio[1]  # beyond the horizon: 4.12 (sqrt 10 + sqrt 10) = 26 km
    assert t.ratio[0] == pytest.approx(_by_hand(40, 10, 10, 0, 6.5, 4 / 3, 20), rel=1e-4)


ROWS = st.lists(
    st.tuples(
        st.floats(0.05, 3),
        st.floats(-20, 60),
        st.sampled_from([0.0, 0.0, 15.0]),
        st.sampled_from([np.nan, np.nan, 2.0]),
    ),
    min_size=2,
    max_size=7,
)


@settings(max_examples=60)
@given(ROWS, st.integers(0, 5), st.floats(0.05, 0.95))
def test_a_row_on_the_straight_line_changes_nothing(rows, where, share):
    step, ground, cover, water = (np.array(column) for column in zip(*rows))
    km = np.concatenate(([0.0], np.cumsum(step)[:-1]))
    where = where % (len(km) - 1)
    top = np.where(np.isnan(water), ground, water)
    at = km[where] + share * (km[where + 1] - km[where])
    wet = not np.isnan(water[where])
    line = ground[where] + share * (top[where + 1] - ground[where])
    more = [
        np.insert(column, where + 1, value)
        for column, value in (
            (km, at),
            (ground, -20.0 if wet else line),
            (cover, cover[where]),
            (water, water[where]),
        )
    ]
    h1, h2 = ground[0] + 40, ground[-1] + 40
    plain = _tightest(km, ground, h1, h2, cover=cover, water=water)
    finer = _tightest(more[0], more[1], h1, h2, cover=more[2], water=more[3])
    assert finer.ratio[0] == pytest.approx(plain.ratio[0], rel=1e-5, abs=1e-5)
    losses = [
        diffraction.delta_bullington(
            profile=sampling.sampled(
                profile=profiles(distance_km=a, ground_m=b, cover_m=c, count=[len(a)]), water_m=w
            ).profile,
            height1_m=h1,
            height2_m=h2,
            frequency_ghz=6.5,
            vertical=True,
        ).loss_db[0]
        for a, b, c, w in ((km, ground, cover, water), more)
    ]
    assert losses[1] == pytest.approx(losses[0], abs=0.1)


@given(ROWS)
def test_turning_the_hop_round(rows):
    step, ground, *_ = (np.array(column) for column in zip(*rows))
    km = np.concatenate(([0.0], np.cumsum(step)[:-1]))
    there = _tightest(km, ground, 70, 90)
    back = _tightest(km[-1] - km[::-1], ground[::-1], 90, 70)
    assert back.ratio[0] == pytest.approx(there.ratio[0], rel=1e-6, abs=1e-9)


def test_many_hops_in_batches_are_the_loop(monkeypatch):
    rng = np.random.default_rng(5)
    count = rng.integers(2, 9, 40)
    km = np.concatenate(
        [np.concatenate(([0], np.cumsum(rng.uniform(0.2, 4, n - 1)))) for n in count]
    )
    ground = rng.uniform(0, 60, km.size)
    profile = profiles(distance_km=km, ground_m=ground, count=count)

    def work(samples, hops):
        return sampling.tightest_clearance(
            samples=samples, height1_m=90, height2_m=80, frequency_ghz=7.0, k_factor=1.0
        )

    whole = work(sampling.sampled(profile=profile), None)
    monkeypatch.setattr(sampling, "POINTS_AT_ONCE", 900)
    small = list(sampling.batches(profile=profile, points_at_once=900))
    assert len(small) > 10
    parts = [
        work(sampling.sampled(profile=sampling.part_of(profile, hops=own)), own) for own in small
    ]
    for name in whole._fields:
        joined = np.concatenate([getattr(part, name) for part in parts])
        np.testing.assert_allclose(joined, getattr(whole, name), rtol=1e-9)
    batched = sampling.in_batches(work, profile=profile)
    np.testing.assert_allclose(batched.ratio, whole.ratio, rtol=1e-12)


def test_step_is_the_smaller_of_50_m_and_a_two_hundredth():
    for length in (2.0, 10.0, 10.01, 40.0):
        p = sampling.sampled(
            profile=profiles(distance_km=[0, length], ground_m=[0, 0], count=[2])
        ).profile
        widest = np.diff(p.distance_km).max()
        assert widest <= min(0.05, length / 200) * (1 + 1e-9)


def test_a_hop_of_240_000_rows_stays_small():
    import tracemalloc

    n = 240_000
    km = np.linspace(0, 60, n)
    profile = profiles(distance_km=km, ground_m=10 * np.sin(km * 40), count=[n])
    tracemalloc.start()
    t = sampling.in_batches(
        lambda s, hops: sampling.tightest_clearance(
            samples=s, height1_m=120, height2_m=120, frequency_ghz=6.0, k_factor=4 / 3
        ),
        profile=profile,
    )
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert np.isfinite(t.ratio[0]) and peak < 500e6


def test_a_worst_clearance_of_typed_rows_is_never_wider_than_the_samples():
    p = profiles(distance_km=[0, 7, 20, 31, 40], ground_m=[0, 12, 20, 5, 0], count=[5])
    common = {"height1_m": 65, "height2_m": 65, "frequency_ghz": 6.5, "k_factor": 4 / 3}
    clear, zone = clear_and_zone(p, **common)
    fine = sampling.tightest_clearance(samples=sampling.sampled(profile=p), **common)
    assert fine.ratio[0] <= (clear / zone)[1:-1].min() + 1e-12
    assert common["k_factor"] == geometry.MEDIAN_K_FACTOR
