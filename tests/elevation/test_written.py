"""The design with its profiles: what else stands in it stays, and what was typed is compared."""

import csv
import re
import shutil
import zipfile
from pathlib import Path

import openpyxl
import pytest
from elevation_files import write_hgt, write_hop
from typer.testing import CliRunner

from backhaul.api import evaluate, read_design, write_workbook
from backhaul.cli import app

DEMO = Path(__file__).parents[2] / "demo"
CREST = (51.2131, -20.2984)


def slope(latitude, longitude):
    """Falls by 30 m over the demo's hop, from 214 m at the crest."""
    return 214 - (latitude - CREST[0]) / 0.0108 * 30 + 0 * longitude


@pytest.fixture
def tile(tmp_path):
    return write_hgt(tmp_path, "N51W021", slope)


def terrain(*words):
    done = CliRunner().invoke(app, ["terrain", *map(str, words)])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def cells(sheet):
    return {
        cell.coordinate: (cell.value, cell.number_format, cell.font.b, cell.fill.fgColor.rgb)
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None or cell.has_style
    }


def test_in_a_workbook_all_else_stays(tmp_path, tile):
    source, out, again = tmp_path / "mine.xlsx", tmp_path / "out.xlsx", tmp_path / "again.xlsx"
    book = openpyxl.load_workbook(DEMO / "reservoir.xlsx")
    book["terrain"]["K1"] = "surveyor"
    book["terrain"]["K4"] = "by sounding"
    book["sites"]["A1"].comment = openpyxl.comments.Comment("names as on the drawings", "me")
    own = book.create_sheet("My notes")
    own["A1"], own["A2"], own["B2"] = "costs", 7, "=A2*2"
    own.column_dimensions["A"].width = 33
    book.save(source)
    terrain(source, "-e", tile, "--replace", "-o", out)
    before, after = openpyxl.load_workbook(source), openpyxl.load_workbook(out)
    assert after.sheetnames == before.sheetnames
    for name in before.sheetnames:
        if name != "terrain":
            assert cells(after[name]) == cells(before[name]), name
    assert after["sites"]["A1"].comment.text == "names as on the drawings"
    assert after["My notes"].column_dimensions["A"].width == 33
    assert after["terrain"]["K4"].value == "by sounding"
    design = read_design(out)
    (made,) = design.terrain.values()
    assert made.sources == ("N51W021.hgt, EGM96, as is usual in .hgt, error assumed",)
    assert made.ground_m[0] == pytest.approx(214, abs=0.6)  # whole metres in the tile
    # a profile that came from a file is taken anew, into the same rows
    terrain(out, "-e", tile, "-o", again)
    assert cells(openpyxl.load_workbook(again)["terrain"]) == cells(after["terrain"])


def test_a_sheet_of_terrain_is_made_where_there_is_none(tmp_path, tile):
    source, out = tmp_path / "mine.xlsx", tmp_path / "out.xlsx"
    book = openpyxl.load_workbook(DEMO / "reservoir.xlsx")
    del book["terrain"]
    book.save(source)
    terrain(source, "-e", tile, "-o", out)
    assert len(read_design(out).terrain) == 1
    assert openpyxl.load_workbook(out)["terrain"]["A1"].value == "label"


@pytest.mark.parametrize("separator", [",", ";"])
def test_in_a_folder_other_rows_and_tables_stay(tmp_path, tile, separator):
    source, out = tmp_path / "design", tmp_path / "out"
    shutil.copytree(DEMO / "reservoir", source)
    if separator == ";":
        text = (source / "terrain.csv").read_text().replace(",", ";").replace(".", ",")
        (source / "terrain.csv").write_text(text)
    terrain(source, "-e", tile, "--replace", "-o", out)
    for table in source.iterdir():
        if table.name != "terrain.csv":
            assert (out / table.name).read_bytes() == table.read_bytes()
    (made,) = read_design(out).terrain.values()
    lines = (out / "terrain.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(lines, delimiter=separator))
    assert len(rows) == 1 + len(made.distance_m)
    assert rows[0] == [*"label,distance_m,ground_m,cover_m,surface".split(","), "source", "error_m"]
    assert evaluate(read_design(out)).findings


def test_the_table_alone_and_the_places_that_are_refused(tmp_path, tile):
    source = tmp_path / "design"
    shutil.copytree(DEMO / "reservoir", source)
    terrain(source, "-e", tile, "--replace", "-o", tmp_path / "terrain.csv")
    heads = (tmp_path / "terrain.csv").read_text().splitlines()[0]
    assert heads == "label,distance_m,ground_m,surface,source,error_m"
    for place, said in (
        (source / "terrain.csv", "the design itself"),
        (tmp_path / "x.xlsx", "the name of a folder"),
        (tmp_path, "not empty"),
    ):
        done = CliRunner().invoke(app, ["terrain", str(source), "-e", str(tile), "-o", str(place)])
        assert done.exit_code != 0 and said in str(done.exception)
    done = CliRunner().invoke(
        app,
        ["terrain", str(DEMO / "reservoir.xlsx"), "-e", str(tile), "-o", str(tmp_path / "folder")],
    )
    assert ".xlsx or .csv" in str(done.exception)


def test_typed_rows_stand_and_are_compared(tmp_path, tile):
    """By hand: the tile has 214 m and 184 m, the site 182.1 and 181.9: 1.9 and 2.1 m off."""
    end = (CREST[0] + 0.0108, CREST[1])
    for far_m, is_told in ((182.1, False), (181.9, True)):
        rows = [
            {"path": "P", "step": 1, "distance_m": 0, "ground_m": 213},
            {"path": "P", "step": 1, "distance_m": 600, "ground_m": 150},
            {"path": "P", "step": 1, "distance_m": 1202, "ground_m": 184},
        ]
        folder = write_hop(tmp_path / f"d{far_m}", CREST, end, ground=(213, far_m), terrain=rows)
        done = terrain(folder, "-e", tile)
        assert ("B, the file has 184.0 m" in done.output) is is_told
        assert "A, the file" not in done.output  # 1 m
        # half way down the slope, whole metres in the tile
        (level,) = re.findall(
            r"terrain.csv:3 ground_m: .*600 m: 150 m against (\S+) m", done.output
        )
        assert float(level) == pytest.approx(199, abs=0.6)
        assert "1202 m:" not in done.output and "nothing was written" in done.output
        assert done.exit_code == 0


def test_a_blank_level_of_a_site_is_told(tmp_path, tile):
    folder = write_hop(tmp_path / "d", CREST, (CREST[0] + 0.0108, CREST[1]))
    said = terrain(folder, "-e", tile).output
    assert re.search(r"sites.csv:2 ground_m: blank; the file has 21[34]\.\d m at A", said)


def test_chart_and_card_say_that_the_ground_is_from_a_file(tmp_path, tile):
    out = tmp_path / "out"
    terrain(DEMO / "reservoir", "-e", tile, "--replace", "--error-m", 8, "-o", out)
    said = "N51W021.hgt, EGM96, as is usual in .hgt, error 8 m"
    write_workbook(evaluate(read_design(out)), tmp_path / "book.xlsx")
    with zipfile.ZipFile(tmp_path / "book.xlsx") as package:
        parts = {name: package.read(name).decode() for name in package.namelist()}
    charts = [text for name, text in parts.items() if "charts/chart" in name]
    assert sum(f"ground from {said}" in text for text in charts) == 1
    book = openpyxl.load_workbook(tmp_path / "book.xlsx")
    cards = [c.value for row in book["Site cards"].iter_rows() for c in row if c.value]
    assert sum(f"is from {said}: look along" in str(value) for value in cards) == 2  # at both ends


def test_where_typed_rows_stand_there_is_nothing_to_add(tmp_path, tile):
    done = terrain(DEMO / "reservoir", "-e", tile, "-o", tmp_path / "out")
    assert "not written, nothing to add: every hop has typed rows, which stand" in done.output
    assert "no hop has a profile" not in done.output
    assert not (tmp_path / "out").exists()
    folder = write_hop(tmp_path / "bare", (51.3, -20.5), (None, None))
    done = terrain(folder, "-e", tile, "-o", tmp_path / "out")
    assert done.exit_code == 1 and "not written, no hop has a profile" in done.output
