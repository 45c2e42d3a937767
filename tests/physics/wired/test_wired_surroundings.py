"""Corrosion, degrees of protection, explosive air, delay."""

import pytest

from backhaul.physics import environment, latency


@pytest.mark.parametrize(
    "rated, needed, meets",
    [
        ("IP66", "IP54", True),
        ("IP67", "IP66", False),
        ("IP67", "IP65", False),
        ("IP67", "IP54", True),
        ("IP68", "IP67", True),
        ("IP68", "IP66", False),
        ("IP69", "IP67", False),
        ("IP69K", "IP66", False),
        ("IP66/IP67", "IP66", True),
        ("IP66/67", "IP67", True),
        ("ip 65", "IP54", True),
        ("IP53", "IP54", False),
        ("IP44", "IP54", False),
        ("IPX4", "IP54", False),
        ("IP54", "IPX4", True),
        ("IP66", "IP66/IP67", False),
        ("weatherproof", "IP54", None),
        ("IP66", "", None),
    ],
)
def test_ip_codes(rated, needed, meets):
    """IEC 60529:1989 with A2:2013, clause 6 (from memory)."""
    assert environment.ip_meets(rated=rated, needed=needed) is meets


def test_corrosivity_is_ordered_by_what_steel_loses():
    """ISO 9223:2012 Table 2, read in a public table: 1.3, 25, 50, 80, 200, 700 um a year."""
    assert list(environment.CORROSIVITY_UM_PER_YEAR.values()) == [1.3, 25, 50, 80, 200, 700]
    ranks = [environment.corrosivity_rank(code) for code in ("C1", "C2", "C3", "C4", "C5", "CX")]
    assert ranks == [0, 1, 2, 3, 4, 5]


@pytest.mark.parametrize(
    "rated, site, resists",
    [
        ("C5", "C4", True),
        ("C3", "C5", False),
        ("CX", "CX", True),
        ("C5-M", "C5", True),
        ("C5-M", "CX", False),
        ("marine", "C5", None),
    ],
)
def test_corrosion(rated, site, resists):
    """ISO 12944-2:2017, in which C5-M and C5-I are withdrawn."""
    ranks = environment.corrosivity_rank(rated), environment.corrosivity_rank(site)
    assert (None if None in ranks else ranks[0] >= ranks[1]) is resists


@pytest.mark.parametrize(
    "words, group, watts",
    [
        ("zone 2 IIA", "IIA", 6.0),
        ("Zone 1 / IIB T4", "IIB", 3.5),
        ("Zone I IIC", "IIC", 2.0),
        ("zone 2, II C", "IIC", 2.0),
        ("zone 22 IIIB", "III", 6.0),
        ("group IIA and IIB", "IIB", 3.5),
        ("group I", "I", 6.0),
        ("zone 2", None, None),
    ],
)
def test_radio_power_in_explosive_air(words, group, watts):
    """IEC 60079-0:2017 Table 5; IIA, IIB, IIC read in a radio-module integration manual."""
    assert environment.gas_group(words) == group
    if group:
        assert environment.RF_THRESHOLD_W[group].value == watts


def test_air_is_faster_than_fiber():
    """Radio beats fiber of the same length by the ratio of the indices, 1.468 to 1.0003."""
    ratio = latency.fiber_delay_us(length_km=7, group_index=1.468) / latency.air_delay_us(
        distance_km=7
    )
    assert ratio == pytest.approx(1.468 / 1.0003, abs=1e-4)
