"""compare, readings and check --accept-rows on the command line."""

import csv
import io
import json
import shutil
from pathlib import Path

import pytest
from filled_cards import expected, write_cards

import backhaul.api

DEMO = Path(__file__).parents[2] / "demo"
OLD, NEW = DEMO / "reservoir", DEMO / "reservoir-c"


@pytest.fixture
def missing_part(tmp_path):
    """A design that cannot be read."""
    folder = tmp_path / "broken"
    shutil.copytree(OLD, folder)
    table = folder / "segments.csv"
    table.write_text(table.read_text().replace("1000base-lx10,", "1000base-lx11,"))
    return folder


def test_exit_status_of_compare(run, missing_part):
    assert run("compare", OLD, DEMO / "reservoir.xlsx").returncode == 0
    assert run("compare", OLD, NEW).returncode == 1
    done = run("compare", OLD, missing_part)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "broken" in done.stderr
    assert "1000base-lx10" in done.stderr  # the nearest name


def test_forms_of_a_design_differ_in_nothing(run):
    done = run("compare", OLD, DEMO / "reservoir.xlsx")
    assert "nothing differs" in done.stdout


def test_json_of_compare(run):
    done = run("compare", OLD, NEW, "--json")
    assert done.stdout.isascii()
    data = json.loads(done.stdout)
    assert data["worse"] is True
    assert data["old"]["revision"] == "B"
    assert {change["table"] for change in data["changes"]} >= {"project", "sites", "segments"}
    moved = next(change for change in data["changes"] if change["what"] == "moved")
    assert (moved["table"], moved["name"], moved["cell_to"]) == (
        "sites",
        "Crest mast",
        "sites.csv:5 latitude",
    )
    assert {card["site"] for card in data["cards"]} >= {"Crest mast", "Valve tower"}
    for key in ("verdicts", "findings", "figures", "order"):
        assert key in data


def test_the_change_notice_is_written_whole_and_replaces_no_design(run, tmp_path):
    import openpyxl

    notice = tmp_path / "notice.xlsx"
    assert run("compare", OLD, NEW, "-o", notice).returncode == 1
    book = openpyxl.load_workbook(notice)
    assert book.sheetnames[0] == "Change notice"
    assert book["Change notice"].page_setup.fitToHeight == 1  # one page
    assert {"Rows", "Findings", "Figures", "Site cards"} <= set(book.sheetnames)
    design = tmp_path / "design.xlsx"
    shutil.copy(DEMO / "reservoir.xlsx", design)
    for target in (design, tmp_path / "none" / "notice.xlsx"):
        done = run("compare", OLD, design, "-o", target)
        assert done.returncode == 2
        assert done.stdout == ""
    assert design.read_bytes() == (DEMO / "reservoir.xlsx").read_bytes()


def test_readings_from_a_book_to_the_table_and_the_record(run, tmp_path):
    import openpyxl

    results = backhaul.api.evaluate(backhaul.api.read_design(OLD))
    book = write_cards(tmp_path / "crew.xlsx", results, expected(results))
    record, table = tmp_path / "record.xlsx", tmp_path / "readings.csv"
    done = run("readings", OLD, book, "-o", record, "--table", table)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 off" not in done.stdout
    sheets = openpyxl.load_workbook(record).sheetnames
    assert sheets[0] == "Acceptance"
    assert "As built" in sheets
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig"))))
    assert {row["reading"] for row in rows} >= {"crest-hop.level.near", "works-switch.sfp1.loss"}
    copy = tmp_path / "as-built"
    shutil.copytree(OLD, copy)
    shutil.copy(table, copy / "readings.csv")
    assert run("check", copy).returncode == 0  # the table is one that a design takes
    again = run("readings", OLD, record)  # and so is the sheet of the record
    assert again.returncode == 0
    words = ("readings", OLD, book, "-o", record, "--table", table)
    assert run(*words).returncode == 0  # both are our own: they are replaced


def test_exit_status_of_readings(run, tmp_path):
    assert run("readings", OLD).returncode == 0
    assert run("readings", OLD, "--strict").returncode == 1
    assert run("readings", NEW).returncode == 1  # one of its own is off
    assert run("readings", OLD, tmp_path / "none.xlsx").returncode == 2
    assert run("readings", OLD, DEMO / "estuary.xlsx").returncode == 2


def test_readings_replace_no_book(run, tmp_path):
    results = backhaul.api.evaluate(backhaul.api.read_design(OLD))
    book = write_cards(tmp_path / "crew.xlsx", results, {})
    before = book.read_bytes()
    done = run("readings", OLD, book, "-o", book)
    assert done.returncode == 2
    assert book.read_bytes() == before


def test_json_of_readings(run):
    data = json.loads(run("readings", NEW, "--json").stdout)
    assert data["counts"]["off"] == 1
    off = next(each for each in data["readings"] if each["status"] == "off")
    assert off["reading"] == "crest-hop.level.far"
    assert "side lobe" in off["hint"]


def test_rows_to_paste(run):
    rows = list(csv.DictReader(io.StringIO(run("check", OLD, "--accept-rows").stdout)))
    assert [(row["check"], row["path"], row["step"]) for row in rows] == [
        ("radio-reflection", "tower", "15")
    ]
    assert rows[0]["by"] == rows[0]["reason"] == ""
