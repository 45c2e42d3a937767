"""Part of a mirror that is wet: handbook table, numerical integration, sums by hand, properties."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import reflection, water, water_hops, water_levels, water_strips

WAVE_M = 0.299792458 / 5.8


def test_fresnel_integrals_of_the_handbook(table):
    t = table("fresnel_integrals.csv")
    for sign in (1, -1):
        cosine, sine = water_strips.fresnel_integrals(v=sign * t["v"])
        np.testing.assert_allclose(cosine, sign * t["C"], atol=6e-8)
        np.testing.assert_allclose(sine, sign * t["S"], atol=6e-8)
    ends = water_strips.fresnel_integrals(v=np.array([-np.inf, np.inf, np.nan]))
    np.testing.assert_allclose(ends, [[-0.5, 0.5, np.nan]] * 2, atol=1e-6)


def test_fresnel_integrals_of_a_library():
    special = pytest.importorskip("scipy.special")
    v = np.linspace(-40, 40, 40001)
    sine, cosine = special.fresnel(v)
    np.testing.assert_allclose(water_strips.fresnel_integrals(v=v), [cosine, sine], atol=5e-8)


def _share_by_integration(d_m, h1, h2, begin_m, end_m):
    """Phase over the surface, added up in steps of a few millimetres of phase; flat water."""

    def length(x):
        return np.hypot(x, h1) + np.hypot(d_m - x, h2)

    mirror = d_m * h1 / (h1 + h2)
    x = np.linspace(begin_m, end_m, 400_001)
    wave = np.exp(-2j * np.pi / WAVE_M * (length(x) - length(mirror)))
    part = np.sum((wave[1:] + wave[:-1]) / 2) * (x[1] - x[0])
    # stationary phase: the integral over an endless plane
    curve = h1**2 / np.hypot(mirror, h1) ** 3 + h2**2 / np.hypot(d_m - mirror, h2) ** 3
    return part / (np.sqrt(WAVE_M / curve) * np.exp(-1j * np.pi / 4))


@pytest.mark.parametrize(
    "begin_m, end_m",
    [(2970, 3030), (2900, 3200), (3000, 3500), (3200, 3260), (2600, 2700)],
)
def test_strip_against_numerical_integration(begin_m, end_m):
    d_m, h1, h2 = 5000, 90, 60  # mirror at 3000 m
    expected = _share_by_integration(d_m, h1, h2, begin_m, end_m)
    rays = reflection.two_ray(
        distance_km=d_m / 1000,
        height1_m=h1,
        height2_m=h2,
        k_factor=1e5,  # flat
        frequency_ghz=5.8,
        vertical=False,
        permittivity=70 - 30j,
    )
    strips = water_strips.wet_strips(
        begin_km=[begin_m / 1000], end_km=[end_m / 1000], count=[1], length_km=[d_m / 1000]
    )
    got = water_strips.wet_share(
        strips=strips,
        distance1_km=rays.distance1_km[None],
        distance2_km=d_m / 1000 - rays.distance1_km[None],
        effective1_m=rays.effective1_m[None],
        effective2_m=rays.effective2_m[None],
        frequency_ghz=5.8,
        radius_km=6371e5,
    )[0]
    # the phase at the edges is exact, the spacing of the phase between them nearly so
    assert abs(got - expected) < 0.012


@pytest.mark.parametrize("h1, h2, d, k", [(30, 30, 10, 4 / 3), (80, 60, 40, 1), (50, 20, 20, 3)])
@pytest.mark.parametrize("aside_km", [-2.0, -0.3, 0.1, 1.5])
def test_an_edge_on_the_round_earth(h1, h2, d, k, aside_km):
    """v^2 = 4 excess / wavelength, the excess by the law of cosines on the circle."""
    rays = reflection.two_ray(
        distance_km=d,
        height1_m=h1,
        height2_m=h2,
        k_factor=k,
        frequency_ghz=5.8,
        vertical=False,
        permittivity=70 - 30j,
    )
    d1, radius = float(rays.distance1_km), 6371e3 * k

    def length(km):
        legs = (1000 * km, h1), (1000 * (d - km), h2)
        return sum(
            np.sqrt(h**2 + 4 * radius * (radius + h) * np.sin(s / radius / 2) ** 2) for s, h in legs
        )

    got = water_strips.edge_parameter(
        edge_km=d1 + aside_km,
        distance1_km=d1,
        distance2_km=d - d1,
        effective1_m=rays.effective1_m,
        effective2_m=rays.effective2_m,
        frequency_ghz=5.8,
        radius_km=6371 * k,
    )
    excess = length(d1 + aside_km) - length(d1)
    assert np.sign(got) == np.sign(aside_km)
    assert got**2 == pytest.approx(4 * excess / WAVE_M, rel=0.01)


def _hop(strips=None, **change):
    hop = {
        "distance_km": 10.0,
        "height1_m": 30.0,
        "height2_m": 30.0,
        "water_low_m": -0.2,
        "water_high_m": 0.2,
        "worst_k_factor": 1.0,
        "frequency_ghz": 5.8,
        "vertical": False,
        "salinity_g_per_kg": 0.0,
    }
    hop = {**hop, **change}
    if strips is not None:
        begin, end = np.array(strips, dtype=float).reshape(-1, 2).T
        hop["strips"] = water_strips.wet_strips(
            begin_km=begin, end_km=end, count=[len(begin)], length_km=[hop["distance_km"]]
        )
    return water_hops.hops_over_water(**hop)


def test_a_river_of_60_m_carries_three_percent_of_the_mirror():
    # by hand: v = sqrt2 x sin(psi) / (F1 D) with psi 0.3269 deg, D 0.9521, F1 11.37 m gives
    # 0.0447 for 60 m; 0.0447 / sqrt2 = 3.2 % of the amplitude, -20 log10(1 - 0.032) = 0.28 dB
    river = water_levels.deepest_fade(_hop([(4.97, 5.03)], water_low_m=-6, water_high_m=6))
    assert river.fade_db[0] == pytest.approx(0.28, abs=0.05)
    lake = water_levels.deepest_fade(_hop(water_low_m=-6, water_high_m=6))
    assert lake.fade_db[0] > 15


@given(st.floats(0, 0.4), st.floats(1.5, 8.5), st.floats(0, 1))
def test_a_river_that_narrows_to_nothing_takes_nothing(width, middle, narrower):
    fades = [
        water_levels.deepest_fade(_hop([(middle - w / 2, middle + w / 2)])).fade_db[0]
        for w in (width, width * narrower, 0.0)
    ]
    assert np.nan_to_num(fades[2]) < 1e-9  # a strip of no width is no mirror at all
    # 0.0316 of the amplitude for 60 m at the mirror, a few times that near the ends
    for fade, w in zip(fades, (width, width * narrower)):
        assert np.nan_to_num(fade) <= -20 * np.log10(max(1 - 2.0 * w, 1e-3)) + 1e-6


def test_a_shore_at_the_mirror_leaves_half():
    """Physical optics of a half plane: half the field at its edge."""
    assert abs(water_strips.strip_share(begin_v=0.0, end_v=np.inf)) == pytest.approx(0.5)
    deep = water_levels.deepest_fade(
        _hop([(0.0, 5.0)], water_low_m=-6.0, water_high_m=6.0, worst_k_factor=1.0)
    )
    assert 4.5 < deep.fade_db[0] < 7  # -20 log10(1 - 0.5) = 6.0 dB, less the divergence


@given(st.lists(st.floats(0.1, 9.9), min_size=1, max_size=6, unique=True), st.floats(-3, 3))
def test_rows_on_the_water_change_nothing(cuts, level):
    """Water typed in several rows is the same water."""
    edges = [0.0, *sorted(cuts), 10.0]
    common = {"water_low_m": level, "water_high_m": level + 1.5}
    whole = water_levels.deepest_fade(_hop(**common))
    pieces = water_levels.deepest_fade(_hop(list(itertools.pairwise(edges)), **common))
    assert pieces.fade_db[0] == pytest.approx(whole.fade_db[0], abs=1e-3)


@given(
    st.floats(5.0, 60.0),
    st.floats(5.0, 60.0),
    st.lists(st.floats(0.01, 9.99), min_size=2, max_size=8, unique=True),
    st.sampled_from((1.4, 5.8, 18.0, 38.0)),
)
def test_land_never_gives_more_than_the_whole_mirror(h1, h2, edges, ghz):
    """Part of the mirror that is wet is at most 1: shores are not as sharp as the integrals say."""
    edges = sorted(edges)[: len(edges) // 2 * 2]
    common = {"height1_m": h1, "height2_m": h2, "frequency_ghz": ghz, "water_low_m": -1.0}
    hops = [_hop(strips, **common) for strips in (None, list(zip(edges[::2], edges[1::2])))]
    level = np.linspace(-1.0, 0.2, 60)
    whole, broken = (
        water_levels.rays_at(
            hop, owner=np.zeros(60, dtype=int), k_factor=np.full(60, 4 / 3), level_m=level
        )
        for hop in hops
    )
    np.testing.assert_array_less(broken.amplitude, whole.amplitude + 1e-9)


@pytest.mark.parametrize("ghz", [1.4, 5.8, 18.0])
def test_banks_that_widen_never_deepen_the_fade(ghz):
    """Banks of 0 to 4.98 km at both ends of 10 km, the mirror in the middle: full while the first
    zone is wet (a way half a wavelength longer, v = sqrt(2)), then ever less."""
    common = {"frequency_ghz": ghz, "water_low_m": -6.0, "water_high_m": 6.0}
    banks = [0.0, 0.05, 0.2, 0.5, 1.0, 2.0, 3.0, 4.0, 4.4, 4.6, 4.7, 4.8, 4.9, 4.95, 4.98]
    fades = [
        water_levels.deepest_fade(_hop([(wide, 10.0 - wide)], **common)).fade_db[0]
        for wide in banks
    ]
    # a null stands at another level, of another divergence, where the phase differs
    assert np.diff(fades).max() < 0.3
    assert fades[1] == pytest.approx(fades[0], abs=1e-6) and fades[-1] < 3


@pytest.mark.parametrize("aside, whole", [(0.98, False), (1.02, True)])
def test_the_first_zone_wet_is_the_whole_mirror(aside, whole):
    """Just inside and just outside v = sqrt(2), by the detour of half a wavelength."""
    far, high = np.array([5.0]), np.array([30.0])
    figures = {"distance1_km": far, "distance2_km": far, "effective1_m": high}
    figures |= {"effective2_m": high, "frequency_ghz": 5.8, "radius_km": 6371e5}
    metres = np.linspace(0, 4900, 490_001)
    detour = np.hypot(5000 + metres, 30) + np.hypot(5000 - metres, 30) - 2 * np.hypot(5000, 30)
    zone_km = metres[np.searchsorted(detour, WAVE_M / 2)] / 1000
    strips = water_strips.wet_strips(
        begin_km=[5 - zone_km * aside], end_km=[5 + zone_km * aside], count=[1], length_km=[10.0]
    )
    share = water_strips.wet_share(strips=strips, **figures)[0]
    assert abs(share) == pytest.approx(1.0)
    assert (share == 1.0) == whole  # inside the integrals still turn its phase


def test_hidden_water_reflects_nothing():
    everywhere = water_levels.deepest_fade(_hop([(4.0, 6.0)]))
    hidden = water_levels.deepest_fade(
        _hop([(4.0, 6.0)]), reflects=lambda hop, k, level, km: np.zeros(len(km), dtype=bool)
    )
    assert everywhere.mirrored[0] and not hidden.mirrored[0]


def test_many_hops_are_the_loop():
    strips = [[(4.0, 6.0)], [(1.0, 2.0), (4.9, 5.4)], []]
    alone = [water_levels.deepest_fade(_hop(s, height2_m=25.0)).fade_db[0] for s in strips]
    together = water_levels.deepest_fade(
        water_hops.hops_over_water(
            distance_km=np.full(3, 10.0),
            height1_m=30.0,
            height2_m=25.0,
            water_low_m=-0.2,
            water_high_m=0.2,
            worst_k_factor=1.0,
            frequency_ghz=5.8,
            vertical=False,
            salinity_g_per_kg=0.0,
            strips=water_strips.wet_strips(
                begin_km=[4.0, 1.0, 4.9], end_km=[6.0, 2.0, 5.4], count=[1, 2, 0], length_km=10.0
            ),
        )
    )
    np.testing.assert_allclose(together.fade_db[:2], alone[:2], rtol=1e-12)
    assert np.isnan(together.fade_db[2]) and not together.mirrored[2]


def test_hand_sums_of_two_rays(table):
    """|1 - D rho exp(-j 2 pi delta / wavelength)| from an independent table of D and delta.

    rho of the sea at 5.8 GHz, horizontal: 1 less 0.004 a degree (ITU-R P.527-6, computed
    independently: 0.9992, 0.9980, 0.9960, 0.992 at 0.2, 0.5, 1, 2 degrees).
    """
    t = table("computed_two_ray.csv")
    sea = np.flatnonzero((t["f_GHz"] < 12) & (t["grazing_deg"] < 2))
    assert sea.size >= 5
    rho = 1 - 0.004 * t["grazing_deg"]
    turn = np.exp(-2j * np.pi * t["path_difference_wavelengths"])
    by_hand = 20 * np.log10(np.abs(1 - t["divergence_D"] * rho * turn))
    rays = reflection.two_ray(
        distance_km=t["d_km"],
        height1_m=t["h1_above_water_m"],
        height2_m=t["h2_above_water_m"],
        k_factor=t["k"],
        frequency_ghz=t["f_GHz"],
        vertical=False,
        permittivity=water.permittivity(
            frequency_ghz=t["f_GHz"], salinity_g_per_kg=35.0, temperature_c=20.0
        ),
    )
    np.testing.assert_allclose(rays.level_db[sea], by_hand[sea], atol=0.05)
