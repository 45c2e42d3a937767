"""Random chains of random rows: every command answers, or all refuse alike.

`RANDOM_CHAINS=5000` runs so many; the seeds are fixed, so that a failure can be had again.
"""

import json
import os
import random

import openpyxl
import pytest
from random_chains import random_tables, write_csvs

from backhaul.book.book import build_book
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.errors import BackhaulError
from backhaul.evaluation import evaluate
from backhaul.report.geojson import geojson_text
from backhaul.report.order_csv import order_csv
from backhaul.report.record import record
from backhaul.report.terminal import report
from backhaul.spreadsheet.writer import write_book

COUNT = int(os.environ.get("RANDOM_CHAINS", "40"))
#: Of 3,600 chains, those whose workbook failed where the check answered.
ONCE_FAILED = (250, 1448, 3334, 3591)
SEEDS = [*range(COUNT), *(seed for seed in ONCE_FAILED if seed >= COUNT)]
OUTPUTS = {
    "json": lambda evaluation: json.dumps(record(evaluation), allow_nan=False),
    "text": lambda evaluation: list(report(evaluation, width=80, everything=True)),
    "map": geojson_text,
    "order list": order_csv,
    "workbook": lambda evaluation: write_book(build_book(evaluation)),
}


@pytest.fixture(scope="module")
def catalog():
    return load_catalog()


@pytest.mark.parametrize("seed", SEEDS)
def test_all_outputs_answer_where_one_does(seed, catalog, tmp_path):
    tables = random_tables(random.Random(seed), catalog)
    try:
        evaluation = evaluate(read_design(write_csvs(tmp_path / "d", tables), catalog), catalog)
    except BackhaulError as error:
        assert str(error)
        return
    for name, write in OUTPUTS.items():
        assert write(evaluation), name


@pytest.mark.parametrize("seed", SEEDS)
def test_a_design_written_and_read_again_is_the_same(seed, catalog, tmp_path):
    """As CSV, and as sheets of a workbook."""
    tables = random_tables(random.Random(seed), catalog)
    try:
        design = read_design(write_csvs(tmp_path / "d", tables), catalog)
    except BackhaulError:
        return
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        heads = list(dict.fromkeys(head for row in rows for head in row))
        sheet.append(heads)
        for number, row in enumerate(rows, 2):
            for place, head in enumerate(heads, 1):
                value = row.get(head)
                cell = sheet.cell(number, place)
                if value not in (None, ""):
                    cell.value = value
                    if isinstance(value, str):
                        cell.data_type = "s"  # =1+1 is a name here
    book.save(tmp_path / "d.xlsx")
    assert read_design(tmp_path / "d.xlsx", catalog).digest == design.digest
