"""The finished file: our rows put into openpyxl's parts, the same bytes for the same input."""

import re
from collections.abc import Sequence
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo
from zlib import decompress

from backhaul.errors import OutputError
from backhaul.spreadsheet.chart_parts import chart_part
from backhaul.spreadsheet.chart_xml import attribute
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.drawing_part import RELATIONS, drawing_part, relations
from backhaul.spreadsheet.grid import Book
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.sheet_data import SheetData, clean, escape

_FIXED_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can say
_REGULAR_FILE = 0o644 << 16
_UNIX = 3
_ROWS = re.compile(r"<sheetData\s*/>|<sheetData>\s*</sheetData>")
_DIMENSION = re.compile(r'<dimension ref="[^"]*"')
# What may follow <mergeCells> and <hyperlinks>, in the order of CT_Worksheet (18.3.1.99).
_AFTER_MERGED = re.compile(r"<(?:conditionalFormatting|dataValidations|printOptions|pageMargins)\b")
_AFTER_LINKS = re.compile(r"<(?:printOptions|pageMargins)\b")
_SHEET_PART = re.compile(r"xl/worksheets/sheet(\d+)\.xml")
_TEXTS_PART = "xl/sharedStrings.xml"
_TEXTS_TYPE = (
    '<Override PartName="/xl/sharedStrings.xml" ContentType='
    '"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
)
_TEXTS_RELATION = (
    '<Relationship Id="rIdTexts" Target="/xl/sharedStrings.xml" Type='
    '"http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"/>'
)
_XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def finish(
    skeleton: bytes, book: Book, sheets: Sequence[SheetData], texts: str, layout: Layout
) -> bytes:
    """Put rows, texts, properties and charts into the parts that openpyxl made."""
    drawn = [
        number for number, sheet in enumerate(book.sheets, 1) if sheet.charts or sheet.pictures
    ]
    charts = sum(len(sheet.charts) for sheet in book.sheets)
    out = BytesIO()
    filled = 0
    with ZipFile(BytesIO(skeleton)) as source, ZipFile(out, "w", ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name).decode()
            if match := _SHEET_PART.fullmatch(name):
                number = int(match[1])
                content = _tied(content, number in drawn)
                _write_rows(target, name, content, sheets[number - 1])
                filled += 1
                continue
            if name == "docProps/core.xml":
                content = _core(book)
            elif name == "docProps/app.xml":
                content = _app()
            elif name == "[Content_Types].xml":
                types = _TEXTS_TYPE + _drawing_types(len(drawn), charts)
                content = _appended(content, types, "</Types>")
            elif name == "xl/_rels/workbook.xml.rels":
                content = _appended(content, _TEXTS_RELATION, "</Relationships>")
            _write(target, name, content)
        _write(target, _TEXTS_PART, texts)
        _write_drawings(target, book, layout)
    if filled != len(sheets):
        raise OutputError(f"{filled} of {len(sheets)} sheets were found in the file")
    return out.getvalue()


def _info(name: str) -> ZipInfo:
    info = ZipInfo(name, _FIXED_TIME)
    info.compress_type = ZIP_DEFLATED
    info.create_system = _UNIX
    info.external_attr = _REGULAR_FILE
    return info


def _write(target: ZipFile, name: str, content: str | bytes) -> None:
    target.writestr(_info(name), content)


def _write_rows(target: ZipFile, name: str, part: str, data: SheetData) -> None:
    """A sheet part with its rows, piece by piece: a whole one may be long."""
    head, tail = _around_rows(part, data)
    with target.open(_info(name), "w") as file:
        file.write(head.encode())
        for piece in data.pieces:
            file.write(decompress(piece))
        file.write(tail.encode())


def _write_drawings(target: ZipFile, book: Book, layout: Layout) -> None:
    """Drawings, their charts and pictures; one after the other, since there may be thousands."""
    drawing, chart = 0, 0
    for number, sheet in enumerate(book.sheets, 1):
        if not (sheet.charts or sheet.pictures):
            continue
        drawing += 1
        place = relations("drawing", [f"/xl/drawings/drawing{drawing}.xml"])
        _write(target, f"xl/worksheets/_rels/sheet{number}.xml.rels", place)
        parts = []
        for placed in sheet.charts:
            chart += 1
            parts.append(f"/xl/charts/chart{chart}.xml")
            _write(target, parts[-1][1:], chart_part(layout, placed.chart))
        _write(target, f"xl/drawings/drawing{drawing}.xml", drawing_part(sheet))
        if parts:
            name = f"xl/drawings/_rels/drawing{drawing}.xml.rels"
            _write(target, name, relations("chart", parts))


def _drawing_types(drawings: int, charts: int) -> str:
    kinds = (("drawings/drawing", "drawing", drawings), ("charts/chart", "drawingml.chart", charts))
    return "".join(
        f'<Override PartName="/xl/{part}{number}.xml" ContentType='
        f'"application/vnd.openxmlformats-officedocument.{kind}+xml"/>'
        for part, kind, count in kinds
        for number in range(1, count + 1)
    )


def _tied(part: str, has_drawing: bool) -> str:
    """A sheet part that names its drawing, if it has one."""
    if not has_drawing:
        return part
    return part.replace("</worksheet>", f'<drawing xmlns:r="{RELATIONS}" r:id="rId1"/></worksheet>')


def _around_rows(part: str, data: SheetData) -> tuple[str, str]:
    """What stands before and behind the rows."""
    corner = f"A1:{column_letters(data.last_column)}{data.last_row}"
    part = _DIMENSION.sub(f'<dimension ref="{corner}"', part, count=1)
    part = _insert(part, _AFTER_LINKS, "hyperlinks", [_hyperlink(*link) for link in data.links])
    merged = [f'<mergeCell ref="{area}"/>' for area in data.merged]
    part = _insert(part, _AFTER_MERGED, "mergeCells", merged)
    head, found, tail = _split(part, _ROWS)
    if not found:
        raise OutputError("a sheet part has no place for its rows")
    return f"{head}<sheetData>", f"</sheetData>{tail}"


def _appended(part: str, item: str, end: str) -> str:
    if "sharedStrings" in part:
        raise OutputError("the parts hold texts of their own")
    return part.replace(end, item + end)


def _hyperlink(address: str, target: str) -> str:
    return f'<hyperlink ref="{address}" location="{attribute(target)}"/>'


def _insert(part: str, before: re.Pattern, tag: str, items: list[str]) -> str:
    if not items:
        return part
    head, found, tail = _split(part, before)
    if not found:
        raise OutputError(f"a sheet part has no place for <{tag}>")
    return f'{head}<{tag} count="{len(items)}">{"".join(items)}</{tag}>{found}{tail}'.replace(
        f'<hyperlinks count="{len(items)}">', "<hyperlinks>"
    )


def _split(part: str, pattern: re.Pattern) -> tuple[str, str, str]:
    match = pattern.search(part)
    return (part[: match.start()], match[0], part[match.end() :]) if match else (part, "", "")


def _core(book: Book) -> str:
    stamp = book.created.strftime("%Y-%m-%dT%H:%M:%SZ")
    fields = (
        ("dc:title", book.title),
        ("dc:subject", book.subject),
        ("dc:creator", book.author),
        ("cp:keywords", book.keywords),
        ("dc:description", book.description),
        ("cp:version", book.revision),
    )
    said = "".join(f"<{tag}>{escape(clean(text))}</{tag}>" for tag, text in fields if text)
    dated = "".join(
        f'<dcterms:{tag} xsi:type="dcterms:W3CDTF">{stamp}</dcterms:{tag}>'
        for tag in ("created", "modified")
    )
    return (
        _XML + "<cp:coreProperties "
        'xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">'
        f"{said}{dated}</cp:coreProperties>"
    )


def _app() -> str:
    return (
        _XML + "<Properties "
        'xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties">'
        "<Application>backhaul</Application></Properties>"
    )
