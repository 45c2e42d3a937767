"""Figures of hops in the record against tables that were computed outside the project."""

import numpy as np
import pytest


def column(result, key):
    return [hop[key] for hop in result.hops]


def test_free_space(hops, table):
    t = table("computed_free_space.csv")
    found = hops(
        *({"length_m": 1000 * d, "frequency_ghz": f} for d, f in zip(t["d_km"], t["f_GHz"]))
    )
    t.check("loss_dB", column(found, "free_space_loss_db"))


def test_gas_per_km(hops, table):
    """Dry 1013.25 hPa and 7.5 g/m3: barometric 1013.25 + 7.5 * 288.15 / 216.7 hPa."""
    t = table("computed_gas_standard.csv")
    for name, celsius, vapour in (
        ("total_dB_per_km", 15, 7.5),
        ("tropical_total_dB_per_km", 30, 20),
    ):
        climate = {
            "temperature_c": celsius,
            "vapour_g_m3": vapour,
            "pressure_hpa": 1013.25 + vapour * (celsius + 273.15) / 216.7,
        }
        # blank: the narrowest channel of the radio, 10 kHz; at its edges, 5 kHz off, the flank of
        # the oxygen lines (at most 4.2 dB/km per GHz) makes 2.1e-5 dB/km
        found = hops(
            *(
                {"length_m": 1000, "channel_mhz": None, "frequency_ghz": f, **climate}
                for f in t["f_GHz"]
            )
        )
        t.check(name, column(found, "gas_loss_db"), slack=2.1e-5)


def test_gas_of_a_wide_channel_is_that_of_its_power(hops, table):
    """57.24 to 64.8 GHz in half channels: P.676 falls from 62.64 to 66.96 GHz. A channel at
    64.8 GHz reaches from 63.72 to 65.88 GHz, and its power loses what lies between."""
    t = table("computed_gas_standard.csv")
    printed = dict(zip(t["f_GHz"], t["total_dB_per_km"]))
    wide, narrow = (
        hops({"length_m": 1000, "channel_mhz": mhz, "frequency_ghz": 64.8}).hop["gas_loss_db"]
        for mhz in (2160, 0.1)
    )
    assert narrow == pytest.approx(printed[64.8], rel=0.02)  # dry pressure there, total here
    assert abs(wide - printed[64.8]) < abs(printed[62.64] - printed[64.8]) / 4


def test_bulge_and_zone_half_way(hops, table):
    t = table("computed_bulge_fresnel.csv")
    found = hops(
        *({"length_m": 1000 * d, "frequency_ghz": f} for d, f in zip(t["d_km"], t["f_GHz"]))
    )
    t.check("bulge_k43_m", column(found, "earth_bulge_mid_m"))
    t.check("F1_m", column(found, "fresnel_mid_m"))


def test_places_azimuths_and_tilts(hops, table):
    t = table("computed_geodesy.csv")
    found = hops(
        *(
            {
                "near_latitude": a,
                "near_longitude": b,
                "far_latitude": c,
                "far_longitude": d,
                "near_ground_m": h - 20,
                "far_ground_m": g - 20,
            }
            for a, b, c, d, h, g in zip(
                *(
                    t[name]
                    for name in (
                        "lat1_deg",
                        "lon1_deg",
                        "lat2_deg",
                        "lon2_deg",
                        "h1_amsl_m",
                        "h2_amsl_m",
                    )
                )
            )
        )
    )
    t.check("distance_m", [1000 * km for km in column(found, "distance_km")])
    t.check("azimuth12_deg", column(found, "azimuth_deg"))
    t.check("azimuth21_deg", column(found, "to_azimuth_deg"))
    t.check("tilt12_k1_deg", column(found, "tilt_deg"))
    t.check("tilt21_k1_deg", column(found, "to_tilt_deg"))


def test_rain_along_the_path(hops, table):
    t = table("computed_rain_path.csv")
    found = hops(
        *(
            {
                "length_m": 1000 * d,
                "frequency_ghz": f,
                "rain_rate_mm_h": r,
                "polarization": "V" if tau == 90 else "H",
            }
            for d, f, r, tau in zip(
                *(t[name] for name in ("d_km", "f_GHz", "R001_mm_per_h", "tau_deg"))
            )
        )
    )
    t.check("k", column(found, "rain_k"))
    t.check("alpha", column(found, "rain_alpha"))
    t.check("A001_dB", column(found, "rain_0_01_db"))


def test_rain_outage_of_a_margin(hops, table):
    """Further loss is set so that the slow mode has just the margin of the table."""
    t = table("computed_rain_path.csv")
    for place, margin in enumerate(t["margin_dB"]):
        if np.isnan(margin):
            continue
        row = {
            "length_m": 1000 * t["d_km"][place],
            "frequency_ghz": t["f_GHz"][place],
            "rain_rate_mm_h": t["R001_mm_per_h"][place],
            "polarization": "V" if t["tau_deg"][place] == 90 else "H",
        }
        free = hops(row).hop["directions"][0]["modes"][0]["margin_db"]
        more = (
            {"extra_loss_db": free - margin}
            if free > margin
            else {"antenna": "dish-0.44deg", "extra_loss_db": free + 42 - margin}
        )
        mode = hops({**row, **more}).hop["directions"][0]["modes"][0]
        assert mode["margin_db"] == pytest.approx(margin, abs=1e-9)
        printed = t.rows[place]["p_percent"]
        if printed and t["p_percent"][place] <= 0.001:
            # the table prints the bound of the method; a bound is no outage
            assert mode["rain_outage_percent"] == 0
        elif printed:
            assert mode["rain_outage_percent"] == pytest.approx(
                t["p_percent"][place], abs=1.02 * t.half_digit("p_percent")[place]
            )


@pytest.mark.parametrize("edition", [17, 19])
def test_multipath_year(hops, table, edition):
    """The margin is set to the fade of the table; a deep fade takes month / 10^(dG/10) of the year.

    A shallow one takes more, since its law is formed anew (clause 2.3.4 step 4), up to the month.
    """
    t = table(f"computed_multipath_p530_{edition}.csv")
    new = "log10K" in t
    for place in range(len(t.rows)):
        at = {key: t[key][place] for key in t if key != "source"}
        row = {
            "length_m": 1000 * at["d_km"],
            "frequency_ghz": at["f_GHz"],
            "near_latitude": at["lat_deg"],
            "far_latitude": at["lat_deg"],
            "near_longitude": 0,
            "far_longitude": 0.0001,
            "near_ground_m": at["h_e_amsl_m"] - 20,
            "far_ground_m": at["h_r_amsl_m"] - 20,
            "antenna": "dish-0.44deg",
        }
        if new:
            row |= {
                "log_k": at["log10K"],
                "dn75": at["dN75_N"],
                "terrain": [
                    (0, at["h_t_amsl_m"], 0, "land"),
                    (500 * at["d_km"], at["h_t_amsl_m"], 0, "land"),
                    (1000 * at["d_km"], at["h_t_amsl_m"], 0, "land"),
                ],
            }
        else:
            row |= {"dn1": at["dN1_N_per_km"], "roughness_m": at["s_a_m"]}
        free = hops(row).hop["directions"][0]["modes"][0]["margin_db"]
        hop = hops({**row, "extra_loss_db": free - at["A_dB"]}).hop
        assert hop["multipath_method"] == ("P.530-19" if new else "P.530-17 detailed")
        year = at["p_w_all_percent_method"] / 10 ** (at["deltaG_dB"] / 10)
        found = hop["directions"][0]["modes"][0]["multipath_outage_percent"]
        if at["A_dB"] >= 25 + 1.2 * np.log10(at["p0_percent"]):
            assert found == pytest.approx(year, rel=2e-5)
        else:
            assert year < found < at["p_w_all_percent_method"]


def test_worst_k(hops, table):
    t = table("computed_worst_k.csv")
    t.check("k_e", column(hops(*({"length_m": 1000 * d} for d in t["d_km"])), "worst_k_factor"))


def test_worked_line(hops):
    """12 km, 5.8 GHz, 17 dBm, 23 dBi, 0.5 dB at each end (radio reference, section 1).

    There gas is 0.112 dB in the standard atmosphere (dry 1013.25 hPa); computed by hand:
    EIRP with the feeder left out 40.0 dBm, level 40 - 129.300 - 0.112 + 23 - 1 = -67.412 dBm.
    """
    found = hops(
        {
            "length_m": 12000,
            "antenna": "dish-23dbi",
            "tx_power_dbm": 17,
            "extra_loss_db": 1,
            "pressure_hpa": 1013.25 + 7.5 * 288.15 / 216.7,
        }
    )
    way = found.hop["directions"][0]
    assert way["eirp_dbm"] == pytest.approx(40.0)
    assert way["received_dbm"] == pytest.approx(-67.412, abs=1e-3)


def test_tide(hops, table):
    """One still level at a time: 12 km, 20 m and 16 m over mean water, k = 4/3 among others.

    The sweep also has k = 1 and 3, so the table's level is the least that it may take.
    """
    t = table("computed_tide.csv")
    for pol in "HV":
        for tide, level in zip(t["tide_m"], t[f"level_{pol}_dB"]):
            hop = hops(
                {
                    "length_m": 12000,
                    "height_m": 20,
                    "to_height_m": 16,
                    "polarization": pol,
                    "surface": "sea",
                },
                water_high_m=tide,
                worst_k_factor=4 / 3,
            ).hop
            assert hop["reflection_loss_db"] >= max(-level, 0) - 0.006
            assert hop["reflection_at_water_m"] in (tide, None)


def test_tide_curve(hops, table):
    """The curve behind the chart, at k = 4/3, at the levels of the table."""
    from backhaul.budgets.water_reflection import reflection_curve

    t = table("computed_tide.csv")
    for pol in "HV":
        found = hops(
            {
                "length_m": 12000,
                "height_m": 20,
                "to_height_m": 16,
                "polarization": pol,
                "surface": "sea",
            },
            water_low_m=-2,
            water_high_m=2,
        )
        curve = reflection_curve(found.evaluation, 0, points=5)
        place = np.searchsorted(curve.water_m, t["tide_m"])
        assert curve.k_factor[2] == pytest.approx(4 / 3)
        t.check(f"level_{pol}_dB", curve.level_db[2, place])
