"""Cells of a written workbook straight from its parts: some ten times faster than a whole reader.

Values, formulas and what is typed over; no styles, no dates. That it reads as openpyxl does is
tested in tests/spreadsheet.
"""

import functools
import posixpath
import re
from io import BytesIO
from typing import NamedTuple
from xml.etree import ElementTree
from xml.sax.saxutils import escape
from zipfile import ZIP_STORED, ZipFile

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")

Sheets = dict[str, dict[str, "RawCell"]]


class RawCell(NamedTuple):
    """What a cell shows, and the formula that it has, with its sign."""

    value: object
    formula: str | None = None


@functools.lru_cache(maxsize=8)
def raw_cells(data: bytes) -> Sheets:
    """Every filled cell of a workbook by sheet and address."""
    with ZipFile(BytesIO(data)) as parts:
        shared = _shared(parts)
        return {name: _cells(parts.read(part), shared) for name, part in sheet_parts(parts).items()}


def typed_over(data: bytes, values: dict[tuple[str, str], object]) -> bytes:
    """The workbook with figures, words or nothing (None) in cells by sheet and address."""
    out = BytesIO()
    with ZipFile(BytesIO(data)) as source, ZipFile(out, "w", ZIP_STORED) as target:
        changes: dict[str, dict[str, object]] = {}
        of = sheet_parts(source)
        for (sheet, address), value in values.items():
            changes.setdefault(of[sheet], {})[address] = value
        for name in source.namelist():
            part = source.read(name)
            for address, value in changes.get(name, {}).items():
                part = _typed(part.decode(), address, value).encode()
            target.writestr(name, part)
    return out.getvalue()


def _typed(xml: str, address: str, value: object) -> str:
    pattern = rf'<c r="{address}"([^>]*?)(?:/>|>.*?</c>)'
    found = re.search(pattern, xml, re.DOTALL)
    assert found, f"{address} has no cell"
    kept = re.sub(r'\s*\bt="\w+"', "", found[1])
    if value is None:
        cell = f'<c r="{address}"{kept}/>'
    elif isinstance(value, bool | int | float):
        cell = f'<c r="{address}"{kept}><v>{float(value)!r}</v></c>'
    else:
        text = escape(str(value))
        cell = f'<c r="{address}"{kept} t="inlineStr"><is><t>{text}</t></is></c>'
    return xml[: found.start()] + cell + xml[found.end() :]


def sheet_parts(parts: ZipFile) -> dict[str, str]:
    """The part of each sheet by its name, in their order."""
    relations = {
        node.attrib["Id"]: node.attrib["Target"]
        for node in ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))
    }
    book = ElementTree.fromstring(parts.read("xl/workbook.xml"))
    return {
        node.attrib["name"]: posixpath.normpath(
            posixpath.join("/xl", relations[node.attrib[_RELATION]])
        ).lstrip("/")
        for node in book.find(f"{_MAIN}sheets")
    }


def _shared(parts: ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in parts.namelist():
        return []
    root = ElementTree.fromstring(parts.read("xl/sharedStrings.xml"))
    return [_text(item) for item in root]


def _text(item: ElementTree.Element) -> str:
    return _plain("".join(node.text or "" for node in item.iter(f"{_MAIN}t")))


def _plain(text: str) -> str:
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def _cells(part: bytes, shared: list[str]) -> dict[str, RawCell]:
    found = {}
    for cell in ElementTree.fromstring(part).iter(f"{_MAIN}c"):
        formula = cell.find(f"{_MAIN}f")
        value = _value(cell, shared)
        if formula is not None or value is not None:
            text = None if formula is None else f"={formula.text or ''}"
            found[cell.attrib["r"]] = RawCell(value, text)
    return found


def _value(cell: ElementTree.Element, shared: list[str]) -> object:
    kind = cell.attrib.get("t", "n")
    if kind == "inlineStr":
        inline = cell.find(f"{_MAIN}is")
        return None if inline is None else _text(inline)
    node = cell.find(f"{_MAIN}v")
    if node is None or node.text is None:
        return None
    if kind == "s":
        return shared[int(node.text)]
    if kind == "b":
        return node.text == "1"
    if kind in ("str", "e"):
        return _plain(node.text)
    number = float(node.text)
    return int(number) if number.is_integer() and "." not in node.text else number
