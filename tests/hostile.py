"""Files that nobody should be able to hurt the reader with, made on the spot."""

import re
import zipfile
from collections.abc import Iterator

from hostile_parts import (
    LINKS,
    MOST_LINES,
    MOST_ROWS,
    SHEET,
    as_utf16,
    bomb,
    encrypted_flag,
    flipped,
    lying_size,
    many_sheets,
    of_sheet,
    other_method,
    packed,
    parts_of,
    replaced,
    rows_xml,
    sheet,
    twice,
    unknown_method,
    with_doctype,
)


def heavy_books(good: bytes) -> Iterator[tuple[str, bytes, tuple[str, ...]]]:
    """Books that cost a careless reader time or memory."""
    yield "bzip2", other_method(good, zipfile.ZIP_BZIP2, 20), ("packed in another way",)
    yield "lzma", other_method(good, zipfile.ZIP_LZMA, 20), ("packed in another way",)
    for name, mark in (
        ("comment", b"<!--" + b"x" * 5_000_000 + b"-->"),
        ("comment of marks", b"<!--" + (b"<" + b"x" * 999) * 5000 + b"-->"),
        ("attribute", b'<row r="' + b"1" * 5_000_000 + b'"/>'),
        ("name", b"<" + b"x" * 5_000_000 + b"/>"),
        ("instruction", b"<?x " + b"y" * 5_000_000 + b"?>"),
    ):
        yield f"huge {name}", replaced(good, SHEET, sheet(mark)), ("a mark of more than 2 MiB",)
    yield (
        "deep, hidden by comments",
        replaced(good, SHEET, sheet(b"<a><!--</a></a>-->" * 50_000)),
        ("within elements",),
    )
    yield (
        "deep, hidden by texts",
        replaced(good, SHEET, sheet(b"<a>/>" * 50_000)),
        ("within elements",),
    )
    yield (
        "a value a row, far out",
        replaced(
            good,
            SHEET,
            sheet(
                b"".join(
                    b'<row r="%d"><c r="IV%d"><v>1</v></c></row>' % (n, n) for n in range(1, 19_000)
                )
            ),
        ),
        ("more than 3,000,000 cells",),
    )
    yield "sheets of one name", many_sheets(good, 300), ("a second sheet 'segments'",)
    yield (
        "many merges",
        replaced(
            good,
            SHEET,
            lambda xml: xml.replace(
                b"</sheetData>",
                b"</sheetData><mergeCells>"
                + b"".join(b'<mergeCell ref="A%d:XFD%d"/>' % (n, n) for n in range(2, 40_000))
                + b"</mergeCells>",
            ),
        ),
        ("merged cells",),
    )


def books(good: bytes) -> Iterator[tuple[str, bytes, tuple[str, ...]]]:
    """Name, bytes of a .xlsx, and what the message must say."""
    yield "empty", b"", ("an empty file",)
    yield "blanks", b"  \n \n", ("an empty file",)
    yield "text", b"just some words", ("something else than a workbook",)
    yield "csv", b"path,step,kind,part\na,1,device,camera\n", ("perhaps a CSV", "name it .csv")
    yield "html", b"<html><table><tr><td>1</td></tr></table></html>", ("a web page",)
    yield "xml", b'\xef\xbb\xbf<?xml version="1.0"?><Workbook/>', ("an XML file",)
    yield "pdf", b"%PDF-1.7 ...", ("a PDF",)
    yield (
        "old workbook",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600),
        ("old workbook", "password"),
    )
    yield "not a workbook", packed({"a.txt": b"hello"}), ("a zip file that is no workbook",)
    yield "opendocument", packed({"mimetype": b"", "content.xml": b"<a/>"}), ("OpenDocument",)
    yield (
        "binary workbook",
        packed({"[Content_Types].xml": b"", "xl/workbook.bin": b""}),
        (".xlsb",),
    )
    yield "word", packed({"[Content_Types].xml": b"", "word/document.xml": b""}), ("text document",)
    yield "no parts", packed({"[Content_Types].xml": b""}), ("no part",)
    yield "truncated", good[: len(good) // 2], ("a damaged workbook",)
    yield "only the signature", b"PK\x03\x04", ("a damaged workbook",)
    yield "a part twice", twice(good), ("a damaged workbook (two parts of one name)",)
    for name, target in (
        ("a sheet elsewhere", b'TargetMode="External" Target="http://127.0.0.1/sheet1.xml"'),
        ("a sheet that is none", b'Target="workbook.xml"'),
        ("a sheet of another kind", b'Target="/xl/styles.xml"'),
    ):
        yield name, replaced(good, LINKS, of_sheet(target)), ("no cells behind the sheet",)
    yield "flipped bytes", flipped(good), ("a damaged workbook",)
    yield "password on the zip", encrypted_flag(good), ("password",)
    yield "unknown compression", unknown_method(good), ("packed in another way",)
    yield from heavy_books(good)
    yield "zip bomb", bomb(good, 170), ("unpacks to", "at most 160 MiB")
    yield "zip bomb that lies", lying_size(good, 20), ("a damaged workbook",)
    yield "many parts", packed({f"x{n}": b"" for n in range(6000)} | parts_of(good)), ("parts",)
    yield "doctype", replaced(good, SHEET, with_doctype), ("a DOCTYPE",)
    yield "doctype in workbook", replaced(good, "xl/workbook.xml", with_doctype), ("a DOCTYPE",)
    yield "utf-16 part", replaced(good, SHEET, as_utf16), ("UTF-16",)
    yield (
        "latin-1 part",
        replaced(
            good,
            SHEET,
            lambda xml: (
                b'<?xml version="1.0" encoding="ISO-8859-1"?>'
                + re.sub(rb"^<\?xml[^>]*\?>", b"", xml)
            ),
        ),
        ("the encoding ISO-8859-1",),
    )
    yield "broken xml", replaced(good, SHEET, lambda xml: xml[:-30]), ("a damaged workbook",)
    yield "deep xml", replaced(good, SHEET, rows_xml("<a>" * 200_000)), ("within elements",)
    yield (
        "far cell",
        replaced(good, SHEET, rows_xml('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')),
        ("row 1048576, column 16384", "at most 256 columns"),
    )
    yield (
        "column of many letters",
        replaced(good, SHEET, rows_xml(f'<row r="90"><c r="{"Z" * 3000}90"><v>1</v></c></row>')),
        ("a damaged workbook",),
    )
    yield (
        "row number with many digits",
        replaced(good, SHEET, rows_xml(f'<row r="{"9" * 6000}"><c r="A90"><v>1</v></c></row>')),
        ("a damaged workbook",),
    )
    yield (
        "rows out of order",
        replaced(good, SHEET, rows_xml('<row r="2"><c r="A2"><v>1</v></c></row>')),
        ("rows out of order",),
    )
    yield (
        "a number that is none",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="A90"><v>twelve</v></c></row>')),
        ("a damaged workbook",),
    )
    yield (
        "a text that is not there",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="A90" t="s"><v>99999</v></c></row>')),
        ("a damaged workbook",),
    )
    yield (
        "a text before the first",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="A90" t="s"><v>-1</v></c></row>')),
        ("a damaged workbook",),
    )
    yield (
        "many rows",
        replaced(
            good,
            SHEET,
            rows_xml(
                "".join(
                    f'<row r="{n}"><c r="A{n}"><v>1</v></c></row>'
                    for n in range(100, 100 + MOST_ROWS)
                )
            ),
        ),
        (f"more than {MOST_ROWS:,} rows",),
    )
    yield (
        "very many empty cells",
        replaced(good, SHEET, rows_xml("<c/>" * 5_100_000)),
        ("more than 5,000,000 marks", "only formatted"),
    )
    yield (
        "a cell of a million letters",
        replaced(good, SHEET, rows_xml(f'<row><c t="str"><v>{"x" * 10**6}</v></c></row>')),
        ("more than 100,000 letters",),
    )
    yield (
        "a text in very many pieces",
        replaced(
            good,
            SHEET,
            rows_xml(f'<row><c t="inlineStr"><is>{"<r><t>xy</t></r>" * 60_000}</is></c></row>'),
        ),
        ("more than 100,000 letters",),
    )
    yield (
        "merged cells",
        replaced(
            good,
            SHEET,
            lambda xml: xml.replace(
                b"</sheetData>", b'</sheetData><mergeCells><mergeCell ref="C2:C4"/></mergeCells>'
            ),
        ),
        ("segments!C2:C4: found merged cells", "unmerge"),
    )
    yield (
        "an error value",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="A90" t="e"><v>#REF!</v></c></row>')),
        ("segments!A90: found the error #REF!",),
    )
    yield (
        "a formula without a value",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="B90"><f>1+1</f></c></row>')),
        ("segments!B90: found the formula '=1+1' without a value", "save it"),
    )
    yield (
        "an external link without a value",
        replaced(good, SHEET, rows_xml('<row r="90"><c r="B90"><f>[1]S!A1</f></c></row>')),
        ("segments!B90: found the formula '=[1]S!A1' without a value",),
    )


def csvs() -> Iterator[tuple[str, bytes, tuple[str, ...]]]:
    """Name, bytes of a .csv, and what the message must say."""
    good = b"path,step,kind,part\na,1,device,camera\n"
    yield "empty", b"", ("an empty file",)
    yield "blanks", b" \n\n ", ("an empty file",)
    yield "only separators", b",,,,\n,,,,\n", ("nothing but blanks",)
    yield "a byte order mark alone", b"\xef\xbb\xbf", ("an empty file",)
    yield "zip", packed({"a": b"b"}), ("a zip file or a workbook",)
    yield "old workbook", b"\xd0\xcf\x11\xe0" + bytes(100), ("an old workbook",)
    yield "NUL", good + b"a,2,device,cam\0era\n", ("segments.csv:3: found a NUL byte",)
    yield "zeros", bytes(5001), ("a NUL byte",)
    yield "odd utf-16", "path,step".encode("utf-16") + b"x", ("a NUL byte",)
    yield "no encoding", good + b"\x81\x8d\x8f\xff", ("no usual encoding",)
    yield "open quote", good + b'a,2,device,"camera\n', ("never closed",)
    yield "text after a quote", good + b'a,2,device,"cam"era\n', ("after a closing quotation mark",)
    yield "huge cell", good + b'a,2,device,"' + b"x" * 300_000 + b'"\n', ("over 100,000 letters",)
    yield "huge name", good + b"a,2,device," + b"x" * 120_000 + b"\n", ("120,000 letters",)
    yield "many columns", b"path,step,kind,part" + b",x" * 70_000 + b"\n", ("70,004 columns",)
    rows = (b"a" + b"," * 243 + b"\n") * 17_000
    yield (
        "many cells",
        b"path,step,kind,part" + b",x" * 240 + b"\n" + rows,
        ("cells", "at most 3,000,000"),
    )
    yield "many rows", good + b"a,1,device,camera\n" * MOST_ROWS, (f"more than {MOST_ROWS:,} rows",)
    yield "one head", b"path\na\n", ("no column 'step'", "no column 'kind'", "no column 'part'")
    yield "heads only", b"path,step,kind,part\n", ("no segments below the heads",)
    yield "no heads", b"1,2,3,4\n5,6,7,8\n", ("no heads in the first 20 rows",)
    yield (
        "head twice",
        b"path,step,kind,part,Part \na,1,device,camera,camera\n",
        ("the head 'Part ' again, first at segments.csv:1 column 4",),
    )
    yield (
        "other unit",
        b"path,step,kind,part,Length (km)\na,1,device,camera,3\n",
        ("the head 'Length (km)'; needed the head 'length_m'",),
    )
    yield "no unit", b"path,step,kind,part,height\na,1,device,camera,3\n", ("'height_m'",)
    yield "binary", bytes(range(256)) * 20, ("found",)
    yield "blank lines", good + b"\n" * 90_000, (f"more than {MOST_LINES:,} lines",)
    yield "one line of commas", good + b"," * 2_000_000, ("a line of over 1,024,000 letters",)
    yield "a very large file", good + b"a,2,device,camera\n" * 2_000_000, ("more than 32 MiB",)
    yield "an endless text", good + b'a,2,device,"' + b"x\n" * 200_000, ("over 100,000 letters",)
