"""The demo workbooks are made of the CSVs beside them, and look like a design that is kept."""

import csv
import importlib.util
import re
import shutil
from pathlib import Path

import openpyxl
import pytest

DEMO = Path(__file__).parents[2] / "demo"
NAMES = ["reservoir", "estuary"]


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("demo_make", DEMO / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def cells(path: Path) -> dict[str, list[tuple]]:
    book = openpyxl.load_workbook(path)
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book}


@pytest.mark.parametrize("name", NAMES)
def test_the_workbook_is_up_to_date(maker, name, tmp_path):
    shutil.copytree(DEMO / name, tmp_path / name)
    assert cells(maker.make(tmp_path / name)) == cells(DEMO / f"{name}.xlsx")


@pytest.mark.parametrize("name", NAMES)
def test_strands_stay_text(name):
    """A spreadsheet takes 1/2 for the first of February."""
    sheet = openpyxl.load_workbook(DEMO / f"{name}.xlsx")["segments"]
    strand = next(cell.column for cell in sheet[1] if cell.value == "strand")
    column = [row[strand - 1] for row in sheet.iter_rows(min_row=2)]
    assert any(cell.value == "1/2" for cell in column)
    assert {cell.number_format for cell in column} == {"@"}


@pytest.mark.parametrize("name", NAMES)
def test_the_data_is_marked_as_invented(name):
    with (DEMO / name / "project.csv").open(newline="", encoding="utf-8") as file:
        project = {row["setting"]: row["value"] for row in csv.DictReader(file)}
    assert "invented" in project["status"]
    for setting in ("client", "document", "prepared_by"):
        assert re.search("demo", project[setting], re.IGNORECASE)


def test_every_fault_of_the_estuary_is_told_in_a_note():
    text = "".join(path.read_text(encoding="utf-8") for path in (DEMO / "estuary").glob("*.csv"))
    assert text.count("FAULT:") >= 18
