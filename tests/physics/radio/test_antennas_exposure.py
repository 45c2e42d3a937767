"""Dishes, wind and exposure against closed-form tables and the standards' own figures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import antennas, exposure


def test_a_dish_without_a_figure_is_an_ordinary_one():
    """Efficiency 0.5 to 0.65 (common practice): 0.6 m at 18 GHz has 38.1 to 39.2 dBi, by the area."""
    least, most = (antennas.aperture_m(gain_dbi=gain, frequency_ghz=18) for gain in (38.06, 39.21))
    assert least < 0.6 < most


def test_dishes(table):
    t = table("computed_dishes.csv")
    across = antennas.aperture_m(
        gain_dbi=t["gain_dBi"], frequency_ghz=t["f_GHz"], efficiency=t["efficiency"]
    )
    np.testing.assert_allclose(across, t["diameter_m"], rtol=1e-3)  # a gain printed to 0.005 dB
    t.check(
        "beamwidth_deg",
        antennas.dish_beamwidth_deg(diameter_m=t["diameter_m"], frequency_ghz=t["f_GHz"]),
    )


@pytest.mark.parametrize(
    "diameter, f, distance",
    [
        (0.6, 5.8, 13.9),
        (0.6, 80, 192),
        (1.2, 6.5, 62),
    ],
)
def test_far_field(diameter, f, distance):
    # 2 D^2 / wavelength, computed independently
    got = antennas.far_field_m(diameter_m=diameter, frequency_ghz=f)
    assert got == pytest.approx(distance, rel=0.01)


@pytest.mark.parametrize("angle, loss", [(10, 0.133), (20, 0.540), (45, 3.010), (90, 25.0)])
def test_polarization(angle, loss):
    # -20 log10 cos; at 90 degrees the antennas' discrimination limits it
    assert antennas.polarization_loss_db(angle_deg=angle) == pytest.approx(loss, abs=5e-4)


def test_pointing():
    # definition of the 3 dB beamwidth; 0.5 degree on a 0.437 degree beam, common practice formula
    assert antennas.pointing_loss_db(offset_deg=0.5, beamwidth_deg=1) == pytest.approx(3.0)
    assert antennas.pointing_loss_db(offset_deg=0.5, beamwidth_deg=0.4372) == pytest.approx(
        15.7, abs=0.05
    )


def test_wind():
    # EN 1991-1-4 form q = rho V^2 / 2; 0.6 m dish 45 m/s and 1.2 m dish 55 m/s, independently
    force = antennas.wind_force_n(
        wind_m_s=np.array([45, 55]), diameter_m=np.array([0.6, 1.2]), air_kg_m3=1.225
    )
    np.testing.assert_allclose(force, [491, 2934], atol=0.5)


def test_envelope_of_f699_at_its_corners():
    # ITU-R F.699 (from memory): D/wavelength = 10^((43 - 7.7)/20) = 58.2, at most 100:
    # G = 52 - 10 log10(D/wavelength) - 25 log10(angle) up to 48 degrees, then 10 - 10 log10(...)
    far = antennas.discrimination_db(angle_deg=np.array([20.0, 120.0]), gain_dbi=43)
    log_d = np.log10(58.21)
    expected = 43 - np.array([52 - 10 * log_d - 25 * np.log10(20), 10 - 10 * log_d])
    np.testing.assert_allclose(far, expected, atol=0.01)
    # D/wavelength above 100: 32 - 25 log10(angle), then -10 dBi
    big = antennas.discrimination_db(angle_deg=np.array([20.0, 120.0]), gain_dbi=50)
    np.testing.assert_allclose(big, [50 - (32 - 25 * np.log10(20)), 60], atol=1e-9)


@given(st.floats(20, 52), st.floats(0, 179), st.floats(0, 1))
def test_envelope_never_rises_away_from_the_axis(gain, angle, more):
    # F.699 has a step up of less than 1 dB where its main lobe ends and at 48 degrees
    near = antennas.discrimination_db(angle_deg=angle, gain_dbi=gain)
    far = antennas.discrimination_db(angle_deg=angle + more, gain_dbi=gain)
    assert 0 <= near <= far + 1.0


@given(st.floats(0.3, 20))
def test_main_lobe_agrees_with_the_beamwidth(beamwidth):
    half = antennas.main_lobe_discrimination_db(angle_deg=beamwidth / 2, beamwidth_deg=beamwidth)
    assert half == pytest.approx(3.0)


def test_exposure_distance(table):
    t = table("computed_exposure.csv")
    hop = {"eirp_dbm": t["EIRP_dBm"], "limit_w_m2": t["S_W_per_m2"]}
    t.check("r_m", exposure.compliance_distance_m(**hop))
    # OET Bulletin 65: at worst the ground adds 60 % to the field (from memory)
    t.check("r_reflected_m", exposure.compliance_distance_m(**hop, reflection=1.6**2))


def test_a_distance_to_keep_is_rounded_up():
    """By hand: 47 dBm are 50.1 W, sqrt(50.1 / (4 pi 10)) = 0.6315 m; 0.7 m ask for 61.58 W."""
    exact_dbm = 10 * np.log10(0.7**2 * 4 * np.pi * 10) + 30
    kept = exposure.keep_away_m(
        eirp_dbm=np.array([47.0, exact_dbm, exact_dbm + 0.01]), frequency_ghz=5.6
    )
    np.testing.assert_allclose(kept, [0.7, 0.7, 0.8])


@given(st.floats(-10, 90), st.floats(0.4, 100))
def test_nobody_is_told_to_stand_nearer_than_worked_out(eirp_dbm, frequency_ghz):
    limit = min(
        exposure.icnirp_public_w_m2(frequency_ghz=frequency_ghz),
        exposure.cfr_public_w_m2(frequency_ghz=frequency_ghz),
    )
    exact = exposure.compliance_distance_m(eirp_dbm=eirp_dbm, limit_w_m2=limit)
    kept = exposure.keep_away_m(eirp_dbm=eirp_dbm, frequency_ghz=frequency_ghz)
    assert exact - 1e-6 <= kept <= exact + 0.1 + 1e-6


@pytest.mark.parametrize(
    "limit, f, expected",
    [
        # ICNIRP 2020 table 5: 10 W/m2 from 2 GHz; f_MHz/200 below (from memory)
        (exposure.icnirp_public_w_m2, 2.0, 10),
        (exposure.icnirp_public_w_m2, 60, 10),
        (exposure.icnirp_public_w_m2, 0.9, 4.5),
        # 47 CFR 1.1310 table 1: f_MHz/1500 mW/cm2, 1 mW/cm2 from 1500 MHz
        (exposure.cfr_public_w_m2, 0.9, 6.0),
        (exposure.cfr_public_w_m2, 5.8, 10),
    ],
)
def test_exposure_limits(limit, f, expected):
    assert limit(frequency_ghz=f) == pytest.approx(expected)
