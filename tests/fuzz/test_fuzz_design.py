"""Whatever stands in a table or a file: a design or an `InputError`, never anything else.

The strategies are of our own making; nothing here has a right answer but "no traceback, soon".
"""

import csv
import io
import os
import zipfile
from datetime import timedelta
from xml.sax.saxutils import escape

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from backhaul.catalog import load_catalog
from backhaul.design.blank_example import EXAMPLE
from backhaul.design.columns import TABLES
from backhaul.design.model import Design
from backhaul.design.read import read_design
from backhaul.design.settings import SETTINGS
from backhaul.errors import InputError

FUZZ = settings(
    max_examples=int(os.environ.get("FUZZ_EXAMPLES", "150")),
    deadline=timedelta(seconds=5),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
HEADS = {name: [column.name for column in columns] for name, columns in TABLES.items()}
HEADS["project"] = ["setting", "value"]
NASTY = (
    "",
    " ",
    "-",
    "n/a",
    "1,250",
    "12,5",
    "1.250,5",
    "96 m",
    "10 %",
    "6-May",
    "2026-05-06",
    "5/6",
    "#REF!",
    "=1+1",
    "TRUE",
    "inf",
    "nan",
    "1e400",
    "-0",
    "1_0",
    "１２",
    "1/1",
    "1-2",
    "\x00",
    "\x07",
    "\ufeff",
    "\u202e",
    "\ud7ff",
    "😀" * 30,
    "a\nb",
    '"',
    "'",
    ";",
    "/",
    "+",
    ",",
    "\t",
    "x" * 250,
    "9" * 70,
    "fibre",
    "Fiber",
    "radio",
    "device",
    "1000BASE-LX10",
    "os2-12",
    "crest-cable",
    "tower",
    "tower-hop",
    "Works",
    "Crest",
    "Tower",
    "sea",
    "yes",
    "VH",
    "existing",
    "CEPT",
)
numbers = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False), st.integers(-10, 40).map(float)
)
texts = st.one_of(
    st.sampled_from(NASTY), st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
)
cells = st.one_of(st.none(), texts, numbers, st.booleans())


@st.composite
def damaged_tables(draw):
    """The example with any cell in any place, rows and columns lost or doubled."""
    tables = {name: [dict(row) for row in rows] for name, rows in EXAMPLE.items()}
    for name in draw(st.sets(st.sampled_from(sorted(tables)), min_size=1, max_size=3)):
        rows = tables[name]
        for _ in range(draw(st.integers(1, 4))):
            row = draw(st.integers(0, len(rows) - 1))
            what = draw(st.sampled_from(("cell", "cell", "cell", "drop", "double", "swap")))
            if what == "cell":
                heads = [*HEADS[name], "colour", "Length (ft)", "KIND "]
                rows[row][draw(st.sampled_from(heads))] = draw(cells)
            elif what == "drop" and len(rows) > 1:
                del rows[row]
            elif what == "double":
                rows.insert(row, dict(rows[row]))
            else:
                other = draw(st.integers(0, len(rows) - 1))
                rows[row], rows[other] = rows[other], rows[row]
    if draw(st.booleans()):
        setting = draw(st.sampled_from(SETTINGS)).name
        tables["project"].append({"setting": setting, "value": draw(cells)})
    for name in draw(st.sets(st.sampled_from(sorted(set(tables) - {"segments"})), max_size=2)):
        del tables[name]
    return tables


def heads_of(rows):
    return list(dict.fromkeys(name for row in rows for name in row))


def csv_bytes(rows, separator=",") -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    heads = heads_of(rows)
    writer.writerow(heads)
    writer.writerows([row.get(head) for head in heads] for row in rows)
    return out.getvalue().encode("utf-8", "replace")


def cell_xml(value) -> str:
    if value is None:
        return "<c/>"
    if isinstance(value, bool):
        return f'<c t="b"><v>{int(value)}</v></c>'
    if isinstance(value, (int, float)):
        return f"<c><v>{value!r}</v></c>"
    text = "".join(sign for sign in value if sign >= " " and sign not in "\ufffe\uffff")
    return f'<c t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'


def book_parts(tables) -> dict[str, bytes]:
    """The least workbook that holds the tables."""
    relation = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    sheets, links, parts = "", "", {"[Content_Types].xml": b"<Types/>"}
    for number, (name, rows) in enumerate(tables.items(), start=1):
        sheets += f'<sheet name="{name}" sheetId="{number}" r:id="r{number}"/>'
        links += (
            f'<Relationship Id="r{number}" Type="{relation}/worksheet" '
            f'Target="worksheets/s{number}.xml"/>'
        )
        heads = heads_of(rows)
        grid = [heads] + [[row.get(head) for head in heads] for row in rows]
        body = "".join(f"<row>{''.join(map(cell_xml, row))}</row>" for row in grid)
        sheet = f"<worksheet><sheetData>{body}</sheetData></worksheet>"
        parts[f"xl/worksheets/s{number}.xml"] = sheet.encode()
    parts["xl/workbook.xml"] = (
        f'<workbook xmlns:r="{relation}"><sheets>{sheets}</sheets></workbook>'.encode()
    )
    parts["xl/_rels/workbook.xml.rels"] = f"<Relationships>{links}</Relationships>".encode()
    return parts


def packed(parts) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            package.writestr(name, content)
    return out.getvalue()


@pytest.fixture(scope="module")
def parts():
    return load_catalog()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("fuzz")


def read_or_refuse(source, parts):
    """A design or a refusal whose every problem says where, what was found and what is needed."""
    try:
        design = read_design(source, parts)
    except InputError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.where and problem.found and problem.needed
            assert len(str(problem)) < 2000 and "\n" not in str(problem)
        return None
    assert isinstance(design, Design) and design.segments and len(design.digest) == 16
    return design


def write(folder, name, data):
    source = folder / name
    source.write_bytes(data)
    return source


def test_the_example_in_this_files_forms(folder, parts):
    """The fuzzing starts from designs that read."""
    book = read_or_refuse(write(folder, "a.xlsx", packed(book_parts(EXAMPLE))), parts)
    alone = read_or_refuse(write(folder, "segments.csv", csv_bytes(EXAMPLE["segments"])), parts)
    assert len(book.segments) == len(alone.segments) == len(EXAMPLE["segments"])


@FUZZ
@given(tables=damaged_tables(), separator=st.sampled_from(",;\t"))
def test_any_cell_anywhere(folder, parts, tables, separator):
    """As a folder of CSVs and as a workbook."""
    for name in HEADS:
        (folder / f"{name}.csv").unlink(missing_ok=True)
    for name, rows in tables.items():
        write(folder, f"{name}.csv", csv_bytes(rows, separator))
    read_or_refuse(folder, parts)
    read_or_refuse(write(folder, "a.xlsx", packed(book_parts(tables))), parts)


@FUZZ
@given(
    rows=st.lists(st.lists(cells, max_size=6), max_size=6),
    heads=st.permutations(["path", "step", "kind", "part", "length_m", "label"]),
)
def test_any_table(folder, parts, rows, heads):
    rows = [dict(zip(heads, row)) for row in [*rows, [None] * 6]]
    read_or_refuse(write(folder, "segments.csv", csv_bytes(rows)), parts)
    read_or_refuse(write(folder, "a.xlsx", packed(book_parts({"segments": rows}))), parts)


@st.composite
def damage(draw):
    """A few changes to some bytes: where (as a share), what, how many."""
    return draw(
        st.lists(
            st.tuples(
                st.floats(0, 1),
                st.sampled_from(("set", "cut", "insert", "repeat")),
                st.binary(min_size=1, max_size=8),
                st.integers(1, 64),
            ),
            min_size=1,
            max_size=4,
        )
    )


def damaged(data: bytes, changes) -> bytes:
    for share, what, piece, count in changes:
        place = int(share * len(data))
        if what == "set":
            data = data[:place] + piece + data[place + len(piece) :]
        elif what == "cut":
            data = data[:place] + data[place + count :]
        elif what == "insert":
            data = data[:place] + piece + data[place:]
        else:
            data = data[:place] + data[place : place + 40] * count + data[place:]
    return data


@FUZZ
@given(changes=damage())
def test_damaged_csv(folder, parts, changes):
    data = csv_bytes(EXAMPLE["segments"])
    read_or_refuse(write(folder, "segments.csv", damaged(data, changes)), parts)


@FUZZ
@given(changes=damage())
def test_damaged_package(folder, parts, changes):
    data = packed(book_parts(EXAMPLE))
    read_or_refuse(write(folder, "a.xlsx", damaged(data, changes)), parts)


@FUZZ
@given(changes=damage(), part=st.sampled_from(sorted(book_parts(EXAMPLE))))
def test_damaged_part(folder, parts, changes, part):
    content = book_parts(EXAMPLE)
    content[part] = damaged(content[part], changes)
    read_or_refuse(write(folder, "a.xlsx", packed(content)), parts)


@FUZZ
@given(
    data=st.binary(max_size=300),
    start=st.sampled_from((b"", b"PK\x03\x04", b"\xff\xfe", b"a,")),
)
def test_any_bytes(folder, parts, data, start):
    for name in ("any.xlsx", "any.csv"):
        read_or_refuse(write(folder, name, start + data), parts)


PIECES = (
    "<row>",
    "</row>",
    "<c>",
    "</c>",
    '<c t="s">',
    '<c r="ZZ9">',
    "<v>",
    "</v>",
    "<f>",
    "</f>",
    "<is>",
    "</is>",
    "<t>",
    "</t>",
    "1",
    "-1",
    "x",
    '<c t="e">',
    '<c s="1">',
    "<rPh>",
    "</rPh>",
    '<row r="3" hidden="1">',
    '<mergeCell ref="A1:B2"/>',
    "<![CDATA[<]]>",
    "<!-- -->",
    "&amp;",
    '<c t="d">',
    '<row r="-1">',
    '<c r="9A">',
    "<x:c/>",
    '<mergeCell ref="ZZZ1:A9999999"/>',
)


@FUZZ
@given(pieces=st.lists(st.sampled_from(PIECES), max_size=30))
def test_any_order_of_elements(folder, parts, pieces):
    content = book_parts({"segments": EXAMPLE["segments"]})
    name = "xl/worksheets/s1.xml"
    added = "".join(pieces).encode() + b"</sheetData>"
    content[name] = content[name].replace(b"</sheetData>", added)
    read_or_refuse(write(folder, "a.xlsx", packed(content)), parts)
