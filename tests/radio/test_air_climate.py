"""Climate of hops and the ranges of the methods: what is typed, looked up, or stands in."""

import pytest
from air_rows import ROW, place


@pytest.mark.parametrize(
    "ghz, km, says",
    [
        (0.7, 3, "rain is taken as nil"),
        (80, 12, "multipath method"),
        (5.8, 70, "rain method"),
        (0.4, 20, "multipath method"),
    ],
)
def test_stretched_methods_are_told(hops, ghz, km, says):
    found = hops({"length_m": km * 1000, "frequency_ghz": ghz, "antenna": "dish-0.44deg"})
    assert any(says in f["message"] for f in found.findings("out-of-range", "note"))


def test_multipath_method_by_what_is_given(hops):
    row = {"length_m": 30000}
    flat = [(0, 10, 0, "land"), (15000, 10, 0, "land"), (30000, 10, 0, "land")]
    for more, method in (
        ({}, "P.530-17 quick"),
        ({"roughness_m": 40}, "P.530-17 detailed"),
        ({"roughness_m": 40, "log_k": -4.5, "dn75": 8}, "P.530-19"),
        ({"log_k": -4.5, "dn75": 8, "terrain": flat}, "P.530-19"),
        ({"length_m": 5000}, "none"),
    ):
        assert hops({**row, **more}).hop["multipath_method"] == method


def test_typed_climate_leaves_no_note_and_loads_no_maps(hops):
    import sys

    loaded = "itur" in sys.modules
    found = hops({**ROW, **place(52.02, -3.52), "length_m": None})
    assert not any("climate" in f["message"] for f in found.findings("assumption"))
    assert ("itur" in sys.modules) == loaded


def test_climate_is_the_mean_of_two_sites(hops):
    row = {**ROW, "rain_rate_mm_h": None, "near_rain_rate_mm_h": 20, "far_rain_rate_mm_h": 40}
    assert hops(row).hop["rain_rate_mm_h"] == 30


def test_blank_climate_is_noted(hops):
    found = hops(
        {
            **ROW,
            "rain_rate_mm_h": None,
            "dn1": None,
            "vapour_g_m3": None,
            "temperature_c": None,
            "pressure_hpa": None,
        }
    )
    note = [f for f in found.findings("assumption", "note") if "climate" in f["message"]]
    assert "cautious default" in note[0]["message"] and "rain rate" in note[0]["message"]


def test_blank_climate_is_looked_up(hops):
    """R0.01 of ITU-R P.837-7 at the middle of the hop, by the library itself."""
    itur837 = pytest.importorskip("itur.models.itu837")
    found = hops({**ROW, **place(52.2, -3.5), "length_m": None, "rain_rate_mm_h": None})
    wanted = itur837.rainfall_rate(52.1, -3.5, 0.01).value
    assert found.hop["rain_rate_mm_h"] == pytest.approx(float(wanted), rel=1e-3)
    assert any(m["document"] == "ITU-R P.837" for m in found.record["methods"])
    assert any("ITU-R maps" in f["message"] for f in found.findings("assumption"))


@pytest.mark.parametrize("celsius, stands_in", [(10, "vapour [g/m3] 9."), (40, "vapour [g/m3] 20")])
def test_vapour_that_stands_in_is_no_more_than_the_air_holds(hops, celsius, stands_in):
    """Saturated air holds 9.4 g/m3 at 10 °C and 51 g/m3 at 40 °C (handbook tables)."""
    found = hops({**ROW, "vapour_g_m3": None, "temperature_c": celsius})
    (note,) = (f for f in found.findings("assumption") if "cautious default" in f["message"])
    assert stands_in in note["message"]
