"""Cables and joints against the published tables."""

import csv
import math
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parent.parent / "reference"
SINGLE_CLASSES = ("OS2", "OS1a", "OS1", "G.652.D", "G.657.A1", "G.657.A2")
MULTI_CLASSES = ("OM1", "OM2", "OM3", "OM4", "OM5", "FDDI 62.5", "50/400")


def table(name):
    with open(REFERENCE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def figure(text):
    return float(text) if text else None


def test_least_attenuation_is_that_of_good_cable(catalog):
    """Open outside-plant course of 2024: 0.18 at 1550 and 0.20 dB/km at 1625 nm at the low end."""
    checked = 0
    for part, cable in catalog.fibers.items():
        if cable.mode == "single":
            assert cable.min_db_km[1550] == 0.18, part
            assert cable.min_db_km.get(1625, 0.20) <= 0.20, part
            for wave, least in cable.min_db_km.items():
                assert least < cable.typical_db_km[wave], (part, wave)
            checked += 1
    assert checked > 90


def attenuation_cases():
    for row in table("catalog/fiber_attenuation.csv"):
        if row["kind"] == "standard maximum, cabled" and row["fibre_class"] in (
            *SINGLE_CLASSES,
            *MULTI_CLASSES,
            "G.655.C",
        ):
            yield row


@pytest.mark.parametrize(
    "published", attenuation_cases(), ids=lambda row: f"{row['fibre_class']} {row['wavelength_nm']}"
)
def test_cable_attenuation_is_as_published(published, catalog):
    fiber_class = published["fibre_class"].removesuffix(".C")  # one class for all of G.655
    cables = [f for f in catalog.fibers.values() if f.fiber_class == fiber_class]
    assert cables
    limit, wave = float(published["attenuation_max_db_per_km"]), int(published["wavelength_nm"])
    for cable in cables:
        if "bought to at most" in cable.note:  # a contract value, tighter than the standard's
            assert cable.typical_db_km[wave] < cable.max_db_km[wave] < limit, cable.part
        else:
            assert cable.max_db_km[wave] == limit, cable.part


#: planning values of an open outside-plant course of 2024, read
PLANNING_DB_KM = {1310: 0.36, 1550: 0.25, 1625: 0.25}


def test_contract_cables_hold_the_planning_values(catalog):
    routes = {}
    for part, cable in catalog.fibers.items():
        if "bought to at most" in cable.note:
            assert {w: cable.max_db_km[w] for w in PLANNING_DB_KM} == PLANNING_DB_KM, part
            assert cable.max_db_km[1260] == pytest.approx(cable.max_db_km[1310] + 0.07)
            assert cable.basis == "common practice"
            routes.setdefault(part.split("-")[2], []).append(cable.strands)
    assert set(routes) == {"duct", "armoured", "aerial", "micro"}
    assert max(routes["duct"]) == 144


#: 10 log10 of the ways, and the greatest loss of a public handbook table, read
SPLIT_DB = {2: 3.5, 4: 7.2, 8: 10.2, 16: 13.5, 32: 16.6, 64: 20.0}


def test_splitters_lose_at_least_the_split(catalog):
    splitters = {p: j for p, j in catalog.joints.items() if j.kind == "splitter"}
    assert len(splitters) == 2 * len(SPLIT_DB)
    for part, joint in splitters.items():
        ways = int(part.split("-")[1].removeprefix("1x"))
        assert joint.max_db == SPLIT_DB[ways]
        # ITU-T G.671, power splitters for access (from memory), which the note tells
        allowed = 0.8 + 3.4 * math.log2(ways)
        assert joint.max_db < allowed < joint.max_db + 1.3
        assert f"G.671 allows {allowed:.1f} dB" in joint.note
        assert joint.min_db == pytest.approx(10 * math.log10(ways), abs=0.006)


@pytest.mark.parametrize(
    "published",
    [row for row in table("catalog/fiber_classes.csv") if row["fibre_class"] != "G.655.C"],
    ids=lambda row: row["fibre_class"],
)
def test_fiber_class_is_as_published(published, catalog):
    for cable in catalog.fibers.values():
        if cable.fiber_class != published["fibre_class"]:
            continue
        assert cable.mode == {"SM": "single", "MM": "multi"}[published["mode"]]
        assert cable.core_um == figure(published["core_diameter_um"])
        assert cable.zero_dispersion_min_nm == float(published["zero_dispersion_wavelength_min_nm"])
        assert cable.zero_dispersion_max_nm == float(published["zero_dispersion_wavelength_max_nm"])
        index = published["group_index_1310"]  # 850 nm for multimode
        assert cable.group_index == pytest.approx(float(index), abs=0.0005)
        if cable.mode == "single":
            slope = published["zero_dispersion_slope_max_ps_per_nm2_km"]
            assert cable.dispersion_slope_ps_nm2_km == float(slope)


def test_blank_typical_and_least_attenuation_are_filled(lay_over):
    """The contract: a blank typical is the maximum, a blank minimum is 0."""
    catalog = lay_over(
        {
            "fibers.csv": "part,mode,fiber_class,max_db_km_1310,max_db_km_1550,"
            "typical_db_km_1310,min_db_km_1550,source,basis\n"
            "mine,single,OS2,0.4,0.3,0.36,0.2,x,demo\n"
        }
    )
    mine = catalog.fibers["mine"]
    assert mine.typical_db_km == {1310: 0.36, 1550: 0.3}
    assert mine.min_db_km == {1310: 0, 1550: 0.2}


def test_cords_and_assemblies_have_ends_and_lengths(catalog):
    kinds = {"cord-": 2, "assembly-": 2, "pigtail-": 1}
    for part, cable in catalog.fibers.items():
        ends = [end for end in (cable.end_a, cable.end_b) if end]
        wanted = next((n for stem, n in kinds.items() if part.startswith(stem)), 0)
        assert len(ends) == wanted, part
        assert cable.order_lengths_m == tuple(sorted(cable.order_lengths_m)) != (), part
        for end in ends:
            family, _, polish = end.partition("/")
            assert any(
                j.family == family and j.polish == polish for j in catalog.joints.values()
            ), end


def joint_value(item):
    (row,) = [row for row in table("catalog/joints.csv") if row["item"] == item]
    return [float(value) for value in row["value"].split("/")]


def test_pairs_and_splices_are_as_published(catalog):
    (pair,) = [
        float(r["value"])
        for r in table("catalog/joints.csv")
        if r["item"] == "mated pair" and r["quantity"] == "insertion loss max"
    ]
    (splice,) = joint_value("splice")
    for part, joint in catalog.joints.items():
        if joint.kind == "connector":
            assert joint.min_db == 0
            if "grade" not in part:
                assert joint.max_db == pair, part
    for part in ("fusion-splice", "mechanical-splice"):
        assert catalog.joints[part].max_db == splice
    fusion = catalog.joints["fusion-splice"]
    assert [fusion.typical_db, fusion.sigma_db] == joint_value("fusion splice SM, statistics")


@pytest.mark.parametrize("grade", ["B", "C"])
def test_grades_are_as_published(grade, catalog):
    """IEC 61755: mean and 97 % limit; sigma = (limit - mean)/1.88 to half of the third digit."""
    mean, limit = joint_value(f"connector grade {grade}")
    for part in ("lc-upc", "lc-apc", "sc-upc", "sc-apc"):
        joint = catalog.joints[f"{part}-grade-{grade.lower()}"]
        assert (joint.typical_db, joint.max_db) == (mean, limit)
        assert joint.sigma_db == pytest.approx((limit - mean) / 1.88, abs=0.0005)


def test_attenuators_are_the_standard_values(catalog):
    for family in ("lc", "sc"):
        for polish in ("upc", "apc"):
            for value in (1, 2, 3, 5, 7, 10, 15, 20):  # rules of the project
                joint = catalog.joints[f"attenuator-{family}-{polish}-{value}"]
                assert joint.typical_db == value
                assert joint.max_db > value
                assert joint.max_db - value == pytest.approx(value - joint.min_db)


def test_fiber_classes_that_stand_on_the_reach_of_another(catalog):
    """ITU-T G.657 category A keeps all of G.652.D; OS2 is cable of G.652.D (ISO/IEC 11801-1)."""
    reach = catalog.optic_reach
    for name in ("G.652.D", "G.657.A1", "G.657.A2", "G.657.B3"):
        assert reach["10gbase-lr", name] is reach["10gbase-lr", "OS2"]
        assert ("10gbase-sr", name) not in reach
    # an optic of 1310 nm is not for G.655, whose cut-off lies above it
    assert ("10gbase-lr", "G.655") not in reach
    assert reach["10gbase-er", "G.655"].reach_m == reach["10gbase-er", "OS2"].reach_m


def test_a_new_fiber_class_is_one_row(lay_over):
    """Core, what it replaces and whose reach holds stand in the row of the cable."""
    own = lay_over(
        {
            "fibers.csv": "part,mode,fiber_class,replaces_classes,reach_as,core_um,max_db_km_850,"
            "source,basis\nom6-12,multi,OM6,OM4;OM5,OM5,50,2.5,mine,data sheet\n"
            "om6-24,multi,OM6,,,,2.5,mine,data sheet\n"
        }
    )
    assert own.better_classes("OM4") == ("OM5", "OM6") and own.better_classes("OM6") == ()
    assert own.core_um(own.fibers["om6-24"]) == 50
    assert own.optic_reach["10gbase-sr", "OM6"] is own.optic_reach["10gbase-sr", "OM5"]
