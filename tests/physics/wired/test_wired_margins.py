"""Margins, attenuators, joints and dispersion: published limits, and what must always hold."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published_tables import half_digit, rows

from backhaul.physics import attenuators, environment, fiber, optics

#: tolerance of the trade: 0.5 dB to 5 dB, 10 % above
TOLERANCE = {1: 0.5, 2: 0.5, 3: 0.5, 5: 0.5, 7: 0.7, 10: 1.0, 15: 1.5, 20: 2.0}
SIZES = {
    "nominal_db": list(TOLERANCE),
    "min_db": [n - t for n, t in TOLERANCE.items()],
    "max_db": [n + t for n, t in TOLERANCE.items()],
}
levels = st.floats(-30, 30)


@pytest.mark.parametrize(
    "row", rows("wired/dispersion_limits.csv"), ids=lambda r: r["wavelength_nm"]
)
def test_dispersion_limit_of_the_fiber(row):
    computed = fiber.greatest_dispersion_ps_per_nm_km(
        wavelength_nm=float(row["wavelength_nm"]),
        # below its zero the greatest (least negative) is that of the flattest slope
        zero_dispersion_nm=1300,
        dispersion_slope_ps_nm2_km=0.092 if float(row["wavelength_nm"]) >= 1300 else 0.073,
    )
    printed = row["greatest_ps_nm_km"]
    assert computed == pytest.approx(float(printed), abs=half_digit(printed) + 1e-9)


def test_how_far_1600_ps_nm_reach_at_1550():
    """G.652 (08/2024) Table 2, by hand: 1600 / 18.592 = 86.1 km."""
    coefficient = fiber.greatest_dispersion_ps_per_nm_km(
        wavelength_nm=1550, zero_dispersion_nm=1300, dispersion_slope_ps_nm2_km=0.092
    )
    assert 1600 / coefficient == pytest.approx(86.1, abs=0.05)


def test_curve_and_line_meet():
    at, past = fiber.greatest_dispersion_ps_per_nm_km(
        wavelength_nm=np.array([1460.0, 1460.000001]),
        zero_dispersion_nm=1300,
        dispersion_slope_ps_nm2_km=0.092,
    )
    assert past - at == pytest.approx(0, abs=1e-6)
    assert at == pytest.approx(12.472, abs=0.0005)


@pytest.mark.parametrize(("slope", "printed"), [(0.092, 18.592), (0.0919, 17.99)])
def test_a_fiber_of_lesser_slope_keeps_its_own_curve(slope, printed):
    """S0/4 (l - l0^4/l^3), 0.0919/4 x (1550 - 766.97) = 17.99; at 0.092 the standard's line."""
    computed = fiber.greatest_dispersion_ps_per_nm_km(
        wavelength_nm=1550, zero_dispersion_nm=1300, dispersion_slope_ps_nm2_km=slope
    )
    assert computed == pytest.approx(printed, abs=0.005)


catalogues = st.sets(st.sampled_from(sorted(TOLERANCE)), min_size=1)
directions = st.integers(1, 2)


@given(st.data(), catalogues, directions, st.floats(0, 2))
def test_an_advised_attenuator_settles_its_finding(data, taken, count, wanted):
    """Whatever part of the catalogue is taken; and none smaller would have done."""
    sizes = sorted(taken)
    catalogue = {
        "nominal_db": sizes,
        "min_db": [n - TOLERANCE[n] for n in sizes],
        "max_db": [n + TOLERANCE[n] for n in sizes],
    }
    margins = data.draw(st.lists(st.floats(-5, 30), min_size=count, max_size=count))
    rooms = data.draw(st.lists(st.floats(-25, 5), min_size=count, max_size=count))
    choice = int(
        attenuators.choose_attenuator(
            margin_db=margins,
            overload_margin_db=rooms,
            wanted_overload_margin_db=wanted,
            **catalogue,
        )
    )

    def settles(n):
        least, most = n - TOLERANCE[n], n + TOLERANCE[n]
        return all(room + least >= wanted - 1e-6 for room in rooms) and all(
            left - most >= -1e-6 for left in margins
        )

    if choice == attenuators.NONE_NEEDED:
        assert all(room >= wanted - 1e-6 for room in rooms)
    elif choice == attenuators.NONE_HELPS:
        clear = [n for n in sizes if settles(n)]
        assert all(
            min(room + n - TOLERANCE[n] for room in rooms) < wanted + 1e-6
            or min(left - n - TOLERANCE[n] for left in margins) < 1e-6
            for n in clear
        )
    else:
        assert settles(sizes[choice])
        assert not any(
            settles(n)
            and min(room + n - TOLERANCE[n] for room in rooms) > wanted + 1e-6
            and min(left - n - TOLERANCE[n] for left in margins) > 1e-6
            for n in sizes[:choice]
        )


def choose(margins, rooms, wanted=0.0):
    return attenuators.choose_attenuator(
        margin_db=margins, overload_margin_db=rooms, wanted_overload_margin_db=wanted, **SIZES
    )


def test_tolerance_decides_and_not_the_nominal_value():
    """4.8 dB short: 5 dB gives 4.5 at its least, so 7 dB; at 4.5 dB short 5 dB is just enough."""
    assert choose([30.0], [-4.8]) == SIZES["nominal_db"].index(7)
    assert choose([30.0], [-4.5]) == SIZES["nominal_db"].index(5)
    assert choose([30.0], [-4.500002]) == SIZES["nominal_db"].index(7)
    assert choose([5.5], [-4.5]) == SIZES["nominal_db"].index(5)
    assert choose([5.499998], [-4.5]) == attenuators.NONE_HELPS


def test_one_row_counts_in_both_strands():
    assert choose([30.0, 6.0], [-4.8, 9.0]) == attenuators.NONE_HELPS
    assert choose([30.0, 7.7], [-4.8, 9.0]) == SIZES["nominal_db"].index(7)


def test_no_attenuator_in_the_catalogue():
    nothing = {"nominal_db": [], "min_db": [], "max_db": []}
    given_db = {"margin_db": [[9.0], [9.0]], "overload_margin_db": [[-1.0], [1.0]]}
    found = attenuators.choose_attenuator(wanted_overload_margin_db=0, **given_db, **nothing)
    assert list(found) == [attenuators.NONE_HELPS, attenuators.NONE_NEEDED]


@given(st.floats(0, 30), st.floats(0, 2), st.floats(0, 30))
def test_statistics_never_pass_the_worst_case(mean, variance, worst):
    loss = optics.bounded_statistical_loss_db(
        statistical_loss_db=optics.statistical_loss_db(mean_db=mean, variance_db2=variance),
        loss_max_db=worst,
    )
    assert loss <= worst


@pytest.mark.parametrize(("measured_db", "credible"), [(1.62, True), (1.6199, False), (0.0, False)])
def test_a_reading_cannot_be_below_the_glass(measured_db, credible):
    """9 km of good cable at 1550 nm lose 9 x 0.18 = 1.62 dB."""
    given_run = {"length_km": 9, "least_db_per_km": 0.18}
    assert optics.is_credible_reading(measured_db=measured_db, **given_run) == credible


def test_case_is_warmer_than_the_air():
    """70 C of cabinet air with 15 K in the cage is the limit of the industrial class."""
    case_c = environment.case_temperature_c(air_c=70, cage_rise_c=15)
    assert 70 < case_c == 85  # commercial to 70 C, industrial to 85 C: trade terms, of the case


@pytest.mark.parametrize(
    ("area", "limit_mw"),
    [
        ("zone 1 IIA T3", 150),
        ("IIA T4", 35),
        ("zone 2 IIB T4", 35),
        ("IIC T4", 35),
        ("IIC T5", 15),
        ("IIC T6", 15),
        ("zone 1 IIC", 15),
    ],
)
def test_optical_power_in_explosive_air(area, limit_mw):
    """IEC 60079-28:2015 Table 2, from memory; between its rows the stricter one."""
    assert environment.optical_threshold(area).value == limit_mw


def test_no_gas_no_optical_limit():
    assert environment.optical_threshold("zone 22 IIIC") is None
    assert environment.optical_threshold("") is None


def test_laser_classes_in_their_order():
    """IEC 60825-1:2014 clause 4.3."""
    ranks = [environment.laser_rank(c) for c in ("1", "1M", "2", "2M", "3R", "3B", "4")]
    assert ranks == sorted(ranks)
    assert [environment.harms_the_eye(c) for c in ("1M", "3R", "")] == [False, True, None]


@pytest.mark.parametrize(("least_db", "settles"), [(4.8, True), (4.7, False), (np.nan, False)])
def test_an_attenuator_settles_by_what_it_takes_at_least(least_db, settles):
    """4.8 dB too much light; one whose least is not known settles nothing."""
    found = attenuators.attenuator_settles(
        margin_db=9.0,
        overload_margin_db=-4.8,
        wanted_overload_margin_db=0.0,
        attenuator_min_db=np.array(least_db),
        attenuator_max_db=5.5,
    )
    assert bool(found) == settles
