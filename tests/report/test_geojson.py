"""The map against RFC 7946."""

import json
from pathlib import Path

import pytest

import backhaul.api
from backhaul.report.geojson import _line, geojson, geojson_text

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def evaluation():
    return backhaul.api.evaluate(backhaul.api.read_design(DEMO / "reservoir"))


def test_positions_are_longitude_then_latitude(evaluation):
    """RFC 7946 section 3.1.1: longitude, latitude, WGS 84, no other reference system (sec. 4)."""
    data = geojson(evaluation)
    assert data["type"] == "FeatureCollection"
    assert "crs" not in data
    site = next(iter(evaluation.design.sites.values()))
    point = next(f for f in data["features"] if f["properties"]["name"] == site.site)
    assert point["geometry"]["coordinates"] == [
        pytest.approx(site.longitude),
        pytest.approx(site.latitude),
    ]


def test_every_feature_has_a_geometry_and_a_verdict(evaluation):
    """RFC 7946 section 3.2: type, geometry, properties."""
    features = json.loads(geojson_text(evaluation))["features"]
    assert {f["properties"]["what"] for f in features} >= {"site", "hop", "fiber"}
    for feature in features:
        assert set(feature) == {"type", "geometry", "properties"}
        assert feature["properties"]["verdict"] in ("pass", "thin", "fail")


def test_a_line_over_the_date_line_is_cut():
    """RFC 7946 section 3.1.9."""
    cut = _line((179.95, 0.0), (-179.9, 0.03))
    assert cut["type"] == "MultiLineString"
    assert cut["coordinates"][0][1] == [180.0, pytest.approx(0.01)]
    assert cut["coordinates"][1][0] == [-180.0, pytest.approx(0.01)]
