"""Gas against the published examples of ITU-R Study Group 3 and an independent library."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backhaul.physics import gas


def _attenuation(t):
    return gas.specific_attenuation(
        frequency_ghz=t["f_GHz"],
        dry_pressure_hpa=t["p_dry_hPa"],
        vapour_density_g_m3=t["rho_g_per_m3"],
        temperature_k=t["T_K"],
    )


def test_published_examples(table):
    t = table("p676_13_specific_attenuation.csv")
    a = _attenuation(t)
    np.testing.assert_allclose(a.oxygen_db_per_km, t["gamma_oxygen_dB_per_km"], rtol=1e-6)
    np.testing.assert_allclose(a.water_vapour_db_per_km, t["gamma_water_dB_per_km"], rtol=1e-6)
    np.testing.assert_allclose(a.total_db_per_km, t["gamma_total_dB_per_km"], rtol=1e-6)


def test_other_atmospheres(table):
    t = table("computed_gas.csv")
    a = _attenuation(t)
    t.check("gamma_oxygen_dB_per_km", a.oxygen_db_per_km)
    t.check("gamma_water_dB_per_km", a.water_vapour_db_per_km)


def test_standard_and_tropical(table):
    t = table("computed_gas_standard.csv")
    f = t["f_GHz"]
    a = gas.specific_attenuation(
        frequency_ghz=f, dry_pressure_hpa=1013.25, vapour_density_g_m3=7.5, temperature_k=288.15
    )
    t.check("oxygen_dB_per_km", a.oxygen_db_per_km)
    t.check("water_dB_per_km", a.water_vapour_db_per_km)
    t.check("total_dB_per_km", a.total_db_per_km)
    wet = gas.specific_attenuation(
        frequency_ghz=f, dry_pressure_hpa=1013.25, vapour_density_g_m3=20, temperature_k=303.15
    )
    t.check("tropical_total_dB_per_km", wet.total_db_per_km)


@pytest.mark.parametrize(
    "f, p, rho, kelvin",
    [
        (0.9, 1003.0, 7.5, 288.15),
        (22.235, 700.0, 2.0, 260.0),
        (60.3, 1013.25, 25.0, 313.15),
        (86.0, 850.0, 12.0, 295.0),
        (183.31, 1000.0, 10.0, 300.0),
    ],
)
def test_against_itur(f, p, rho, kelvin):
    with np.errstate():  # importing itur changes numpy's error state
        from itur.models import itu676
    oxygen = itu676.gamma0_exact(f, p, rho, kelvin).value
    water = itu676.gammaw_exact(f, p, rho, kelvin).value
    a = gas.specific_attenuation(
        frequency_ghz=f, dry_pressure_hpa=p, vapour_density_g_m3=rho, temperature_k=kelvin
    )
    assert a.oxygen_db_per_km[0] == pytest.approx(oxygen, rel=1e-6)
    assert a.water_vapour_db_per_km[0] == pytest.approx(water, rel=1e-6)


def test_barometer_counts_the_vapour_once():
    # P.676-13 eq. (4) by hand: e = 20 * 303.15 / 216.7 = 27.979 hPa
    dry = gas.dry_pressure_hpa(
        total_pressure_hpa=1013.25, vapour_density_g_m3=20, temperature_k=303.15
    )
    assert dry == pytest.approx(1013.25 - 27.979, abs=5e-4)
    a = gas.hop_attenuation(
        frequency_ghz=6.5, total_pressure_hpa=1013.25, vapour_density_g_m3=20, temperature_c=30
    )
    b = gas.specific_attenuation(
        frequency_ghz=6.5, dry_pressure_hpa=dry, vapour_density_g_m3=20, temperature_k=303.15
    )
    assert a.total_db_per_km[0] == b.total_db_per_km[0]


AIR = {"total_pressure_hpa": 1013.25, "vapour_density_g_m3": 7.5, "temperature_c": 15}


@pytest.mark.parametrize(
    "channel_ghz",
    # centres of the channels of IEEE 802.11 clause 20 at 2160 MHz, and two bonded ones
    [58.32, 60.48, 62.64, 64.8, 66.96, 69.12, 59.4, 65.88],
)
@pytest.mark.parametrize("distance_km", [0.3, 1.0, 4.0])
@pytest.mark.parametrize("pressure_hpa", [1013.25, 700.0])
def test_power_of_a_channel_by_many_narrow_ones(channel_ghz, distance_km, pressure_hpa):
    """The definition: the received power of 2000 slices of the channel, added up."""
    width = 4320 if channel_ghz in (59.4, 65.88) else 2160
    slices = channel_ghz + width / 1000 * ((np.arange(2000) + 0.5) / 2000 - 0.5)
    air = {**AIR, "total_pressure_hpa": pressure_hpa}
    each = gas.hop_attenuation(frequency_ghz=slices, **air).total_db_per_km * distance_km
    heard_db = -10 * np.log10(np.mean(10 ** (-each / 10)))
    got = gas.hop_attenuation(
        frequency_ghz=channel_ghz, channel_mhz=width, distance_km=distance_km, **air
    )
    assert got.total_db_per_km[0] * distance_km == pytest.approx(heard_db, abs=0.02)


@given(
    st.floats(1, 130),
    st.floats(0, 2160),
    st.floats(0, 30),
    st.floats(0, 30),
)
def test_a_channel_lies_between_its_best_and_worst_slice_and_clears_with_distance(f, width, d, e):
    near, far = sorted((d, e))
    edges = np.clip(f + width * 1e-3 * np.linspace(-0.5, 0.5, 41), 0.5, None)
    each = gas.hop_attenuation(frequency_ghz=edges, **AIR).total_db_per_km
    got = [
        gas.hop_attenuation(
            frequency_ghz=f, channel_mhz=width, distance_km=km, **AIR
        ).total_db_per_km[0]
        for km in (near, far)
    ]
    assert each.min() - 2e-3 <= got[1] <= got[0] + 1e-9 <= each.max() + 2e-3


def test_a_hop_so_long_that_nothing_arrives_still_has_a_figure():
    got = gas.hop_attenuation(frequency_ghz=60.48, channel_mhz=2160, distance_km=2000, **AIR)
    assert 13 < got.total_db_per_km[0] < 15


@given(
    st.lists(
        st.tuples(st.floats(0.9, 100), st.floats(500, 1050), st.floats(0, 40), st.floats(230, 320)),
        min_size=1,
        max_size=8,
    )
)
def test_array_is_the_loop_and_nothing_is_negative(hops):
    names = ("frequency_ghz", "dry_pressure_hpa", "vapour_density_g_m3", "temperature_k")
    together = gas.specific_attenuation(**dict(zip(names, np.array(hops).T)))
    alone = [gas.specific_attenuation(**dict(zip(names, hop))).total_db_per_km[0] for hop in hops]
    np.testing.assert_allclose(together.total_db_per_km, alone, rtol=1e-12)
    assert (together.oxygen_db_per_km > 0).all() and (together.water_vapour_db_per_km >= 0).all()


def test_chunks_join_without_a_seam():
    f = np.linspace(1, 100, gas.HOPS_AT_ONCE * 2 + 7)
    air = {"dry_pressure_hpa": 1000, "vapour_density_g_m3": 9, "temperature_k": 290}
    whole = gas.specific_attenuation(frequency_ghz=f, **air).total_db_per_km
    spots = [0, gas.HOPS_AT_ONCE - 1, gas.HOPS_AT_ONCE, f.size - 1]
    alone = gas.specific_attenuation(frequency_ghz=f[spots], **air).total_db_per_km
    np.testing.assert_allclose(whole[spots], alone, rtol=1e-12)


@pytest.mark.parametrize(
    "celsius, density",
    [
        (0, 4.85),
        (10, 9.40),
        (20, 17.3),
        (30, 30.4),
        (40, 51.1),
    ],
)
def test_saturated_air(celsius, density):
    """Absolute humidity at saturation, handbook table of meteorology (from memory), 0.5 %."""
    assert gas.saturation_vapour_g_m3(temperature_c=celsius) == pytest.approx(density, rel=0.005)
