"""Multipath against independent computations of ITU-R P.530, and properties of the method."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import multipath as mp
from backhaul.physics import multipath_time as mt


def _month_percent(**fade):
    return mt.year_fading_percent(**fade, year_gain_db=0.0)


def test_p530_17(table):
    t = table("computed_multipath_p530_17.csv")
    o = mp.occurrence(
        distance_km=t["d_km"],
        frequency_ghz=t["f_GHz"],
        height1_m=t["h_e_amsl_m"],
        height2_m=t["h_r_amsl_m"],
        dn1_n_per_km=t["dN1_N_per_km"],
        roughness_m=t["s_a_m"],
    )
    np.testing.assert_array_equal(o.method, 2)
    np.testing.assert_allclose(o.factor, t["K"], rtol=1e-8)
    np.testing.assert_allclose(o.percent, t["p0_percent"], rtol=1e-8)
    deep = mt.deep_fading_percent(occurrence_percent=o.percent, fade_db=t["A_dB"])
    np.testing.assert_allclose(deep, t["p_w_small_percent_method"], rtol=1e-8)
    np.testing.assert_allclose(
        _month_percent(occurrence_percent=o.percent, fade_db=t["A_dB"]),
        t["p_w_all_percent_method"],
        rtol=1e-8,
    )
    inclination = mp.inclination_mrad(
        distance_km=t["d_km"], height1_m=t["h_e_amsl_m"], height2_m=t["h_r_amsl_m"]
    )
    t.check("eps_p_mrad", inclination)
    gain = mt.year_gain_db(
        latitude_deg=t["lat_deg"], distance_km=t["d_km"], inclination_mrad=inclination
    )
    np.testing.assert_allclose(gain, t["deltaG_dB"], rtol=1e-8)
    np.testing.assert_allclose(
        mt.year_percent(worst_month_percent=deep, year_gain_db=gain),
        t["p_year_percent_from_small"],
        rtol=1e-8,
    )


def test_p530_19(table):
    t = table("computed_multipath_p530_19.csv")
    o = mp.occurrence(
        distance_km=t["d_km"],
        frequency_ghz=t["f_GHz"],
        height1_m=t["h_e_amsl_m"],
        height2_m=t["h_r_amsl_m"],
        dn1_n_per_km=np.nan,
        log_k=t["log10K"],
        dn75=t["dN75_N"],
        terrain_m=t["h_t_amsl_m"],
    )
    np.testing.assert_array_equal(o.method, 3)
    np.testing.assert_allclose(o.percent, t["p0_percent"], rtol=1e-8)
    t.check(
        "h_c_m",
        mp.path_height_m(
            distance_km=t["d_km"],
            height1_m=t["h_e_amsl_m"],
            height2_m=t["h_r_amsl_m"],
            terrain_m=t["h_t_amsl_m"],
        ),
    )
    np.testing.assert_allclose(
        _month_percent(occurrence_percent=o.percent, fade_db=t["A_dB"]),
        t["p_w_all_percent_method"],
        rtol=1e-8,
    )


@pytest.mark.parametrize(
    "hop, factor, fade_db, percent",
    [
        # ITU-R P.530-17 sec. 2.3.1, computed independently of this code
        (
            {
                "dn1_n_per_km": -300,
                "roughness_m": 42,
                "distance_km": 30,
                "frequency_ghz": 6.5,
                "height1_m": 60,
                "height2_m": 80,
            },
            4.17483e-5,
            30,
            0.0104491,
        ),
        (
            {
                "dn1_n_per_km": -300,
                "distance_km": 30,
                "frequency_ghz": 6.5,
                "height1_m": 60,
                "height2_m": 80,
            },
            1.62181e-4,
            30,
            0.0125841,
        ),
        (
            {
                "dn1_n_per_km": -700,
                "roughness_m": 5,
                "distance_km": 40,
                "frequency_ghz": 5.8,
                "height1_m": 40,
                "height2_m": 40,
            },
            8.89197e-4,
            30,
            0.946988,
        ),
    ],
)
def test_worked_hops(hop, factor, fade_db, percent):
    o = mp.occurrence(**hop)
    assert o.factor[0] == pytest.approx(factor, rel=2e-6)
    got = mt.deep_fading_percent(occurrence_percent=o.percent[0], fade_db=fade_db)
    assert got == pytest.approx(percent, rel=5e-6)  # six printed digits


@pytest.mark.parametrize(
    "p0, fade_db, percent",
    [
        # the all-percentage method, sec. 2.3.2, computed independently; the last three equal a public
        # transcription of P.530-19 in its own test
        (10.4491, 10, 0.728221),
        (10.4491, 20, 0.0896952),
        (65.190165, 10, 2.7937582),
        (4.280361207, 3, 6.396497),
        (4.280361207, 10, 0.377163),
        (4.280361207, 30, 0.00428036),
    ],
)
def test_all_percentages(p0, fade_db, percent):
    assert _month_percent(occurrence_percent=p0, fade_db=fade_db) == pytest.approx(
        percent, rel=5e-6
    )  # p0 has six digits


def test_transition():
    assert mt.transition_db(occurrence_percent=10.4491) == pytest.approx(26.223, abs=5e-4)


def test_worst_month_to_year(table):
    t = table("computed_worst_month.csv")
    t.check(
        "delta_G_dB",
        mt.year_gain_db(
            latitude_deg=t["latitude_deg"], distance_km=t["d_km"], inclination_mrad=t["eps_p_mrad"]
        ),
    )


@pytest.mark.parametrize(
    "lat, lon, d, f, h_e, h_r, fade_db",
    [
        (51.5, 0.2, 30, 6.5, 60, 90, 30),
        (25.2, 55.3, 40, 5.8, 60, 60, 25),
        (-33.9, 18.4, 18, 7, 9, 4, 35),
    ],
)
def test_deep_law_against_itur(lat, lon, d, f, h_e, h_r, fade_db):
    from itur.models import itu453, itu530

    expected = itu530.multipath_loss_for_A(lat, lon, h_e, h_r, d, f, fade_db).value
    o = mp.occurrence(
        distance_km=d,
        frequency_ghz=f,
        height1_m=h_e,
        height2_m=h_r,
        dn1_n_per_km=itu453.DN65(lat, lon, 1).value,
        roughness_m=itu530._ITU530_17_.s_a(np.array([[lat]]), np.array([[lon % 360]])),
    )
    got = mt.deep_fading_percent(occurrence_percent=o.percent, fade_db=fade_db)
    np.testing.assert_allclose(got.ravel(), np.ravel(expected), rtol=1e-9)


def test_no_multipath_up_to_five_km():
    # ITU-R P.530-18 and -19 sec. 2.3.1
    o = mp.occurrence(
        distance_km=[5.0, 5.01],
        frequency_ghz=6.0,
        height1_m=30.0,
        height2_m=30.0,
        dn1_n_per_km=-400.0,
        log_k=[-4.0, np.nan],
        dn75=10.0,
        terrain_m=0.0,
    )
    assert o.percent[0] == 0 and o.percent[1] > 0
    assert [mp.METHOD_NAMES[i] for i in o.method] == ["none", "P.530-17 quick"]
    assert _month_percent(occurrence_percent=o.percent[0], fade_db=3.0) == 0


@given(st.floats(0.01, 1000))
def test_branches_meet(p0):
    edge = mt.transition_db(occurrence_percent=p0)
    deep = mt.deep_fading_percent(occurrence_percent=p0, fade_db=edge)
    shallow = _month_percent(occurrence_percent=p0, fade_db=edge - 1e-9)
    assert shallow == pytest.approx(deep, rel=1e-6)


@given(st.floats(0, 1e7), st.floats(0, 80))
def test_a_share_of_time_stays_one(p0, fade_db):
    p = _month_percent(occurrence_percent=p0, fade_db=fade_db)
    assert 0 <= p <= 100


@given(st.floats(0.001, 1000), st.floats(0, 60), st.floats(0.05, 10))
def test_deeper_fades_are_rarer(p0, fade_db, more):
    shallow, deep = (
        _month_percent(occurrence_percent=p0, fade_db=f) for f in (fade_db, fade_db + more)
    )
    assert deep <= shallow * (1 + 1e-9)


@given(st.floats(5.1, 100), st.floats(0, 500), st.floats(0, 500))
def test_turning_a_hop_round_changes_nothing(d, h1, h2):
    place = {"frequency_ghz": 7.0, "dn1_n_per_km": -250.0, "roughness_m": 30.0}
    there = mp.occurrence(distance_km=d, height1_m=h1, height2_m=h2, **place)
    back = mp.occurrence(distance_km=d, height1_m=h2, height2_m=h1, **place)
    assert there.percent[0] == back.percent[0]


@given(
    st.lists(
        st.tuples(
            st.floats(1, 80),
            st.floats(1, 45),
            st.floats(5, 300),
            st.floats(5, 300),
            st.sampled_from([np.nan, 20.0, 300.0]),
            st.sampled_from([np.nan, -4.2]),
        ),
        min_size=1,
        max_size=8,
    )
)
def test_mixed_array_is_the_loop_of_scalars(rows):
    names = ("distance_km", "frequency_ghz", "height1_m", "height2_m", "roughness_m", "log_k")
    rest = {"dn1_n_per_km": -300.0, "dn75": 10.0, "terrain_m": 3.0}
    together = mp.occurrence(**dict(zip(names, np.array(rows).T)), **rest)
    for i, row in enumerate(rows):
        alone = mp.occurrence(**dict(zip(names, row)), **rest)
        assert together.percent[i] == pytest.approx(alone.percent[0], rel=1e-12)
        assert together.method[i] == alone.method[0]


@pytest.mark.parametrize("law", ["month", "year"])
@given(p0=st.floats(1e-6, 2000), gain=st.floats(0, 10.8))
def test_branches_of_month_and_year_meet(law, p0, gain):
    gain = gain if law == "year" else 0.0
    edge = mt.transition_db(occurrence_percent=p0)
    beside = [
        mt.year_fading_percent(occurrence_percent=p0, fade_db=fade, year_gain_db=gain)
        for fade in (edge - 1e-9, edge)
    ]
    assert beside[0] == pytest.approx(beside[1], rel=1e-6)


def test_average_year(table):
    """ITU-R P.530 sec. 2.3.4 with its step 4, computed independently of this code."""
    t = table("computed_multipath_year.csv")
    t.check(
        "year_percent",
        mt.year_fading_percent(
            occurrence_percent=t["p0_percent"],
            year_gain_db=t["delta_G_dB"],
            fade_db=t["A_dB"],
        ),
    )


def test_a_fade_of_nothing_takes_63_percent_of_the_year_as_of_the_month():
    # 1 - 1/e: the law of the clause at A = 0, whatever the gain
    got = mt.year_fading_percent(
        occurrence_percent=np.array([0.01, 1.0, 300.0]),
        fade_db=np.array([0.0, 0.0, -4.0]),
        year_gain_db=np.array([0.0, 10.8, 5.0]),
    )
    np.testing.assert_allclose(got, 100 * (1 - np.exp(-1)), rtol=1e-12)


@given(st.floats(1e-6, 1500), st.floats(0, 10.8), st.floats(0, 70), st.floats(0, 10))
def test_the_year_falls_steadily_with_the_fade_and_is_no_worse_than_the_month(
    p0, gain, fade_db, more
):
    year = [
        mt.year_fading_percent(occurrence_percent=p0, fade_db=fade, year_gain_db=gain)
        for fade in (fade_db, fade_db + more)
    ]
    assert 0 <= year[1] <= year[0] * (1 + 1e-9)
    month = _month_percent(occurrence_percent=p0, fade_db=fade_db)
    assert year[0] <= month * (1 + 1e-9)
    # never below the plain division, but for the 1 % within which the branches of P.530 meet
    assert year[0] >= month * 10 ** (-gain / 10) * (1 - 1e-2)


def test_no_multipath_is_none_in_the_year_too():
    gain = np.array([7.0, np.nan])
    got = mt.year_fading_percent(occurrence_percent=0.0, fade_db=0.0, year_gain_db=gain)
    np.testing.assert_array_equal(got, 0)
