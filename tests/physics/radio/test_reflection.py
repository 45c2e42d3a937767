"""Two rays over water against independent tables and an exact mirror on a circle."""

import numpy as np
import pytest

from backhaul.physics import reflection, water

SEA = {"salinity_g_per_kg": 35.0, "temperature_c": 20.0}


def test_water_of_the_sea():
    """PSS-78: sea water of salinity 35 conducts 42.914 mS/cm at 15 C, and 4.79 S/m at 20 C."""
    for temperature_c, expected in ((15.0, 4.2914), (water.WATER_TEMPERATURE_C, 4.79)):
        got = water.conductivity_s_m(
            temperature_c=temperature_c, salinity_g_per_kg=water.SEA_SALINITY_G_PER_KG
        )
        assert got == pytest.approx(expected, rel=0.005)


def _rays(t, **more):
    return reflection.two_ray(
        distance_km=t["d_km"],
        height1_m=t["h1_above_water_m"],
        height2_m=t["h2_above_water_m"],
        k_factor=t["k"],
        frequency_ghz=t["f_GHz"],
        vertical=False,
        permittivity=water.permittivity(frequency_ghz=t["f_GHz"], **SEA),
        **more,
    )


def test_geometry_of_the_mirror(table):
    t = table("computed_two_ray.csv")
    rays = _rays(t)
    radius = 6371 * t["k"]
    d1 = rays.distance1_km
    divergence = reflection.divergence(
        distance1_km=d1, distance2_km=t["d_km"] - d1, radius_km=radius, grazing_deg=rays.grazing_deg
    )
    for name, got in (
        ("d1_km", d1),
        ("h1_eff_m", rays.effective1_m),
        ("h2_eff_m", rays.effective2_m),
        ("grazing_deg", rays.grazing_deg),
        ("divergence_D", divergence),
        ("path_difference_wavelengths", rays.path_difference_wavelengths),
    ):
        np.testing.assert_allclose(got, t[name], rtol=2e-8, err_msg=name)
    for end, far in ((1, rays.effective2_m), (2, rays.effective1_m)):
        spacing = reflection.null_spacing_m(
            distance_km=t["d_km"], frequency_ghz=t["f_GHz"], far_effective_m=far
        )
        np.testing.assert_allclose(spacing, t[f"null_spacing_at_{end}_m"], rtol=2e-8)


def test_water_and_its_reflection(table):
    t = table("computed_reflection_coefficient.csv")
    eps = water.permittivity(
        frequency_ghz=t["f_GHz"], temperature_c=t["T_C"], salinity_g_per_kg=t["salinity_g_per_kg"]
    )
    t.check("eps_real", eps.real)
    t.check("eps_imag_loss", -eps.imag)
    for vertical, mark in ((False, "H"), (True, "V")):
        rho = water.reflection_coefficient(
            grazing_deg=t["grazing_deg"], permittivity=eps, vertical=vertical
        )
        t.check(f"rho_{mark}_abs", np.abs(rho))
        t.check(f"rho_{mark}_phase_deg", np.degrees(np.angle(rho)))


@pytest.mark.parametrize(
    "vertical, expected",
    [
        (False, [0.9992, 0.9980, 0.9960, 0.992]),
        (True, [0.9431, 0.8636, 0.7449, 0.5491]),
    ],
)
def test_sea_at_grazing_angles(vertical, expected):
    # ITU-R P.527-6 sea at 5.8 GHz and the Fresnel coefficients, computed independently
    rho = water.reflection_coefficient(
        grazing_deg=np.array([0.2, 0.5, 1, 2]),
        vertical=vertical,
        permittivity=water.permittivity(frequency_ghz=5.8, **SEA),
    )
    np.testing.assert_allclose(np.abs(rho), expected, atol=5e-4 if not vertical else 5.1e-5)


def test_waves():
    # psi 0.2 degree, 5.8 GHz; sigma 0.5 and 1 m: Ament 0.9139, 0.6976
    g = water.roughness_parameter(
        deviation_m=np.array([0.5, 1.0]), grazing_deg=0.2, wavelength_m=0.0516884
    )
    np.testing.assert_allclose(
        water.rough_factor(roughness_parameter=g), [0.9139, 0.6976], atol=5e-5
    )


def test_tide_table(table):
    t = table("computed_tide.csv")
    eps = water.permittivity(frequency_ghz=5.8, **SEA)
    for vertical, mark in ((False, "H"), (True, "V")):
        rays = reflection.two_ray(
            distance_km=12.0,
            height1_m=20 - t["tide_m"],
            height2_m=16 - t["tide_m"],
            k_factor=4 / 3,
            frequency_ghz=5.8,
            vertical=vertical,
            permittivity=eps,
        )
        t.check(f"level_{mark}_dB", rays.level_db)
        t.check("delta_wavelengths", rays.path_difference_wavelengths)


def _exact_mirror(d_m, h1, h2, radius):
    """Path difference of a mirror on a circle, by halving the interval of the arc."""
    total = d_m / radius

    def leg(h, angle):
        # law of cosines, in the form that keeps its digits
        length = np.sqrt(h**2 + 4 * radius * (radius + h) * np.sin(angle / 2) ** 2)
        rise = (h * (2 * radius + h) - length**2) / (2 * radius * length)  # sine of the elevation
        return length, rise

    low, high = 0.0, total
    for _ in range(200):
        middle = (low + high) / 2
        if leg(h1, middle)[1] > leg(h2, total - middle)[1]:
            low = middle
        else:
            high = middle
    direct = np.sqrt((h1 - h2) ** 2 + 4 * (radius + h1) * (radius + h2) * np.sin(total / 2) ** 2)
    return leg(h1, low)[0] + leg(h2, total - low)[0] - direct, low * radius / 1000


@pytest.mark.parametrize(
    "d_km, h1, h2, k",
    [
        (10, 30, 30, 4 / 3),
        (20, 50, 20, 4 / 3),
        (40, 80, 60, 1),
        (15, 12, 40, 0.7),
        (3, 5, 90, 3),
    ],
)
def test_against_an_exact_mirror_on_a_circle(d_km, h1, h2, k):
    # law of cosines in the plane of the hop; no approximation but that of a circle
    exact_m, exact_km = _exact_mirror(d_km * 1000, h1, h2, 6371e3 * k)
    rays = reflection.two_ray(
        distance_km=d_km,
        height1_m=h1,
        height2_m=h2,
        k_factor=k,
        frequency_ghz=5.8,
        vertical=False,
        permittivity=70 - 30j,
    )
    got_m = rays.path_difference_wavelengths * 0.299792458 / 5.8
    # 0.02 % by the parabola for the circle; the steep hop leaves out (h1^2 + h2^2) / (2 d^2)
    steep = (h1**2 + h2**2) / (2e6 * d_km**2)
    assert got_m == pytest.approx(exact_m, rel=2e-4 + steep)
    assert rays.distance1_km == pytest.approx(exact_km, rel=1e-3)
