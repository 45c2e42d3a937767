"""Cables and strands: every run and strand once, lengths by hand, live, user text as text.

The designs are invented; counts and lengths beside them are made by hand from the project's rules
(slack, loops, order lengths). Colours are those of TIA-598, from memory.
"""

import csv
from io import BytesIO
from pathlib import Path

import book_formulas
import openpyxl
import pytest
import recalculation
from small_designs import Typed, evaluated, rows

import backhaul.api
from backhaul.book.inputs import row_key
from backhaul.book.plan import Plan
from backhaul.book.sheets import cables_and_strands
from backhaul.book.sheets.cable_strands import (
    FREE,
    PAIR_RULE,
    colour,
    has_schedule,
    strands_of,
)
from backhaul.budgets.cable_runs import cable_runs, run_ends
from backhaul.budgets.order_list import order_list
from backhaul.budgets.terminations import strands_needed
from backhaul.spreadsheet.cells import Calc, Text

DEMO = Path(__file__).parents[2] / "demo"
DEMOS = ("reservoir", "estuary")
SHEETS = ("optical_links", "radio_hops", "copper_and_supply", "cables_and_strands", "inputs")
LIGHT = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber cord-os2-lcupc-scapc site=works length_m=5",
    "connector sc-apc",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
    "splice fusion-splice count=3",
    "connector sc-apc",
    "fiber cord-os2-lcupc-scapc site=crest length_m=5",
    "optic 1000base-lx10-i site=crest",
    "device switch-ind-6-sfp-2-sfp+ site=crest label=SW2",
)


def demo(name: str):
    return backhaul.api.evaluate(backhaul.api.read_design(DEMO / name))


def changed(lines: tuple[str, ...], old: str, new: str) -> list[str]:
    assert any(old in line for line in lines)
    return [line.replace(old, new) for line in lines]


def words(sheet) -> list[list[str]]:
    """The texts of every row."""
    return [
        [
            cell if isinstance(cell, str) else getattr(cell, "text", getattr(cell, "value", ""))
            for cell in row.cells
        ]
        for row in sheet.rows
    ]


@pytest.mark.parametrize("name", DEMOS)
def test_agrees_with_a_second_engine(name):
    data = Typed(demo(name), *SHEETS).data
    assert recalculation.compare(data) == []
    assert book_formulas.unsafe_functions(data) == []


@pytest.mark.parametrize("name", DEMOS)
def test_every_run_stands_once(name):
    with (DEMO / name / "segments.csv").open(encoding="utf-8") as stream:
        runs = [row for row in csv.DictReader(stream) if row["kind"] in ("fiber", "copper", "feed")]
    wanted = {row["label"] or f"{row['path'].split(';')[0]} {row['step']}" for row in runs}
    sheet = Typed(demo(name), *SHEETS).book.sheets
    cables = next(each for each in sheet if each.name == "Cables and strands")
    keys = [
        row.cells[0]
        for row in cables.rows
        if row.cells and isinstance(row.cells[0], Text) and row.cells[0].key.endswith(".anchor")
    ]
    assert sorted(cell.text for cell in keys) == sorted(wanted)


@pytest.mark.parametrize("name", DEMOS)
def test_every_strand_stands_once(name):
    evaluation = demo(name)
    for run in cable_runs(evaluation):
        if has_schedule(run):
            names = [strand.name for strand in strands_of(evaluation, run)]
            assert len(set(names)) == len(names)
            inside = [strand for strand in strands_of(evaluation, run) if strand.in_cable]
            assert len(inside) == run.record.strands


def strands(evaluation, label: str):
    run = next(run for run in cable_runs(evaluation) if run.row.label == label)
    return strands_of(evaluation, run)


def test_used_and_free_strands(tmp_path):
    found = strands(evaluated(tmp_path / "d", rows("p", *LIGHT)), "C1")
    assert [strand.name for strand in found] == [str(n) for n in range(1, 13)]
    assert [bool(strand.uses) for strand in found] == [True] * 2 + [False] * 10


def test_labels_with_letters_stay_as_they_are(tmp_path):
    lines = changed(LIGHT, "strand=1/2", "strand=A7/B7")
    found = strands(evaluated(tmp_path / "d", rows("p", *lines)), "C1")
    assert [(s.name, bool(s.uses)) for s in found] == [
        ("A7", True),
        ("B7", True),
        ("10 more", False),
    ]


def test_strands_that_are_not_named(tmp_path):
    lines = changed(LIGHT, "strand=1/2 ", "")
    found = strands(evaluated(tmp_path / "d", rows("p", *lines)), "C1")
    assert [s.name for s in found] == ["not named", "not named", "10 more"]


def test_a_strand_that_the_cable_does_not_have(tmp_path):
    lines = changed(LIGHT, "strand=1/2", "strand=12/13")
    found = strands(evaluated(tmp_path / "d", rows("p", *lines)), "C1")
    assert [(s.name, s.in_cable) for s in found if s.uses] == [("12", True), ("13", False)]


def test_two_links_of_one_cable(tmp_path):
    second = [
        line.replace("strand=1/2", "strand=2/5")
        .replace("label=SW1", "label=SW3")
        .replace("label=SW2", "label=SW4")
        for line in LIGHT
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT) + rows("q", *second))
    found = {s.name: [use.link.paths[0] for use in s.uses] for s in strands(evaluation, "C1")}
    assert (found["1"], found["2"], found["5"]) == (["p"], ["p", "q"], ["q"])
    assert sum(bool(uses) for uses in found.values()) == 3
    assert len([run for run in cable_runs(evaluation) if run.row.label == "C1"]) == 1


@pytest.mark.parametrize(
    ("strand", "name"),
    [
        ("1", "blue"),
        ("2", "orange"),
        ("3", "green"),
        ("4", "brown"),
        ("5", "slate"),
        ("6", "white"),
        ("7", "red"),
        ("8", "black"),
        ("9", "yellow"),
        ("10", "violet"),
        ("11", "rose"),
        ("12", "aqua"),
        ("13", "blue, tube 2 orange"),
        ("144", "aqua, tube 12 aqua"),
        ("A7", ""),
        ("0", ""),
    ],
)
def test_colours_of_tia_598(strand, name):
    assert colour(strand) == name


def test_ports_and_joints_of_a_strand(tmp_path):
    book = Typed(evaluated(tmp_path / "d", rows("p", *LIGHT)), *SHEETS).book
    sheet = next(each for each in book.sheets if each.name == "Cables and strands")
    row = next(row for row in words(sheet) if row and row[0] == "1")
    assert row[1:4] == ["blue", "works: SW1 port sfp1", "crest: SW2 port sfp1"]
    assert row[5] == ("1 × sc-apc (works) — cable — 3 × fusion-splice (crest), 1 × sc-apc (crest)")
    free = [row for row in words(sheet) if FREE in row]
    assert [row[:2] for row in free] == [["3 to 12", "green to aqua"]]


def test_ends_of_runs(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    cord, cable, far_cord = cable_runs(evaluation)
    assert [end.text for end in cord.ends] == [
        "works: SW1 port sfp1 (1000base-lx10)",
        "works: 1 × sc-apc",
    ]
    assert [end.face for end in cord.ends] == ["LC/UPC", "SC/APC"]
    # the same cord the other way round: it lies the way that fits
    assert [end.face for end in far_cord.ends] == ["SC/APC", "LC/UPC"]
    assert [end.face for end in cable.ends] == [
        "plug fitted on site (SC/APC)",
        "pigtail spliced on (SC/APC)",
    ]


def test_a_cable_that_exists_keeps_its_ends(tmp_path):
    lines = changed(LIGHT, "label=C1", "label=C1 by=existing")
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    cable = next(run for run in cable_runs(evaluation) if run.row.label)
    assert [end.face for end in cable.ends] == ["as it lies"] * 2
    book = Typed(evaluation, *SHEETS).book
    sheet = next(each for each in book.sheets if each.name == "Cables and strands")
    assert not any(
        isinstance(cell, Calc) and cell.key == f"{cable.key}.needed_m"
        for row in sheet.rows
        for cell in row.cells
    )


def test_lengths_to_order_follow_the_givens(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(evaluation, *SHEETS)
    run = next(run for run in cable_runs(evaluation) if run.row.label)
    needed, cut = f"{run.key}.needed_m", f"{run.key}.cut_from"
    now = book.typed({})
    # 5 % of slack and a loop of 10 m at each end; reels of 250 to 6000 m
    assert (now[needed], now[cut]) == (pytest.approx(1700 * 1.05 + 20), "2000")
    longer = book.typed({row_key(run.row, "length_m"): 9000, "given.project.loop_m": 15})
    assert (longer[needed], longer[cut]) == (pytest.approx(9480), "1 × 6000 + 4000")
    exact = book.typed(
        {
            row_key(run.row, "length_m"): 6000,
            "given.project.loop_m": 0,
            "given.project.cable_slack_percent": 0,
        }
    )
    assert exact[cut] == "6000"


def test_user_text_is_never_a_formula(tmp_path):
    lines = changed(changed(LIGHT, "label=C1", "label==1+1"), "label=SW1", "label=@SUM(A1)")
    data = Typed(evaluated(tmp_path / "d", rows("p", *lines)), *SHEETS).data
    sheet = openpyxl.load_workbook(BytesIO(data))["Cables and strands"]
    risky = [cell for row in sheet.iter_rows() for cell in row if cell.value == "=1+1"]
    assert len(risky) == 1
    for row in sheet.iter_rows():
        for cell in row:
            if cell.data_type == "f":
                assert "1+1" not in cell.value and "SUM(A1)" not in cell.value
    assert risky[0].data_type == "s" and risky[0].quotePrefix


def test_a_design_without_runs_has_no_sheet(tmp_path):
    lines = ("device switch-8-1g site=works label=SW1",)
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    assert cables_and_strands.build(Plan(evaluation)) is None


@pytest.mark.parametrize(
    "optics, strand, is_told",
    [
        ("1000base-lx10", "1/2", True),
        ("1000base-bx10", "1", False),
    ],
)
def test_which_strand_of_a_pair_carries_which_way(tmp_path, optics, strand, is_told):
    ends = ("", "") if is_told else ("-d", "-u")
    lines = (
        "device switch-12-sfp site=works label=SW1",
        f"optic {optics}{ends[0]} site=works",
        f"fiber os2-12 site=works to_site=crest length_m=1700 strand={strand} label=C1",
        f"optic {optics}{ends[1]} site=crest",
        "device switch-12-sfp site=crest label=SW2",
    )
    plan = Plan(evaluated(tmp_path / "d", rows("p", *lines)))
    sheet = cables_and_strands.build(plan)
    told = [text for row in words(sheet) for text in row if PAIR_RULE in str(text)]
    assert bool(told) is is_told


@pytest.mark.parametrize("name", DEMOS)
def test_plugs_of_the_order_list_are_those_of_the_ends_of_the_runs(name):
    evaluation = demo(name)
    ordered = {
        line.part: line.needed
        for line in order_list(evaluation).lines
        if line.part.startswith("plug ") and not line.by
    }
    at_ends: dict[str, int] = {}
    for run in cable_runs(evaluation):
        for use in run.uses if run.is_fiber and not run.row.by else ():
            for end in run_ends(evaluation, use, evaluation.network.places[use.row.id]):
                if end.termination:
                    part = f"plug {end.termination}"
                    at_ends[part] = at_ends.get(part, 0) + strands_needed(
                        use.link, evaluation.catalog
                    )
    assert ordered == at_ends
