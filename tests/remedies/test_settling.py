"""The cheapest change is found, proved on the whole design, and written so that it reads back.

The costs compared are those of an enumeration over the whole catalogue, written here without the
search: every change of one cell, and every pair of such changes where one alone does not do.
"""

import csv
import shutil
from itertools import combinations
from pathlib import Path

import compact
import openpyxl
import pytest

import backhaul
from backhaul.catalog import load_catalog
from backhaul.design.edits import Edit, edited
from backhaul.design.read import read_design
from backhaul.errors import InputError, OutputError
from backhaul.evaluation import evaluate
from backhaul.findings import FAIL
from backhaul.remedies.candidates import MOVES, weights
from backhaul.remedies.settling import settle
from backhaul.report.changed_design import write_changed

DEMO = Path(__file__).parents[2] / "demo"
CATALOG = load_catalog()
#: Small designs with faults of one or two cells; from common practice, the parts are classes.
SMALL = {
    "both ends of a pair alike": (
        "P: device switch-12-sfp site=A | optic 1000base-bx10-u | "
        "fiber os2-2-in 400m strand=1 site=A | optic 1000base-bx10-u | "
        "device switch-12-sfp site=A"
    ),
    "too much light": (
        "P: device switch-12-sfp site=A | optic 1000base-zx | "
        "fiber cord-os2-lcupc-lcupc 5m strand=1/2 site=A | optic 1000base-zx | "
        "device switch-12-sfp site=A"
    ),
    "a class of the wrong fiber": (
        "P: device switch-12-sfp site=A | optic 1000base-sx | "
        "fiber cord-os2-lcupc-lcupc 5m strand=1/2 site=A | optic 1000base-sx | "
        "device switch-12-sfp site=A"
    ),
    "unscreened cable too long": (
        "P: device switch-8-1g-poe-120 site=A label=SW | copper cat5e 104m site=A | "
        "device camera-class3 site=A"
    ),
}


def design_of(folder: Path, text: str):
    compact.write_tables(folder, {"segments": compact.segments(text)})
    return read_design(folder, CATALOG)


def run(design):
    return evaluate(design, CATALOG)


def fails(results) -> int:
    return sum(finding.severity == FAIL for finding in results.findings)


def one_cell_edits(design) -> list[tuple[float, Edit]]:
    """Every part of the catalogue in the place of every other of its family, with its weight."""
    changes = {"optic": "optic", "fiber": "cord", "copper": "run", "device": "device"}
    families = {"optic": "optics", "fiber": "fibers", "copper": "coppers", "device": "devices"}
    found = []
    for row in design.segments:
        key = {"path": row.path[0], "step": row.step}
        for part, record in getattr(CATALOG, families[row.kind]).items():
            if part == row.part:
                continue
            change = changes[row.kind]
            if row.kind == "fiber" and not (record.end_a or record.end_b):
                change = "run"
            found.append((weights()[change], Edit("segments", "set", key, "part", row.part, part)))
    steps = [row.step for row in design.segments if row.kind == "optic"]
    for part, record in CATALOG.joints.items():
        if record.kind == "attenuator" and steps:
            cells = {"path": "P", "step": steps[-1] - 0.5, "kind": "attenuator", "part": part}
            key = {"path": "P", "step": steps[-1] - 0.5}
            found.append((weights()["cord"], Edit("segments", "insert", key, row=cells)))
    return sorted(found, key=lambda pair: pair[0])


def cheapest_by_enumeration(design) -> float:
    single = one_cell_edits(design)
    for cost, edit in single:
        if passes(design, [edit]):
            return cost
    pairs = sorted(
        (
            (a[0] + b[0], a[1], b[1])
            for a, b in combinations([s for s in single if s[1].column == "part"], 2)
            if a[1].key != b[1].key and a[0] == b[0] == weights()["optic"]
        ),
        key=lambda pair: pair[0],
    )
    return next(cost for cost, *both in pairs if passes(design, both))


def passes(design, edits) -> bool:
    try:
        return fails(run(edited(design, edits, CATALOG))) == 0
    except (InputError, KeyError):
        return False


@pytest.mark.parametrize("name", ["both ends of a pair alike", "too much light"])
def test_cost_is_that_of_an_enumeration(name, tmp_path):
    design = design_of(tmp_path, SMALL[name])
    assert fails(run(design))
    settled = settle(design, run)
    assert fails(settled.after) == 0
    assert settled.cost == cheapest_by_enumeration(design)


@pytest.mark.parametrize("name", SMALL)
def test_what_is_promised_is_what_comes(name, tmp_path):
    """The edits applied to the design as it was read give the verdicts that were promised."""
    design = design_of(tmp_path, SMALL[name])
    settled = settle(design, run)
    again = run(edited(design, settled.edits, CATALOG))
    assert again.path_verdicts == settled.after.path_verdicts
    assert fails(again) == len(settled.unsettled)
    assert not settle(settled.design, run).edits, "a second run finds nothing to do"


def test_existing_rows_are_left_alone(tmp_path):
    text = SMALL["both ends of a pair alike"].replace(
        "optic 1000base-bx10-u |", "optic 1000base-bx10-u by=existing |", 1
    )
    design = design_of(tmp_path, text)
    settled = settle(design, run)
    fixed = {row.step for row in design.segments if row.by}
    assert fails(settled.after) == 0
    assert not {edit.key["step"] for edit in settled.edits} & fixed


def test_all_fixed_says_so(tmp_path):
    text = SMALL["both ends of a pair alike"].replace(
        "1000base-bx10-u", "1000base-bx10-u by=client"
    )
    settled = settle(design_of(tmp_path, text.replace("strand=1 ", "strand=1 by=client ")), run)
    assert not settled.edits
    assert settled.unsettled
    allowed = settle(design_of(tmp_path, text), run, may_change_existing=True)
    assert fails(allowed.after) == 0


@pytest.mark.parametrize("form", ["folder", "csv", "xlsx"])
def test_the_changed_design_reads_back(form, tmp_path):
    source, output = {
        "folder": (DEMO / "estuary", tmp_path / "out"),
        "csv": (tmp_path / "segments.csv", tmp_path / "changed.csv"),
        "xlsx": (DEMO / "estuary.xlsx", tmp_path / "out.xlsx"),
    }[form]
    if form == "csv":
        shutil.copy(DEMO / "estuary" / "segments.csv", source)
    design = read_design(source, CATALOG)
    edits = [
        Edit(
            "segments",
            "set",
            {"path": "hide", "step": 2},
            "part",
            "1000base-bx10-u-i",
            "1000base-bx10-d-i",
        ),
        Edit(
            "segments",
            "insert",
            {"path": "sluice", "step": 9.5},
            row={
                "path": "sluice",
                "step": 9.5,
                "kind": "attenuator",
                "part": "attenuator-lc-upc-10",
            },
        ),
        Edit("segments", "set", {"path": "gauge", "step": 6}, "strand", ("3", "4"), ("1", "2")),
        Edit("segments", "remove", {"path": "gauge", "step": 5}),
    ]
    changed = edited(design, edits, CATALOG)
    write_changed(source, output, design, changed, edits)
    again = read_design(output, CATALOG)
    assert len(again.segments) == len(design.segments)
    assert run(again).path_verdicts == run(changed).path_verdicts
    by_step = {(row.path, row.step): row.part for row in again.segments}
    assert by_step == {(row.path, row.step): row.part for row in changed.segments}
    if form == "xlsx":
        book = openpyxl.load_workbook(output)
        assert "Changes" in book.sheetnames
        assert book["segments"].max_row >= openpyxl.load_workbook(source)["segments"].max_row


def test_an_output_of_another_form_is_refused(tmp_path):
    design = read_design(DEMO / "estuary", CATALOG)
    with pytest.raises(OutputError):
        write_changed(DEMO / "estuary", tmp_path / "x.xlsx", design, design, [])
    with pytest.raises(OutputError):
        write_changed(DEMO / "estuary.xlsx", tmp_path / "x.csv", design, design, [])


def test_every_check_that_can_fail_has_moves_or_is_outside_the_tables():
    """A check without moves is named here with the reason, so that none is forgotten."""
    outside = {
        "backup-shared",
        "chain-broken",
        "radio-mast",
        "terrain-heights",
        "terrain-accuracy",
        "radio-pointing",
        "assumption",
        "out-of-range",
        "safety",
        "measured-loss",
    }
    names = set()
    with (Path(__file__).parent / "checks_that_fail.csv").open(encoding="utf-8") as lines:
        names = {row["check"] for row in csv.DictReader(lines)}
    assert names - set(MOVES) <= outside


def test_interface():
    design = backhaul.read_design(DEMO / "reservoir")
    settled = backhaul.settle(design)
    assert settled.before.verdict == settled.after.verdict
    assert not settled.edits


def test_a_second_run_on_the_written_workbook_finds_nothing_to_do(tmp_path):
    source, output = tmp_path / "design.xlsx", tmp_path / "settled.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "segments"
    rows = compact.segments(SMALL["both ends of a pair alike"])
    heads = list(dict.fromkeys(head for row in rows for head in row))
    sheet.append(heads)
    for row in rows:
        sheet.append([row.get(head) for head in heads])
    book.save(source)
    design = read_design(source, CATALOG)
    settled = settle(design, run)
    assert settled.edits
    write_changed(source, output, design, settled.design, settled.edits)
    again = settle(read_design(output, CATALOG), run)
    assert not again.edits
    assert not fails(again.before)
