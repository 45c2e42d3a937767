"""One design in every form that people send reads the same."""

import copy
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from backhaul.design.read import read_design

TABLES = {
    "project": [
        {"setting": "title", "value": "Reservoir"},
        {"setting": "revision", "value": 2},
        {"setting": "availability_percent", "value": 99.95},
        {"setting": "region", "value": "cept"},
        {"setting": "water_high_m", "value": 118.4},
    ],
    "sites": [
        {"site": "Works", "latitude": 52.1, "longitude": -3.4, "ground_m": 101, "outdoor": "no"},
        {"site": "Crest", "latitude": 52.11, "longitude": -3.41, "ground_m": 120, "outdoor": "yes"},
        {"site": "Tower", "latitude": 52.12, "longitude": -3.42, "ground_m": 121, "outdoor": "Y"},
    ],
    "paths": [{"path": "crest", "title": "Cameras", "availability_percent": 99.5}],
    "terrain": [
        {"label": "H1", "distance_m": 0, "ground_m": 120, "surface": "land"},
        {"label": "H1", "distance_m": 700, "surface": "Fresh"},
        {"label": "H1", "distance_m": 1304, "ground_m": 121, "cover_m": 2},
    ],
    "demand": [{"path": "crest", "what": "camera", "count": 4, "up_mbps": 6}],
    "extras": [{"site": "Crest", "part": "pole", "count": 1, "unit": "piece"}],
}
LETTERS = {"fiber": "Fibre", "splice": "SPLICE", "optic": " Optic ", "radio": "radio"}


@pytest.fixture
def tables(forms):
    return {"segments": forms.segments, **TABLES}


def same(one, two):
    """Two designs without the places that they were read from."""
    bare = [
        [record._replace(row=0, table=None) for record in design.segments]
        + [record._replace(row=0, table=None) for record in design.sites.values()]
        + [record._replace(row=0, table=None) for record in design.paths.values()]
        + [record._replace(row=0, table=None) for record in design.demand + design.extras]
        + [design.project._replace(rows={}, table=None)]
        for design in (one, two)
    ]
    assert bare[0] == bare[1]
    for key, profile in one.terrain.items():
        for a, b in zip(profile[:4], two.terrain[key][:4]):
            np.testing.assert_array_equal(a, b)
    assert one.digest == two.digest


def test_workbook_folder_and_single_csv_agree(tmp_path, forms, tables, catalog):
    folder = read_design(forms.folder(tmp_path / "design", tables), catalog)
    book = read_design(forms.book(tmp_path / "design.xlsx", tables), catalog)
    same(folder, book)
    assert len(book.segments) == 7 and len(book.digest) == 16
    assert book.project.region == "CEPT" and book.project.revision == "2"
    assert book.sites["Tower"].outdoor is True
    alone = read_design(tmp_path / "design" / "segments.csv", catalog)
    assert [s._replace(table=None) for s in alone.segments] == [
        s._replace(table=None) for s in folder.segments
    ]
    other = read_design(forms.folder(tmp_path / "alone", {"segments": forms.segments}), catalog)
    assert alone.digest == other.digest != folder.digest


def test_a_changed_value_changes_the_digest(tmp_path, forms, tables, catalog):
    first = read_design(forms.folder(tmp_path / "one", tables), catalog)
    for table, row, name, value in (
        ("segments", 2, "length_m", 1200.6),
        ("segments", 0, "note", "x"),
        ("sites", 1, "ground_m", 120.5),
        ("project", 2, "value", 99.9),
        ("terrain", 2, "cover_m", 3),
        ("demand", 0, "up_mbps", 7),
        ("extras", 0, "count", 2),
        ("paths", 0, "title", "Camera"),
    ):
        changed = copy.deepcopy(tables)
        changed[table][row][name] = value
        assert read_design(forms.folder(tmp_path / "two", changed), catalog).digest != first.digest


def as_decimal_comma(text: str) -> str:
    """The CSV that a spreadsheet program of continental Europe saves."""
    return text.replace(",", ";").replace("1200.5", "1200,5").replace("9.5", "9,5")


ENCODINGS = [
    ("utf-8", lambda text: text),
    ("utf-8-sig", lambda text: text),
    ("utf-16", lambda text: text),
    ("utf-16-le", lambda text: text),
    ("utf-16-be", lambda text: text),
    ("utf-8", lambda text: text.replace("\n", "\r\n")),
    ("utf-8", lambda text: text.replace("\n", "\r")),
    ("utf-8", lambda text: text.replace(",", ";")),
    ("utf-8", lambda text: text.replace(",", "\t")),
    ("utf-8", as_decimal_comma),
    ("utf-8", lambda text: "sep=;\n" + as_decimal_comma(text)),
    ("utf-8", lambda text: as_decimal_comma(text).replace(";", "\t")),
    ("utf-8", lambda text: text.rstrip("\n")),
    ("utf-8", lambda text: text + "\n\n,,,\n"),
    ("utf-8", lambda text: "Survey of the crest\n\n" + text),
    ("utf-8", lambda text: text.replace("length_m", "Length (m)").replace("to_site", "To Site")),
    ("utf-8", lambda text: text.replace("length_m", "LENGTH [m]").replace("kind", "Kind ")),
    ("utf-8", lambda text: text.replace(",fiber,", ",Fibre,").replace(",optic,", ", OPTIC ,")),
    ("utf-8", lambda text: text.replace("1000base-lx10", "1000BASE-LX10")),
    ("utf-8", lambda text: text.replace("1200.5", "1\u202f200.5")),
    ("utf-8", lambda text: text.replace("1200.5", "\u00a01200.50 ")),
    ("utf-8", lambda text: text.replace("1200.5", '"1200,5"')),
    ("utf-8", lambda text: text.replace("1/2", "1;2")),
    ("utf-8", lambda text: text.replace("1/2", "01 + 02")),
    ("utf-8", lambda text: text.replace("1/2", "1.0/2.0")),
]


@pytest.mark.parametrize(("encoding", "change"), ENCODINGS)
def test_csv_as_people_save_it(tmp_path, forms, catalog, encoding, change):
    plain, other = tmp_path / "segments.csv", tmp_path / "other.csv"
    text = forms.csv_text(forms.segments)
    plain.write_text(text, "utf-8")
    assert change(text) != text or encoding != "utf-8" or change is ENCODINGS[0][1]
    other.write_bytes(change(text).encode(encoding))
    assert read_design(other, catalog).digest == read_design(plain, catalog).digest


def test_quoted_and_unquoted_csv_agree(tmp_path, forms, catalog):
    """The quick way of cutting a CSV and the csv module give the same cells."""
    text = forms.csv_text(forms.segments)
    quoted = "\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in text.splitlines()
    )
    for name, content in (("a", text), ("b", quoted)):
        (tmp_path / f"{name}.csv").write_text(content, "utf-8")
    one, two = (read_design(tmp_path / f"{name}.csv", catalog) for name in "ab")
    assert [s._replace(table=None) for s in one.segments] == [
        s._replace(table=None) for s in two.segments
    ]


def test_windows_1252_is_read_with_a_note(tmp_path, forms, catalog):
    rows = copy.deepcopy(forms.segments)
    rows[0]["note"] = "Schacht vor dem Tür"
    source = tmp_path / "segments.csv"
    source.write_bytes(forms.csv_text(rows).encode("cp1252"))
    design = read_design(source, catalog)
    assert design.segments[0].note == "Schacht vor dem Tür"
    assert ["Windows-1252" in note.message for note in design.notes] == [True]


def test_line_numbers_count_lines_of_the_file(tmp_path, forms, problems_of):
    rows = copy.deepcopy(forms.segments)
    rows[0]["note"] = "two\nlines"
    rows[4]["part"] = "x"
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(rows), "utf-8")
    assert "segments.csv:7 part" in problems_of(source)


def test_numbers_that_stand_for_names(tmp_path, forms, catalog):
    rows = copy.deepcopy(forms.segments)
    for row in rows:
        row["path"] = 1
    rows[2]["strand"] = 1
    rows[1]["port"] = 9
    one = read_design(forms.book(tmp_path / "d.xlsx", {"segments": rows}), catalog)
    assert one.segments[0].path == ("1",) and one.segments[2].strand == ("1",)
    assert one.segments[1].port == "9"
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(rows), "utf-8")
    assert read_design(source, catalog).digest == one.digest


def test_zero_is_a_name_beside_others(tmp_path, forms, catalog):
    """Found by fuzzing: a zero among texts was taken for a blank."""
    rows = copy.deepcopy(forms.segments)
    rows[0]["path"], rows[1]["port"], rows[5]["label"] = 0, 0, 0
    rows[4]["port"] = "sfp1"
    design = read_design(forms.book(tmp_path / "d.xlsx", {"segments": rows}), catalog)
    assert design.segments[0].path == ("0",) and design.segments[1].port == "0"
    assert design.segments[5].label == "0" and design.segments[2].label == "F1"


def test_shifted_table(tmp_path, forms, tables, catalog):
    def shift(book):
        sheet = book["segments"]
        sheet.insert_rows(1, 3)
        sheet.insert_cols(1, 2)
        sheet["A1"] = "Survey of 6 May"
        sheet.merge_cells("A1:F1")

    plain = read_design(forms.book(tmp_path / "a.xlsx", tables), catalog)
    shifted = read_design(forms.book(tmp_path / "b.xlsx", tables, shift), catalog)
    assert shifted.digest == plain.digest
    assert shifted.segments[0].at("kind") == "segments!E5"


NOTES = [
    ({"colour": "blue"}, "the column 'colour' is none of this table's"),
    (
        {"mesured_db": "1"},
        "'mesured_db' is none of this table's and was ignored; nearest: 'measured",
    ),
    ({"height_m": 4}, "height_m is not read for the kind device"),
    ({"length_m": "-"}, "length_m is not read for the kind device"),
]


@pytest.mark.parametrize("strand", ["36525", "73051"])
def test_a_strand_that_is_the_number_of_no_likely_day_is_a_strand(forms, tmp_path, catalog, strand):
    """Days from 2000 to 2099 are 36526 to 73050 (ECMA-376 part 1, 18.17.4.1); cf. bad cells."""
    rows = copy.deepcopy(forms.segments)
    rows[2]["strand"] = strand
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(rows), "utf-8")
    assert read_design(source, catalog).segments[2].strand == (strand,)


def test_a_file_or_sheet_of_another_name_is_told_with_the_nearest(tmp_path, forms, catalog):
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "segments.csv").write_text(forms.csv_text(forms.segments), "utf-8")
    (tmp_path / "d" / "site.csv").write_text("site\nWorks\n", "utf-8")
    book = forms.book(tmp_path / "d.xlsx", {"segments": forms.segments})
    opened = openpyxl.load_workbook(book)
    opened.create_sheet("Site").append(["site"])
    opened.save(book)
    for source, name in ((tmp_path / "d", "site.csv"), (book, "Site")):
        (note,) = [n for n in read_design(source, catalog).notes if "no table" in n.message]
        assert note.where == name and note.message.endswith("and was ignored; nearest: 'sites'")


@pytest.mark.parametrize(("cells", "message"), NOTES)
def test_ignored_with_a_note(tmp_path, forms, catalog, cells, message):
    rows = copy.deepcopy(forms.segments)
    rows[0] |= cells
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(rows), "utf-8")
    design = read_design(source, catalog)
    assert [message in note.message for note in design.notes] == [True]
    assert design.notes[0].check == "ignored" and design.notes[0].severity == "note"
    assert design.segments[0].height_m is None and design.segments[0].length_m is None


def test_decimal_comma_earns_a_note(tmp_path, forms, catalog):
    rows = copy.deepcopy(forms.segments)
    rows[2]["length_m"] = "1200,5"
    design = read_design(forms.book(tmp_path / "d.xlsx", {"segments": rows}), catalog)
    assert design.segments[2].length_m == 1200.5
    (note,) = design.notes
    assert note.check == "assumption" and "'1200,5' read as 1200.5" in note.message
    assert note.where == "segments!G4"


def test_points_beside_commas_are_unclear(tmp_path, forms, problems_of):
    text = forms.csv_text(forms.segments).replace(",", ";").replace("1200.5", "1,250")
    source = Path(tmp_path / "segments.csv")
    source.write_text(text, "utf-8")
    assert "'1,250'" in problems_of(source)
