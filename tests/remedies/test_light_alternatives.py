"""Everyday terminations, filters and cables: what passes, what fails, and the change that is proposed.

Designs invented; that a filter passes the channels of its grid alone: ITU-T G.694.2 (centres 20 nm
apart) and G.695 (a channel 13 nm wide), as quoted; the rest is common practice.
"""

import pytest
from small_designs import SITES, rows, write_table

from backhaul.budgets.order_list import order_list
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate


def evaluated(folder, **paths):
    folder.mkdir(exist_ok=True)
    write_table(folder, "sites", SITES)
    write_table(folder, "segments", [row for name in paths for row in rows(name, *paths[name])])
    catalog = load_catalog()
    return evaluate(read_design(folder, catalog), catalog, remedies=True)


def found(evaluation, check: str):
    return [each for each in evaluation.findings if each.check == check]


def link(optic: str, *way: str, switch: str = "switch-12-sfp") -> tuple[str, ...]:
    return (
        f"device {switch} site=works label=SW1",
        f"optic {optic} site=works",
        *way,
        f"optic {optic} site=crest",
        f"device {switch} site=crest label=SW2",
    )


PIGTAILS = (
    "fiber pigtail-os2-lcupc site=works length_m=1",
    "splice fusion-splice site=works",
    "fiber os2-12 site=works to_site=crest length_m=500 strand=1/2 label=C1",
    "splice fusion-splice site=crest",
    "fiber pigtail-os2-lcupc site=crest length_m=1",
)


@pytest.mark.parametrize(("optic", "pieces"), [("1000base-lx10", 4), ("1000base-bx10-d", 2)])
def test_pigtails_are_one_a_strand(tmp_path, optic, pieces):
    way = [row.replace("strand=1/2", "strand=1") if pieces == 2 else row for row in PIGTAILS]
    p = link(optic, *way)
    if pieces == 2:
        p = (*p[:-2], p[-2].replace("-d ", "-u "), p[-1])
    evaluation = evaluated(tmp_path, p=p)
    assert not found(evaluation, "strand-count") and not found(evaluation, "strand-label")
    lines = {line.part: line.needed for line in order_list(evaluation).lines}
    assert lines["pigtail-os2-lcupc"] == pieces


def through_filters(strand: str) -> tuple[str, ...]:
    return (
        "connector filter-cwdm-8-lcupc site=works label=F1",
        "connector lc-upc site=works",
        f"fiber os2-12 site=works to_site=crest length_m=20000 strand={strand} label=C1",
        "connector lc-upc site=crest",
        "connector filter-cwdm-8-lcupc site=crest label=F2",
    )


@pytest.mark.parametrize(("first", "second", "may"), [(1511, 1531, True), (1511, 1511, False)])
def test_a_strand_is_shared_through_filters_on_two_wavelengths(tmp_path, first, second, may):
    evaluation = evaluated(
        tmp_path,
        p=link(f"1g-cwdm-{first}-40km", *through_filters("1/2")),
        q=link(f"1g-cwdm-{second}-40km", *through_filters("1/2")),
    )
    assert bool(found(evaluation, "strand-label")) is not may


def test_without_filters_it_is_not_shared(tmp_path):
    cable = "fiber os2-12 site=works to_site=crest length_m=20000 strand=1/2 label=C1"
    evaluation = evaluated(
        tmp_path, p=link("1g-cwdm-1511-40km", cable), q=link("1g-cwdm-1531-40km", cable)
    )
    assert found(evaluation, "strand-label")


@pytest.mark.parametrize(
    ("optic", "fails"),
    [
        ("1g-cwdm-1511-40km", False),
        ("1g-cwdm-1271-40km", True),  # beside the eight that are usual
        ("1000base-lx10", True),  # 1260 to 1360 nm: in no one channel
    ],
)
def test_a_filter_passes_its_channels_alone(tmp_path, optic, fails):
    evaluation = evaluated(tmp_path, p=link(optic, *through_filters("1/2")))
    dark = [each for each in found(evaluation, "optics-wavelength") if each.severity == "fail"]
    assert len(dark) == (1 if fails else 0)


def test_one_labelled_optic_stands_in_one_light(tmp_path):
    cable = "fiber os2-12 site=works to_site=crest length_m=500 strand={} label=C1"
    p, q = link("1000base-lx10", cable.format("1/2")), link("1000base-lx10", cable.format("3/4"))
    assert not found(evaluated(tmp_path / "a", p=p, q=q), "optics-port")
    shared = [(row + " label=O1" if n == 1 else row) for n, row in enumerate(p)]
    other = [(row + " label=O1" if n == 1 else row) for n, row in enumerate(q)]
    assert found(evaluated(tmp_path / "b", p=shared, q=other), "optics-port")


@pytest.mark.parametrize("measured_nm", ["", "1550"])
def test_a_loss_at_another_wavelength_is_no_measurement(tmp_path, measured_nm):
    """G.652 fiber loses some 0.12 dB/km more at 1310 nm than at 1550 nm, whatever a class promises."""
    cable = (
        "fiber os2-12 site=works to_site=crest length_m=35000 strand=1 measured_db=11 label=C1"
        + (f" measured_nm={measured_nm}" if measured_nm else "")
    )
    p = link("1g-bidi-40km-d", cable)
    p = (*p[:-2], p[-2].replace("-d ", "-u "), p[-1])
    assert found(evaluated(tmp_path, p=p), "measured-loss")


def proposed(evaluation) -> dict[str, set[str]]:
    return {
        each.check: {str(edit.to) for edit in each.edits if edit.column == "part"}
        for each in evaluation.findings
        if each.edits
    }


def test_the_attenuator_that_is_large_enough_is_tried(tmp_path):
    cable = "fiber os2-12 site=works to_site=crest length_m=3000 strand=1/2 label=C1"
    evaluation = evaluated(tmp_path, p=link("1000base-zx", cable))
    (one,) = found(evaluation, "receiver-overload")
    assert [edit.row["part"] for edit in one.edits] == ["attenuator-lc-upc-10"]


def test_single_mode_cable_keeps_its_place_where_the_optics_are_at_fault(tmp_path):
    cable = "fiber os2-12 site=works to_site=crest length_m=200 strand=1/2 label=C1"
    parts = proposed(evaluated(tmp_path, p=link("1000base-sx", cable)))["fiber-mode"]
    assert len(parts) == 1 and parts.pop().startswith("1000base-lx")


def test_an_indoor_cable_outdoors_gives_way_to_one_for_outdoors(tmp_path):
    cable = "fiber os1-4 site=works to_site=crest length_m=4500 strand=1/2 label=C1"
    evaluation = evaluated(tmp_path, p=link("1000base-lx10", cable))
    fibers = evaluation.catalog.fibers
    parts = proposed(evaluation)
    cables = {name for names in parts.values() for name in names if name in fibers}
    assert {"environment", "fiber-reach"} <= parts.keys()
    assert all(fibers[name].outdoor for name in cables)


def test_what_stays_once_the_cause_is_settled_is_told_by_itself(tmp_path):
    """OM4 in the place of an OM3 cord mends the reach of the standard, not the loss of 380 m."""
    way = (
        "fiber cord-om3-lcupc-lcupc site=works length_m=3",
        "connector lc-upc site=works",
        "connector lc-upc site=works",
        "fiber om4-4 site=works to_site=crest length_m=380 strand=1/2 label=C1",
        "connector lc-upc site=crest",
    )
    evaluation = evaluated(tmp_path, p=link("10gbase-sr", *way, switch="switch-12-sfp+"))
    (reach,) = found(evaluation, "fiber-reach")
    (margin,) = found(evaluation, "optical-margin")
    assert reach.edits and reach.cause is None
    assert margin.severity == "fail" and margin.cause is None
