"""The file as a whole: order of elements, same bytes, page set-up, rules, styles."""

import subprocess
import sys
import xml.etree.ElementTree as tree
from datetime import datetime
from io import BytesIO
from zipfile import ZipFile

import openpyxl
import pytest

from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.styles import CALC_FILL, INPUT_FILL, INPUT_INK
from backhaul.spreadsheet.writer import write_book

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
# ECMA-376 part 1, 18.3.1.99 (CT_Worksheet), from memory: the order that programs insist on.
ORDER = [
    "sheetPr",
    "dimension",
    "sheetViews",
    "sheetFormatPr",
    "cols",
    "sheetData",
    "sheetCalcPr",
    "sheetProtection",
    "protectedRanges",
    "scenarios",
    "autoFilter",
    "sortState",
    "dataConsolidate",
    "customSheetViews",
    "mergeCells",
    "phoneticPr",
    "conditionalFormatting",
    "dataValidations",
    "hyperlinks",
    "printOptions",
    "pageMargins",
    "pageSetup",
    "headerFooter",
    "rowBreaks",
    "colBreaks",
    "customProperties",
    "cellWatches",
    "ignoredErrors",
    "smartTags",
    "drawing",
    "legacyDrawing",
    "tableParts",
]


@pytest.fixture(scope="module")
def book(data):
    return openpyxl.load_workbook(BytesIO(data))


@pytest.fixture(scope="module")
def parts(data):
    with ZipFile(BytesIO(data)) as archive:
        assert archive.testzip() is None
        assert len(set(archive.namelist())) == len(archive.namelist())
        return {name: archive.read(name) for name in archive.namelist()}


def test_same_input_same_bytes(make_book, data):
    assert write_book(make_book()) == data
    assert write_book(make_book(revision="C")) != data


def test_the_clock_leaves_no_trace(data):
    with ZipFile(BytesIO(data)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    properties = openpyxl.load_workbook(BytesIO(data)).properties
    assert properties.created == properties.modified == datetime(2026, 3, 1, 12)
    assert (properties.title, properties.creator) == ("Crest & tower", "A. Engineer")


def test_every_part_is_xml_and_declared(parts):
    for name, content in parts.items():
        tree.fromstring(content)
        assert name == "[Content_Types].xml" or name.endswith((".rels", ".xml"))
    types = tree.fromstring(parts["[Content_Types].xml"])
    declared = {override.get("PartName") for override in types if override.get("PartName")}
    assert declared <= {"/" + name for name in parts}
    assert "/xl/sharedStrings.xml" in declared


def test_elements_of_a_sheet_in_order(parts):
    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            tags = [element.tag.removeprefix(MAIN) for element in tree.fromstring(parts[name])]
            assert tags == sorted(tags, key=ORDER.index), name


def test_dimension_holds_every_cell(parts):
    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            sheet = tree.fromstring(parts[name])
            left, top, right, bottom = openpyxl.utils.range_boundaries(
                sheet.find(f"{MAIN}dimension").get("ref")
            )
            assert (left, top) == (1, 1)
            for cell in sheet.iter(f"{MAIN}c"):
                row, column = openpyxl.utils.cell.coordinate_to_tuple(cell.get("r"))
                assert row <= bottom
                assert column <= right


def test_links_stay_inside(parts, book):
    assert not any(b'TargetMode="External"' in content for content in parts.values())
    locations = [
        cell.hyperlink.location for row in book["Owner's light"] for cell in row if cell.hyperlink
    ]
    assert locations == ["Givens!B3", "Givens!B5", "Givens!B7", "Givens!A1"]


def test_page(book):
    light, inputs, charts = book.worksheets
    assert light.page_setup.orientation == "landscape"
    assert inputs.page_setup.orientation == "portrait"
    assert all(sheet.page_setup.paperSize == 9 for sheet in book)
    assert all(sheet.sheet_properties.pageSetUpPr.fitToPage for sheet in book)
    assert (light.page_setup.fitToHeight, charts.page_setup.fitToHeight) == (0, 1)
    assert light.print_title_rows == "$3:$3"
    assert inputs.freeze_panes == "B3"
    assert light.oddHeader.left.text == "Crest && tower"
    assert light.oddHeader.right.text == "Revision B · 2026-03-01"
    assert light.oddFooter.right.text == "Page &P of &N"
    assert [brk.id for brk in light.row_breaks.brk] == [light.max_row]
    assert not any(sheet.protection.sheet for sheet in book)


def test_helpers_are_not_printed(book):
    charts = book["Charts"]
    assert charts.print_area == "'Charts'!$A$1:$E$65"
    assert charts["G1"].value == "Margins"


def test_rows_grow_with_their_text(book):
    light = book["Owner's light"]
    heights = {row: light.row_dimensions[row].height for row in (5, 10)}
    assert heights[5] is None
    assert heights[10] > 40  # 376 characters across 86 of width: five lines


def test_verdict_words_have_colours(book):
    light = book["Owner's light"]
    words = {
        rule.formula[0].strip('"')
        for area in light.conditional_formatting
        for rule in area.rules
        if "C4" in area.sqref
    }
    assert {"pass", "thin", "fail", "OK", "yes", "with care", "not yet"} <= words


def test_colours_of_inputs_and_results(book):
    inputs, light = book["Givens"], book["Owner's light"]
    assert inputs["B3"].fill.fgColor.rgb.endswith(INPUT_FILL)
    assert inputs["B3"].font.color.rgb.endswith(INPUT_INK)
    assert light["B4"].fill.fgColor.rgb.endswith(CALC_FILL)
    assert light["A4"].fill.fill_type is None
    assert light["B4"].number_format == '0.00" dB"'


def test_rules_of_inputs(book):
    rules = {str(rule.sqref): rule for rule in book["Givens"].data_validations.dataValidation}
    budget = rules["B3 B5 B7"]
    assert (budget.type, budget.operator) == ("decimal", "between")
    assert (budget.formula1, budget.formula2, budget.prompt) == ("0", "60", "Data sheet")
    assert rules["B10"].formula1 == "Givens!$A$15:$A$17"


def test_defined_name(book):
    assert book.defined_names["margin_sum_db"].attr_text == "'Owner''s light'!$B$7"


def test_header_text_is_literal_and_short():
    sheet = Sheet("S", "x", [10])
    book = Book([sheet], "&P " * 60, datetime(2026, 1, 1), footer="24 & 7")
    read = openpyxl.load_workbook(BytesIO(write_book(book)))["S"]
    assert read.oddHeader.left.text.startswith("&&P &&P")
    assert read.oddFooter.center.text == "24 && 7"
    header = str(read.HeaderFooter.oddHeader)
    assert len(header) <= 255


def test_openpyxl_is_imported_only_when_writing():
    code = (
        "import sys, backhaul.spreadsheet.writer, backhaul.spreadsheet.charts\n"
        "print(sorted(name for name in sys.modules if name in ('openpyxl', 'pandas', 'numpy')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "openpyxl" not in done.stdout
    assert "pandas" not in done.stdout
