"""Copper and supply: what is typed into Inputs must give what an evaluation with it gives.

The reference is our own evaluation of the changed design; a second engine does the recalculation.
Designs are invented.
"""

import csv

import book_formulas
import numpy as np
import pytest
import recalculation
from small_designs import SITES, Typed, changed_catalog, evaluated, rows

from backhaul.book.plan import Plan
from backhaul.book.sheets import copper_and_supply
from backhaul.book.sheets.copper_and_supply import fixed_length_formula
from backhaul.book.sheets.wired_plan import line_prefix
from backhaul.figures.power_judgements import POE_POWER, POE_VOLTAGE, poe_source_word
from backhaul.physics import copper
from backhaul.spreadsheet.formula import Cell

SHEETS = ("copper_and_supply", "inputs")
SWITCH = "switch-ind-4-2.5g-poe-bt-boost-180"
TERMS = ("source_v", "loop_ohm", "load_w", "load_v", "current_a", "line_loss_w", "source_w")
FEED_TERMS = ("nominal_v", "nominal_load_v", "drop_percent", "short_circuit_a")


def design(drop_m: str = "40", feed_m: str = "30", mains_m: str = "120", **drop: str):
    """Mains, a supply, a switch, a camera: alternating current, direct current, PoE."""
    told = " ".join(f"{name}={value}" for name, value in drop.items())
    return [
        *rows(
            "p",
            f"device {SWITCH} site=crest label=SW",
            "protector protector-copper-1g-out site=crest",
            f"copper cat6a-s-out site=crest to_site=crest length_m={drop_m} {told}",
            "protector protector-copper-1g-out site=crest",
            "device camera-class4 site=crest label=CAM",
        ),
        *rows(
            "q",
            "device mains-230v site=crest label=MAINS",
            f"feed 2.5mm2-out site=crest to_site=crest length_m={mains_m}",
            "device supply-48v-300w-battery site=crest label=PS",
            f"feed 2.5mm2 site=crest to_site=crest length_m={feed_m}",
            f"device {SWITCH} site=crest label=SW",
        ),
    ]


def shown(value: float) -> object:
    return "none" if np.isnan(value) else pytest.approx(value, rel=1e-9)


def assert_same(found, evaluation) -> None:
    """Every line, every source, every copper drop, every verdict word."""
    for number, line in enumerate(evaluation.power.lines):
        for name in (*TERMS, *(() if line.is_poe else FEED_TERMS)):
            key = f"line.{number}.{name}"
            assert found[key] == shown(float(line.values[name])), key
        assert found[f"line.{number}.carries"] == ("yes" if line.values["solvable"] else "no")
        if not line.is_poe:
            assert found[f"line.{number}.verdict"] == evaluation.link_verdict(line.link)
    for place, source in enumerate(evaluation.context.sources):
        assert found[f"source.{place}.used_w"] == shown(source.used_w)
    budget = evaluation.copper
    for link in budget.links:
        prefix = f"copper.{link.index}"
        for name in ("length_m", "temperature_c", "fixed_length_m", "reach_m", "limit_m"):
            want = float(getattr(budget, name)[link.index])
            assert found[f"{prefix}.{name}"] == pytest.approx(want, rel=1e-9), name
        assert found[f"{prefix}.rate_mbps"] == shown(float(budget.rate_mbps[link.index]))
        assert found[f"{prefix}.verdict"] == evaluation.link_verdict(link)


@pytest.fixture(scope="module")
def book(tmp_path_factory) -> Typed:
    return Typed(evaluated(tmp_path_factory.mktemp("copper") / "design", design()), *SHEETS)


def test_a_second_engine_computes_what_is_stored(book):
    assert not recalculation.compare(book.data)
    assert not book_formulas.empty_references(book.data)
    assert not book_formulas.unsafe_functions(book.data)


@pytest.mark.parametrize(
    ("typed", "changes"),
    [
        ({"given.row.2.length_m": 85.0}, {"drop_m": "85"}),
        ({"given.row.2.length_m": 130.0}, {"drop_m": "130"}),
        ({"given.row.8.length_m": 160.0}, {"feed_m": "160"}),
        ({"given.row.8.length_m": 900.0}, {"feed_m": "900"}),
        ({"given.row.6.length_m": 2000.0}, {"mains_m": "2000"}),
        ({"given.row.6.length_m": 9000.0}, {"mains_m": "9000"}),
        ({"given.project.feed_drop_percent": 0.2}, {"project": {"feed_drop_percent": "0.2"}}),
        ({"given.site.crest.ambient_max_c": 55.0}, {"ambient_max_c": "55"}),
        ({"given.site.crest.ambient_max_c": 72.0}, {"ambient_max_c": "72"}),
        (
            {"given.devices.camera-class4.watts": 24.0},
            {"catalog": ("devices", "camera-class4", {"watts": 24.0})},
        ),
        (
            {f"given.devices.{SWITCH}.watts": 60.0},
            {"catalog": ("devices", SWITCH, {"watts": 60.0})},
        ),
        (
            {f"given.devices.{SWITCH}.efficiency": 0.5},
            {"catalog": ("devices", SWITCH, {"efficiency": 0.5})},
        ),
        (
            {f"given.devices.{SWITCH}.supply_min_volts": 43.2},
            {"catalog": ("devices", SWITCH, {"supply_volts": 48.0, "supply_min_volts": 43.2})},
        ),
        (
            {"given.devices.supply-48v-300w-battery.power_factor": 0.6},
            {"catalog": ("devices", "supply-48v-300w-battery", {"power_factor": 0.6})},
        ),
        (
            {"given.devices.supply-48v-300w-battery.output_w": 20.0},
            {"catalog": ("devices", "supply-48v-300w-battery", {"output_w": 20.0})},
        ),
        (
            {"given.feeds.2.5mm2.ohm_per_km": 19.5},
            {"catalog": ("feeds", "2.5mm2", {"ohm_per_km": 19.5})},
        ),
        (
            {"given.coppers.cat6a-s-out.ohm_per_km": 300.0},
            {"catalog": ("copper", "cat6a-s-out", {"ohm_per_km": 300.0})},
        ),
        (
            {"given.protectors.protector-copper-1g-out.ohm": 9.0},
            {"catalog": ("protectors", "protector-copper-1g-out", {"ohm": 9.0})},
        ),
    ],
    ids=lambda given: str(given)[:60],
)
def test_typing_into_givens_is_evaluating_anew(book, typed, changes, tmp_path):
    changes = dict(changes)
    project, catalog = changes.pop("project", None), changes.pop("catalog", None)
    warm = changes.pop("ambient_max_c", None)
    sites = [site | ({"ambient_max_c": warm} if warm else {}) for site in SITES]
    catalogs = ()
    if catalog:
        file, part, figures = catalog
        catalogs = (changed_catalog(tmp_path / "catalog", file, part, **figures),)
    changed = evaluated(
        tmp_path / "design", design(**changes), sites=sites, project=project, catalogs=catalogs
    )
    assert_same(book.typed(typed), changed)


def test_a_line_without_a_solution_hands_nothing_on(book):
    """Constant power on a line: what it cannot carry is not counted at its source."""
    found = book.typed({"given.row.8.length_m": 3000.0})
    number = next(n for n, line in enumerate(book_lines(book)) if line == "feed dc")
    assert found[f"line.{number}.load_v"] == "none"
    assert found[f"line.{number}.power_verdict"] == "fail"
    mains = next(n for n, line in enumerate(book_lines(book)) if line == "feed ac")
    supply_w = 5.0 + 117.0  # the supply's own need and recharge, catalogs/devices.csv
    assert found[f"line.{mains}.load_w"] == pytest.approx(supply_w)


def book_lines(book) -> list[str]:
    """The lines of `design` in their order."""
    assert {"line.0.limit_w", "line.1.drop_percent", "line.2.drop_percent"} <= set(
        book.layout.spots
    )
    return ["poe", "feed ac", "feed dc"]


@pytest.mark.parametrize("screened", [True, False])
def test_the_live_fixed_length_is_the_table(screened):
    """TIA-568.2-D Annex, as `physics.copper.fixed_length_m` has it, from below 20 to beyond 60."""
    from formualizer import Workbook

    book = Workbook()
    book.add_sheet("S")
    sheet = book.sheet("S")
    temperatures = [-20.0, 20.0, 22.5, 33.0, 40.0, 47.9, 60.0, 71.0]
    for row, warm in enumerate(temperatures, 1):
        sheet.set_value(row, 1, warm)
        sheet.set_formula(row, 2, "=" + fixed_length_formula(Cell(f"A{row}"), screened=screened))
    got = [book.evaluate_cell("S", row, 2) for row in range(1, len(temperatures) + 1)]
    want = copper.fixed_length_m(cable_temperature_c=temperatures, screened=screened)
    assert np.allclose(got, want, rtol=0, atol=1e-9)


def test_verdicts_of_lines():
    known = {"solvable": True, "load_w": 20.0, "source_v": 50.0, "loop_ohm": 1.0, "seen_ohm": 1.0}
    figures = {"source_w": 30.1, "limit_w": 30.0, "load_v": 42.4, "least_v": 42.5}
    assert POE_POWER.word_of(known | figures) == "pass"
    assert POE_POWER.word_of(known | figures | {"source_w": 30.2}) == "fail"
    unsolved = figures | {"source_w": np.nan, "load_v": np.nan}
    assert POE_POWER.word_of(known | unsolved | {"solvable": False}) == "fail"
    assert POE_VOLTAGE.word_of(known | figures) == "fail"
    assert str(poe_source_word(used_w=20.0, class_w=31.0, limit_w=30.0)) == "thin"


def test_a_source_that_passes_on_what_arrives_states_its_voltage(tmp_path):
    """Its voltage follows from what it draws: a formula would go round in a circle."""
    segments = [
        *rows(
            "p",
            "device switch-passive site=crest label=INJ",
            "copper cat6a-s-out site=crest to_site=crest length_m=30",
            "device load-passive site=crest",
        ),
        *rows(
            "q",
            "device supply-48v-300w-battery site=crest label=PS",
            "feed 2.5mm2 site=crest to_site=crest length_m=30",
            "device switch-passive site=crest label=INJ",
        ),
    ]
    catalog = tmp_path / "catalog"
    catalog.mkdir()
    (catalog / "devices.csv").write_text(
        "part,description,supply,supply_volts,watts,output,source,basis\n"
        "switch-passive,passes on,DC,48,4,none,invented,demo\n"
        "load-passive,takes it,PoE,,9,none,invented,demo\n"
    )
    (catalog / "ports.csv").write_text(
        "part,description,port,form,rates_mbps,poe,poe_class,poe_pairs,source,basis\n"
        "switch-passive,out,1,rj45,100,source,passive,2,invented,demo\n"
        "load-passive,in,1,rj45,100,load,passive,2,invented,demo\n"
    )
    evaluation = evaluated(tmp_path / "design", segments, catalogs=(catalog,))
    line = evaluation.power.lines[0]
    assert line.values["passes_on"]
    assert line.values["source_v"] == pytest.approx(evaluation.power.lines[1].values["load_v"])
    book = Typed(evaluation, *SHEETS)
    assert not recalculation.compare(book.data)
    # what goes upward is taken at the voltage that was found, so that no cell hangs on itself
    sheet, address = book.place("line.0.first.source_v")
    assert address not in recalculation.stored_values(book.data)[sheet]


@pytest.mark.parametrize(
    ("name", "figures"),
    [
        ("camera-class4", {"watts": ""}),
        ("supply-48v-300w-battery", {"output_volts": "", "output_min_volts": ""}),
    ],
)
def test_missing_figures_build(name, figures, tmp_path):
    """A figure that a part leaves blank is said to be missing, and the line is thin."""
    folder = changed_catalog(tmp_path / "catalog", "devices", name)
    _blank(folder / "devices.csv", figures)
    evaluation = evaluated(tmp_path / "design", design(), catalogs=(folder,))
    data = Typed(evaluation, *SHEETS).data
    assert not recalculation.compare(data)
    plan = Plan(evaluation)
    copper_and_supply.build(plan)
    for links in (evaluation.network.links["copper"], evaluation.network.links["feed"]):
        for link in links:
            assert plan.link_verdicts[link.key][1] == evaluation.link_verdict(link)


def _blank(file, names: dict[str, str]) -> None:
    with file.open(newline="", encoding="utf-8") as stream:
        table = [row | names for row in csv.DictReader(stream)]
    with file.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(table[0]))
        writer.writeheader()
        writer.writerows(table)


def test_keys_of_lines_by_link(tmp_path):
    evaluation = evaluated(tmp_path / "design", design())
    plan = Plan(evaluation)
    prefixes = [line_prefix(plan, line.link) for line in evaluation.power.lines]
    assert prefixes == [f"line.{n}" for n in range(len(prefixes))]


def test_neither_copper_nor_feed_no_sheet(tmp_path):
    segments = rows(
        "p",
        "device switch-12-sfp site=works",
        "optic 1000base-lx10 site=works",
        "fiber os2-12 site=works to_site=crest length_m=900 strand=1/2",
        "optic 1000base-lx10 site=crest",
        "device switch-12-sfp site=crest",
    )
    assert copper_and_supply.build(Plan(evaluated(tmp_path / "design", segments))) is None
