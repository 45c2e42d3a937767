"""The finished file: our rows put into openpyxl's parts, the same bytes for the same input."""

import re
from collections.abc import Mapping, Sequence
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from backhaul.errors import OutputError
from backhaul.workbook.grid import Book
from backhaul.workbook.sheet_data import SheetData, clean, escape

_FIXED_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can say
_REGULAR_FILE = 0o644 << 16
_UNIX = 3
_ROWS = re.compile(r"<sheetData\s*/>|<sheetData>\s*</sheetData>")
_DIMENSION = re.compile(r'<dimension ref="[^"]*"')
# What may follow <mergeCells> and <hyperlinks>, in the order of CT_Worksheet (18.3.1.99).
_AFTER_MERGED = re.compile(r"<(?:conditionalFormatting|dataValidations|printOptions|pageMargins)\b")
_AFTER_LINKS = re.compile(r"<(?:printOptions|pageMargins)\b")
_CHART_FRAME = re.compile(r'(<(?:\w+:)?cNvPr\b[^>]*?name="Chart )(\d+)"')
_SHEET_PART = re.compile(r"xl/worksheets/sheet(\d+)\.xml")
_DRAWING_PART = re.compile(r"xl/drawings/drawing(\d+)\.xml")
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


def attribute(text: str) -> str:
    """Text as the value of an XML attribute.

    >>> attribute('10" mast')
    '10&quot; mast'
    """
    return escape(clean(text)).replace('"', "&quot;").replace("\n", "&#10;")


def finish(
    skeleton: bytes,
    book: Book,
    sheets: Sequence[SheetData],
    texts: str,
    descriptions: Sequence[Sequence[str]],
) -> bytes:
    """Put rows, texts, properties and chart descriptions into the parts that openpyxl made."""
    written: Mapping[str, str] = {
        _TEXTS_PART: texts,
        "docProps/core.xml": _core(book),
        "docProps/app.xml": _app(),
    }
    drawings = [part for part in descriptions if part]
    out = BytesIO()
    filled = 0
    with ZipFile(BytesIO(skeleton)) as source, ZipFile(out, "w", ZIP_DEFLATED) as target:
        for name in dict.fromkeys((*source.namelist(), _TEXTS_PART)):
            if name in written:
                content = written[name]
            elif match := _SHEET_PART.fullmatch(name):
                content = _with_rows(source.read(name).decode(), sheets[int(match[1]) - 1])
                filled += 1
            elif match := _DRAWING_PART.fullmatch(name):
                content = _described(source.read(name).decode(), drawings[int(match[1]) - 1])
            elif name == "[Content_Types].xml":
                content = _appended(source.read(name).decode(), _TEXTS_TYPE, "</Types>")
            elif name == "xl/_rels/workbook.xml.rels":
                content = _appended(source.read(name).decode(), _TEXTS_RELATION, "</Relationships>")
            else:
                content = source.read(name)
            info = ZipInfo(name, _FIXED_TIME)
            info.compress_type = ZIP_DEFLATED
            info.create_system = _UNIX
            info.external_attr = _REGULAR_FILE
            target.writestr(info, content)
    if filled != len(sheets):
        raise OutputError(f"{filled} of {len(sheets)} sheets were found in the file")
    return out.getvalue()


def _with_rows(part: str, data: SheetData) -> str:
    from backhaul.workbook.layout import letters

    corner = f"A1:{letters(data.last_column)}{data.last_row}"
    part = _DIMENSION.sub(f'<dimension ref="{corner}"', part, count=1)
    part = _insert(part, _AFTER_LINKS, "hyperlinks", [_hyperlink(*link) for link in data.links])
    merged = [f'<mergeCell ref="{area}"/>' for area in data.merged]
    part = _insert(part, _AFTER_MERGED, "mergeCells", merged)
    head, found, tail = _split(part, _ROWS)
    if not found:
        raise OutputError("a sheet part has no place for its rows")
    return head + data.xml + tail


def _appended(part: str, item: str, end: str) -> str:
    return part if "sharedStrings" in part else part.replace(end, item + end)


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


def _described(part: str, descriptions: Sequence[str]) -> str:
    def describe(match: re.Match) -> str:
        text = descriptions[int(match[2]) - 1]
        return f'{match[0]} descr="{attribute(text)}"' if text else match[0]

    return _CHART_FRAME.sub(describe, part)


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
