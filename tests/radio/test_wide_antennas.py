"""Antennas that are not directional: rules for point to point, and far ends above or below them.

Beams in elevation by ITU-R F.1336 (from memory), worked by hand; designs are invented.
"""

import sys
from math import radians, tan
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.checks.band_rows import not_to_one_point
from backhaul.checks.bands import excess_at_db, judge_all
from backhaul.physics.sectors import omni_elevation_beam_deg, sector_elevation_beam_deg

#: of a degree of latitude at 45 degrees: 111,132 m on WGS 84
KM_NORTH = 1 / 111.132
HOP = (
    "radio t-radio-ext site=A to_site={far} frequency_ghz={ghz} channel_mhz=40 height_m=30 "
    "to_height_m=30 tx_power_dbm=5 label=h{far} antenna={near} to_antenna={of_far}{hub}"
)
FAR, PANEL, OMNI, SECTOR = (
    "panel-5ghz-23dbi",
    "panel-5ghz-23dbi",
    "omni-5ghz-10dbi",
    "sector-5ghz-90",
)


def hops(near=PANEL, far_antenna=FAR, far="B", ghz=5.5, hub=False) -> str:
    return " || ".join(
        HOP.format(far=one, ghz=ghz, near=near, of_far=far_antenna, hub=" hub=H" if hub else "")
        for one in far
    )


def sites(region="TEST", **rise_deg: float) -> str:
    """A, and 1 km north of it B, 2 km north C, at those elevations above A."""
    text = f"project region={region} | site A latitude=45 longitude=5 ground_m=1000"
    for name, km in (("B", 1.0), ("C", 2.0)):
        ground = 1000 + 1000 * km * tan(radians(rise_deg.get(name, 0.0)))
        text += f" | site {name} latitude={45 + km * KM_NORTH} longitude=5 ground_m={ground}"
    return text


@pytest.mark.parametrize(
    ("near", "far", "to_one_point"),
    [
        (PANEL, FAR, [True, True]),
        ("dish-5ghz-0.6m", FAR, [True, True]),
        (OMNI, FAR, [False, True]),
        (SECTOR, FAR, [False, True]),
        ("sector-5ghz-120", FAR, [False, True]),
        (PANEL, OMNI, [True, False]),
        (OMNI, SECTOR, [False, False]),
    ],
)
@pytest.mark.parametrize("hub", [True, False])
def test_an_antenna_that_is_not_directional_is_no_point_to_point(
    near, far, to_one_point, hub, tmp_path
):
    """47 CFR 15.407(a)(3): omnidirectional applications are excluded (from memory)."""
    text = hops(near, far, ghz=5.785, hub=hub)
    evaluation = compact.run(tmp_path, text, sites("US"))
    rules = [{r.record.part for r in judged} for judged in judge_all(evaluation.context)]
    assert ["us-5.8-ptp" in parts for parts in rules] == to_one_point
    assert all("us-5.8-multipoint" in parts for parts in rules)


@pytest.mark.parametrize(("beam", "held"), [(59.9, True), (60.0, False), (360.0, False)])
def test_a_beam_of_60_degrees_is_a_sector(beam, held, tmp_path):
    """Common practice."""
    context = compact.run(tmp_path, hops(), sites("US")).context
    near = context.radio.hops._replace(beamwidth_deg=np.array([[beam, 10.0]]))
    context = context._replace(radio=context.radio._replace(hops=near))
    ways = [not_to_one_point(context, way) is None for way in near.directions]
    assert ways == [held, True]


def test_eirp_of_an_omni_is_that_of_one_terminal_to_several(tmp_path):
    """30 dBm less 1 dB for each dB above 6 dBi: 36 dBm; 26.5 dBm and 10 dBi are 36.5."""
    text = hops(OMNI, ghz=5.785).replace("tx_power_dbm=5", "tx_power_dbm=26.5")
    text = text.replace("t-radio-ext", "radio-5ghz-he-ext")
    evaluation = compact.run(tmp_path, text, sites("US"))
    (told,) = (f for f in evaluation.findings if f.check == "radio-eirp" and "at A" in f.message)
    assert (told.severity, told.value, told.limit) == ("fail", pytest.approx(36.5), 36.0)
    assert excess_at_db(evaluation.context, 0, 5.785) == pytest.approx(0.5)


@pytest.mark.parametrize(("near", "word"), [(OMNI, "fail"), (PANEL, None)])
def test_a_band_for_point_to_point_alone_says_so(near, word, tmp_path):
    band = {"part": "own", "region": "OWN", "frequency_min_ghz": "5.4", "frequency_max_ghz": "5.6"}
    band |= {"description": "own", "rule": "own rule", "eirp_max_dbm": "50", "one_far_end": "yes"}
    text = hops(near).replace("t-radio-ext", "radio-5ghz-he-ext")
    found = compact.checked(tmp_path, text, sites("OWN"), bands=[band])["findings"]
    told = [f for f in found if f["check"] == "radio-band"]
    assert [f["severity"] for f in told] == ([word] if word else [])
    for one in told:
        assert "for fixed point to point alone (own rule)" in one["message"]
        assert "the antenna at A is not directional" in one["message"]


def test_elevation_beams_by_hand():
    """107.6 x 10^(-0.1 G); 31,000 x 10^(-0.1 G) / beam in azimuth: 50.12 and 39.81 times."""
    gain = np.array([0.0, 6.0, 10.0])
    assert omni_elevation_beam_deg(gain_dbi=gain) == pytest.approx([107.6, 27.03, 10.76], abs=5e-3)
    beams = sector_elevation_beam_deg(
        gain_dbi=np.array([17.0, 16.0]), beamwidth_deg=np.array([90.0, 120.0])
    )
    assert beams == pytest.approx([31_000 / 50.119 / 90, 31_000 / 39.811 / 120], rel=1e-4)


def told(folder, text, others):
    found = compact.run(folder, text, others).findings
    return [f for f in found if f.check == "radio-pointing" and "in elevation" in f.message]


#: Half of 10.76 degrees is 5.38.
OMNI_CASES = [(5.3, None), (5.46, "thin"), (10.68, "thin"), (10.84, "fail"), (40.0, "fail")]


@pytest.mark.parametrize(("elevation", "word"), OMNI_CASES)
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("hub", [True, False])
def test_an_upright_antenna_has_a_flat_beam(elevation, word, sign, hub, tmp_path):
    others = sites(B=sign * elevation)
    found = told(tmp_path, hops(OMNI, hub=hub), others)
    assert [f.severity for f in found] == ([word] if word else [])
    for one in found:
        assert one.message.startswith("B lies ") and ("below" in one.message) == (sign < 0)
        assert one.value == pytest.approx(elevation, abs=0.03)
        assert one.limit == pytest.approx(5.38 if word == "thin" else 10.76)


def test_the_loss_that_is_told_is_that_of_the_parabola(tmp_path):
    """12 (8 / 10.76)^2 = 6.6 dB."""
    (one,) = told(tmp_path, hops(OMNI), sites(B=8.0))
    assert "6.6 dB less" in one.message


def test_an_upright_antenna_at_the_far_end_too(tmp_path):
    (one,) = told(tmp_path, hops(PANEL, OMNI), sites(B=30.0))
    assert one.severity == "fail" and one.message.startswith("A lies 30.0° below")
    assert one.where.endswith("to_antenna")


#: Beam in elevation and half the spread of two far ends: 6.873 of 17 dBi and 90 degrees, 10 of a
#: panel whose beam is that in both planes (common practice).
SPREADS = [
    *((SECTOR, *case) for case in ((6.7, None), (7.0, "thin"), (13.6, "thin"), (13.9, "fail"))),
    *((PANEL, *case) for case in ((9.9, None), (10.1, "thin"), (19.8, "thin"), (20.2, "fail"))),
]


@pytest.mark.parametrize(("antenna", "spread", "word"), SPREADS)
@pytest.mark.parametrize("level", [0.0, -15.0])
def test_a_tilted_antenna_is_aimed_at_the_middle_of_its_far_ends(
    antenna, spread, word, level, tmp_path
):
    found = told(tmp_path, hops(antenna, far="BC", hub=True), sites(B=level + spread, C=level))
    assert [f.severity for f in found] == ([word] * 2 if word else [])
    for one in found:
        assert one.value == pytest.approx(spread / 2, abs=0.03)


@pytest.mark.parametrize(("far", "hub"), [("B", True), ("B", False), ("BC", False)])
def test_a_tilted_antenna_of_one_far_end_is_aimed_at_it(far, hub, tmp_path):
    assert not told(tmp_path, hops(SECTOR, far=far, hub=hub), sites(B=30.0))
