"""Interference by hand, against a geodesic library and against the plain double loop."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import antennas, geometry, interference
from backhaul.physics.free_space import free_space_loss_db


def _in_line(lengths_km, *, gain=28.0, ghz=5.8, vertical=1.0):
    """Directions of hops in one straight line on flat axes, both ways: 0 1 | 2 3 | ..."""
    at = np.concatenate(([0.0], np.cumsum(lengths_km))) * 1000
    place = np.column_stack((at, np.zeros((len(at), 2))))
    hops = len(lengths_km)
    ends = np.array([(i, i + 1) if way == 0 else (i + 1, i) for i in range(hops) for way in (0, 1)])
    count = 2 * hops
    # every site has two terminals: one looks back (2 i - 1), one forward (2 i)
    terminal = np.array([[2 * a, 2 * b - 1] if b > a else [2 * a - 1, 2 * b] for a, b in ends])
    return interference.Stations(
        place[ends[:, 0]],
        place[ends[:, 1]],
        np.full(count, ghz),
        np.full(count, 40.0),
        np.full(count, 36.0),
        np.full(count, gain),
        np.full(count, gain),
        np.full(count, vertical),
        terminal[:, 0],
        terminal[:, 1],
        ends[:, 0],
        ends[:, 1],
    )


def _wanted(s):
    distance = np.linalg.norm(s.to_m - s.from_m, axis=1) / 1000
    loss = free_space_loss_db(distance_km=distance, frequency_ghz=s.frequency_ghz)
    return s.eirp_dbm - loss + s.rx_gain_dbi


def test_three_hops_in_line_by_hand():
    """A-B-C-D, 10 km each, one channel. At D the sender of A looks straight in, three times as far:
    20 log10 3 = 9.54 dB below the wanted one; that of B to A turns its back (F.699)."""
    s = _in_line([10.0, 10.0, 10.0])
    got = interference.heard(s)
    back = antennas.discrimination_db(angle_deg=180.0, gain_dbi=28.0)
    wanted = _wanted(s)
    # direction 4: C to D. Heard there: A to B (30 km, on both axes), B to C (20 km, on both axes)
    # is 20 log10 2 = 6.02 dB below, and the ones that look away: B to A (20 km), C to B is at the
    # sender's own site and counts, 10 km
    parts = [-20 * np.log10(3), -20 * np.log10(2), -20 * np.log10(2) - back, -back]
    by_hand = 10 * np.log10(np.sum(10 ** (np.array(parts) / 10)))
    assert got.interference_dbm[4] - wanted[4] == pytest.approx(by_hand, abs=1e-6)
    assert got.strongest[4] == 2
    assert wanted[4] - got.strongest_dbm[4] == pytest.approx(6.02, abs=0.005)


def test_one_hop_alone_hears_nobody():
    got = interference.heard(_in_line([7.0]))
    assert (got.interference_dbm <= -299).all() and (got.strongest == -1).all()


def test_other_channels_and_polarizations():
    s = _in_line([10.0, 10.0, 10.0])
    apart = s._replace(frequency_ghz=np.array([5.75, 5.75, 5.8, 5.8, 5.85, 5.85]))
    assert (interference.heard(apart).interference_dbm <= -299).all()
    touching = s._replace(frequency_ghz=np.array([5.8, 5.8, 5.82, 5.82, 5.8, 5.8]))
    half = interference.heard(touching).strongest_dbm[2]  # half of the neighbour's channel
    whole = interference.heard(s).strongest_dbm[2]
    assert whole - half == pytest.approx(10 * np.log10(2), abs=1e-3)
    crossed = s._replace(vertical=np.array([1.0, 1.0, 0.0, 0.0, 1.0, 1.0]))
    on_axis = interference.heard(crossed)
    # B to C crosses to C to D: 25 dB less, so that A to B, 30 km off, is the loudest in D
    assert on_axis.strongest[4] == 0


def _beside_dbm(metres):
    """A sender of 36 dBm heard so far off by an antenna of 28 dBi, both at 90° to the line between:
    5.8 GHz, 32.45 + 20 log10(km) + 20 log10(5800); F.699 beyond 48°: 10 - 10 log10(D/wavelength),
    D/wavelength = 10 ^ ((28 - 7.7) / 20)."""
    loss = 32.45 + 20 * np.log10(metres / 1000) + 20 * np.log10(5800)
    aside = 10 - 10 * (28 - 7.7) / 20
    return (36 - 28) + aside - loss + aside


@pytest.mark.parametrize("metres, counted", [(0.0, 1.0), (0.4, 1.0), (3.0, 3.0), (20.0, 20.0)])
def test_a_sender_of_the_same_site_counts(metres, counted):
    """One above the other on a mast, at least 1 m apart: B to C disturbs what B hears of A."""
    s = _in_line([10.0, 10.0])
    s.from_m[2, 2] = s.to_m[3, 2] = metres
    got = interference.heard(s)
    assert got.strongest[0] == 2
    assert got.strongest_dbm[0] == pytest.approx(_beside_dbm(counted), abs=0.05)


def test_a_channel_that_touches_counts_less_and_only_at_one_site():
    s = _in_line([10.0, 10.0])
    for apart_mhz, less in ((40.0, interference.ADJACENT_DB), (20.0, 3.0103), (41.0, None)):
        ghz = np.array([5.8, 5.8, 5.8 + apart_mhz / 1000, 5.8 + apart_mhz / 1000])
        got = interference.heard(s._replace(frequency_ghz=ghz))
        if less is None:
            assert (got.strongest == -1).all()
            continue
        assert got.strongest_dbm[0] == pytest.approx(_beside_dbm(1.0) - less, abs=0.1)
    # A hears C's sender only where the channels overlap
    ghz = np.array([5.8, 5.8, 5.84, 5.84])
    assert interference.heard(s._replace(frequency_ghz=ghz)).strongest[1] == -1


def test_radios_in_step_do_not_hear_their_own_site():
    s = _in_line([10.0, 10.0])
    got = interference.heard(s._replace(in_step=np.ones(4, dtype=bool)))
    assert got.strongest[0] == 3 and got.strongest_dbm[0] < -60  # C, from 10 km off


def test_crossed_polarizations_on_the_axes_count_25_db():
    """25 to 35 dB of dishes (common practice), the lower: A to B heard in C, on both axes."""
    s = _in_line([10.0, 10.0], gain=38.0)
    crossed = s._replace(vertical=np.array([1.0, 1.0, 0.0, 0.0]))
    plain, apart = interference.heard(s), interference.heard(crossed)
    assert plain.strongest[2] == apart.strongest[2] == 0
    assert plain.strongest_dbm[2] - apart.strongest_dbm[2] == pytest.approx(25.0)


def test_noise_rise_by_hand():
    # equal powers: 3.01 dB; 6 dB under the noise: 10 log10(1 + 10^-0.6) = 0.97 dB
    got = interference.noise_rise_db(interference_dbm=np.array([-90, -96, -400]), noise_dbm=-90.0)
    np.testing.assert_allclose(got, [3.0103, 0.9732, 0.0], atol=5e-5)


def test_places_against_geodesics():
    latitude, longitude = np.array([51.5, 51.52]), np.array([-0.15, -0.1])
    p = interference.places_m(latitude=latitude, longitude=longitude, height_m=[50.0, 80.0])
    line = geometry.geodesic(
        latitude1=latitude[:1],
        longitude1=longitude[:1],
        latitude2=latitude[1:],
        longitude2=longitude[1:],
    )
    expected = geometry.slant_range_km(
        distance_km=line.distance_km[0], height1_m=50.0, height2_m=80.0
    )
    assert np.linalg.norm(p[1] - p[0]) / 1000 == pytest.approx(expected, rel=2e-5)


def _district(count, seed, channels=3):
    rng = np.random.default_rng(seed)
    start = rng.uniform(-20e3, 20e3, (count, 3)) * [1, 1, 0.001]
    turn = rng.uniform(0, 2 * np.pi, count)
    step = rng.uniform(1e3, 15e3, count)
    end = start + np.column_stack((step * np.cos(turn), step * np.sin(turn), np.zeros(count)))
    return interference.Stations(
        start,
        end,
        5.5 + 0.02 * rng.integers(0, channels, count),
        rng.choice([20.0, 40.0], count),
        rng.uniform(20, 40, count),
        rng.uniform(20, 34, count),
        rng.uniform(20, 34, count),
        rng.choice([0.0, 0.5, 1.0], count),
        np.arange(count),
        np.arange(count) + 10_000,
        np.arange(count),
        np.arange(count) + 10_000,
    )


def _some(stations, index):
    """Some of the directions; what none of them has stays blank."""
    return interference.Stations(*(x if x is None else np.asarray(x)[index] for x in stations))


def test_blocks_are_the_double_loop(monkeypatch):
    s = _district(40, 3)
    whole = interference.heard(s)
    monkeypatch.setattr(interference, "PAIRS_AT_ONCE", 150)
    blocks = interference.heard(s)
    np.testing.assert_allclose(blocks.interference_dbm, whole.interference_dbm, atol=1e-9)
    np.testing.assert_array_equal(blocks.strongest, whole.strongest)
    for victim in (0, 17, 39):
        alone = []
        for sender in range(40):
            if sender != victim:
                pair = _some(s, [victim, sender])
                alone.append(interference.heard(pair).interference_dbm[0])
        total = 10 * np.log10(np.sum(10 ** (np.array(alone) / 10)))
        assert whole.interference_dbm[victim] == pytest.approx(max(total, -300), abs=1e-6)


@given(st.integers(0, 50))
def test_one_more_sender_never_lowers_the_noise(seed):
    s = _district(12, seed)
    fewer = interference.heard(_some(s, slice(11)))
    more = interference.heard(s)
    assert (more.interference_dbm[:11] >= fewer.interference_dbm - 1e-9).all()


def test_an_unknown_place_neither_hears_nor_is_heard():
    s = _district(6, 1)
    place = s.from_m.copy()
    place[2] = np.nan
    got = interference.heard(s._replace(from_m=place))
    assert got.strongest[2] == -1 and 2 not in got.strongest


@pytest.mark.parametrize(
    "d_per_wavelength, angle, level",
    # ITU-R F.699-7 sec. 2.1 and 2.2 by hand: 32 - 25 log phi; -10; 52 - 10 log D - 25 log phi
    [(200, 10, 7.0), (200, 90, -10.0), (30, 20, 4.70), (30, 100, -4.77)],
)
def test_envelope_of_f699(d_per_wavelength, angle, level):
    gain = 7.7 + 20 * np.log10(d_per_wavelength)
    got = gain - antennas.discrimination_db(angle_deg=angle, gain_dbi=gain)
    assert got == pytest.approx(level, abs=0.01)


@given(st.floats(18, 55), st.floats(0, 180), st.floats(0, 90))
def test_the_envelope_falls(gain, angle, more):
    near, far = (
        antennas.discrimination_db(angle_deg=a, gain_dbi=gain)
        for a in (angle, min(angle + more, 180))
    )
    assert 0 <= near <= far + 1e-9


def test_of_one_clock_only_senders_of_the_same_half_are_heard():
    """A to B and D to C send in one half, their far ends in the other; a sender of no clock in any."""
    s = _in_line([10.0, 10.0, 10.0])._replace(phase=np.array([0, 1, 1, 0, 0, 1]))
    everyone, timed = interference.heard(s._replace(phase=None)), interference.heard(s)
    assert (timed.interference_dbm < everyone.interference_dbm).all()
    for way, who in enumerate(timed.strongest):
        assert who == -1 or s.phase[who] == s.phase[way]
    free = interference.heard(s._replace(phase=np.array([0, 1, -1, -1, 0, 1])))
    assert set(free.strongest[[0, 1]]) & {2, 3}
