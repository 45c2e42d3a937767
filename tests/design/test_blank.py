"""The blank design: reads back, survives an office program, offers what the catalogues hold."""

import shutil
import subprocess

import openpyxl
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.blank import write_blank
from backhaul.design.blank_example import EXAMPLE
from backhaul.design.blank_lists import SHEET, part_list_formula
from backhaul.design.columns import SEGMENTS, TABLES
from backhaul.design.kinds import KINDS
from backhaul.design.read import read_design
from backhaul.design.settings import SETTINGS
from backhaul.errors import InputError, OutputError

SOFFICE = shutil.which("soffice")


@pytest.fixture(scope="module")
def parts():
    return load_catalog()


@pytest.fixture(scope="module")
def example(tmp_path_factory, parts):
    path = tmp_path_factory.mktemp("blank") / "example.xlsx"
    write_blank(path, parts, example=True)
    return path


def test_example_reads_back_unchanged(example, parts, tmp_path, forms):
    book = read_design(example, parts)
    assert book.notes == ()
    assert len(book.segments) == len(EXAMPLE["segments"])
    folder = forms.folder(tmp_path / "d", {name: list(rows) for name, rows in EXAMPLE.items()})
    assert read_design(folder, parts).digest == book.digest


def test_every_sheet_has_the_declared_heads(example):
    book = openpyxl.load_workbook(example)
    for name, columns in TABLES.items():
        heads = [cell.value for cell in book[name][1]]
        assert heads == [column.name for column in columns]
    settings = [row[0].value for row in book["project"].iter_rows(min_row=2)]
    assert settings == [column.name for column in SETTINGS]


def test_empty_design_says_that_it_is_empty(tmp_path, parts):
    path = tmp_path / "blank.xlsx"
    write_blank(path, parts)
    with pytest.raises(InputError) as caught:
        read_design(path, parts)
    assert [str(problem) for problem in caught.value.problems] == [
        "segments: found no segments below the heads; needed one row a segment"
    ]
    sheet = openpyxl.load_workbook(path)["segments"]
    assert sheet.max_row == 1 and sheet.freeze_panes == "D2"


def test_lists_hold_every_part_in_one_stretch_a_kind(example, parts):
    sheet = openpyxl.load_workbook(example)[SHEET]
    columns = {
        column[0]: [cell for cell in column[1:] if cell is not None]
        for column in sheet.iter_cols(values_only=True)
    }
    assert columns["kinds_list"] == list(KINDS)
    pairs = list(zip(columns["part_kinds_list"], columns["parts_list"], strict=True))
    kinds = [kind for kind, _ in pairs]
    assert kinds == sorted(kinds, key=list(KINDS).index)
    for kind, family in (("optic", parts.optics), ("radio", parts.radios), ("feed", parts.feeds)):
        assert [part for k, part in pairs if k == kind] == list(family)
    joints = [part for k, part in pairs if k in ("connector", "splice", "attenuator")]
    assert sorted(joints) == sorted(parts.joints)


def test_every_cell_is_checked_on_entry(example):
    sheet = openpyxl.load_workbook(example)["segments"]
    checked = {}
    for validation in sheet.data_validations.dataValidation:
        (area,) = validation.sqref.ranges
        checked[sheet.cell(1, area.min_col).value] = validation
        assert area.min_row == 2 and area.max_row == 1000 and validation.prompt
        assert validation.formula1 is None or (
            len(validation.formula1) <= 255 and '"' not in validation.formula1
        )
    assert list(checked) == [column.name for column in SEGMENTS]
    length = checked["length_m"]
    assert (length.type, length.formula1, length.formula2) == ("decimal", "0", "1000000")


def test_an_existing_file_stays_when_the_new_one_cannot_be_written(tmp_path, parts):
    with pytest.raises(OutputError):
        write_blank(tmp_path / "no folder" / "blank.xlsx", parts)
    (tmp_path / "d.xlsx").mkdir()
    with pytest.raises(OutputError):
        write_blank(tmp_path / "d.xlsx", parts)
    assert [each.name for each in tmp_path.iterdir()] == ["d.xlsx"]


def resaved(source, folder, form="xlsx"):
    """The file as LibreOffice saves it."""
    command = [
        SOFFICE,
        f"-env:UserInstallation={(folder / 'profile').as_uri()}",
        "--headless",
        "--convert-to",
        form,
        "--outdir",
        str(folder),
        str(source),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder / f"{source.stem}.{form}"


def validations(path):
    sheet = openpyxl.load_workbook(path)["segments"]
    return {
        str(v.sqref): (v.type and v.formula1, v.prompt)
        for v in sheet.data_validations.dataValidation
    }


@pytest.mark.office
@pytest.mark.skipif(SOFFICE is None, reason="no LibreOffice here")
def test_survives_libreoffice(example, parts, tmp_path):
    saved = resaved(example, tmp_path)
    assert read_design(saved, parts).digest == read_design(example, parts).digest
    assert validations(saved) == validations(example)
    rules = [
        [rule.formula for rule in area.rules]
        for path in (example, saved)
        for area in openpyxl.load_workbook(path)["segments"].conditional_formatting
    ]
    assert len(rules) == 2 and rules[0] == rules[1]


@pytest.mark.office
@pytest.mark.skipif(SOFFICE is None, reason="no LibreOffice here")
def test_drop_downs_hold_the_parts_of_the_kind(example, parts, tmp_path):
    """The formula of the drop-down, worked out by LibreOffice as first, last and number."""
    book = openpyxl.load_workbook(example)
    book.move_sheet("segments", -book.sheetnames.index("segments"))
    sheet = book["segments"]
    sheet.delete_rows(1, 100)
    for row, kind in enumerate(KINDS, start=1):
        area = part_list_formula(f"$C{row}")
        sheet.cell(row, 3, kind)
        sheet.cell(row, 4, f"=COUNTA({area})")
        sheet.cell(row, 5, f"=INDEX({area},1)")
    book.active = 0
    source = tmp_path / "lists.xlsx"
    book.save(source)
    lines = resaved(source, tmp_path, "csv").read_text("utf-8").splitlines()
    found = {line.split(",")[2]: line.split(",")[3:5] for line in lines}
    families = {
        "device": parts.devices,
        "optic": parts.optics,
        "fiber": parts.fibers,
        "radio": parts.radios,
        "copper": parts.coppers,
        "feed": parts.feeds,
        "protector": parts.protectors,
    }
    for kind in KINDS:
        names = list(families.get(kind, ())) or [
            name
            for name, joint in parts.joints.items()
            if kind == ("connector" if joint.kind in ("splitter", "filter") else joint.kind)
        ]
        assert found[kind] == [str(len(names)), names[0]]
