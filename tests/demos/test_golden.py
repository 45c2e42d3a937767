"""The demos come out as they are told: the reservoir passes with one thin place, the estuary holds
one of each typical fault. Their data is invented; what is tested is that nothing is overlooked."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from backhaul.cli import app

DEMO = Path(__file__).parents[2] / "demo"

#: what stands in the estuary: check, severity, path (two for faults that reach further than a path)
ESTUARY = [
    ("optics-wavelength", "fail", "hide"),  # -u at both ends of a single-strand pair
    ("environment", "thin", "hide"),  # indoor cable outdoors
    ("fiber-joints", "thin", "hide"),
    ("path-rate", "fail", "lookout"),
    ("path-rate", "fail", "hide"),  # 110 Mb/s over a port of 100 Mb/s, dark before it
    ("feed-power", "fail", "power-hide"),  # 48 V over 2 km
    ("feed-power", "fail", "hide"),  # what it feeds is dark too
    ("receiver-overload", "fail", "sluice"),
    ("temperature", "fail", "sluice"),  # commercial optic in a hot cabinet
    ("poe-budget", "fail", "sluice"),
    ("poe-budget", "fail", "sluice-pool"),
    ("optical-margin", "fail", "gauge"),
    ("measured-loss", "thin", "gauge"),  # what a sound cable would not lose: the cause of it
    ("connector-polish", "fail", "gauge"),
    ("strand-label", "fail", "gauge"),
    ("fiber-mode", "fail", "archive"),
    ("radio-clearance", "fail", "lookout"),  # at high water
    ("radio-reflection", "thin", "lookout"),
    ("radio-margin", "thin", "lookout"),
    ("radio-eirp", "fail", "lookout"),
    ("copper-reach", "fail", "lookout"),
    ("copper-rate", "note", "lookout"),  # 1G injector before a 2.5G port
    ("surge", "thin", "lookout"),
    ("assumption", "thin", "sluice"),  # a DC switch without a feed row
    ("corrosion", "thin", "lookout"),
]
CAUTIONS = ("laser", "height", "Mains", "Lightning", "exposure")


def checked(source: Path) -> dict:
    """Exit status and JSON of `check --json`, as a designer gets them."""
    result = CliRunner().invoke(app, ["check", str(source), "--json"])
    assert not result.exception or isinstance(result.exception, SystemExit), result.exception
    return {"exit": result.exit_code, **json.loads(result.stdout)}


@pytest.fixture(scope="module")
def outcome():
    """The outcome of every demo in both forms, each checked once."""
    forms = ("reservoir", "reservoir.xlsx", "estuary", "estuary.xlsx")
    return {form: checked(DEMO / form) for form in forms}


def test_reservoir_passes_with_one_thin_place(outcome):
    found = outcome["reservoir"]
    assert found["exit"] == 0
    to_settle = [
        (f["severity"], f["check"], f["path"], f["step"])
        for f in found["findings"]
        if f["severity"] in ("fail", "thin")
    ]
    assert to_settle == [("thin", "radio-reflection", "tower", 15)]
    assert {p["path"]: p["verdict"] for p in found["paths"]} == {
        "tower": "thin",
        "tower-gauge": "pass",
        "crest": "pass",
        "power-crest": "pass",
        "power-tower": "pass",
        "power-radio": "pass",
    }


def test_reservoir_climate_is_typed_in(outcome):
    assumed = [f["message"] for f in outcome["reservoir"]["findings"] if f["check"] == "assumption"]
    assert not [text for text in assumed if "climate" in text]


def test_strict_does_not_let_a_thin_place_through():
    assert CliRunner().invoke(app, ["check", str(DEMO / "reservoir"), "--strict"]).exit_code == 1


@pytest.mark.parametrize(("check", "severity", "path"), ESTUARY)
def test_estuary_shows_the_fault(outcome, check, severity, path):
    assert outcome["estuary"]["exit"] == 1
    found = [
        f
        for f in outcome["estuary"]["findings"]
        if f["check"] == check and f["severity"] == severity and path in f["paths"]
    ]
    assert found
    assert all(f["remedy"] and f["where"] for f in found)


def test_estuary_has_no_fault_that_it_does_not_tell(outcome):
    """Besides the faults of the notes: what follows from the blocked, mirrored hop."""
    follows = {("radio-availability", "fail"), ("path-availability", "fail")}
    told = {(check, severity) for check, severity, _ in ESTUARY} | follows
    found = {
        (f["check"], f["severity"])
        for f in outcome["estuary"]["findings"]
        if f["severity"] in ("fail", "thin")
    }
    assert found <= told


def test_the_attenuator_settles_the_overload(outcome, tmp_path):
    """The remedy that is offered works: a 10 dB attenuator, and the finding is gone."""
    (sluice,) = [p for p in outcome["estuary"]["paths"] if p["path"] == "sluice"]
    (optical,) = [link for link in sluice["links"] if link["kind"] == "optical"]
    assert {d["attenuator_db"] for d in optical["directions"]} == {10}
    mended = tmp_path / "estuary"
    mended.mkdir()
    for file in (DEMO / "estuary").glob("*.csv"):
        text = file.read_text(encoding="utf-8")
        if file.stem == "segments":
            head, *lines = text.splitlines()
            row = dict.fromkeys(head.split(","), "")
            row |= {
                "path": "sluice",
                "step": "9.5",
                "kind": "attenuator",
                "count": "1",
                "part": "attenuator-lc-upc-10",
                "site": "Sluice cabinet",
            }
            text = "\n".join([head, *lines, ",".join(row.values())]) + "\n"
        (mended / file.name).write_text(text, encoding="utf-8")
    checks = {(f["check"], f["path"]) for f in checked(mended)["findings"]}
    assert ("receiver-overload", "sluice") not in checks
    assert ("optical-margin", "sluice") not in checks


def without_cells(finding: dict) -> dict:
    """A finding without the cells that it names: they differ from form to form."""
    edits = [edit | {"where": None} for edit in finding["edits"]]
    return finding | {"where": None, "edits": edits}


@pytest.mark.parametrize("name", ["reservoir", "estuary"])
def test_both_forms_say_the_same(outcome, name):
    folder, book = (
        {**found, "findings": [without_cells(f) for f in found["findings"]]}
        for found in (outcome[name], outcome[f"{name}.xlsx"])
    )
    assert folder["digest"] == book["digest"]
    assert folder == book


@pytest.mark.parametrize("name", ["reservoir", "estuary"])
def test_cautions_are_stated(outcome, name):
    cautions = [f for f in outcome[name]["findings"] if f["severity"] == "caution"]
    for word in CAUTIONS:
        assert [f for f in cautions if word in f["message"]], word
    for finding in cautions:
        assert "local codes" in finding["remedy"]
        assert re.search("licensed|engineer", finding["remedy"])
