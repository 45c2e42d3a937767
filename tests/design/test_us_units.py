"""Feet beside metres: read into SI, compared, written back as they came.

The foot is 0.3048 m exactly (NIST SP 811, appendix B.8). No figure here is from this program.
"""

import shutil
from pathlib import Path

import openpyxl
import pytest
from feet_designs import METRE, in_feet, table, write

from backhaul.api import evaluate, read_design
from backhaul.catalog import load_catalog
from backhaul.design.columns import TABLES
from backhaul.design.edits import set_cell
from backhaul.design.settings import SETTINGS
from backhaul.errors import InputError
from backhaul.report.changed_design import write_changed
from backhaul.report.record import record
from backhaul.tables.twins import feet, metres, twin_of

ROOT = Path(__file__).parents[2]
DESIGNS = [ROOT / "demo" / "estuary", ROOT / "demo" / "reservoir", ROOT / "tests/designs/ski-lift"]


def check(source: Path):
    return evaluate(read_design(source))


def alike(one, two, at=""):
    """Two records figure by figure; cells and messages may name other columns."""
    if isinstance(one, dict):
        assert one.keys() == two.keys(), at
        for key in one.keys() - {"digest", "where", "message", "remedy", "edits"}:
            alike(one[key], two[key], f"{at}.{key}")
    elif isinstance(one, list):
        assert len(one) == len(two), at
        for number, (left, right) in enumerate(zip(one, two, strict=True)):
            alike(left, right, f"{at}[{number}]")
    elif isinstance(one, float) and isinstance(two, float):
        assert one == pytest.approx(two, rel=1e-6, abs=1e-6), at
    else:
        assert one == two, at


@pytest.mark.parametrize("source", DESIGNS, ids=lambda path: path.name)
def test_a_design_in_feet_is_the_design_in_metres(source, tmp_path):
    turned = in_feet(source, tmp_path / "feet")
    heads = [head for file in turned.glob("*.csv") for head in table(file)[0]]
    assert [head for head in heads if head.endswith("_ft")]
    assert not [head for head in heads if head.endswith("_m")]
    alike(record(check(source)), record(check(turned)))


def test_every_metre_column_has_its_twin():
    declared = [c for columns in (SETTINGS, *TABLES.values()) for c in columns if c.unit == "m"]
    assert len(declared) > 15
    for column in declared:
        twin = twin_of(column).column
        assert twin.name == column.name[:-2] + "_ft"
        for limit, own in ((twin.low, column.low), (twin.high, column.high)):
            assert limit is None or abs(limit * METRE - own) < 0.01
        assert twin.low is None or twin.low * METRE >= column.low - 1e-9
        assert twin.high is None or twin.high * METRE <= column.high + 1e-9


@pytest.mark.parametrize("length_ft", [1, 100, 328, 1000, 5280, 0.5])
def test_a_typed_foot_comes_back(length_ft):
    assert metres(length_ft) == pytest.approx(length_ft * METRE, rel=1e-12)
    assert feet(metres(length_ft)) == length_ft


RUN = ["path", "step", "kind", "part"]


def refused(folder: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_design(folder)
    return str(caught.value)


@pytest.mark.parametrize(
    ("length_m", "length_ft", "is_one"),
    [
        ("100", "328", True),  # 99.97 m: each is rounded to its own last digit
        ("100", "328.084", True),
        ("100.0", "328", True),
        ("99.97", "328", True),
        ("121.92", "400", True),
        ("100.5", "329", False),  # 100.28 m
        ("100", "330", False),  # 100.58 m
        ("100", "400", False),
        ("328", "328", False),  # metres copied over
    ],
)
def test_both_filled_must_be_one_figure(length_m, length_ft, is_one, tmp_path):
    line = ["a", 1, "fiber", "os2-12", length_m, length_ft]
    file = write(tmp_path / "segments.csv", [*RUN, "length_m", "length_ft"], [line])
    if is_one:
        assert read_design(file).segments[0].length_m == float(length_m)
    else:
        told = refused(file)
        assert "segments.csv:2 length_ft" in told
        assert "leave one of the two blank" in told


def test_a_cell_that_cannot_be_used_is_named_by_its_own_head(tmp_path):
    heads = [*RUN, "length_m", "length_ft"]
    lines = [["a", 1, "fiber", "os2-12", "", "abc"], ["a", 2, "fiber", "os2-12", "", "-3"]]
    told = refused(write(tmp_path / "segments.csv", heads, lines))
    assert "segments.csv:2 length_ft: found 'abc'; needed a number in ft" in told
    assert "segments.csv:3 length_ft: found '-3'; needed a number in ft from 0" in told


@pytest.mark.parametrize(
    ("head", "cell", "told"),
    [
        ("length_m", "100 ft", "write 30.48, or 100 in a column length_ft"),
        ("length_m", "100'", "write 30.48, or 100 in a column length_ft"),
        ("length_ft", "30.48 m", "write 100, or 30.48 in a column length_m"),
        ("length_ft", "100 ft", "write 100"),
        ("length feet", "100", "needed the head 'length_ft'"),
        ("length km", "100", "needed the head 'length_m'"),
    ],
)
def test_a_unit_beside_the_figure_or_in_the_head(head, cell, told, tmp_path):
    line = ["a", 1, "fiber", "os2-12", cell]
    assert told in refused(write(tmp_path / "segments.csv", [*RUN, head], [line]))


def test_a_finding_names_the_cell_in_feet(tmp_path):
    heads = ["path", "step", "kind", "part", "site", "to_site", "length_ft"]
    lines = [
        ["a", 1, "device", "switch-12-sfp", "A", "", ""],
        ["a", 2, "copper", "cat6a-out", "A", "B", 500],
        ["a", 3, "device", "switch-12-sfp", "B", "", ""],
    ]
    found = check(write(tmp_path / "segments.csv", heads, lines)).findings
    assert "segments.csv:3 length_ft" in [finding.where for finding in found]


def test_settings_in_feet(tmp_path):
    write(tmp_path / "segments.csv", RUN, [["a", 1, "fiber", "os2-12"]])
    lines = [["Loop ft", 33], ["water_low_ft", 10], ["water_low_m", 3.05], ["units", "us"]]
    write(tmp_path / "project.csv", ["setting", "value"], lines)
    project = read_design(tmp_path).project
    assert project.loop_m == pytest.approx(33 * METRE)
    assert project.water_low_m == 3.05
    assert project.units == "US"
    write(tmp_path / "project.csv", ["setting", "value"], [*lines[:2], ["water_low_m", 4]])
    assert "project.csv:3 value: found '10', which is 3.048 m" in refused(tmp_path)


def design_with(folder: Path, columns: dict[str, object], units: str) -> Path:
    folder.mkdir()
    heads = ["path", "step", "kind", "part", "site", "to_site", *columns]
    lines = [
        ["a", 1, "device", "switch-12-sfp", "A", "", *[""] * len(columns)],
        ["a", 2, "radio", "radio-60ghz-sc-int", "A", "B", *columns.values()],
        ["a", 3, "device", "switch-12-sfp", "B", "", *[""] * len(columns)],
    ]
    write(folder / "segments.csv", heads, lines)
    write(folder / "project.csv", ["setting", "value"], [["units", units]])
    return folder


def as_workbook(folder: Path) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for file in sorted(folder.glob("*.csv")):
        sheet = book.create_sheet(file.stem)
        given = table(file)
        sheet.append(list(given[0]))
        for row in given:
            sheet.append([_typed(cell) for cell in row.values()])
    book.save(folder / "design.xlsx")
    return folder / "design.xlsx"


def _typed(cell: str) -> object:
    try:
        return float(cell)
    except ValueError:
        return cell or None


WRITTEN = [
    ({"height_ft": 20}, "metric", {"height_ft": 100}),
    ({"height_m": 6}, "US", {"height_m": 30.48}),
    ({"height_m": 6.096, "height_ft": 20}, "US", {"height_m": 30.48, "height_ft": 100}),
    ({"height_m": "", "height_ft": 20}, "metric", {"height_ft": 100}),
    ({"height_m": 6, "height_ft": ""}, "US", {"height_m": 30.48}),
    ({"height_m": "", "height_ft": ""}, "US", {"height_ft": 100}),
    ({}, "US", {"height_ft": 100}),
    ({}, "metric", {"height_m": 30.48}),
]


@pytest.mark.parametrize("form", ["folder", "workbook"])
@pytest.mark.parametrize(("given", "units", "wanted"), WRITTEN)
def test_a_change_is_written_in_the_units_of_the_row(given, units, wanted, form, tmp_path):
    source = design_with(tmp_path / "in", given, units)
    if form == "workbook":
        source = as_workbook(source)
    design = read_design(source)
    changed = design.changed("a", 2, load_catalog(), height_m=30.48)
    edits = [set_cell(design.segments[1], "a", "height_m", 30.48)]
    output = tmp_path / ("out.xlsx" if form == "workbook" else "out")
    write_changed(source, output, design, changed, edits)
    if form == "workbook":
        heads, _, row = list(openpyxl.load_workbook(output)["segments"].values)[:3]
        cells = dict(zip(heads, row, strict=True))
    else:
        cells = table(output / "segments.csv")[1]
    if form == "folder":
        told = (output / "changes.txt").read_text(encoding="utf-8").splitlines()[1].split("\t")
        assert float(told[6]) == {"height_m": 30.48, **wanted}[told[4]]
    left = {name: cells.get(name) for name in ("height_m", "height_ft") if cells.get(name)}
    assert {name: float(value) for name, value in left.items()} == wanted
    assert read_design(output).segments[1].height_m == pytest.approx(30.48)


@pytest.mark.parametrize("form", ["folder", "workbook"])
def test_rows_can_be_told_apart_in_sets(form, tmp_path):
    source = design_with(tmp_path / "in", {"length_ft": 1000}, "US")
    rows = read_design(as_workbook(source) if form == "workbook" else source).segments
    assert len(set(rows)) == len(rows) == 3


def test_a_row_put_in_is_in_the_units_of_the_table(tmp_path):
    source = design_with(tmp_path / "in", {"length_ft": 1000}, "metric")
    design = read_design(source)
    new = design.segments[1]._replace(step=2.5, kind="fiber", part="os2-12", length_m=30.48)
    changed = design._replace(segments=(*design.segments, new))
    write_changed(source, tmp_path / "out", design, changed, [])
    assert table(tmp_path / "out" / "segments.csv")[2]["length_ft"] == "100"


@pytest.mark.parametrize("example", [False, True])
def test_a_blank_design_in_feet(example, tmp_path):
    from backhaul.design.blank import write_blank

    for units in ("metric", "US"):
        write_blank(tmp_path / f"{units}.xlsx", load_catalog(), example=example, units=units)
    book = openpyxl.load_workbook(tmp_path / "US.xlsx")
    heads = [cell.value for s in book if s.title != "lists" for cell in s[1] if cell.value]
    settings = {row[0]: row for row in book["project"].values}
    assert not [head for head in [*heads, *settings] if head.endswith("_m")]
    assert {"length_ft", "ground_ft", "cover_ft", "low_ft"} <= {*heads}
    assert settings["units"][1] == "US"
    assert settings["loop_ft"][2] == "ft"
    assert settings["loop_ft"][3].endswith("blank = 32.808")
    if example:
        metric, us = (check(tmp_path / f"{units}.xlsx") for units in ("metric", "US"))
        assert metric.verdict == us.verdict
        # the example is invented, and in whole feet
        for one, two in zip(metric.design.segments, us.design.segments, strict=True):
            assert (one.length_m or 0) == pytest.approx(two.length_m or 0, abs=0.16)


def test_terrain_is_written_in_feet(tmp_path):
    """The table that the file has keeps its units; one that is made has those of the project."""
    from elevation_files import write_hgt
    from typer.testing import CliRunner

    from backhaul.cli import app

    tile = write_hgt(tmp_path, "N51W021", lambda latitude, longitude: 200 + 0 * longitude)
    source = in_feet(ROOT / "demo" / "reservoir", tmp_path / "feet")
    done = CliRunner().invoke(
        app, ["terrain", str(source), "-e", str(tile), "--replace", "-o", str(tmp_path / "out")]
    )
    assert done.exit_code in (0, 1), done.output
    given = table(tmp_path / "out" / "terrain.csv")
    assert "distance_ft" in given[0]
    assert not [head for head in given[0] if head.endswith("_m")]
    levels = {row["ground_ft"] for row in given if row.get("source")}
    assert {round(float(level), 1) for level in levels if level} == {656.2}  # 200 m

    shutil.copytree(source, tmp_path / "bare")
    (tmp_path / "bare" / "terrain.csv").unlink()
    with (tmp_path / "bare" / "project.csv").open("a", encoding="utf-8") as file:
        file.write("units,US\n")
    CliRunner().invoke(
        app, ["terrain", str(tmp_path / "bare"), "-e", str(tile), "-o", str(tmp_path / "made")]
    )
    assert "ground_ft" in table(tmp_path / "made" / "terrain.csv")[0]


def test_messages_between_cells_tell_what_was_typed(tmp_path):
    write(
        tmp_path / "segments.csv",
        [*RUN, "site", "to_site", "label"],
        [["a", 1, "radio", "radio-60ghz-sc-int", "A", "B", "hop"]],
    )
    write(
        tmp_path / "terrain.csv",
        ["label", "distance_ft", "ground_ft"],
        [["hop", 0, 10], ["hop", 500, 10], ["hop", 400, 10]],
    )
    write(
        tmp_path / "waters.csv", ["water", "kind", "low_ft", "high_ft"], [["mere", "fresh", 9, 5]]
    )
    told = refused(tmp_path)
    assert (
        "terrain.csv:4 distance_ft: found '400'; needed more than at terrain.csv:3 distance_ft"
        in told
    )
    assert "'500': distances rise" in told
    assert "waters.csv:2 low_ft: found '9'; needed at most high_ft, 5" in told
