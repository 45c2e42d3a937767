"""Every chart has the settings that the defaults lack, and its figures inside."""

import re
import xml.etree.ElementTree as tree
from io import BytesIO
from zipfile import ZipFile

import openpyxl
import pytest

C = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
CHARTS = {1: "barChart", 2: "barChart", 3: "scatterChart", 4: "areaChart"}


@pytest.fixture(scope="module")
def charts(data):
    with ZipFile(BytesIO(data)) as parts:
        return {n: tree.fromstring(parts.read(f"xl/charts/chart{n}.xml")) for n in CHARTS}


@pytest.mark.parametrize("number", CHARTS)
def test_settings(charts, number):
    chart = charts[number]
    assert chart.find(f".//{C}{CHARTS[number]}") is not None
    assert [one.get("val") for one in chart.iter(f"{C}roundedCorners")] == ["0"]
    assert {one.get("val") for one in chart.iter(f"{C}overlay")} == {"0"}
    assert all(one.get("val") == "0" for one in chart.iter(f"{C}smooth"))
    axes = [
        axis for axis in chart.find(f".//{C}plotArea") if axis.tag in (f"{C}catAx", f"{C}valAx")
    ]
    assert len(axes) == 2
    for axis in axes:
        assert axis.find(f"{C}delete").get("val") == "0"
        assert axis.find(f"{C}numFmt").get("sourceLinked") == "0"
        assert axis.find(f"{C}txPr") is not None
    assert sum(axis.find(f"{C}majorGridlines") is not None for axis in axes) == 1
    for series in chart.iter(f"{C}ser"):
        if series.find(f"{C}marker") is not None:
            assert series.find(f"{C}marker/{C}symbol").get("val") == "none"
    value_axis = axes[-1].find(f"{C}scaling")
    assert value_axis.find(f"{C}min") is not None
    assert value_axis.find(f"{C}max") is not None


@pytest.mark.parametrize("number", CHARTS)
def test_caches_are_what_the_cells_hold(charts, number, data):
    book = openpyxl.load_workbook(BytesIO(data), data_only=True)
    references = [*charts[number].iter(f"{C}numRef"), *charts[number].iter(f"{C}strRef")]
    assert references
    for reference in references:
        where, _, area = reference.find(f"{C}f").text.rpartition("!")
        sheet = book[where.strip("'")]
        cells = [row[0].value for row in sheet[area.replace("$", "")]]
        cached = [one.text for one in reference.iter(f"{C}v")]
        assert len(cached) == len(cells)
        if reference.tag == f"{C}numRef":
            assert [float(text) for text in cached] == cells
        else:
            assert [text or None for text in cached] == [
                None if c is None else str(c) for c in cells
            ]


def test_log_axis(charts):
    scaling = charts[2].find(f".//{C}valAx/{C}scaling")
    assert scaling.find(f"{C}logBase").get("val") == "10"
    assert float(scaling.find(f"{C}min").get("val")) == pytest.approx(0.1)
    assert float(scaling.find(f"{C}max").get("val")) == pytest.approx(1000)


def test_verdict_bars_are_live_and_stacked(charts, data):
    assert charts[1].find(f".//{C}grouping").get("val") == "stacked"
    assert charts[1].find(f".//{C}overlap").get("val") == "100"
    sheet = openpyxl.load_workbook(BytesIO(data))["Charts"]
    assert sheet["H3"].value == "=IF('Owner''s light'!C4=\"pass\",'Owner''s light'!B4,0)"


def test_alternative_texts_and_anchors(data):
    with ZipFile(BytesIO(data)) as parts:
        drawing = parts.read("xl/drawings/drawing1.xml").decode()
    assert re.findall(r'descr="([^"]*)"', drawing) == [
        "Margins: F1 6.25 dB, pass",
        "Outage bars",
        "Level falls along 8 km",
        "Ground below the &quot;line of sight&quot;",
    ]
    assert drawing.count("<xdr:twoCellAnchor") == 4 or drawing.count("<twoCellAnchor") == 4
