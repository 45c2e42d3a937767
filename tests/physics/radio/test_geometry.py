"""Geometry against GeographicLib's table, closed forms and exact circles."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import geometry as geo
from backhaul.physics.profiles import clear_and_zone, needed_raise, profiles
from backhaul.physics.spherical_earth import marginal_distance_km


def test_geodesic(table):
    t = table("computed_geodesy.csv")
    g = geo.geodesic(
        latitude1=t["lat1_deg"],
        longitude1=t["lon1_deg"],
        latitude2=t["lat2_deg"],
        longitude2=t["lon2_deg"],
    )
    t.check("distance_m", g.distance_km * 1000)
    t.check("azimuth12_deg", g.azimuth_deg)
    t.check("azimuth21_deg", g.to_azimuth_deg)
    sphere = geo.sphere_distance_km(
        latitude1=t["lat1_deg"],
        longitude1=t["lon1_deg"],
        latitude2=t["lat2_deg"],
        longitude2=t["lon2_deg"],
    )
    # the table's sphere has 6371.0088 km
    np.testing.assert_allclose(
        sphere * 6371.0088e3 / 6371, t["sphere_6371008p8_distance_m"], rtol=1e-8
    )


def test_tilt(table):
    t = table("computed_geodesy.csv")
    hop = geo.geodesic(
        latitude1=t["lat1_deg"],
        longitude1=t["lon1_deg"],
        latitude2=t["lat2_deg"],
        longitude2=t["lon2_deg"],
    )
    for k, name in ((1.0, "k1"), (4 / 3, "k43")):
        ends = t["h1_amsl_m"], t["h2_amsl_m"]
        for (near, far), way in ((ends, "12"), (ends[::-1], "21")):
            t.check(
                f"tilt{way}_{name}_deg",
                geo.tilt_deg(
                    distance_km=hop.distance_km, height_m=near, far_height_m=far, k_factor=k
                ),
            )


def test_middle_is_half_way():
    """Against GeographicLib (Karney 2013): within 10 m, over the date line and near the poles."""
    earth = Geodesic.WGS84
    draw = np.random.default_rng(20)
    for latitude, longitude, azimuth in zip(
        draw.uniform(-85, 85, 200), draw.uniform(-180, 180, 200), draw.uniform(0, 360, 200)
    ):
        for length_m in (1e3, 20e3, 200e3):
            far = earth.Direct(latitude, longitude, azimuth, length_m)
            half = earth.Direct(latitude, longitude, azimuth, length_m / 2)
            g = geo.geodesic(
                latitude1=latitude,
                longitude1=longitude,
                latitude2=far["lat2"],
                longitude2=far["lon2"],
            )
            off = earth.Inverse(
                half["lat2"], half["lon2"], g.middle_latitude[0], g.middle_longitude[0]
            )
            assert off["s12"] < 10


def test_bulge_and_fresnel(table):
    t = table("computed_bulge_fresnel.csv")
    half = t["d_km"] / 2
    for k, name in ((4 / 3, "k43"), (1, "k1"), (2 / 3, "k23")):
        t.check(
            f"bulge_{name}_m", geo.earth_bulge_m(distance1_km=half, distance2_km=half, k_factor=k)
        )
    t.check(
        "F1_m", geo.fresnel_radius_m(distance1_km=half, distance2_km=half, frequency_ghz=t["f_GHz"])
    )


def test_off_centre_zones():
    # d1 = 8, d2 = 42 km, 7.5 GHz, k = 1: computed independently from P.526 sec. 2.1
    place = {"distance1_km": 8, "distance2_km": 42}
    assert geo.earth_bulge_m(**place, k_factor=1) == pytest.approx(26.369, abs=5e-4)
    assert geo.fresnel_radius_m(**place, frequency_ghz=7.5, zone=2) == pytest.approx(
        23.178, abs=5e-4
    )


def test_worst_k(table):
    t = table("computed_worst_k.csv")
    t.check("k_e", geo.worst_k_factor(distance_km=t["d_km"]))
    assert geo.worst_k_factor(distance_km=3) == geo.worst_k_factor(distance_km=20)


@pytest.mark.parametrize("gradient, k", [(-40, 1.3419), (0, 1.0), (40, 0.7970), (-39.25, 4 / 3)])
def test_k_from_gradient(gradient, k):
    # ITU-R P.310: k = 157/(157 + dN/dh)
    assert geo.k_factor(gradient_n_per_km=gradient) == pytest.approx(k, abs=5e-5)


@pytest.mark.parametrize("height, horizon", [(10, 13.034), (30, 22.576), (100, 41.218)])
def test_horizon(height, horizon):
    # sqrt(2 k a h), k = 4/3, computed independently
    got = marginal_distance_km(height1_m=height, height2_m=0.0, radius_km=4 / 3 * 6371)
    assert got == pytest.approx(horizon, abs=5e-4)


RULES = [  # P.530 sec. 2.2.2.1: k, share of F1, antenna height over a 20 m obstacle at 40 km
    (4 / 3, 1.0, 65.020),
    ("worst", 0.0, 62.140),
    ("worst", 0.3, 68.582),
    ("worst", 0.6, 75.025),
]


@pytest.mark.parametrize("k, share, height", RULES)
def test_clearance_rule(k, share, height):
    profile = profiles(distance_km=[0, 20, 40], ground_m=[0, 20, 0], count=[3])
    k = geo.worst_k_factor(distance_km=40) if k == "worst" else k
    given_heights = {"profile": profile, "height1_m": 30, "height2_m": 30, "frequency_ghz": 6.5}
    lift = needed_raise(**given_heights, k_factor=k, fraction_f1=share)
    assert 30 + lift.both_m[0] == pytest.approx(height, abs=6e-4)


def least_clearance(*, profile, **hop):
    """Least share of the first zone at the points of each hop, and its distance."""
    clear, zone = clear_and_zone(profile, **hop)
    worst = profile.largest(-clear / zone)
    return -worst, profile.distance_km[profile.index_of(-clear / zone, worst)]


def test_clearance_of_ragged_profiles_is_that_of_each_alone():
    rng = np.random.default_rng(5)
    counts = rng.integers(2, 60, 40)
    hops = []
    for n in counts:
        d = np.sort(np.concatenate(([0, rng.uniform(1, 60)], rng.uniform(0, 1, n - 2))))
        hops.append((d, rng.uniform(0, 60, n), rng.uniform(0, 9, n)))
    k, f = rng.uniform(0.5, 2, 40), rng.uniform(1, 80, 40)
    h1, h2 = rng.uniform(5, 90, (2, 40))
    flat = [np.concatenate(part) for part in zip(*hops)]
    ratio, at_km = least_clearance(
        profile=profiles(distance_km=flat[0], ground_m=flat[1], cover_m=flat[2], count=counts),
        height1_m=h1,
        height2_m=h2,
        frequency_ghz=f,
        k_factor=k,
    )
    for i, (d, g, c) in enumerate(hops):
        best, where = np.inf, np.nan
        for x, ground in zip(d[1:-1], (g + c)[1:-1]):
            rest = d[-1] - x
            ray = (h1[i] * rest + h2[i] * x) / d[-1]
            zone = 17.3141 * np.sqrt(x * rest / (f[i] * d[-1]))  # c in km GHz
            share = (ray - ground - x * rest / (12.742 * k[i])) / zone
            if share < best:
                best, where = share, x
        if np.isfinite(best):
            assert ratio[i] == pytest.approx(best, rel=1e-4, abs=1e-4)
            assert at_km[i] == where
        else:
            assert np.isinf(ratio[i])


@given(
    st.floats(0.1, 80),
    st.floats(0, 300),
    st.floats(0, 300),
    st.floats(0.5, 3),
    st.floats(0.05, 0.95),
)
def test_turning_a_hop_round_swaps_its_ends(length, h1, h2, k, share):
    x = length * share
    there = profiles(distance_km=[0, x, length], ground_m=[0, 5, 0], count=[3])
    back = profiles(distance_km=[0, length - x, length], ground_m=[0, 5, 0], count=[3])
    common = {"frequency_ghz": 6, "k_factor": k}
    ratio, at_km = least_clearance(profile=there, height1_m=h1, height2_m=h2, **common)
    turned, from_end_km = least_clearance(profile=back, height1_m=h2, height2_m=h1, **common)
    assert ratio[0] == pytest.approx(turned[0], rel=1e-6, abs=1e-6)
    assert at_km[0] == pytest.approx(length - from_end_km[0])
    lift = {"frequency_ghz": 6, "k_factor": k, "fraction_f1": 1.0}
    up, down = (
        needed_raise(profile=p, height1_m=p1, height2_m=p2, **lift)
        for p, p1, p2 in ((there, h1, h2), (back, h2, h1))
    )
    assert up.first_m[0] == pytest.approx(down.second_m[0], rel=1e-6, abs=1e-6)


@given(st.floats(0.5, 60), st.floats(0, 200), st.floats(0, 200), st.floats(0.6, 2))
def test_needed_raise_reaches_the_rule(length, h1, h2, k):
    p = profiles(
        distance_km=np.linspace(0, length, 9), ground_m=[0, 40, 8, 90, 0, 3, 70, 10, 0], count=[9]
    )
    hop = {"profile": p, "frequency_ghz": 5.8, "k_factor": k}
    lift = needed_raise(height1_m=h1, height2_m=h2, fraction_f1=1.0, **hop)
    for up1, up2 in ((lift.both_m, lift.both_m), (lift.first_m, 0), (0, lift.second_m)):
        ratio, _ = least_clearance(height1_m=h1 + up1, height2_m=h2 + up2, **hop)
        assert ratio[0] >= 1 - 1e-9


@pytest.mark.parametrize(
    "points",
    [
        {"distance_km": [0], "ground_m": [0], "count": [1]},
        {"distance_km": [0, 2, 1], "ground_m": [0, 0, 0], "count": [3]},
        {"distance_km": [1, 2], "ground_m": [0, 0], "count": [2]},
        {"distance_km": [0, 0], "ground_m": [0, 0], "count": [2]},
    ],
)
def test_impossible_profiles_are_refused(points):
    with pytest.raises(ValueError):
        profiles(**points)


@given(*(st.floats(low, high) for low, high in ((-60, 60), (-180, 180), (-0.3, 0.3), (0.01, 0.3))))
def test_turning_a_geodesic_round_swaps_its_ends(latitude, longitude, north, east):
    ends = {"latitude1": latitude, "longitude1": longitude}
    far = {"latitude2": latitude + north, "longitude2": longitude + east}
    there = geo.geodesic(**ends, **far)
    back = geo.geodesic(
        latitude1=far["latitude2"],
        longitude1=far["longitude2"],
        latitude2=latitude,
        longitude2=longitude,
    )
    assert there.distance_km[0] == pytest.approx(back.distance_km[0], rel=1e-9)
    turn = (there.azimuth_deg[0] - back.to_azimuth_deg[0] + 180) % 360 - 180
    assert turn == pytest.approx(0, abs=1e-5)
    assert there.middle_latitude[0] == pytest.approx(back.middle_latitude[0], abs=1e-7)


def test_line_of_sight_from_exact_circles():
    # the tilt against plane trigonometry on a circle: law of cosines with the angle at the centre
    a, d, h1, h2 = 6371e3, 30e3, 80.0, 20.0
    angle = d / a
    up = np.arctan2(np.cos(angle) - (a + h1) / (a + h2), np.sin(angle))
    tilt = geo.tilt_deg(distance_km=30, height_m=h1, far_height_m=h2)
    assert tilt == pytest.approx(np.degrees(up), abs=2e-4)
