"""Diversity, aim, slant range, far field, horizon, and the bound of rain."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import antennas, diversity, geometry, rain
from backhaul.physics.spherical_earth import marginal_distance_km


@pytest.mark.parametrize(
    "spacing, ghz, km, p0, fade, expected",
    # ITU-R P.530-18 sec. 6.2.1 from memory, computed independently; an older form of the
    # law agrees within 0.4 %
    [
        (10, 6.7, 45, 20, 35, 199.23),
        (10, 7.5, 50, 10, 35, 409.97),
        (5, 11, 30, 5, 30, 110.20),
        (15, 6.2, 60, 40, 40, 508.46),
    ],
)
def test_space_diversity(spacing, ghz, km, p0, fade, expected):
    common = {
        "frequency_ghz": ghz,
        "distance_km": km,
        "occurrence_percent": p0,
        "fade_db": fade,
        "gain_difference_db": 0.0,
    }
    law = diversity.improvement_law(spacing_m=spacing, **common)
    assert law == pytest.approx(expected, abs=0.005)
    for sign in (1, -1):
        counted = diversity.improvement_factor(spacing_m=sign * spacing, **common)
        assert counted == (law if km >= 43 else 1.0)


def test_just_inside_and_outside_the_range_of_space_diversity():
    good = {
        "spacing_m": 10.0,
        "frequency_ghz": 6.0,
        "distance_km": 50.0,
        "occurrence_percent": 10.0,
        "fade_db": 30.0,
        "gain_difference_db": 0.0,
    }
    for name, (low, high) in diversity.RANGES.items():
        for value, counted in ((low, 1), (low - 0.01, 0), (high, 1), (high + 0.01, 0)):
            factor = diversity.improvement_factor(**{**good, name: value})
            assert (factor > 1) == bool(counted), (name, value)


@given(st.floats(0, 90), st.floats(0.3, 30), st.floats(18, 55))
def test_aim_is_never_better_further_off_than_a_beamwidth_allows(angle, beam, gain):
    loss = antennas.aim_loss_db(angle_deg=angle, beamwidth_deg=beam, gain_dbi=gain)
    assert loss >= 0
    if antennas.outside_main_lobe(angle_deg=angle, beamwidth_deg=beam):
        assert loss >= 12 / 1.44
    else:
        # the parabola of the main lobe
        assert loss == pytest.approx(12 * (angle / beam) ** 2)


def test_edge_of_the_main_lobe():
    # theta_3dB / 1.2 = 5 degrees of 6
    for angle, outside in ((4.999, False), (5.001, True)):
        assert antennas.outside_main_lobe(angle_deg=angle, beamwidth_deg=6.0) == outside


def test_a_tower_beside_a_mast():
    # Pythagoras: 100 m out, 147 m up is 177.79 m, 5.0 dB more than over 100 m
    slant = geometry.slant_range_km(distance_km=0.1, height1_m=2.0, height2_m=149.0)
    assert slant == pytest.approx(np.hypot(0.1, 0.147), rel=2e-5)
    assert 20 * np.log10(slant / 0.1) == pytest.approx(5.0, abs=0.01)


@given(st.floats(0.001, 200), st.floats(-400, 4000), st.floats(-400, 4000))
def test_slant_range(d, h1, h2):
    there = geometry.slant_range_km(distance_km=d, height1_m=h1, height2_m=h2)
    assert there == geometry.slant_range_km(distance_km=d, height1_m=h2, height2_m=h1)
    assert there >= abs(h2 - h1) / 1000
    # the arc at the mean height, less its sagitta
    flat = np.hypot(d * (1 + (h1 + h2) / 2e3 / 6371), (h2 - h1) / 1000)
    assert there == pytest.approx(flat, rel=5e-5)


def test_far_field_of_a_panel_by_its_aperture():
    # 2 D^2 / wavelength: 0.6 m at 80 GHz 192 m; 1.2 m at 6.5 GHz 62 m
    for diameter, ghz, far in ((0.6, 80.0, 192), (1.2, 6.5, 62)):
        across = np.pi * diameter * ghz / 0.299792458
        gain = 10 * np.log10(0.55 * across**2)  # of a round aperture, efficiency 0.55
        back = antennas.aperture_m(gain_dbi=gain, frequency_ghz=ghz)
        assert back == pytest.approx(diameter)
        assert antennas.far_field_m(diameter_m=back, frequency_ghz=ghz) == pytest.approx(
            far, abs=0.6
        )


def test_horizon_of_two_masts():
    # 4.12 (sqrt h1 + sqrt h2) km at k = 4/3, a rule of thumb of the trade
    got = marginal_distance_km(height1_m=10.0, height2_m=10.0, radius_km=6371 * 4 / 3)
    assert got == pytest.approx(4.12 * 2 * np.sqrt(10), rel=2e-3)


def test_a_bound_of_rain_is_told_from_a_figure():
    fading = {"exceeded_0_01_db": 0.12, "frequency_exponent": 0.12}
    bound = rain.outage_percent(margin_db=29.6, **fading)
    assert rain.outage_bound(outage_percent=bound) == -1
    figure = rain.outage_percent(margin_db=0.2, **fading)
    assert rain.outage_bound(outage_percent=figure) == 0 and figure > 0.001
