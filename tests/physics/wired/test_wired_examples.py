"""Published worked examples against the formulas; each row of the tables names its source."""

import csv
from importlib import import_module
from pathlib import Path

import pytest
from power_line import ac_line

from backhaul.physics import optics

REFERENCE = Path(__file__).parents[2] / "reference" / "wired"


def rows(name):
    with open(REFERENCE / name, encoding="utf-8") as file:
        return [pytest.param(row, id=next(iter(row.values()))) for row in csv.DictReader(file)]


def judge(row, computed, published, tolerance):
    """A figure that is listed as not holding must go on not holding."""
    holds = abs(computed - float(published)) <= float(tolerance) + 1e-9
    assert holds == (row["holds"] == "yes"), f"{computed} against {published}: {row['source']}"
    assert holds or row["why"]


@pytest.mark.parametrize("row", rows("budget_figures.csv"))
def test_published_budget(row):
    figure = {key: float(value) for key, value in row.items() if key[-3:] in ("_db", "dbm", "_km")}
    loss_db = (
        optics.run_loss_db(length_km=figure["length_km"], attenuation_db_per_km=figure["db_per_km"])
        + optics.joints_loss_db(count=float(row["pairs"]), each_db=figure["pair_db"])
        + optics.joints_loss_db(count=float(row["splices"]), each_db=figure["splice_db"])
        + figure["other_db"]
    )
    margin_db = optics.power_margin_db(
        launch_min_dbm=figure["launch_dbm"],
        sensitivity_dbm=figure["sensitivity_dbm"],
        penalty_db=figure["penalty_db"],
        loss_max_db=loss_db,
        repair_allowance_db=figure["allowance_db"],
    )
    judge(row, margin_db, row["published_margin_db"], row["tolerance_db"])


@pytest.mark.parametrize("row", rows("figures.csv"))
def test_published_figure(row):
    module, name = row["formula"].split(".")
    formula = getattr(import_module(f"backhaul.physics.{module}"), name)
    inputs = {key: float(value) for key, value in (p.split("=") for p in row["inputs"].split(";"))}
    judge(row, float(formula(**inputs)), row["published"], row["tolerance"])


@pytest.mark.parametrize("row", rows("feed_drops.csv"))
def test_published_voltage_drop(row):
    """The examples give a current; the load that draws it at that drop must draw it again."""
    source_v, loop_ohm = float(row["source_v"]), float(row["loop_ohm"])
    current_a = float(row["current_a"])
    load_w = current_a * (source_v - current_a * loop_ohm)
    line = ac_line(
        source_v=source_v, loop_ohm=loop_ohm, loop_reactance_ohm=0, load_w=load_w, power_factor=1
    )
    assert line.current_a == pytest.approx(current_a, rel=1e-9)
    judge(row, source_v - float(line.load_v), row["published_v"], row["tolerance_v"])


def test_every_published_example_is_accounted_for():
    """W10 is a rule of thumb without powers, W14 is printed with its inputs cut short, and of the
    bandwidth of multimode fiber (W11: the reach of a class holds it), of frames (W17) and of disks
    (W18) nothing is computed."""
    used = {
        row.values[0][column].split()[0]
        for name, column in [
            ("budget_figures.csv", "example_id"),
            ("figures.csv", "case"),
            ("feed_drops.csv", "case"),
        ]
        for row in rows(name)
    }
    published = {row.values[0]["example_id"] for row in rows("worked_examples.csv")}
    assert published - used == {"W10", "W11", "W14", "W17", "W18"}
