"""How causes read: what they take down, how many there are, which of them a remedy is for.

The findings are made up by hand; what their lines must say is the contract's: names of paths, a
figure beside its limit, a count of all and not of the lines they are folded into.
"""

import re
from types import SimpleNamespace

import pytest

from backhaul.catalog import load_catalog
from backhaul.checks.groups import causes, takes_down
from backhaul.checks.safety import CAUTIONS
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import CAUTION, FAIL, THIN, Finding
from backhaul.report.open_points import cautions, summary
from backhaul.report.terminal import report


def group(*followers: dict, **head):
    """A cause with what follows from it."""
    first = Finding(head.pop("check"), FAIL, "found", id="head", **head)
    rest = [
        Finding(message="follows", id=f"f{n}", cause="head", **each)
        for n, each in enumerate(followers)
    ]
    (found,) = causes([first, *rest])
    return found


@pytest.mark.parametrize(
    ("follower", "words"),
    [
        ({"check": "feed-drop", "value": 6.6, "limit": 5.0, "unit": "%"}, "6.6 % (limit 5)"),
        ({"check": "optical-margin", "value": -0.09, "limit": -0.0, "unit": "dB"}, "(limit 0)"),
        (
            {"check": "radio-margin", "value": 9.96, "limit": 10.0, "unit": "dB"},
            "9.96 dB (limit 10",
        ),
        ({"check": "feed-current", "value": 3.0, "unit": "A"}, "feed-current 3 A"),
    ],
)
def test_a_follower_stands_beside_its_limit(follower, words):
    found = group({"severity": THIN, **follower}, check="radio-clearance", path="a", paths=("a",))
    assert words in takes_down(found)


def test_a_class_is_no_figure():
    follower = {"check": "poe-power", "value": -1, "limit": 3, "unit": "class", "severity": FAIL}
    assert takes_down(group(follower, check="radio-clearance")) == "poe-power"


@pytest.mark.parametrize(("dark", "words"), [(("b",), "path b"), (("b", "c"), "paths b, c")])
def test_what_goes_dark_is_called_a_path(dark, words):
    assert takes_down(group(check="feed-power", path="a", paths=("a", *dark))) == words


def test_the_last_line_names_the_first_of_all_it_counts():
    found = causes([Finding("surge", THIN, "none"), Finding("temperature", FAIL, "hot", path="a")])
    assert summary(found) == "1 fail, 1 thin; first: temperature a"
    assert summary([]) == "0 fail, 0 thin"


#: Two loads on ports of class 4 (IEEE 802.3-2018 Table 33-11: 30 W at the source), of class 8
#: (90 W) and of class 6 (60 W): an outdoor switch with ports of class 6 is for one of them.
LIFT = """path,step,kind,site,part,length_m,label
mid,1,device,Midway,switch-out-4-1g-poe-120,,mid-switch
mid,2,copper,Midway,cat6a-s-out,60,
mid,3,device,Midway,camera-class8,,mid-camera
top,1,device,Top,switch-out-4-1g-poe-120,,top-switch
top,2,copper,Top,cat6a-s-out,25,
top,3,device,Top,camera-class6,,top-camera
"""


def test_what_is_for_some_of_the_alike_says_for_which(tmp_path):
    (tmp_path / "segments.csv").write_text(LIFT, encoding="utf-8")
    catalog = load_catalog()
    evaluation = evaluate(read_design(tmp_path, catalog), catalog, remedies=True)
    found = [f for f in evaluation.findings if f.check == "poe-power" and not f.cause]
    assert {bool(f.edits) for f in found} == {True, False}
    lines = [line for line, _ in report(evaluation, width=200)]
    arrows = [line for line in lines if "→" in line and re.search(r"class 8|fit switch", line)]
    assert len(arrows) == 2
    assert {re.search(r"→ (\w+) step", arrow)[1] for arrow in arrows} == {"mid", "top"}
    (head,) = (line for line in lines if line.startswith("Open points"))
    fails = sum(f.severity == FAIL and not f.cause for f in evaluation.findings)
    assert f"{fails} fail" in head


#: What every design of light, air, copper and mains gives cause for; explosive air is of few.
USUAL = ("laser", "height", "mains", "lightning", "radio")


def test_the_usual_cautions_take_two_lines():
    found = [Finding("safety", CAUTION, CAUTIONS[name]) for name in USUAL]
    lines = list(cautions(SimpleNamespace(findings=found), 100, False, in_place=True))
    assert next(line for line, _ in lines if line).startswith("Cautions: never look")
    assert len([line for line, _ in lines if line]) == 2
    assert lines[-1][0].endswith("Local codes and licensed practice decide.")
