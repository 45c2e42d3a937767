"""What the terminal shows in feet and miles: hand conversions by 0.3048 m and 5280 ft, exact."""

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from backhaul.api import evaluate, read_design
from backhaul.cli import app
from backhaul.figures.us_units import in_us, words_of
from backhaul.report.record import record
from backhaul.wording import length_text

DEMO = Path(__file__).parents[2] / "demo"


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("100 m", "328 ft"),
        ("90 m", "295 ft"),
        ("1850 m", "6070 ft"),  # 6069.6
        ("1,850 m", "6070 ft"),
        ("30.48 m", "100 ft"),
        ("30.5 m", "100 ft"),  # as a typed 100 ft is printed in metres
        ("5 m", "16.4 ft"),  # not 16 ft, which would be 4.88 m
        ("3 m", "9.84 ft"),
        ("4 m", "13.1 ft"),
        ("3.048 m", "10 ft"),
        ("-2.01 m", "-6.59 ft"),
        ("0 m", "0 ft"),
        ("1.61 km", "1 mi"),
        ("0.80 km", "0.5 mi"),
        ("12.4 km", "7.71 mi"),
        ("between 3 and 5 m of it", "between 9.84 and 16.4 ft of it"),
        ("ground 186 to 214 m", "ground 610 to 702 ft"),
        ("k = 1.33 and 2.5 m", "k = 1.33 and 8.20 ft"),
        ("Water, m", "Water, ft"),
        ("Hop, km", "Hop, mi"),
        ("feed of 2.5 mm²", "feed of 2.5 mm² (12 AWG)"),
        ("feed of 2.5 mm² (12 AWG)", "feed of 2.5 mm² (12 AWG)"),
        ("12 m/s", "26.8 mph"),
        ("93.8 ohm/km", "28.6 ohm/kft"),
        ("4 × 500 m", "4 × 1640 ft"),
        ("3 mm", "0.118 in"),
        ("pole mount 60 mm", "pole mount 2.36 in"),
        ("bend radius 254 mm", "bend radius 10 in"),
        ("cabinet, 600 × 400 mm", "cabinet, 23.6 × 15.7 in"),
        ("rated to 55 °C, falls to -40 °C", "rated to 131 °F, falls to -40 °F"),
        ("-20 to 55 °C", "-4 to 131 °F"),
        ("reaches 53.4 °C", "reaches 128.1 °F"),
        ("15 K in its case", "27 °F in its case"),
        ("Cable, °C", "Cable, °F"),
        ("Reach at 20 °C", "Reach at 68 °F"),
        ("0 °C", "32 °F"),
        (
            "temperature [°C] 11.04, pressure [hPa] 1013",
            "temperature [°F] 51.87, pressure [hPa] 1013",
        ),
        ("-18 °C", "0 °F"),
        ("parabolic antenna 0.6 m, 17.7 to 19.7 GHz", "parabolic antenna 2 ft, 17.7 to 19.7 GHz"),
        ("Length of fiber, km", "Length of fiber, mi"),
        ("km from Works", "mi from Works"),
        ("m above the datum", "ft above the datum"),
        ("wind 30 m/s: 445 N, 2.3 kNm", "wind 67.1 mph: 100 lbf, 1696 lbf·ft"),
        ("2.31 m beside 2.32 m", "7.58 ft beside 7.61 ft"),
    ],
)
def test_by_hand(metric, us):
    assert in_us(metric) == us


@pytest.mark.parametrize(
    "text",
    [
        "0.4 dB/km",
        "k = 1.38e-23 J/K, T0 = 290 K",
        "0.00393 × (T − 20 °C)",  # a constant of its formula
        "5 MHz",
        "radio-5m",
        "IP66 m",
        "ground_m",
        "17 m²",
        "50 m2",
        "m",
    ],
)
def test_what_is_no_length(text):
    assert in_us(text) == text


@given(st.integers(1, 3000))
def test_a_run_typed_in_whole_feet_reads_so(length_ft):
    assert in_us(length_text(length_ft * 0.3048)) == f"{length_ft} ft"


@given(st.integers(1, 99_999), st.integers(0, 2))
def test_a_figure_stays_what_it_was(digits, decimals):
    value = digits / 10**decimals
    found = re.fullmatch(r"([\d.]+) ft", in_us(f"{value:.{decimals}f} m"))
    assert float(found[1]) * 0.3048 == pytest.approx(value, abs=0, rel=0.006)


@given(st.integers(1, 9_999))
def test_a_distance_kept_for_safety_is_rounded_up(tenths):
    """1.5 m are 4.92 ft by hand: 5.0, never 4.9."""
    assert in_us("stay 1.5 m away") == "stay 5.0 ft away"
    assert in_us("Stay 1.5 m away") == "Stay 5.0 ft away"
    found = re.fullmatch(r"stay ([\d.]+) ft away", in_us(f"stay {tenths / 10:.1f} m away"))
    assert -1e-6 <= float(found[1]) - tenths / 10 / 0.3048 <= 0.1 + 1e-6


def test_two_figures_stay_two():
    """A figure beside its limit never reads as the limit."""
    told = in_us("30.46 m, at most 30.48 m")
    assert len(set(re.findall(r"[\d.]+ ft", told))) == 2


def in_us_units(folder: Path, demo: str) -> Path:
    shutil.copytree(DEMO / demo, folder)
    with (folder / "project.csv").open("a", encoding="utf-8") as file:
        file.write("units,US\n")
    return folder


@pytest.mark.parametrize("demo", ["estuary", "reservoir"])
def test_the_terminal_has_no_metres_left_and_the_json_no_feet(demo, tmp_path):
    us = in_us_units(tmp_path / demo, demo)
    done = CliRunner().invoke(app, ["check", str(us), "--all"])
    assert re.search(r"\d ft\b", done.stdout)
    assert not re.findall(r"[\d.]+ k?m(?![\w/²])", done.stdout)
    metric, shown = (record(evaluate(read_design(each))) for each in (DEMO / demo, us))
    assert metric.pop("digest") != shown.pop("digest")
    assert metric == shown


def test_names_stay_as_they_were_written(tmp_path):
    (tmp_path / "segments.csv").write_text(
        "path,step,kind,part,site,to_site,length_m,label\n"
        "a,1,device,switch-12-sfp,Mast 30 m,,,\na,2,copper,cat6a-out,Mast 30 m,Hut,100,\n"
        "a,3,device,switch-12-sfp,Hut,,,\n"
    )
    (tmp_path / "project.csv").write_text("setting,value\nunits,US\n")
    words = words_of(read_design(tmp_path))
    assert words("Mast 30 m → Hut, 100 m") == "Mast 30 m → Hut, 328 ft"
    done = CliRunner().invoke(app, ["check", str(tmp_path)])
    assert "Mast 30 m → Hut, 328 ft" in done.stdout


def test_the_map_has_feet_and_miles_beside(tmp_path):
    from backhaul.report.geojson import geojson

    us = geojson(evaluate(read_design(in_us_units(tmp_path / "d", "reservoir"))))
    metric = geojson(evaluate(read_design(DEMO / "reservoir")))
    told = 0
    for one, other in zip(metric["features"], us["features"], strict=True):
        assert one["properties"].items() <= other["properties"].items()
        for name, factor, twin in (("_m", 0.3048, "_ft"), ("_km", 1.609344, "_mi")):
            for key, value in one["properties"].items():
                if key.endswith(name) and value is not None:
                    figure = other["properties"][key.removesuffix(name) + twin]
                    assert figure * factor == pytest.approx(value, abs=1e-3)
                    told += 1
    assert told > 8
