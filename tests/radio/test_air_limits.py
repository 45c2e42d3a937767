"""Constants of the air, each just inside and just outside."""

from types import SimpleNamespace

import numpy as np
import pytest

from backhaul.budgets.hop_profiles import HopProfiles
from backhaul.budgets.hop_rates import share_by_load_percent
from backhaul.budgets.hop_weather import snow_factors
from backhaul.budgets.reflection_remedies import CHANGES_M, _permitted
from backhaul.checks.bands import _weather_radar
from backhaul.figures.radio_judgements import clearance_verdict
from backhaul.path.waters import NO_WATER
from backhaul.physics.profiles import profiles


@pytest.mark.parametrize(("median", "word"), [(0.6, "thin"), (0.5999, "fail"), (1.0, "pass")])
def test_six_tenths_of_the_zone_are_free_space(median, word):
    """ITU-R P.530 sec. 2.2.2: from 0.6 F1 on there is no diffraction loss to speak of."""
    limits = {"wanted_median_f1": 1.0, "wanted_worst_f1": 0.0}
    assert clearance_verdict(median_f1=median, worst_f1=0.0, **limits) == word


def test_snow_is_counted_where_there_is_rain_to_speak_of():
    """Half a decibel in 0.01 % of the year; both hops 225 m below the rain height of 52 degrees."""
    hops = SimpleNamespace(
        links=(0, 1), middle_latitude=np.full(2, 52.0), height_m=np.full((2, 2), 2600.0)
    )
    values = {
        "rain_0_01_db": np.array([0.51, 0.51, 0.49, 0.49]),
        "frequency_exponent": np.full(4, 0.2),
    }
    _, fade = snow_factors(hops, values, np.full(4, 20.0), np.arange(4))
    assert fade[0] > 0.51 and np.isnan(fade[1])


def test_no_antenna_is_lowered_below_2_m():
    """Above everybody's head (practice); the ground lies 100 m below the ray, so only that counts."""
    profile = profiles(distance_km=[0, 1, 2], ground_m=[0, -100, 0], count=[3])
    none = np.full(3, np.nan)
    ground = HopProfiles(
        (), np.array([0]), profile, np.full(3, NO_WATER), none, np.array([False]), {}, ((),)
    )
    step = CHANGES_M[CHANGES_M < 0].max()
    for above_m, allowed in ((2 - step, True), (2 - step - 0.01, False)):
        hops = SimpleNamespace(
            height_m=np.full((1, 2), above_m),
            ground_m=np.zeros((1, 2)),
            ground=ground,
            frequency_ghz=np.full((1, 2), 6.0),
        )
        places = np.flatnonzero(step == CHANGES_M)
        assert _permitted(hops, 1.0, 0)[places[0], places[0]] == allowed


@pytest.mark.parametrize(
    ("ghz", "told"), [(5.5949, False), (5.5951, True), (5.6549, True), (5.6551, False)]
)
def test_weather_radars_work_from_5_60_to_5_65_ghz(ghz, told):
    """EN 301 893 (from memory); a channel of 10 MHz reaches 5 MHz to either side."""
    hops = SimpleNamespace(
        channel_mhz=np.array([10.0]),
        frequency_ghz=np.full((1, 2), ghz),
        rows=[SimpleNamespace(eirp_limit_dbm=None)],
    )
    said = list(_weather_radar(SimpleNamespace(radio=SimpleNamespace(hops=hops)), 0))
    assert bool(said) == told


@pytest.mark.parametrize(
    ("up", "down", "share"),
    [(19.9, 80.1, 20.0), (20.1, 79.9, 20.1), (79.9, 20.1, 79.9), (9, 1, 80)],
)
def test_a_time_division_radio_gives_a_fifth_at_least(up, down, share):
    """20 to 80 % of the time either way (common practice)."""
    assert share_by_load_percent(up, down) == pytest.approx(share)
