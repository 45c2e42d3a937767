"""Rules of bands, with the worked figures of 47 CFR 15 and the CEPT documents.

Worked EIRP: 15.407(a)(1)(iii) at 34 dBi: 30 - 11 + 34 = 53 dBm; 15.255(c) at 38 dBi 56 dBm, at
43 dBi 66 dBm, at 30 dBi 40 dBm; 15.407(a)(2) at 30 dBm; 15.407(a)(3) any gain: 30 dBm conducted;
density 17 dBm/MHz on 10 MHz: 27 dBm; CEPT 5470-5725 1 W, 5725-5875 36 dBm, 57-64 GHz 55 dBm.
"""

import pytest

ROW = {"length_m": 1500}


@pytest.mark.parametrize(
    "region, ghz, channel, antenna, limit",
    [
        ("US", 5.20, 40, "dish-34dbi", 53.0),
        ("US", 5.20, 40, "dish-23dbi", 53.0),
        ("US", 5.20, 40, "dish-17dbi", 47.0),
        ("US", 5.20, 10, "dish-17dbi", 44.0),  # 17 dBm/MHz x 10 MHz = 27 dBm, + 17 dBi
        ("US", 5.60, 40, "dish-23dbi", 30.0),
        ("US", 5.60, 10, "dish-17dbi", 27.0),  # 11 dBm/MHz x 10 MHz = 21 dBm, back-off 11, + 17 dBi
        ("US", 5.80, 40, "dish-34dbi", 64.0),
        ("US", 60.48, 2160, "dish-38dbi", 56.0),
        ("US", 60.48, 2160, "dish-43dbi", 66.0),
        ("US", 60.48, 2160, "dish-17dbi", 40.0),
        ("US", 60.48, 2160, "dish-30dbi", 40.0),
        # 500 mW conducted bind before the 82 dBm do: 27 + 51
        ("US", 60.48, 2160, "dish-0.44deg", 78.0),
        ("CEPT", 5.60, 40, "dish-23dbi", 30.0),
        ("CEPT", 5.60, 10, "dish-23dbi", 27.0),  # 17 dBm/MHz EIRP x 10 MHz
        ("CEPT", 5.80, 40, "dish-23dbi", 36.0),
        ("CEPT", 5.80, 10, "dish-23dbi", 33.0),
        ("CEPT", 60.48, 2160, "dish-38dbi", 55.0),
        ("CEPT", 60.48, 2160, "dish-17dbi", 40.0),
    ],
)
def test_limit_in_eirp(hops, region, ghz, channel, antenna, limit):
    """At the limit no finding, a tenth of a dB over it one that names limit and rule."""
    gain = float(antenna.removeprefix("dish-").removesuffix("dbi").replace("0.44deg", "51"))
    row = {**ROW, "frequency_ghz": ghz, "channel_mhz": channel, "antenna": antenna}
    at = hops({**row, "tx_power_dbm": min(limit - gain, 30)}, region=region)
    way = at.hop["directions"][0]
    allowed = way["eirp_limit_dbm"]
    assert allowed == pytest.approx(limit, abs=0.05)
    assert way["band_rule"]
    # radios of the tests send at most 10 to 30 dBm: raise the gain's share by the licence's way
    if limit - gain + 0.1 <= {10: 30, 40: 20, 2160: 10}[channel]:
        assert at.findings("radio-eirp") == []
        over = hops({**row, "tx_power_dbm": limit - gain + 0.1}, region=region)
        found = over.findings("radio-eirp", "fail")
        assert len(found) == 1  # both ends alike: said once
        assert found[0]["limit"] == pytest.approx(limit, abs=0.05)
        assert found[0]["value"] == pytest.approx(limit + 0.1)
        assert "local rules decide" in found[0]["remedy"] and found[0]["source"]


def test_remedy_of_too_much_power_settles_it(hops):
    import re

    row = {**ROW, "frequency_ghz": 5.6, "antenna": "dish-23dbi"}
    remedy = hops(row, region="CEPT").findings("radio-eirp")[0]["remedy"]
    power = float(re.search(r"tx_power_dbm (-?[\d.]+)", remedy)[1])
    assert hops({**row, "tx_power_dbm": power}, region="CEPT").findings("radio-eirp") == []


def test_further_loss_is_left_out_of_the_eirp(hops):
    row = {**ROW, "tx_power_dbm": 12}
    bare, lossy = (hops({**row, "extra_loss_db": x}).hop["directions"][0] for x in (0, 6))
    assert bare["eirp_dbm"] == lossy["eirp_dbm"] == 42
    assert bare["received_dbm"] - lossy["received_dbm"] == pytest.approx(6)


def test_strongest_mode_is_judged(hops):
    """20 dBm in the slow mode, 15 dBm in the fast one; 16 dBm in the row holds the slow one."""
    assert hops(ROW).hop["directions"][0]["eirp_dbm"] == 50
    assert hops({**ROW, "tx_power_dbm": 16}).hop["directions"][0]["eirp_dbm"] == 46


def test_licence_stands_before_the_bands(hops):
    row = {**ROW, "frequency_ghz": 7.5, "antenna": "dish-30dbi"}
    assert hops(row).findings("radio-band", "fail")
    licensed = hops({**row, "eirp_limit_dbm": 50})
    assert licensed.findings("radio-band") == licensed.findings("radio-eirp") == []
    assert licensed.hop["directions"][0]["eirp_limit_dbm"] == 50
    over = hops({**row, "eirp_limit_dbm": 49.9}).findings("radio-eirp", "fail")
    assert over and over[0]["limit"] == 49.9
    # in a band that allows more, the licence binds
    assert hops({**ROW, "eirp_limit_dbm": 40}).findings("radio-eirp", "fail")


def test_channel_must_lie_inside_the_band(hops):
    """5725 to 5850 MHz: a 40 MHz channel fits at 5830 MHz, not at 5835 MHz (47 CFR 15.407)."""
    inside, across = (
        hops({**ROW, "frequency_ghz": f, "channel_mhz": 40, "tx_power_dbm": 0})
        for f in (5.830, 5.835)
    )
    assert inside.findings("radio-band") == []
    assert across.findings("radio-band", "fail")


def test_over_a_border_of_two_rows_the_stricter_counts(hops):
    """5720 to 5760 MHz: 24 dBm at 6 dBi less 1 dB a dB below 5725 MHz (30 dBm EIRP at any gain),
    30 dBm at any gain above."""
    (limit,) = {
        hops({**ROW, "frequency_ghz": 5.740, "channel_mhz": 40}).hop["directions"][0][
            "eirp_limit_dbm"
        ]
    }
    above = hops({**ROW, "frequency_ghz": 5.745, "channel_mhz": 40}).hop["directions"][0]
    below = hops({**ROW, "frequency_ghz": 5.70, "channel_mhz": 40}).hop["directions"][0]
    assert limit == below["eirp_limit_dbm"] == pytest.approx(27.0 + 3.0102999 - 0.0102999, abs=0.1)
    assert limit < above["eirp_limit_dbm"]


def test_small_antenna_where_the_rule_asks_for_a_large_one(hops):
    """71 to 76 GHz in the US: 43 dBi at least (47 CFR 101.115)."""
    row = {**ROW, "frequency_ghz": 73, "channel_mhz": 40}
    small = hops({**row, "antenna": "dish-38dbi"}).findings("radio-band", "fail")
    assert small and small[0]["limit"] == 43 and small[0]["unit"] == "dBi"
    assert hops({**row, "antenna": "dish-43dbi"}).findings("radio-band") == []


def test_no_region_is_a_note(hops):
    found = hops(ROW, region="")
    assert found.findings("radio-band") == found.findings("radio-eirp") == []
    note = [f for f in found.findings("assumption") if "no region" in f["message"]]
    assert note and note[0]["severity"] == "note" and "local rules decide" in note[0]["message"]


def test_radar_detection_is_told_where_the_rule_asks_for_it(hops):
    for region, ghz, told in (("CEPT", 5.6, True), ("US", 5.6, True), ("US", 5.8, False)):
        found = hops({**ROW, "frequency_ghz": ghz, "tx_power_dbm": -10}, region=region)
        notes = [f for f in found.findings("assumption", "note") if "radar" in f["message"]]
        assert bool(notes) is told


def test_indoor_band_is_no_band_for_a_hop(hops):
    """CEPT 5150-5350 MHz is for indoor use (ECC/DEC/(04)08)."""
    assert hops({**ROW, "frequency_ghz": 5.2, "tx_power_dbm": -10}, region="CEPT").findings(
        "radio-band", "fail"
    )
