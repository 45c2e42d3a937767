"""What a rigger is told: azimuth by the compass, wind, radio exposure, explosive air."""

import math

import pytest
from air_rows import ROW, place


def test_magnetic_azimuth(hops):
    hop = hops(
        {**place(52.05, -3.52), "near_declination_deg": -1.5, "far_declination_deg": -1.4}
    ).hop
    assert hop["azimuth_magnetic_deg"] == pytest.approx(hop["azimuth_deg"] + 1.5)
    assert hop["to_azimuth_magnetic_deg"] == pytest.approx(hop["to_azimuth_deg"] + 1.4)


def test_sway_takes_margin_and_wind_is_a_caution(hops):
    """1.5 degrees at both ends of a 6 degree beam: 2 x 12 (1.5/6)^2 = 1.5 dB. 45 m/s on 0.6 m:
    0.5 * 1.25 * 45^2 * 1.4 * pi * 0.3^2 = 501 N."""
    found = hops({**ROW, "antenna": "dish-23dbi", "sway_deg": 1.5, "wind_m_s": 45})
    still = hops({**ROW, "antenna": "dish-23dbi"})
    margins = [f.hop["directions"][0]["modes"][0]["margin_db"] for f in (still, found)]
    assert margins[0] - margins[1] == pytest.approx(1.5)
    assert found.hop["directions"][0]["pointing_loss_db"] == pytest.approx(1.5)
    cautions = found.findings("safety", "caution")
    wind = [f for f in cautions if f["unit"] == "N"]
    assert len(wind) == 1  # both ends alike
    assert wind[0]["value"] == pytest.approx(0.5 * 1.25 * 45**2 * 1.4 * math.pi * 0.09, rel=1e-9)
    assert "structural engineer" in wind[0]["remedy"]
    # 501 N on the 20 m pole of the fixture
    assert "501 N, 10.0 kNm about the foot 20 m below" in wind[0]["message"]
    narrow = hops({**ROW, "antenna": "dish-0.44deg", "sway_deg": 0.5, "frequency_ghz": 73})
    fails = narrow.findings("radio-pointing", "fail")
    assert fails and "edge of the main lobe" in fails[0]["message"]


def test_exposure_distance(hops, table):
    t = table("computed_exposure.csv")
    public = [(e, r) for e, s, r in zip(t["EIRP_dBm"], t["S_W_per_m2"], t["r_m"]) if s == 10]
    assert public
    for eirp, metres in public:
        found = hops(
            {
                **ROW,
                "antenna": "dish-0.44deg" if eirp > 60 else "dish-38dbi",
                "tx_power_dbm": eirp - (51 if eirp > 60 else 38),
            }
        )
        caution = [f for f in found.findings("safety", "caution") if f["unit"] == "m"]
        assert caution[0]["value"] == pytest.approx(metres, abs=5e-4)
        assert "local codes" in caution[0]["remedy"]


@pytest.mark.parametrize(
    "area, eirp_dbm, limit, relation",
    [
        ("zone 2 IIC", 50, 2.0, "above"),
        ("zone 2 IIB T4", 50, 3.5, "above"),
        ("zone 2 IIA", 37.7, 6.0, "below"),  # 5.89 W
        ("zone 2 IIA", 37.9, 6.0, "above"),  # 6.17 W
        ("zone 2 IIC", 33.1, 2.0, "above"),  # 2.04 W
        ("zone 2 IIC", 32.9, 2.0, "below"),  # 1.95 W
        ("zone 1", 50, 2.0, "above"),  # no group named: the strictest
    ],
)
def test_explosive_air_names_the_threshold(hops, area, eirp_dbm, limit, relation):
    """IEC 60079-0:2017 table 5: 6, 3.5 and 2 W for groups IIA, IIB and IIC; 50 dBm are 100 W."""
    found = hops({**ROW, "near_hazardous_area": area, "tx_power_dbm": eirp_dbm - 30})
    told = [f for f in found.findings("safety", "caution") if f["unit"] == "W"]
    assert told[0]["limit"] == limit
    assert told[0]["value"] == pytest.approx(10 ** (eirp_dbm / 10 - 3))
    assert f" is {relation} the threshold" in told[0]["message"]
    assert "licensed" in told[0]["remedy"]
