"""Raw parts of a workbook, changed on the spot into what nobody should be hurt by."""

import io
import re
import struct
import warnings
import zipfile
from collections.abc import Callable

SHEET = "xl/worksheets/sheet1.xml"
LINKS = "xl/_rels/workbook.xml.rels"
#: The limit that the tests set, far below the real one.
MOST_ROWS = 20_000
MOST_LINES = 80_000
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def parts_of(book: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(book)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            package.writestr(name, content)
    return out.getvalue()


def replaced(book: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    parts = parts_of(book)
    parts[part] = change(parts[part])
    return packed(parts)


def of_sheet(target: bytes) -> Callable[[bytes], bytes]:
    """Let the first sheet lead somewhere else."""
    return lambda xml: re.sub(rb'Target="[^"]*sheet1.xml"', target, xml)


def twice(book: bytes) -> bytes:
    """A second sheet of cells under the name of the first."""
    out = io.BytesIO(book)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as package:
        warnings.simplefilter("ignore")
        package.writestr(SHEET.upper(), parts_of(book)[SHEET])
    return out.getvalue()


def bomb(book: bytes, mebibytes: int) -> bytes:
    """A sheet that deflates to about a thousandth; written in pieces, never held whole."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts_of(book).items():
            if name != SHEET:
                package.writestr(name, content)
        with package.open(SHEET, "w", force_zip64=True) as stream:
            stream.write(b"<worksheet><sheetData>")
            for _ in range(mebibytes):
                stream.write(b"<!--" + b" " * (2**20 - 7) + b"-->")
            stream.write(b"</sheetData></worksheet>")
    return out.getvalue()


def lying_size(book: bytes, mebibytes: int) -> bytes:
    """A bomb whose directory declares a small size."""
    data = bytearray(bomb(book, mebibytes))
    name = SHEET.encode()
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(name))
    struct.pack_into("<I", data, at + 24, 2000)
    return bytes(data)


def other_method(book: bytes, method: int, mebibytes: int) -> bytes:
    """A sheet packed in a way that a workbook never is; some unpack to thousands of times."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts_of(book).items():
            if name != SHEET:
                package.writestr(name, content)
        info = zipfile.ZipInfo(SHEET)
        info.compress_type = method
        package.writestr(info, b"<worksheet>" + b" " * (mebibytes * 2**20) + b"</worksheet>")
    return out.getvalue()


def sheet(body: bytes) -> Callable[[bytes], bytes]:
    """Put another part in the place of the sheet's."""
    return lambda _: b"<worksheet><sheetData>" + body + b"</sheetData></worksheet>"


def many_sheets(book: bytes, count: int) -> bytes:
    """Sheets that are all called segments, more or less."""
    parts = parts_of(book)
    (entry,) = re.findall(rb"<sheet [^>]*/>", parts["xl/workbook.xml"])
    entries = b"".join(
        entry.replace(b'"segments"', b'"segments' + b" " * number + b'"') for number in range(count)
    )
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace(entry, entries)
    return packed(parts)


def rows_xml(cells: str) -> Callable[[bytes], bytes]:
    """Put XML before the end of the rows."""
    return lambda xml: xml.replace(b"</sheetData>", cells.encode() + b"</sheetData>")


def encrypted_flag(book: bytes) -> bytes:
    data = bytearray(book)
    for found in re.finditer(b"PK\x01\x02", book):
        data[found.start() + 8] |= 1
    return bytes(data)


def unknown_method(book: bytes) -> bytes:
    data = bytearray(book)
    for found in re.finditer(b"PK\x01\x02", book):
        struct.pack_into("<H", data, found.start() + 10, 99)
    return bytes(data)


def flipped(book: bytes) -> bytes:
    """The deflated bytes of the sheet are wrong."""
    with zipfile.ZipFile(io.BytesIO(book)) as package:
        info = package.getinfo(SHEET)
    data = bytearray(book)
    at = info.header_offset + 30 + len(info.filename) + 10
    for place in range(at, at + 40):
        data[place] ^= 0x5A
    return bytes(data)


def with_doctype(xml: bytes) -> bytes:
    body = re.sub(rb"^<\?xml[^>]*\?>\s*", b"", xml)
    entities = "".join(f'<!ENTITY e{n + 1} "{f"&e{n};" * 10}">' for n in range(9))
    return f'<!DOCTYPE w [<!ENTITY e0 "ha">{entities}]>'.encode() + body


def as_utf16(xml: bytes) -> bytes:
    body = re.sub(r"^<\?xml[^>]*\?>", '<?xml version="1.0" encoding="UTF-16"?>', xml.decode())
    return body.encode("utf-16")
