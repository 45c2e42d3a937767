"""Checks of hops: pairs, margins, availability, length, what is not known."""

import pytest
from air_rows import ROW, place


@pytest.mark.parametrize(
    "row, says",
    [
        (
            {
                "part": "radio-18ghz-low",
                "to_part": "radio-18ghz-low",
                "frequency_ghz": 18.0,
                "to_frequency_ghz": 19.0,
                "channel_mhz": 55,
                "antenna": "dish-18ghz-0.6m",
            },
            "transmits",
        ),
        (
            {
                "part": "radio-18ghz-low",
                "to_part": "radio-18ghz-high",
                "frequency_ghz": 18.0,
                "channel_mhz": 55,
                "antenna": "dish-18ghz-0.6m",
            },
            "transmits",
        ),
        ({"to_part": "any-radio-fdd"}, "is TDD"),
        ({"to_frequency_ghz": 5.84}, "two channels"),
        ({"channel_mhz": 80}, "share no mode"),
        ({"antenna": "dish-18ghz-0.6m"}, "antenna for 17.7 to 19.7 GHz"),
    ],
)
def test_terminals_that_do_not_pair(hops, row, says):
    found = hops({**ROW, **row}).findings("radio-pair", "fail")
    assert any(says in f["message"] for f in found)


@pytest.mark.parametrize(
    "row",
    [
        {
            "part": "radio-18ghz-low",
            "to_part": "radio-18ghz-high",
            "frequency_ghz": 18.0,
            "to_frequency_ghz": 19.0,
            "channel_mhz": 55,
            "antenna": "dish-18ghz-0.6m",
        },
        {"part": "any-radio-fdd", "to_frequency_ghz": 5.84},
        {"to_antenna": "dish-23dbi"},
    ],
)
def test_terminals_that_pair(hops, row):
    assert hops({**ROW, **row}).findings("radio-pair") == []


def test_margin_is_level_less_sensitivity_and_allowances(hops):
    found = hops(ROW, noise_rise_db=4)
    for way in found.hop["directions"]:
        for mode, sensitivity, power in zip(way["modes"], (-90, -75, -60), (20, 18, 15)):
            assert mode["margin_db"] == pytest.approx(
                way["received_dbm"] + power - 20 - sensitivity - 4
            )


def test_row_power_holds_every_mode_down(hops):
    modes = hops({**ROW, "tx_power_dbm": 16}).hop["directions"][0]["modes"]
    level = hops({**ROW, "tx_power_dbm": 16}).hop["directions"][0]["received_dbm"]
    wanted = [level + 90, level + 75, level - 1 + 60]
    assert [m["margin_db"] for m in modes] == pytest.approx(wanted)


@pytest.mark.parametrize("extra, severity", [(30, None), (39, "thin"), (55, "fail")])
def test_margin_verdict(hops, extra, severity):
    """3 km at 5.8 GHz: 20 + 60 - 117.26 - 0.03 = -37.3 dBm; slow mode at -90: 52.7 dB."""
    found = hops({**ROW, "extra_loss_db": extra + 5}).findings("radio-margin")
    assert [f["severity"] for f in found] == ([severity] if severity else [])


def test_mode_in_use_is_the_fastest_with_margin_and_availability(hops):
    """Margins 37.7/20.7/2.7 dB with 15 dB of loss: middle by margin, slow with 25 dB wanted."""
    row = {**ROW, "extra_loss_db": 15}
    for wanted, mode, rate in ((2, "fast", 600), (10, "middle", 300), (25, "slow", 100)):
        way = hops(row, radio_margin_db=wanted).hop["directions"][0]
        assert way["mode_at_target"] == mode
        assert way["rate_at_target_mbps"] == pytest.approx(rate * 0.5 * 0.5)
    none = hops(row, radio_margin_db=40)
    # no mode holds, and the toughest still has margin and availability: thin, not dead
    assert none.hop["directions"][0]["mode_at_target"] == "slow"
    assert none.hop["directions"][0]["rate_at_target_mbps"] == pytest.approx(25)
    assert none.findings("radio-margin", "thin")
    dead = hops({**ROW, "extra_loss_db": 60})
    assert dead.hop["directions"][0]["rate_at_target_mbps"] == 0
    assert dead.findings("radio-margin", "fail")


def test_availability_short_of_its_share_is_noted_and_its_remedy_settles_it(hops):
    """2 km, 38 GHz, 42 mm/h: A0.01 22.118 dB (rain table); 99.99 % needs 22.075 dB."""
    row = {
        "length_m": 2000,
        "frequency_ghz": 38,
        "rain_rate_mm_h": 42,
        "extra_loss_db": 25,
        "antenna": "dish-30dbi",
        "tx_power_dbm": 20,
    }
    import re

    project = {"availability_percent": 99.99, "region": ""}
    found = hops(row, **project)
    fails = found.findings("radio-availability", "note")
    margin = found.hop["directions"][0]["modes"][0]["margin_db"]
    gain = float(re.search(r"gain ([\d.]+) dB", fails[0]["remedy"])[1])
    assert margin + gain == pytest.approx(22.075, abs=0.1)
    mended = hops({**row, "extra_loss_db": 25 - gain}, **project)
    assert mended.findings("radio-availability") == []


def test_minutes_a_year(hops):
    """99.999 % is 5.2596 minutes of 365.25 days."""
    mode = hops({**ROW, "rain_rate_mm_h": 60}).hop["directions"][0]["modes"][0]
    assert mode["outage_minutes_year"] == pytest.approx(
        (100 - mode["availability_percent"]) / 100 * 525_960, abs=1e-6
    )


def test_rain_beyond_the_range_is_told(hops):
    """Less than the figure is no outage and no note; more is told."""
    better = hops(ROW)
    assert better.hop["directions"][0]["modes"][0]["rain_outage_percent"] == 0
    assert better.findings("out-of-range", "note") == []
    soaked = hops(
        {
            "length_m": 20000,
            "frequency_ghz": 60,
            "rain_rate_mm_h": 120,
            "antenna": "dish-0.44deg",
            "extra_loss_db": -0.0,
            "vapour_g_m3": 1,
            "part": "any-radio",
        },
        region="",
    )
    assert soaked.findings("radio-margin", "fail")


def test_overload(hops):
    row = {"part": "radio-5ghz-he-ext", "length_m": 30, "antenna": "dish-5ghz-0.9m"}
    found = hops(row).findings("radio-overload", "fail")
    assert found and found[0]["limit"] == -30
    assert hops({**row, "length_m": 9000}).findings("radio-overload") == []


@pytest.mark.parametrize("share, thin", [(1.0, False), (1.009, False), (1.011, True), (0.98, True)])
def test_typed_length_against_the_geodesic(hops, share, thin):
    geodesic = hops(place(52.05, -3.52)).hop["distance_km"] * 1000
    found = hops({**place(52.05, -3.52), "length_m": geodesic * share})
    assert bool(found.findings("run-length", "thin")) is thin


def test_hop_of_length_and_heights_alone(hops):
    """No coordinates, no ground: loss and margin stand, azimuth, tilt and clearance do not."""
    found = hops({"length_m": 4000, "near_ground_m": None, "far_ground_m": None})
    hop = found.hop
    for key in (
        "azimuth_deg",
        "to_azimuth_deg",
        "tilt_deg",
        "to_tilt_deg",
        "clearance_ratio",
        "diffraction_loss_db",
    ):
        assert hop[key] is None
    assert hop["free_space_loss_db"] == pytest.approx(119.757, abs=1e-3)
    assert hop["directions"][0]["modes"][0]["margin_db"] is not None
    told = " ".join(f["message"] for f in found.findings("assumption"))
    assert "no azimuth" in told and "no tilt" in told
    assert hop["verdict"] == "thin"


@pytest.mark.parametrize(
    "row, says",
    [
        ({"antenna": None}, "name one in antenna"),
        ({"length_m": None}, "distance is not known"),
    ],
)
def test_unknown_margin_is_thin_and_says_why(hops, row, says):
    found = hops({**ROW, **row})
    way = found.hop["directions"][0]
    assert way["received_dbm"] is None and way["modes"][0]["margin_db"] is None
    assert way["rate_at_target_mbps"] is None
    assert says in found.findings("radio-margin", "thin")[0]["message"]


def test_a_hop_that_a_second_path_runs_backwards(air):
    """One labelled hop in two paths, ends either way round: each record begins at its own end."""
    climate = {
        "rain_rate_mm_h": 30,
        "dn1": -200,
        "vapour_g_m3": 7.5,
        "temperature_c": 15,
        "pressure_hpa": 1013.25,
    }
    common = {
        "step": 1,
        "kind": "radio",
        "part": "any-radio-fdd",
        "label": "H1",
        "antenna": "dish-30dbi",
        "channel_mhz": 40,
        "polarization": "H",
        "surface": "sea",
    }
    there, back = air(
        project={"region": "US", "water_low_m": -2, "water_high_m": 1},
        sites=[
            {"site": "a", "latitude": 52, "longitude": -3.5, "ground_m": 0, **climate},
            {"site": "b", "latitude": 52.05, "longitude": -3.45, "ground_m": 5, **climate},
        ],
        segments=[
            {
                "path": "p",
                "site": "a",
                "to_site": "b",
                "height_m": 20,
                "to_height_m": 10,
                "frequency_ghz": 5.75,
                "to_frequency_ghz": 5.81,
                **common,
            },
            {
                "path": "q",
                "site": "b",
                "to_site": "a",
                "height_m": 10,
                "to_height_m": 20,
                "frequency_ghz": 5.81,
                "to_frequency_ghz": 5.75,
                **common,
            },
        ],
    ).hops
    for key in ("azimuth_deg", "tilt_deg"):
        assert there[key] == back[f"to_{key}"] and there[f"to_{key}"] == back[key]
    assert (there["frequency_ghz"], back["frequency_ghz"]) == (5.75, 5.81)
    assert back["free_space_loss_db"] > there["free_space_loss_db"]
    assert there["reflection_at_km"] + back["reflection_at_km"] == pytest.approx(
        there["distance_km"]
    )
    assert [w["from_site"] for w in back["directions"]] == ["b", "a"]
    assert there["directions"] == back["directions"][::-1]


def test_two_hops_on_one_channel_count_for_both_paths(air):
    """Each hears the other: rules of the project."""
    sites = [
        {"site": name, "latitude": north, "longitude": east, "ground_m": 0}
        for name, north, east in (("mast", 52.0, -3.5), ("b", 52.1, -3.5), ("c", 52.1, -3.499))
    ]
    found = air(
        sites=sites,
        project={"region": "US"},
        segments=[
            {
                "path": path,
                "step": 1,
                "kind": "radio",
                "part": "any-radio",
                "antenna": "dish-30dbi",
                "frequency_ghz": 5.8,
                "channel_mhz": 40,
                "polarization": "H",
                "site": "mast",
                "to_site": path,
            }
            for path in ("b", "c")
        ],
    )
    (said,) = found.findings("radio-channel", "thin")
    assert (said["path"], set(said["paths"])) == ("c", {"b", "c"})
    # side by side at 68 m, 11 km away, each is as loud as the other
    assert {f["severity"] for f in found.findings("radio-interference")} == {"fail"}
    assert [path["segments"][0]["verdict"] for path in found.record["paths"]] == ["fail"] * 2
