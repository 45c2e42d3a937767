"""Hostile and unlucky files: each is refused in plain words, soon and in little memory."""

import io
import os
import re
import time
import tracemalloc

import hostile
import hostile_parts
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.errors import InputError
from backhaul.spreadsheet import read_sheet
from backhaul.tables import csv_source

LONGEST_S = 10.0  # the slowest here takes well under a second on a machine of its own
MOST_BYTES = 150 * 2**20
ROWS = [
    {"path": "a", "step": n, "kind": "device", "part": "camera", "site": "A"} for n in range(1, 9)
]


@pytest.fixture
def fewer_rows_suffice(monkeypatch):
    """A table of 250,000 rows takes seconds to make: the limit is the same below it."""
    for module in (csv_source, read_sheet):
        assert module.MAX_ROWS == 250_000
        monkeypatch.setattr(module, "MAX_ROWS", hostile_parts.MOST_ROWS)
    monkeypatch.setattr(csv_source, "MAX_LINES", hostile_parts.MOST_LINES)


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "segments"
    sheet.append(list(ROWS[0]))
    for row in ROWS:
        sheet.append(list(row.values()))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def refused(source, catalog) -> str:
    """The message of a refusal, which came soon and without much memory."""
    tracemalloc.start()
    began = time.process_time()
    try:
        with pytest.raises(InputError) as caught:
            read_design(source, catalog)
        assert time.process_time() - began < LONGEST_S
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()
    return str(caught.value)


@pytest.mark.usefixtures("fewer_rows_suffice")
def test_hostile_workbooks(tmp_path, good, catalog):
    failures = []
    for name, data, fragments in hostile.books(good):
        source = tmp_path / "design.xlsx"
        source.write_bytes(data)
        message = refused(source, catalog)
        failures += [(name, f, message) for f in fragments if f not in message]
    assert not failures


@pytest.mark.usefixtures("fewer_rows_suffice")
def test_hostile_csvs(tmp_path, catalog):
    failures = []
    for name, data, fragments in hostile.csvs():
        source = tmp_path / "segments.csv"
        source.write_bytes(data)
        message = refused(source, catalog)
        failures += [(name, f, message[:500]) for f in fragments if f not in message]
    assert not failures


def test_segments_that_cannot_be_read_are_the_only_problem(tmp_path, catalog):
    """Whatever the other tables say of paths and hops was not looked up, so it is not accused."""
    (tmp_path / "segments.csv").write_bytes(b"path,step,kind,part\na,1,device,cam\0era\n")
    (tmp_path / "terrain.csv").write_text("label,distance_m,ground_m\nhop,0,1\nhop,900,1\n")
    (tmp_path / "demand.csv").write_text("path,what,count,up_mbps,down_mbps\na,camera,1,8,1\n")
    message = refused(tmp_path, catalog)
    assert "segments.csv:2: found a NUL byte" in message
    assert message.count("found") == 1


def test_sources_that_are_no_file(tmp_path, catalog):
    (tmp_path / "empty").mkdir()
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "segment.csv").write_text("path\n")
    for source, fragment in (
        (tmp_path / "none.xlsx", "no such file"),
        (tmp_path / "empty", "no segments.csv in the folder"),
        (tmp_path / "other", "nearest: 'segment.csv'"),
        (tmp_path / ("x" * 300), "too long"),
        ("a\0b.xlsx", "no such file"),
        (tmp_path / "other" / "segment.csv" / "x", "no such file"),
        ("/dev/zero", "neither a file nor a folder"),
    ):
        assert fragment in refused(source, catalog)


def test_unreadable_file(tmp_path, catalog, monkeypatch):
    source = tmp_path / "segments.csv"
    source.write_text("path,step,kind,part\n")
    monkeypatch.setattr(
        os, "open", lambda *_: (_ for _ in ()).throw(PermissionError(13, "Permission denied"))
    )
    assert "permission denied" in refused(source, catalog)


def changed(good, **changes):
    for part, change in changes.items():
        part = {"sheet": hostile_parts.SHEET, "workbook": "xl/workbook.xml"}[part]
        good = hostile_parts.replaced(good, part, change)
    return good


READ_ALL_THE_SAME = {
    "wrong dimension": dict(sheet=lambda xml: xml.replace(b'ref="A1:E9"', b'ref="A1:A1"')),
    "no dimension": dict(sheet=lambda xml: xml.replace(b'<dimension ref="A1:E9" />', b"")),
    "styled empty rows": dict(
        sheet=hostile_parts.rows_xml(
            "".join(
                f'<row r="{n}" s="1"><c r="A{n}" s="0"/><c r="XFD{n}" s="0"/></row>'
                for n in range(100, 3000)
            )
        )
    ),
    "prefixed names": dict(
        sheet=lambda xml: (
            xml.replace(b"<", b"<x:")
            .replace(b"<x:/", b"</x:")
            .replace(b"<x:?", b"<?")
            .replace(b"xmlns=", b"xmlns:x=")
        )
    ),
    "cells without references": dict(sheet=lambda xml: re.sub(rb' r="[A-Z]?\d+"', b"", xml)),
    "strict namespace": dict(
        sheet=lambda xml: xml.replace(
            hostile_parts.MAIN.encode(), b"http://purl.oclc.org/ooxml/spreadsheetml/main"
        )
    ),
    "merged title beside the table": dict(
        sheet=lambda xml: xml.replace(
            b"</sheetData>", b'</sheetData><mergeCells><mergeCell ref="G2:H9"/></mergeCells>'
        )
    ),
}


@pytest.mark.parametrize("changes", READ_ALL_THE_SAME.values(), ids=READ_ALL_THE_SAME)
def test_read_all_the_same(tmp_path, good, catalog, changes):
    source, other = tmp_path / "a.xlsx", tmp_path / "b.xlsx"
    source.write_bytes(good)
    data = changed(good, **changes)
    other.write_bytes(data)
    assert hostile_parts.parts_of(data) != hostile_parts.parts_of(good)
    one, two = read_design(source, catalog), read_design(other, catalog)
    assert one.digest == two.digest and len(two.segments) == 8 and not two.notes


NOTED = {
    "hidden rows": (
        dict(sheet=lambda xml: xml.replace(b'<row r="3"', b'<row r="3" hidden="1"')),
        "1 hidden row",
        "segments!3",
    ),
    "hidden sheet": (
        dict(workbook=lambda xml: xml.replace(b'state="visible"', b'state="hidden"')),
        "the sheet is hidden",
        "segments",
    ),
    "external link": (
        dict(
            sheet=lambda xml: xml.replace(
                b'<c r="B3" t="n"><v>', b'<c r="B3" t="n"><f>[1]S!A1</f><v>'
            )
        ),
        "comes from another workbook",
        "segments!B3",
    ),
}


@pytest.mark.parametrize("case", NOTED.values(), ids=NOTED)
def test_noted(tmp_path, good, catalog, case):
    changes, message, where = case
    source = tmp_path / "a.xlsx"
    source.write_bytes(changed(good, **changes))
    (note,) = read_design(source, catalog).notes
    assert message in note.message and note.where == where


def test_rich_text_inline_text_and_1904(tmp_path, good, catalog):
    def rich(xml):
        return xml.replace(
            b"</sheetData>",
            b'<row r="20"><c r="A20" t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r>'
            b'<rPh sb="0" eb="1"><t>zz</t></rPh></is></c><c r="B20"><v>1</v></c>'
            b'<c r="C20" t="str"><f>"device"</f><v>device</v></c>'
            b'<c r="D20" t="inlineStr"><is><t>camera</t></is></c></row></sheetData>',
        )

    source = tmp_path / "a.xlsx"
    source.write_bytes(changed(good, sheet=rich))
    last = read_design(source, catalog).segments[-1]
    assert (last.path, last.step, last.kind, last.part) == (("ab",), 1.0, "device", "camera")
    assert last.at("part") == "segments!D20"


def test_shared_texts(tmp_path, good, catalog):
    """As most programs save them: plain, in runs, with reading aids, with escapes."""
    relation = (
        '<Relationship Id="rId99" Target="sharedStrings.xml" Type="http://schemas.openxmlformats.'
        'org/officeDocument/2006/relationships/sharedStrings"/></Relationships>'
    )
    parts = hostile_parts.parts_of(good)
    links = "xl/_rels/workbook.xml.rels"
    parts[links] = parts[links].replace(b"</Relationships>", relation.encode())
    parts["xl/sharedStrings.xml"] = (
        f'<sst xmlns="{hostile_parts.MAIN}"><si><t>device</t></si><si><r><t>cam</t></r><r><t>era</t></r>'
        '<rPh sb="0" eb="1"><t>zz</t></rPh></si><si><t>b_x0020_</t></si></sst>'
    ).encode()
    row = (
        '<row r="20"><c r="A20" t="s"><v>2</v></c><c r="B20"><v>1</v></c>'
        '<c r="C20" t="s"><v>0</v></c><c r="D20" t="s"><v>1</v></c></row>'
    )
    parts[hostile_parts.SHEET] = hostile_parts.rows_xml(row)(parts[hostile_parts.SHEET])
    source = tmp_path / "a.xlsx"
    source.write_bytes(hostile_parts.packed(parts))
    last = read_design(source, catalog).segments[-1]
    assert (last.path, last.kind, last.part) == (("b",), "device", "camera")


def test_a_table_of_junk_is_bounded(tmp_path, catalog, monkeypatch):
    """Problems beyond the most that are kept are counted."""
    monkeypatch.setattr("backhaul.tables.collector.MOST_PROBLEMS", 100)
    monkeypatch.setattr("backhaul.tables.columnwise.MOST_FAULTS", 60)
    source = tmp_path / "segments.csv"
    rows = "".join(f"p,x{n},device,{n}!\n" for n in range(500))
    source.write_text("path,step,kind,part\n" + rows)
    with pytest.raises(InputError) as caught:
        read_design(source, catalog)
    problems = caught.value.problems
    assert len(problems) == 101
    assert problems[-1].found == "900 problems more"


def test_a_long_sparse_csv_with_semicolons_is_quick(tmp_path, catalog):
    """Blank cells of a number column once made the search for decimal commas quadratic."""
    source = tmp_path / "segments.csv"
    rows = "".join(f"p;{n};device;camera;\n" for n in range(20_000))
    source.write_text("path;step;kind;part;length_m\n" + rows)
    began = time.process_time()
    assert len(read_design(source, catalog).segments) == 20_000
    assert time.process_time() - began < 2


def test_two_tables_of_one_name(tmp_path, good, catalog):
    folder = tmp_path / "design"
    folder.mkdir()
    for name in ("segments.csv", "Segments.csv"):
        (folder / name).write_text("path,step,kind,part\na,1,device,camera\n")
    if len(os.listdir(folder)) == 2:
        assert "a second table 'segments'" in refused(folder, catalog)


@pytest.mark.skipif(os.name == "nt", reason="nodes of POSIX")
def test_a_pipe_or_an_endless_link_is_not_waited_for(tmp_path, catalog):
    """Under the name of a table, and of a catalogue's file."""
    os.mkfifo(tmp_path / "segments.csv")
    assert "segments.csv: found no regular file" in refused(tmp_path, catalog)
    (tmp_path / "segments.csv").unlink()
    (tmp_path / "segments.csv").write_text("path,step,kind,part\na,1,device,camera\n")
    os.mkfifo(tmp_path / "sites.csv")
    assert "sites.csv: found no regular file" in refused(tmp_path, catalog)
    os.mkfifo(tmp_path / "joints.csv")
    with pytest.raises(InputError, match=r"joints\.csv: found no regular file"):
        load_catalog([tmp_path])


def test_the_file_that_cannot_be_read_is_named_and_the_others_are_told(tmp_path, catalog):
    (tmp_path / "segments.csv").write_text("path,step,kind,part\na,1,device,camara\n")
    (tmp_path / "sites.csv").symlink_to(tmp_path / "sites.csv")  # leads to itself
    (tmp_path / "demand.csv").write_text("path,up_mbps\na,fast\n")
    message = refused(tmp_path, catalog)
    assert "sites.csv: found too many levels of symbolic links" in message
    assert "segments.csv:2 part: found 'camara'" in message
    assert "demand.csv:2 up_mbps: found 'fast'" in message


def test_a_folder_of_very_many_files(tmp_path, catalog):
    for number in range(1200):
        (tmp_path / f"a{number}.csv").write_text("x\n")
    (tmp_path / "segments.csv").write_text("path,step,kind,part\na,1,device,camera\n")
    assert len(read_design(tmp_path, catalog).segments) == 1


@pytest.mark.parametrize("name", ["site-1.2-north", "v1.0", "n" * 255, "plain"])
def test_a_folder_keeps_its_name(tmp_path, catalog, name):
    folder = tmp_path / name
    folder.mkdir()
    (folder / "segments.csv").write_text("path,step,kind,part\na,1,device,camera\n")
    assert read_design(folder, catalog).name == name


def test_a_row_may_stand_in_very_many_paths(tmp_path, catalog):
    """A trunk cable of a district; it is each name that is short, not the list of them."""
    names = "/".join(f"P{n}" for n in range(4000))
    head = "path,step,kind,part\n"
    (tmp_path / "segments.csv").write_text(f"{head}{names},1,device,camera\n")
    (row,) = read_design(tmp_path, catalog).segments
    assert len(row.path) == 4000
    for bad, fragment in (
        ("/".join(["P" * 201, "Q"]), "201 letters"),
        (names + "/P7", "'P7' twice"),
        (names + "/" + names.replace("P", "Quite-long-"), "at most 32,000"),
    ):
        (tmp_path / "segments.csv").write_text(f"{head}{bad},1,device,camera\n")
        assert fragment in refused(tmp_path, catalog)


@pytest.mark.skipif(os.name == "nt", reason="names of POSIX")
def test_a_name_of_several_lines_is_told_on_one(tmp_path, catalog):
    """Else it could hold a line of a report."""
    folder = tmp_path / "north\nmast: pass\x1b[31m"
    folder.mkdir()
    (folder / "segments.csv").write_text("path,step,kind,part\na,1,device,camera\n")
    assert read_design(folder, catalog).name == "north mast: pass [31m"


def test_two_sites_at_one_place_say_so(tmp_path, catalog):
    (tmp_path / "segments.csv").write_text("path,step,kind,part,site\na,1,device,camera,A\n")
    (tmp_path / "sites.csv").write_text("site,latitude,longitude\nA,51,-20\nB,51,-20\n")
    (note,) = read_design(tmp_path, catalog).notes
    assert "'A' and 'B' are at one place" in note.message and note.where == "sites.csv:3 latitude"
