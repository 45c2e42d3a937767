"""Free space, levels and noise against closed-form tables and the rules of 47 CFR 15."""

import numpy as np
import pytest

from backhaul.physics import free_space as fs


def test_free_space_loss(table):
    t = table("computed_free_space.csv")
    t.check("loss_dB", fs.free_space_loss_db(distance_km=t["d_km"], frequency_ghz=t["f_GHz"]))


def test_noise(table):
    t = table("computed_noise.csv")
    t.check(
        "noise_dBm",
        fs.noise_floor_dbm(bandwidth_mhz=t["bandwidth_MHz"], noise_figure_db=t["noise_figure_dB"]),
    )


def test_free_space_against_the_printed_constant():
    # ITU-R P.525 prints 92.45 for GHz and km
    loss = fs.free_space_loss_db(distance_km=1, frequency_ghz=1)
    assert loss == pytest.approx(92.45, abs=0.005)


def test_worked_line():
    # 12 km at 5.8 GHz, computed line by line from P.525 and k T0 B F independently of this code
    loss = fs.free_space_loss_db(distance_km=12, frequency_ghz=5.8)
    assert loss == pytest.approx(129.300, abs=5e-4)
    eirp = fs.eirp_dbm(power_dbm=17, gain_dbi=23, loss_db=0.5)
    level = fs.received_dbm(eirp_dbm=eirp, path_loss_db=loss + 0.1116, gain_dbi=23, loss_db=0.5)
    noise = fs.noise_floor_dbm(bandwidth_mhz=40, noise_figure_db=6)
    assert level == pytest.approx(-67.412, abs=5e-4)
    assert level - noise == pytest.approx(24.543, abs=5e-4)


@pytest.mark.parametrize(
    "rule, channel_mhz, gain_dbi, limit_dbm",
    [
        # 47 CFR 15.407(a)(1)(iii): 1 W, 17 dBm/MHz, free to 23 dBi, then dB for dB
        ((30, np.inf, 17, 23, 1), 80, 34, 19.0),
        ((30, np.inf, 17, 23, 1), 10, 23, 27.0),
        # 47 CFR 15.247(c)(1)(i): 1 dB for each 3 dB over 6 dBi
        ((30, np.inf, np.inf, 6, 1 / 3), 20, 24, 24.0),
        # ECC/REC/(06)04: 36 dBm EIRP, 23 dBm/MHz of it
        ((np.inf, 36, np.inf, 0, 0), 20, 23, 13.0),
    ],
)
def test_conducted_limit(rule, channel_mhz, gain_dbi, limit_dbm):
    conducted, eirp, density, free, back_off = rule
    assert fs.conducted_limit_dbm(
        conducted_max_dbm=conducted,
        eirp_max_dbm=eirp,
        psd_max_dbm_mhz=density,
        gain_dbi=gain_dbi,
        gain_free_dbi=free,
        back_off_db_per_db=back_off,
        channel_mhz=channel_mhz,
    ) == pytest.approx(limit_dbm, abs=0.05)
