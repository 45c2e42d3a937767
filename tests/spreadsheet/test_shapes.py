"""Pictures of shapes: elements in the order of the schema, ids unique, any text, the same bytes.

Orders of elements: ECMA-376, part 1, annex A, complex types named beside each (from memory, held
against openpyxl's reader of the same parts).
"""

import xml.etree.ElementTree as tree
from datetime import datetime
from io import BytesIO
from itertools import pairwise
from zipfile import ZipFile

import openpyxl
import pytest
from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing

from backhaul.spreadsheet.charts import Axis, BarsChart, Series
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.shapes import Area, Box, Line, Picture, Words
from backhaul.spreadsheet.writer import write_book

A = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
X = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"
#: Children in their order, by parent.
ORDERS = {
    f"{X}twoCellAnchor": ("from", "to", "sp", "grpSp", "graphicFrame", "cxnSp", "clientData"),
    f"{X}grpSp": ("nvGrpSpPr", "grpSpPr", "sp", "cxnSp"),  # CT_GroupShape, its shapes in any
    f"{X}sp": ("nvSpPr", "spPr", "style", "txBody"),  # CT_Shape
    f"{X}cxnSp": ("nvCxnSpPr", "spPr", "style"),  # CT_Connector
    f"{X}spPr": ("xfrm", "custGeom", "prstGeom", "noFill", "solidFill", "ln"),  # CT_ShapeProperties
    f"{X}txBody": ("bodyPr", "lstStyle", "p"),  # CT_TextBody
    f"{A}xfrm": ("off", "ext", "chOff", "chExt"),  # CT_GroupTransform2D
    f"{A}ln": ("noFill", "solidFill", "prstDash", "custDash", "round"),  # CT_LineProperties
    f"{A}custGeom": ("avLst", "gdLst", "ahLst", "cxnLst", "rect", "pathLst"),  # CT_CustomGeometry2D
    f"{A}path": ("moveTo", "lnTo", "close"),  # CT_Path2D
    f"{A}p": ("pPr", "r"),  # CT_TextParagraph
    f"{A}r": ("rPr", "t"),  # CT_RegularTextRun
    f"{A}rPr": ("ln", "solidFill", "latin"),  # CT_TextCharacterProperties
}
HOSTILE = [
    'a "quoted" <b> & {brace} }{',
    "tab\tand\nline\x00\x0b\ufffe\ud800end",
    "x" * 255,
    "=1+1",
    "]]>",
    "Ü—λ 漢",
]
SHAPES = [
    Line([(0, 0), (10, 0)], "14788C", 1.5, None, 2),
    Line([(0, 9), (10, 3)], "14788C", 1.5, (4, 2), 2),
    Line([(0, 5), (4, 5), (4, 5), (9, 5)], "14788C", 0.7, (2, 2), 2),  # level all along
    Line([(3, 3), (3, 3)], "000000", 0.7, None, 2),  # a point
    Area([(1, 1), (4, 5), (2, 6)], "E7B75A", "", 0.7, 0.3, 3),
    Area([(1, 1), (4, 1), (2, 1)], "", "22323A", 0.9, None, 3),  # flat
    Box(1, 1, 8, 4, "FFFFFF", "22323A", 0.7, 0.8, True, 1),
    Box(1, 1, 2, 2, "", "22323A", 0.7, 1.0, False, 1),  # a ring
    *(
        Words(5, n, text, 5.0, "000000", n % 2 == 0, align, 5)
        for n, (text, align) in enumerate(
            zip(HOSTILE, ("left", "center", "right") * 2, strict=True), 1
        )
    ),
]


def book(shapes=SHAPES, name="A picture", said="what it shows", rows=()) -> Book:
    sheet = Sheet("Here", "Title", [20] * 4)
    sheet.table(rows or [("one", 1.0), ("two", 2.0)])
    sheet.picture(Picture(120, 30, shapes, name, said, 1.4))
    names, values = (sheet.range(column, 2, 3) for column in (1, 2))
    sheet.chart(BarsChart("Bars", names, [Series("bars", values)], Axis("m"), "bars"))
    sheet.picture(Picture(60, 10, shapes[:1], name, "", 1.0))
    plain = Sheet("There", "Without", [20] * 4)
    alone = Sheet("Alone", "Only a picture", [20] * 4)
    alone.picture(Picture(60, 10, shapes[:1], name, "", 1.0))
    return Book([sheet, plain, alone], "Title", datetime(2026, 1, 1))


@pytest.fixture(scope="module")
def data() -> bytes:
    return write_book(book())


def drawings(data: bytes) -> list[tree.Element]:
    with ZipFile(BytesIO(data)) as parts:
        names = sorted(name for name in parts.namelist() if name.startswith("xl/drawings/drawing"))
        return [tree.fromstring(parts.read(name)) for name in names]


def local(element: tree.Element) -> str:
    return element.tag.partition("}")[2]


def test_elements_stand_in_the_order_of_the_schema(data):
    for drawing in drawings(data):
        for parent in drawing.iter():
            order = ORDERS.get(parent.tag)
            if order is None:
                continue
            places = [order.index(local(child)) for child in parent]
            if parent.tag == f"{X}grpSp":
                places = [min(place, 2) for place in places]
            assert places == sorted(places), (parent.tag, [local(child) for child in parent])


def test_every_id_is_used_once(data):
    for drawing in drawings(data):
        ids = [int(each.get("id")) for each in drawing.iter(f"{X}cNvPr")]
        assert len(ids) == len(set(ids)) and min(ids) >= 1
        assert all(each.get("name") for each in drawing.iter(f"{X}cNvPr"))


def test_another_reader_takes_them(data):
    """openpyxl knows each element and attribute of the parts, and refuses others."""
    for drawing in drawings(data):
        SpreadsheetDrawing.from_tree(drawing)
    openpyxl.load_workbook(BytesIO(data))


def test_parts_are_named_where_they_belong(data):
    with ZipFile(BytesIO(data)) as parts:
        names = parts.namelist()
        types = parts.read("[Content_Types].xml").decode()
        assert [n for n in names if n.startswith("xl/drawings/")] == [
            "xl/drawings/drawing1.xml",
            "xl/drawings/_rels/drawing1.xml.rels",  # of the chart; a picture needs none
            "xl/drawings/drawing2.xml",
        ]
        assert all(f'"/xl/drawings/drawing{n}.xml"' in types for n in (1, 2))
        assert "<drawing" in parts.read("xl/worksheets/sheet3.xml").decode()
        assert "<drawing" not in parts.read("xl/worksheets/sheet2.xml").decode()


def test_a_picture_fills_its_row_and_all_columns(data):
    first = drawings(data)[0]
    anchors = [each for each in first if each.find(f"{X}grpSp") is not None]
    corners = [
        tuple(int(anchor.find(f"{X}{corner}/{X}{what}").text) for what in ("col", "row"))
        for anchor in anchors
        for corner in ("from", "to")
    ]
    sheet = openpyxl.load_workbook(BytesIO(data))["Here"]
    # title, two rows, the picture in row 4; 16 rows of a chart; the second picture
    assert corners == [(0, 3), (4, 4), (0, 20), (4, 21)]
    assert sheet.row_dimensions[4].height == pytest.approx(30 * 1.4 * 72 / 25.4, abs=0.1)


def test_words_are_whole_legal_and_in_their_order(data):
    (picture, *_) = drawings(data)[0].iter(f"{X}grpSp")
    said = [each.text for each in picture.iter(f"{A}t")]
    assert said == [
        'a "quoted" <b> & {brace} }{',
        "tab and line end",
        "x" * 255,
        "=1+1",
        "]]>",
        "Ü—λ 漢",
    ]
    assert {each.get("sz") for each in picture.iter(f"{A}rPr")} == {"700"}  # 5 pt, 1.4 times
    kinds = [child.find(f"{X}nvSpPr/{X}cNvSpPr") for child in picture if local(child) == "sp"]
    assert [kind.get("txBox") for kind in kinds][-6:] == ["1"] * 6  # words cover all else


def test_lines_run_as_drawn(data):
    """A rising line is turned over; a form of more points keeps them all, in its own measure."""
    (picture, *_) = drawings(data)[0].iter(f"{X}grpSp")
    flips = [each.find(f"{X}spPr/{A}xfrm").get("flipV") for each in picture.iter(f"{X}cxnSp")]
    assert flips.count("1") == 1
    for shape in picture.iter(f"{X}sp"):
        path = shape.find(f"{X}spPr/{A}custGeom/{A}pathLst/{A}path")
        if path is not None:
            ext = shape.find(f"{X}spPr/{A}xfrm/{A}ext")
            assert (path.get("w"), path.get("h")) == (ext.get("cx"), ext.get("cy"))
            assert int(path.get("w")) > 0 and int(path.get("h")) > 0
            points = [(int(each.get("x")), int(each.get("y"))) for each in path.iter(f"{A}pt")]
            assert all(a != b for a, b in pairwise(points))
            assert all(0 <= x <= int(path.get("w")) for x, _ in points)


@pytest.mark.parametrize("name", HOSTILE)
def test_any_name_and_words_for_those_who_do_not_see_it(name):
    (picture, *_) = drawings(write_book(book(name=name, said=name)))[0].iter(f"{X}grpSp")
    head = picture.find(f"{X}nvGrpSpPr/{X}cNvPr")
    wanted = "tab and line end" if "tab" in name else name
    assert head.get("name") == head.get("descr") == wanted


def test_the_same_bytes_again(data):
    assert write_book(book()) == data
