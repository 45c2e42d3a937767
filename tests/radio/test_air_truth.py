"""The hop tells the truth: designs that passed and would not work, and designs that failed and would.

Geometry by hand from ITU-R P.530 and P.526: F1 = 17.32 sqrt(d1 d2 / (f d)), bulge =
d1 d2 / (12.74 k), both with d in km.
"""

from itertools import pairwise

import numpy as np
import pytest
from air_rows import KM, severities


# 3. two chains
def test_power_is_shared_by_the_chains(hops):
    """10 log10(2) = 3.01 dB: what a terminal shows for one of its two chains."""
    one, two = (hops({"length_m": 3000, "part": part}).hop for part in ("any-radio", "any-radio-2"))
    single, double = one["directions"][0], two["directions"][0]
    assert double["received_dbm"] == single["received_dbm"] == single["received_chain_dbm"]
    assert double["received_dbm"] - double["received_chain_dbm"] == pytest.approx(3.0103, abs=1e-4)
    margins = [way["modes"][0]["margin_db"] for way in (single, double)]
    assert margins[0] - margins[1] == pytest.approx(3.0103, abs=1e-4)


# 6. the mirror does not last all year
def test_a_null_of_the_tide_is_not_the_whole_year(hops):
    """A sweep of several nulls: the margin holds the worst, the year only its share."""
    row = {"length_m": 5 * KM, "height_m": 30, "to_height_m": 30, "surface": "sea"}
    found = hops({**row, "extra_loss_db": 25}, water_low_m=-5, water_high_m=5, region="")
    mode = found.hop["directions"][0]["modes"][0]
    assert found.hop["reflection_loss_db"] > 20 and mode["margin_db"] < mode["clear_margin_db"] - 20
    assert 0 < mode["reflection_outage_percent"] < 30
    assert mode["rain_outage_percent"] < 1
    assert mode["availability_percent"] == pytest.approx(
        100
        - mode["rain_outage_percent"]
        - mode["multipath_outage_percent"]
        - mode["reflection_outage_percent"]
    )


# 7. a second antenna counts
def test_a_second_antenna_at_both_ends_takes_the_null(hops):
    row = {"length_m": 5 * KM, "height_m": 30, "to_height_m": 30, "surface": "sea"}
    tide = {"water_low_m": 0, "water_high_m": 3}
    alone = hops(row, **tide).hop
    one_end = hops({**row, "to_diversity_m": 1.1}, **tide).hop
    both = hops({**row, "diversity_m": 1.1, "to_diversity_m": 1.1}, **tide).hop
    losses = [[way["reflection_loss_db"] for way in hop["directions"]] for hop in (one_end, both)]
    assert losses[0][1] == pytest.approx(alone["reflection_loss_db"])  # near end hears with one
    assert losses[0][0] < alone["reflection_loss_db"] - 10
    assert max(losses[1]) < alone["reflection_loss_db"] - 10


# 8. bounds do not fail targets
def test_six_short_hops_hold_a_high_target(hops):
    rows = [{"length_m": 300, "frequency_ghz": 5.8} for _ in range(6)]
    found = hops(*rows, availability_percent=99.9995)
    assert all(hop["rain_0_01_db"] < 0.3 for hop in found.hops)
    assert [hop["directions"][0]["modes"][0]["availability_percent"] for hop in found.hops] == [
        100.0
    ] * 6


# 10. three hops in line on one channel
@pytest.mark.parametrize(
    ("in_step", "heard_km", "worst"),
    [("yes", (15,), {"thin"}), ("", (10, 15), {"fail", "thin"})],
)
def test_three_hops_in_line_hear_each_other(air, in_step, heard_km, worst):
    """Sites every 5 km on one line, 30 dBi antennas, one channel, all of 20 dBm: the receiver of
    the first hop looks along the line at the sender of the third, three hops away in free space:
    20 log10(15 / 5) = 9.5 dB below its own sender, nothing by pattern. In between, the senders of
    the two hops of one mast take each other every mode unless a clock holds them in step: then s1
    and s3 send in one half of its frame, s0 and s2 in the other."""
    sites = [
        {"site": f"s{n}", "latitude": 0.0, "longitude": 5 * n / 111.3195, "ground_m": 0}
        for n in range(4)
    ]
    common = {"kind": "radio", "part": "any-radio", "antenna": "dish-30dbi", "step": 1}
    common |= {"frequency_ghz": 5.8, "channel_mhz": 40, "height_m": 30, "to_height_m": 30}
    common |= {"polarization": "H"}
    found = air(
        sites=sites,
        project={"region": "", "tdd_in_step": in_step},
        segments=[
            {"path": f"p{n}", "site": f"s{n}", "to_site": f"s{n + 1}", **common} for n in (0, 1, 2)
        ],
    )
    first = found.hops[0]["directions"][1]  # s1 sends to s0, which looks along the line
    carrier = first["received_dbm"] - first["interference_dbm"]
    # s2 to s1 is heard at 10 km and s3 to s2 at 15 km; diffraction of the own hop is nil
    by_hand = -10 * np.log10(sum((5 / far_km) ** 2 for far_km in heard_km))
    assert carrier == pytest.approx(by_hand, abs=0.3)
    assert set(severities(found, "radio-interference")) == worst
    assert first["noise_rise_db"] > 30 and found.record["verdict"] != "pass"


def test_one_polarization_each_is_told_apart(air):
    """Cross-polar discrimination of 25 dB on the axes; the back lobe of the nearer sender, which
    no polarization tells apart, leaves a little less."""
    sites = [
        {"site": f"s{n}", "latitude": 0.0, "longitude": 5 * n / 111.3195, "ground_m": 0}
        for n in range(4)
    ]
    common = {"kind": "radio", "part": "any-radio", "antenna": "dish-30dbi", "step": 1}
    common |= {"frequency_ghz": 5.8, "channel_mhz": 40, "height_m": 30, "to_height_m": 30}
    levels = []
    for far in ("H", "V"):
        found = air(
            sites=sites,
            project={"region": ""},
            segments=[
                {"path": "p", "site": "s0", "to_site": "s1", "polarization": "H", **common},
                {"path": "q", "site": "s2", "to_site": "s3", "polarization": far, **common},
            ],
        )
        levels.append(found.hops[0]["directions"][1]["interference_dbm"])
    assert 20 < levels[0] - levels[1] < 25


def test_high_and_low_at_one_site(air):
    """Two frequency-division hops of one mast: one sends high there, the other low."""
    sites = [
        {"site": name, "latitude": 52, "longitude": east, "ground_m": 0}
        for name, east in (("w", -0.1), ("mast", 0), ("e", 0.1))
    ]
    common = {"kind": "radio", "part": "any-radio-fdd", "antenna": "dish-30dbi", "step": 1}
    common |= {"channel_mhz": 40, "height_m": 30, "to_height_m": 30}
    for frequencies, told in (((7.0, 7.2), True), ((7.2, 7.0), False)):
        sent, back = frequencies
        found = air(
            sites=sites,
            project={"region": ""},
            segments=[
                {
                    "path": "p",
                    "site": "mast",
                    "to_site": "e",
                    "frequency_ghz": 7.25,
                    "to_frequency_ghz": 7.05,
                    **common,
                },
                {
                    "path": "q",
                    "site": "mast",
                    "to_site": "w",
                    "frequency_ghz": sent,
                    "to_frequency_ghz": back,
                    **common,
                },
            ],
        )
        halves = [f for f in found.findings("radio-channel") if "half of the band" in f["message"]]
        assert bool(halves) == told


# 12. sway, steep hops, datum, horizon
def test_a_beam_that_sways_off_the_far_end_fails(hops):
    found = hops({"length_m": 3000, "antenna": "dish-0.44deg", "sway_deg": 2.0})
    assert set(severities(found, "radio-pointing")) == {"fail"}
    assert found.hop["directions"][0]["pointing_loss_db"] > 30
    assert severities(hops({"length_m": 3000, "sway_deg": 0.01}), "radio-pointing") == []


def test_a_steep_hop_is_as_long_as_its_slant(hops):
    """100 m out and 147 m up: 177.8 m, 20 log10(177.8 / 100) = 5.0 dB."""
    place = {
        "near_latitude": 0,
        "far_latitude": 0,
        "near_longitude": 0,
        "far_longitude": 0.1 / 111.3195,
    }
    flat, steep = (hops({**place, "far_ground_m": up}).hop for up in (0, 147))
    assert steep["slant_km"] == pytest.approx(0.1778, abs=2e-4)
    assert steep["free_space_loss_db"] - flat["free_space_loss_db"] == pytest.approx(5.0, abs=0.02)


@pytest.mark.parametrize("off, told", [(1.9, []), (2.1, ["thin"]), (30, ["thin"])])
def test_profile_and_site_stand_on_one_datum(hops, off, told):
    rows = [(0, off, 0, "land"), (1500, off, 0, "land"), (3000, 0, 0, "land")]
    row = {"length_m": 3000, "height_m": 40, "to_height_m": 40, "terrain": rows}
    assert severities(hops(row), "terrain-heights") == told


def test_an_antenna_below_the_ground_is_told(hops):
    rows = [(0, 1.5, 0, "land"), (3000, 0, 0, "land")]
    (said,) = hops({"length_m": 3000, "height_m": 1, "terrain": rows}).findings("terrain-heights")
    assert "below the ground" in said["message"]


def test_beyond_the_horizon_without_terrain(hops):
    """10 m masts 40 km apart: the smooth earth stands 13.6 m above the ray."""
    found = hops({"length_m": 40 * KM, "height_m": 10, "to_height_m": 10})
    assert severities(found, "radio-clearance") == ["fail"]
    assert "smooth earth" in found.findings("radio-clearance")[0]["message"]
    near = hops({"length_m": 2 * KM, "height_m": 20, "to_height_m": 20})
    assert severities(near, "radio-clearance") == ["thin"]
    assert near.hop["clearance_ratio"] is None


# 13. far field
def test_levels_inside_the_far_field_are_told(hops):
    """0.6 m at 38 GHz: 2 D^2 / wavelength = 0.72 / 0.00789 = 91.3 m."""
    row = {"antenna": "dish-0.44deg", "frequency_ghz": 38}
    for metres, told in ((91, 1), (92, 0)):
        notes = hops({**row, "length_m": metres}, region="").findings("out-of-range")
        assert len([f for f in notes if "far field" in f["message"]]) == told


# 14. wet snow
def test_wet_snow_is_counted(hops):
    """18 GHz, 10 km, 30 mm/h, ends at 400 and 450 m, vertical: rain takes 15.6 dB in 0.01 % of the
    year; under a rain height of 1500 m the combined method of P.530-18 takes 24.61 dB (reading of
    its reference code). Latitude 69.667 has 1500 m by P.839-2."""
    place = {
        "near_latitude": 69.667,
        "far_latitude": 69.667,
        "near_longitude": 0,
        "far_longitude": 0.25811,
    }
    row = {
        "length_m": 10 * KM,
        "frequency_ghz": 18,
        "polarization": "V",
        "near_ground_m": 380,
        "far_ground_m": 430,
        "rain_rate_mm_h": 30,
        **place,
    }
    hop = hops(row, region="").hop
    assert hop["rain_0_01_db"] == pytest.approx(15.62, abs=0.02)
    assert hop["snow_rain_0_01_db"] == pytest.approx(24.61, abs=0.1)
    mild = hops({**row, "near_latitude": 30, "far_latitude": 30}, region="")
    assert mild.hop["snow_rain_0_01_db"] is None
    assert not [f for f in mild.findings("assumption") if "snow" in f["message"]]


# 17. one frequency both ways
def test_a_frequency_division_pair_has_two(hops):
    row = {"length_m": 3000, "part": "any-radio-fdd", "frequency_ghz": 7.0}
    one = hops(row, region="")
    assert "each end receives itself" in one.findings("radio-pair", "fail")[0]["message"]
    assert severities(hops({**row, "to_frequency_ghz": 7.2}, region=""), "radio-pair") == []


@pytest.mark.parametrize(
    "antenna, says", [("dish-from-5.9", "from 5.9 GHz on"), ("dish-to-5.7", "up to 5.7 GHz")]
)
def test_an_antenna_with_one_limit(hops, antenna, says):
    found = hops({"length_m": 3000, "antenna": antenna, "frequency_ghz": 5.8})
    assert says in found.findings("radio-pair", "fail")[0]["message"]


# properties
def test_availability_and_rate_fall_steadily_with_loss_and_noise(hops):
    losses = [{"length_m": 9000, "frequency_ghz": 18, "extra_loss_db": x} for x in range(0, 45, 5)]
    found = hops(*losses, region="")
    shares = [
        [mode["availability_percent"] for mode in hop["directions"][0]["modes"]]
        for hop in found.hops
    ]
    for before, after in pairwise(shares):
        assert all(b >= a for b, a in zip(before, after))
    noises = [{"length_m": 9000, "noise_rise_db": x} for x in range(0, 40, 4)]
    rates = [hop["directions"][0]["rate_at_target_mbps"] for hop in hops(*noises).hops]
    assert rates == sorted(rates, reverse=True) and rates[0] > rates[-1]
