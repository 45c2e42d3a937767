"""Heights that a project in US units is told to set: round, what is written is what is told, and it holds.

A foot is 0.3048 m (NIST SP 811, appendix B.8). That masts are measured in tenths of a foot and mounted
to within one is common practice. The design is invented.
"""

import re

import pytest

from backhaul.catalog import load_catalog
from backhaul.design.edits import edited
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.figures.us_units import words_of
from backhaul.remedies.words import sentence

FOOT = 0.3048
HEIGHTS = ("height_m", "to_height_m")
SITES = """site,latitude,longitude,ground_ft,ambient_min_c,ambient_max_c,outdoor
Barn,40.8,-96.7,1200,0,30,yes
Silo,40.83,-96.66,1230,0,30,yes
"""
SEGMENTS = """path,step,kind,site,part,label,to_site,length_ft,height_ft,to_height_ft,frequency_ghz,channel_mhz,polarization
x,1,device,Barn,switch-out-4-1g-poe-120,sw,,,,,,,
x,2,copper,Barn,cat6a-s-out,,Barn,100,,,,,
x,3,radio,Barn,radio-5ghz-vht-int,hop,Silo,,{near},{far},5.785,40,V
x,4,copper,Silo,cat6a-s-out,,Silo,80,,,,,
x,5,device,Silo,switch-out-4-1g-poe-120,,,,,,,,
"""
TERRAIN = """label,distance_ft,ground_ft,surface,cover_ft
hop,0,1200,land,
hop,7500,{hill},land,20
hop,15489,1230,land,
"""


def hop(folder, near, far, hill):
    folder.mkdir()
    (folder / "project.csv").write_text("setting,value\nregion,US\nunits,US\n")
    (folder / "sites.csv").write_text(SITES)
    (folder / "segments.csv").write_text(SEGMENTS.format(near=near, far=far))
    (folder / "terrain.csv").write_text(TERRAIN.format(hill=hill))
    return folder


def blocked(evaluation):
    return [f for f in evaluation.findings if f.check == "radio-clearance"]


@pytest.mark.parametrize(
    ("near", "far", "hill"), [(60, 4, 1240), (60.37, 43.21, 1240), (33, 33, 1225), (20.5, 60, 1233)]
)
def test_heights_are_tenths_of_a_foot_and_hold_a_foot_off(near, far, hill, tmp_path):
    catalog = load_catalog()
    design = read_design(hop(tmp_path / "d", near, far, hill), catalog)
    (finding,) = blocked(evaluate(design, catalog, remedies=True))
    edits = [edit for edit in finding.edits if edit.column in HEIGHTS]
    assert edits and len(edits) == len(finding.edits)
    said = words_of(design)(sentence(edits))
    told = re.findall(r"by ([\d.]+) ft to ([\d.]+) ft ± ([\d.]+) ft", said)
    assert len(told) == len(edits), said
    for (by, to, off), edit in zip(told, edits, strict=True):
        assert re.fullmatch(r"\d+(\.\d)?", to) and off == "1", said
        assert re.fullmatch(r"\d+(\.\d\d?)?", by), said
        assert float(to) == pytest.approx(edit.to / FOOT, abs=1e-9)
        assert float(by) == pytest.approx((edit.to - edit.before) / FOOT, abs=1e-9)
    for place in (None, *range(len(edits))):
        for off in (-1, 1):
            tried = [
                edit._replace(to=edit.to + (off * FOOT if n == place else 0))
                for n, edit in enumerate(edits)
            ]
            assert not blocked(evaluate(edited(design, tried, catalog), catalog))
