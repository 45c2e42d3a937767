"""What a designer mistyped gets one line that says how to mend it."""

import compact
import pytest

from backhaul.design.read import read_design
from backhaul.errors import InputError
from backhaul.report.many import table
from backhaul.tables.folder import designs_in, skipped_in

HEADS = "path,step,kind,part,length_m,note"
ROWS = ("P,1,device,switch-8,,", "P,2,fiber,os2-12,100,", "P,3,device,switch-8,,")


def problems(folder, catalog, *lines: str) -> list[str]:
    (folder / "segments.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_design(folder, catalog)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    "again", [HEADS, "path,step,kind,part,length_m,", "Path,step,kind,part,length_m,note"]
)
def test_heads_in_the_midst_are_one_line(again, tmp_path, catalog):
    (told,) = problems(tmp_path, catalog, HEADS, ROWS[0], again, *ROWS[1:])
    assert told.startswith("segments.csv:3: found the heads again; needed a row of values")


def test_fuller_heads_below_lose_no_row_above(tmp_path, catalog):
    """A table pasted below another, the first with a misspelt head."""
    first = HEADS.replace("length_m", "lenght_m")
    (told,) = problems(tmp_path, catalog, first, ROWS[0], HEADS, *ROWS[1:])
    assert told.startswith("segments.csv:3: found the heads again")


def test_a_path_in_the_first_row_alone_is_one_line(tmp_path, catalog):
    rows = (ROWS[0], *(row.removeprefix("P") for row in ROWS[1:]))
    (told,) = problems(tmp_path, catalog, HEADS, *rows)
    assert told == (
        "segments.csv:3 path: found a blank, and so in 1 more row; needed names separated by / in "
        "every row; fill it down: 'P'"
    )


def test_a_title_above_the_heads_is_no_heads(tmp_path, catalog):
    text = "\n".join((f"Reservoir{',' * 5}", HEADS, *ROWS)) + "\n"
    (tmp_path / "segments.csv").write_text(text, encoding="utf-8")
    assert len(read_design(tmp_path, catalog).segments) == 3


@pytest.mark.parametrize(
    ("name", "meant"),
    [("device.csv", "devices.csv"), ("optic.csv", "optics.csv")],
)
def test_a_catalogue_of_another_name_is_asked_about(name, meant, tmp_path):
    from backhaul.catalog import load_catalog

    (tmp_path / name).write_text("part,description,source,basis\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_catalog([tmp_path])
    (problem,) = caught.value.problems
    assert problem.remedy == f"is {name} meant as {meant}?"


def test_a_column_of_another_name_is_a_note_with_the_nearest(tmp_path, catalog):
    text = "\n".join((HEADS.replace("length_m", "lenght_m"), *ROWS)) + "\n"
    (tmp_path / "segments.csv").write_text(text, encoding="utf-8")
    (note,) = read_design(tmp_path, catalog).notes
    assert "'lenght_m'" in note.message and "; nearest: 'length_m'" in note.message


def test_a_folder_of_designs_names_what_it_skipped(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    (tmp_path / "one" / "segments.csv").write_text("path\n")
    (tmp_path / "plan.pdf").write_text("")
    assert designs_in(tmp_path) == [tmp_path / "one"]
    skipped = skipped_in(tmp_path)
    assert skipped == ["plan.pdf", "two (no segments table)"]
    *_, (last, _) = table([], skipped)
    assert last == "not designs, skipped: plan.pdf, two (no segments table)"


HOP = (
    "device t-switch-poe site=A | copper t-cat5e 20m | radio t-radio site=A to_site=B "
    "frequency_ghz=5.5 channel_mhz=40 height_m={} to_height_m=8 | copper t-cat5e 20m | "
    "device t-switch-poe site=B"
)
SITES = (
    "site A latitude=45 longitude=5 ground_m={} | site B latitude=45.03 longitude=5 ground_m=400"
)


@pytest.mark.parametrize(
    ("height_m", "ground_m", "severity"),
    [
        (412, 400, "thin"),  # 12 m above a ground of 400 m
        (101, 95, "thin"),
        (100, 95, "note"),  # as tall as masts are seldom
        (40.1, 40.05, "note"),
        (40, 39, None),  # a mast
        (60, 10, None),
        (441, 400, None),  # 41 m above what would be the ground
        (90, 400, None),
    ],
)
def test_a_height_above_sea_level_is_asked_about(height_m, ground_m, severity, tmp_path):
    found = compact.run(tmp_path, HOP.format(height_m), SITES.format(ground_m)).findings
    asked = [f for f in found if "above the ground meant" in f.message]
    assert [f.severity for f in asked] == [severity] * (severity is not None)
    assert all(f.where and f.where.endswith(" height_m") for f in asked)


def test_a_missing_antenna_names_the_cell_and_both_ways(tmp_path):
    text = HOP.format(8).replace("t-radio", "radio-5ghz-he-ext")
    found = compact.run(tmp_path, text, SITES.format(400)).findings
    (margin,) = [f for f in found if f.check == "radio-margin"]
    assert margin.where.endswith(" antenna") and "at A / B" in margin.message
    assert "name one in antenna, or fit a radio with a built-in antenna" in margin.message


def test_a_figure_next_to_nothing_is_nothing(tmp_path, catalog):
    """1e-320 is a figure of its own in binary arithmetic, and a quotient by it overflows."""
    text = "\n".join((HEADS, ROWS[0], "P,2,fiber,os2-12,1e-320,", ROWS[2])) + "\n"
    (tmp_path / "segments.csv").write_text(text, encoding="utf-8")
    assert read_design(tmp_path, catalog).segments[1].length_m == 0.0
