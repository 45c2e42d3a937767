"""Diffraction against the published delta-Bullington examples and independent figures."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from backhaul.physics import diffraction, geometry
from backhaul.physics.profiles import profiles
from backhaul.physics.spherical_earth import (
    first_term_loss_db,
    marginal_distance_km,
    spherical_loss_db,
)

REFERENCE = Path(__file__).parents[2] / "reference" / "radio"


def _profile(name):
    with open(REFERENCE / name, newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return (
        np.array([float(row["distance_km"]) for row in rows]),
        np.array([float(row["height_amsl_m"]) for row in rows]),
    )


def _published(t):
    points = [_profile(name) for name in t["profile_file"]]
    together = profiles(
        distance_km=np.concatenate([d for d, _ in points]),
        ground_m=np.concatenate([g for _, g in points]),
        count=[d.size for d, _ in points],
    )
    first, last = (np.array([g[i] for _, g in points]) for i in (0, -1))
    return {
        "profile": together,
        "height1_m": first + t["tx_height_agl_m"],
        "height2_m": last + t["rx_height_agl_m"],
        "frequency_ghz": t["f_GHz"],
        "vertical": t["polarisation"] == "V",
    }


def test_delta_bullington(table):
    # all ten examples at once: two profiles of different length
    t = table("p526_delta_bullington.csv")
    got = diffraction.delta_bullington(**_published(t), radius_km=t["effective_earth_radius_km"])
    for part, name in (
        (got.bullington_db, "L_bullington_actual_dB"),
        (got.smooth_bullington_db, "L_bullington_smooth_dB"),
        (got.spherical_db, "L_spherical_dB"),
        (got.loss_db, "L_delta_bullington_dB"),
    ):
        np.testing.assert_allclose(part, t[name], atol=0.01, err_msg=name)


def test_delta_bullington_with_four_thirds(table):
    t = table("p526_delta_bullington.csv")
    got = diffraction.delta_bullington(**_published(t), radius_km=4 / 3 * 6371)
    np.testing.assert_allclose(got.loss_db, t["L_delta_bullington_dB"], atol=0.1)


def test_knife_edge(table):
    t = table("computed_knife_edge_nu.csv")
    t.check("J_dB", diffraction.knife_edge_loss_db(nu=t["nu"]))
    t = table("computed_knife_edge.csv")
    zone = geometry.fresnel_radius_m(
        distance1_km=t["d1_km"], distance2_km=t["d2_km"], frequency_ghz=t["f_GHz"]
    )
    nu = np.sqrt(2) * t["obstacle_above_ray_m"] / zone  # ITU-R P.526 sec. 4.1
    t.check("F1_m", zone)
    t.check("nu", nu)
    t.check("J_dB", diffraction.knife_edge_loss_db(nu=nu))


def test_six_tenths_of_a_zone_lose_nothing():
    # ITU-R P.526 sec. 3.1.1: free of diffraction where 0.6 of the first zone is clear
    assert diffraction.knife_edge_loss_db(nu=-0.6 * np.sqrt(2)) == 0


@pytest.mark.parametrize("vertical", [False, True])
def test_sea_sphere(table, vertical):
    t = table("computed_sea_sphere.csv")
    got = spherical_loss_db(
        distance_km=t["d_km"],
        height1_m=t["h1_m"],
        height2_m=t["h2_m"],
        frequency_ghz=5.8,
        vertical=vertical,
        radius_km=8500.0,
        sea_share=1.0,
    )
    np.testing.assert_allclose(got, t["loss_dB"], atol=0.005 + 0.002)


def test_the_ground_of_land_and_sea():
    """ITU-R P.526-15 sec. 3.1.1 in its own units: f in MHz, permittivity and conductivity of land 22
    and 0.003 S/m, of sea 80 and 5 S/m. Antennas so low that K bounds their gain."""
    d, a, f, h = 20.0, 8500.0, 900.0, 0.3
    for sea_share, permittivity, conductivity in ((0.0, 22, 0.003), (1.0, 80, 5.0)):
        lossy = 18000 * conductivity / f
        k_h = 0.36 * (a * f) ** (-1 / 3) * ((permittivity - 1) ** 2 + lossy**2) ** -0.25
        k = k_h * np.sqrt(permittivity**2 + lossy**2)
        beta = (1 + 1.6 * k**2 + 0.67 * k**4) / (1 + 4.5 * k**2 + 1.53 * k**4)
        x = 2.188 * beta * f ** (1 / 3) * a ** (-2 / 3) * d
        b = beta * 9.575e-3 * beta * f ** (2 / 3) * a ** (-1 / 3) * h
        assert x < 1.6
        assert b < 2
        gain = max(20 * np.log10(b + 0.1 * b**3), 2 + 20 * np.log10(k))
        expected = -(-20 * np.log10(x) - 5.6488 * x**1.425) - 2 * gain
        got = first_term_loss_db(
            distance_km=d,
            height1_m=h,
            height2_m=h,
            frequency_ghz=f / 1000,
            vertical=True,
            sea_share=sea_share,
            radius_km=a,
        )
        assert got == pytest.approx(expected, abs=1e-3)


@given(st.floats(2, 60), st.floats(1, 60), st.floats(1, 60), st.floats(0.9, 20), st.floats(0, 1))
def test_flat_ground_tends_to_the_sphere(d, h1, h2, f, sea):
    x = np.linspace(0, d, 400)
    flat = profiles(distance_km=x, ground_m=np.zeros_like(x), count=[x.size])
    hop = {
        "height1_m": h1,
        "height2_m": h2,
        "frequency_ghz": f,
        "vertical": True,
        "sea_share": sea,
        "radius_km": 8500.0,
    }
    got = diffraction.delta_bullington(profile=flat, **hop)
    sphere = spherical_loss_db(distance_km=d, **hop)
    # the part of Bullington cancels: what is left is the sphere, or Bullington where that is more
    assert got.loss_db[0] == pytest.approx(max(sphere, got.bullington_db[0]), abs=1e-6)


@given(st.floats(2, 60), st.floats(2, 80), st.floats(2, 80), st.floats(0.9, 80))
@settings(max_examples=60)
def test_turning_a_hop_round_changes_nothing(d, h1, h2, f):
    rng = np.random.default_rng(int(d * 1000))
    x = np.linspace(0, d, 60)
    ground = rng.uniform(0, 40, x.size)
    hop = {"frequency_ghz": f, "vertical": False, "radius_km": 8494.7}
    there = diffraction.delta_bullington(
        profile=profiles(distance_km=x, ground_m=ground, count=[x.size]),
        height1_m=h1 + ground[0],
        height2_m=h2 + ground[-1],
        **hop,
    )
    back = diffraction.delta_bullington(
        profile=profiles(distance_km=x[-1] - x[::-1], ground_m=ground[::-1], count=[x.size]),
        height1_m=h2 + ground[-1],
        height2_m=h1 + ground[0],
        **hop,
    )
    assert there.loss_db[0] == pytest.approx(back.loss_db[0], abs=1e-6)


@given(st.floats(1, 60), st.floats(0.0, 60), st.floats(0.0, 60), st.floats(0.9, 80))
def test_the_sphere_costs_less_from_higher_up(d, h1, h2, f):
    hop = {"distance_km": d, "frequency_ghz": f, "vertical": False, "radius_km": 8500.0}
    low, high = (spherical_loss_db(height1_m=h1 + up, height2_m=h2, **hop) for up in (0, 5))
    assert high <= low + 0.05  # the sighted and the far branch meet only approximately


def test_the_branches_of_the_sphere_meet():
    h1, h2 = 20.0, 10.0
    edge = marginal_distance_km(height1_m=h1, height2_m=h2, radius_km=8500.0)
    near, far = (
        spherical_loss_db(
            distance_km=edge * (1 + e),
            height1_m=h1,
            height2_m=h2,
            frequency_ghz=5.8,
            vertical=False,
            radius_km=8500.0,
        )
        for e in (-1e-6, 1e-6)
    )
    assert near == pytest.approx(far, abs=0.01)


def test_one_edge_is_the_knife_edge_with_the_curve_of_bullington():
    # P.526 sec. 4.5.1 on a profile of one point: L = J + (1 - exp(-J/6)) (10 + 0.02 D)
    p = profiles(distance_km=[0, 5, 10], ground_m=[0, 40, 0], count=[3])
    got = diffraction.bullington_loss_db(
        profile=p,
        surface_m=p.surface_m,
        height1_m=np.array([30.0]),
        height2_m=np.array([30.0]),
        frequency_ghz=5.8,
        radius_km=np.array([1e12]),
    )
    edge = 15.4093619  # computed independently: 10 m over the ray at 5 + 5 km, 5.8 GHz
    assert got[0] == pytest.approx(edge + (1 - np.exp(-edge / 6)) * 10.2, abs=1e-6)


def test_profiles_of_any_length_together():
    rng = np.random.default_rng(8)
    counts = rng.integers(2, 90, 60)
    hops = []
    for n in counts:
        x = np.concatenate(([0], np.sort(rng.uniform(0.1, 30, n - 1))))
        hops.append((x, rng.uniform(0, 60, n)))
    h1, h2 = rng.uniform(2, 90, (2, 60))
    f, vertical = rng.uniform(0.9, 80, 60), rng.random(60) < 0.5
    together = diffraction.delta_bullington(
        profile=profiles(
            distance_km=np.concatenate([x for x, _ in hops]),
            ground_m=np.concatenate([g for _, g in hops]),
            count=counts,
        ),
        height1_m=h1,
        height2_m=h2,
        frequency_ghz=f,
        vertical=vertical,
        radius_km=8500.0,
    )
    for i, (x, g) in enumerate(hops):
        alone = diffraction.delta_bullington(
            profile=profiles(distance_km=x, ground_m=g, count=[x.size]),
            height1_m=h1[i],
            height2_m=h2[i],
            frequency_ghz=f[i],
            vertical=vertical[i],
            radius_km=8500.0,
        )
        assert together.loss_db[i] == pytest.approx(alone.loss_db[0], rel=1e-9, abs=1e-9)
    assert np.isfinite(together.loss_db).all() and (together.loss_db >= 0).all()
