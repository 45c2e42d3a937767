"""One fault put into a design that has none of its kind is one cause, whatever follows from it."""

import csv
from pathlib import Path

import pytest

from backhaul.catalog import load_catalog
from backhaul.checks.groups import Group, causes
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import THIN

BASE = Path(__file__).parents[2] / "demo" / "reservoir"


def of(path: str, step: float):
    """Rows of a path at a step."""
    return lambda row: path in row["path"].split("/") and float(row["step"]) == step


def cell(path: str, step: float, **cells: str):
    """Cells of one row typed over."""

    def typed(tables):
        for row in filter(of(path, step), tables["segments"]):
            row.update(cells)

    return typed


def everywhere(table: str, column: str, value: str, **where: str):
    """A column of all rows of a table that have these cells."""

    def typed(tables):
        for row in tables[table]:
            if all(row[name] == cell for name, cell in where.items()):
                row[column] = value

    return typed


def no_protectors(kind: str):
    """The protectors of one kind of cable forgotten throughout."""

    def taken_out(tables):
        tables["segments"] = [
            row for row in tables["segments"] if not row["part"].startswith(f"protector-{kind}")
        ]

    return taken_out


def without(path: str, *steps: float):
    def taken_out(tables):
        for step in steps:
            tables["segments"] = [r for r in tables["segments"] if not of(path, step)(r)]

    return taken_out


def demand(tables):
    for row in tables["demand"]:
        row["up_mbps"] = "400" if row["path"] == "tower" else row["up_mbps"]


def wall(tables):
    tables["terrain"][3]["cover_m"] = "90"


COLD = "temperature"
#: A fault, and the check that is its cause.
FAULTS = {
    "multimode run": (cell("tower", 6, part="om3-12"), "fiber-mode"),
    "angled plug of another family": (
        cell("tower", 3, part="cord-os2-lcupc-scapc"),
        "connector-family",
    ),
    "one end of a bidirectional pair": (
        cell("tower", 10, part="1000base-bx10-u-i"),
        "optics-wavelength",
    ),
    "ten times the rate at one end": (cell("tower", 10, part="10gbase-lr-i"), "optics-speed"),
    "an optic forgotten": (without("tower", 10), "chain-broken"),
    "fiber forgotten": (without("tower", 3, 4, 5, 6, 7, 8, 9), "chain-broken"),
    "copper too long": (cell("tower", 13, length_m="130"), "copper-reach"),
    "a frequency of another half": (
        cell("tower", 15, frequency_ghz="19.5", to_frequency_ghz="18.0"),
        "radio-pair",
    ),
    "a wall": (wall, "radio-clearance"),
    "too much demand": (demand, "path-rate"),
    "a protector forgotten": (without("tower", 12), "surge"),
    "a load of a higher class": (cell("tower", 23, part="camera-class8"), "poe-power"),
    "a strand that is not there": (cell("tower", 6, strand="13/14"), "strand-label"),
    "a run too short": (cell("tower", 6, length_m="300"), "run-length"),
    # one thing that many parts suffer from
    "a colder site": (everywhere("sites", "ambient_min_c", "-60", site="Crest cabinet"), COLD),
    "a hotter site": (everywhere("sites", "ambient_max_c", "90", site="Crest mast"), COLD),
    "a coast": (everywhere("sites", "corrosivity", "CX"), "corrosion"),
    "protectors of copper forgotten": (no_protectors("copper"), "surge"),
    "protectors of feeds forgotten": (no_protectors("feed"), "surge"),
    "strands that are not there": (
        everywhere("segments", "strand", "13/14", kind="fiber"),
        "strand-label",
    ),
    "one strand for two": (everywhere("segments", "strand", "1", kind="fiber"), "strand-count"),
    "a frequency of no band": (
        cell("tower", 15, frequency_ghz="8.2", to_frequency_ghz="9.21"),
        "radio-pair",
    ),
    "mains on two conductors": (
        everywhere("segments", "part", "10mm2-out", part="10mm2-3c-out"),
        "feed-protection",
    ),
    "angled cords": (
        everywhere("segments", "part", "cord-os2-lcapc-lcapc", part="cord-os2-lcupc-lcupc"),
        "connector-polish",
    ),
}


@pytest.fixture(scope="module")
def catalog():
    return load_catalog()


def open_causes(folder, catalog, change=None) -> list[Group]:
    """The causes of the reservoir with a change made."""
    tables = {}
    for file in BASE.glob("*.csv"):
        with file.open(newline="", encoding="utf-8") as lines:
            tables[file.stem] = list(csv.DictReader(lines))
    if change:
        change(tables)
    folder.mkdir()
    for name, rows in tables.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, list(dict.fromkeys(h for row in rows for h in row)))
            writer.writeheader()
            writer.writerows(rows)
    return causes(evaluate(read_design(folder, catalog), catalog, seek=False).findings)


@pytest.mark.parametrize("fault", FAULTS)
def test_one_fault_is_one_cause(fault, catalog, tmp_path):
    change, check = FAULTS[fault]
    before = {group.message for group in open_causes(tmp_path / "before", catalog)}
    after = open_causes(tmp_path / "after", catalog, change)
    new = [group for group in after if group.message not in before]
    # a reflection that stood before may read otherwise
    new = [g for g in new if (g.head.check, g.severity) != ("radio-reflection", THIN)]
    assert [(g.head.check, g.count) for g in new] == [(check, 1)], [g.message for g in new]


#: A supply of 48 V, its run to a switch that passes on what arrives, and a camera of class 3.
WEIGHBRIDGE = """path,step,kind,site,to_site,part,port,length_m,label
power,1,device,Office,,supply-48v-120w,,,supply
power,2,feed,Office,Bridge,{feed},,400,
power,3,device,Bridge,,switch-ind-4-1g-poe-120,,,switch
plate,1,device,Bridge,,switch-ind-4-1g-poe-120,,,switch
plate,2,copper,Bridge,Bridge,cat6a-s-out,1,15,
plate,3,device,Bridge,,{camera},,,camera
"""


@pytest.mark.parametrize(
    ("feed", "camera", "wanted"),
    [
        ("6mm2-out", "camera-class3", set()),
        # below 44 V neither the switch starts nor is a class granted (IEEE 802.3-2018 33.2.8: a
        # source of type 1 gives 44 V or more): the feed is why
        ("1.5mm2-out", "camera-class3", {"feed-power"}),
        # of class 6 the port of class 4 grants too little at any voltage
        ("1.5mm2-out", "camera-class6", {"feed-power", "poe-power"}),
    ],
)
def test_a_class_that_a_feed_takes_away_is_one_cause(feed, camera, wanted, catalog, tmp_path):
    text = WEIGHBRIDGE.format(feed=feed, camera=camera)
    (tmp_path / "segments.csv").write_text(text, encoding="utf-8")
    found = evaluate(read_design(tmp_path, catalog), catalog, seek=False).findings
    assert {g.head.check for g in causes(found)} & {"feed-power", "poe-power"} == wanted


#: A supply of 120 W and a switch that passes on more: four cameras of 22 W over 0.85 and its own
#: 12 W are 115 W, with what 60 m lose more than it gives; 2.4 A through 1.45 ohm, 60 m of 1.5 mm² both ways
#: (12.1 ohm/km), are 3.5 V of 48, above 5 %.
SUMMIT = """path,step,kind,site,part,port,length_m,label
power,1,device,Top,supply-48v-120w,,,psu
power,2,feed,Top,1.5mm2-out,,{length},
power,3,device,Top,switch-out-4-1g-poe-dc-120,,,switch
view,1,device,Top,switch-out-4-1g-poe-dc-120,,,switch
view,2,copper,Top,cat6a-s-out,1,20,
view,3,device,Top,camera-class4,,,camera
talk,1,device,Top,switch-out-4-1g-poe-dc-120,,,switch
talk,2,copper,Top,cat6a-s-out,2,20,
talk,3,device,Top,camera-class4,,,other-camera
hail,1,device,Top,switch-out-4-1g-poe-dc-120,,,switch
hail,2,copper,Top,cat6a-s-out,3,20,
hail,3,device,Top,camera-class4,,,third-camera
call,1,device,Top,switch-out-4-1g-poe-dc-120,,,switch
call,2,copper,Top,cat6a-s-out,4,20,
call,3,device,Top,camera-class4,,,fourth-camera
"""


@pytest.mark.parametrize(("length", "wanted"), [(2, set()), (60, {"feed-power", "feed-drop"})])
def test_a_supply_too_small_is_not_why_a_feed_loses_volts(length, wanted, catalog, tmp_path):
    (tmp_path / "segments.csv").write_text(SUMMIT.format(length=length), encoding="utf-8")
    found = evaluate(read_design(tmp_path, catalog), catalog, seek=False).findings
    assert {g.head.check for g in causes(found)} & {"feed-power", "feed-drop"} == wanted
