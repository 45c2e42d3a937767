"""The zip package of a workbook, opened with care: sizes are added up before anything inflates."""

import re
import zipfile
from collections.abc import Callable
from io import BytesIO
from typing import IO
from xml.parsers import expat

MAX_FILE_BYTES = 50 * 2**20
MAX_PART_BYTES = 96 * 2**20  # 24,000 full rows inflate to about 40 MiB
MAX_ALL_BYTES = 160 * 2**20
MAX_PARTS = 5000
MAX_TAGS = 5_000_000  # 24,000 rows of 30 texts have 4.4 million
MAX_DEPTH = 10_000  # real parts have fewer than 20; a chunk may cut a mark in two
MAX_TOKEN_BYTES = 2 * 2**20
MAX_LETTERS = 100_000  # of one cell; a spreadsheet program allows 32,767
CHUNK = 1 << 18
ZIP, OLE, PDF = b"PK", b"\xd0\xcf\x11\xe0", b"%PDF"
_CLOSED_AT_ONCE = re.compile(rb"<[^<>]*/>")
_ENDS = {b"<!--": b"-->", b"<![CDATA[": b"]]>", b"<?": b"?>"}
_BEGINS = re.compile(rb"<!--|<!\[CDATA\[|<\?")
BROKEN = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    KeyError,
    IndexError,
    OverflowError,
    UnicodeError,
    expat.ExpatError,
)


class Refused(Exception):
    """A file that cannot be read as a workbook: what was found, what is needed, what to do."""

    def __init__(self, found: str, needed: str, remedy: str = ""):
        self.found, self.needed, self.remedy = found, needed, remedy
        super().__init__(found)


class Package:
    """Parts of an .xlsx file by lower-case name."""

    def __init__(self, data: bytes):
        _recognise(data)
        try:
            self._zip = zipfile.ZipFile(BytesIO(data))
            infos = self._zip.infolist()
        except BROKEN as error:
            raise _damaged() from error
        _cap_sizes(infos)
        self._infos = {info.filename.replace("\\", "/").lstrip("/").lower(): info for info in infos}
        if len(self._infos) < len(infos):
            raise _damaged("two parts of one name")
        self._recognise_kind()

    def __contains__(self, name: str) -> bool:
        return name.lower() in self._infos

    def open(self, name: str) -> IO[bytes]:
        """A part as a stream; whatever is wrong with it is `Refused`."""
        info = self._infos.get(name.lower())
        if info is None:
            raise _damaged(f"no part '{name}'")
        try:
            return self._zip.open(info)
        except BROKEN as error:
            raise _damaged() from error

    def _recognise_kind(self) -> None:
        if "[content_types].xml" in self._infos:
            if any(name.endswith((".bin",)) and "workbook" in name for name in self._infos):
                raise Refused(
                    "a binary workbook (.xlsb)", "a workbook in .xlsx", "save it as .xlsx"
                )
            if any(name.startswith("word/") for name in self._infos):
                raise Refused("a text document", "a workbook in .xlsx")
            return
        if "content.xml" in self._infos:
            raise Refused(
                "an OpenDocument file",
                "a workbook in .xlsx",
                "open it in a spreadsheet program and save it as .xlsx",
            )
        raise Refused("a zip file that is no workbook", "a workbook in .xlsx")


def _recognise(data: bytes) -> None:
    """Tell by the first bytes what a file is that is no .xlsx."""
    if data.startswith(ZIP):
        return
    if not data.strip():
        raise Refused("an empty file", "a workbook in .xlsx")
    if data.startswith(OLE):
        raise Refused(
            "an old workbook (.xls) or one with a password",
            "a workbook in .xlsx without a password",
            "save it as .xlsx, without a password",
        )
    if data.startswith(PDF):
        raise Refused("a PDF", "a workbook in .xlsx")
    head = data[:2000]
    if head.lstrip().lower().startswith((b"<html", b"<!doctype html", b"<table")):
        raise Refused(
            "a web page",
            "a workbook in .xlsx",
            "open it in a spreadsheet program and save it as .xlsx",
        )
    if head.lstrip(b"\xef\xbb\xbf").lstrip().startswith(b"<?xml"):
        raise Refused(
            "an XML file",
            "a workbook in .xlsx",
            "open it in a spreadsheet program and save it as .xlsx",
        )
    if b"\0" not in head and any(separator in head for separator in (b",", b";", b"\t")):
        raise Refused("text, perhaps a CSV", "a workbook in .xlsx", "if it is a CSV, name it .csv")
    raise Refused("something else than a workbook", "a workbook in .xlsx, a .csv or a folder")


def _cap_sizes(infos: list[zipfile.ZipInfo]) -> None:
    """Refuse by what the package declares; no more than declared is ever inflated."""
    if len(infos) > MAX_PARTS:
        raise Refused(f"a package of {len(infos)} parts", f"at most {MAX_PARTS}")
    if any(info.flag_bits & 1 for info in infos):
        raise Refused("a zip file with a password", "a workbook without one")
    if any(info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for info in infos):
        raise Refused(
            "a zip file packed in another way than a workbook's",
            "a workbook as a spreadsheet program saves it",
            "open it in a spreadsheet program and save it again",
        )
    total = sum(info.file_size for info in infos)
    largest = max((info.file_size for info in infos), default=0)
    if total > MAX_ALL_BYTES or largest > MAX_PART_BYTES:
        raise Refused(
            f"a workbook that unpacks to {total / 2**20:,.0f} MiB",
            f"at most {MAX_ALL_BYTES >> 20} MiB",
            "delete what is not part of the design, or split it",
        )


def _damaged(what: str = "") -> Refused:
    found = "a damaged workbook" + (f" ({what})" if what else "")
    return Refused(
        found, "a whole .xlsx file", "open it in a spreadsheet program and save it again"
    )


def parse_part(
    package: Package,
    name: str,
    start: Callable[[str, dict], None],
    end: Callable[[str], None] | None = None,
    text: Callable[[str], None] | None = None,
) -> None:
    """Run one XML part through handlers that get names as written, prefixes included.

    DOCTYPE and encodings other than UTF-8 are refused; a handler may raise `Stop`.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    parser.StartDoctypeDeclHandler = _doctype(name)
    parser.XmlDeclHandler = _declared(name)
    try:
        _cap_tags(package, name)
        with package.open(name) as stream:
            first = stream.read(CHUNK)
            _refuse_utf16(first, name)
            fed = 0
            while first:
                fed += len(first)
                parser.Parse(first, False)
                if fed - parser.CurrentByteIndex > MAX_TOKEN_BYTES:
                    raise Refused(
                        f"a mark of more than {MAX_TOKEN_BYTES >> 20} MiB in the part '{name}'",
                        "a workbook as a spreadsheet program saves it",
                        "open it in a spreadsheet program and save it again",
                    )
                first = stream.read(CHUNK)
            parser.Parse(b"", True)
    except Stop:
        return
    except BROKEN as error:
        raise _damaged(f"part '{name}'") from error
    except (OSError, MemoryError) as error:
        raise _damaged(f"part '{name}'") from error
    except Exception as error:
        if type(error).__module__ in ("zlib", "lzma", "_lzma", "struct", "bz2"):
            raise _damaged(f"part '{name}'") from error
        raise


def _cap_tags(package: Package, name: str) -> None:
    """Refuse a part of very many or very deep elements before any of them is looked at."""
    tags = depth = 0
    until = b""  # the end of a comment or the like that an earlier chunk began
    with package.open(name) as stream:
        while chunk := stream.read(CHUNK):
            tags += chunk.count(b"<")
            if tags > MAX_TAGS:
                raise Refused(
                    f"more than {MAX_TAGS:,} marks in the part '{name}'",
                    "a design of at most some 100,000 rows",
                    "delete rows and columns that are only formatted",
                )
            if until or b"<!" in chunk or b"<?" in chunk:
                chunk, until = _without_comments(chunk, until)
            opens, ends = chunk.count(b"<"), chunk.count(b"</")
            if abs(chunk.count(b">") - opens) <= 1:  # none stands in a text
                closed = chunk.count(b"/>")
            else:
                closed = _CLOSED_AT_ONCE.subn(b"", chunk)[1]
            depth += opens - 2 * ends - closed
            if depth > MAX_DEPTH:
                raise Refused(
                    f"elements within elements, over {MAX_DEPTH:,} deep, in the part '{name}'",
                    "a workbook as a spreadsheet program saves it",
                )


def _without_comments(chunk: bytes, until: bytes) -> tuple[bytes, bytes]:
    """A chunk without comments, instructions and raw texts; and the end of one that goes on."""
    if until:
        _, found, chunk = chunk.partition(until)
        if not found:
            return b"", until
    kept = []
    place = 0
    while begins := _BEGINS.search(chunk, place):
        kept.append(chunk[place : begins.start()])
        end = _ENDS[begins[0]]
        close = chunk.find(end, begins.end())
        if close < 0:
            return b"".join(kept), end
        place = close + len(end)
    return b"".join((*kept, chunk[place:])), b""


def long_text() -> Refused:
    """A cell that no spreadsheet program would write."""
    return Refused(f"a cell of more than {MAX_LETTERS:,} letters", "cells of at most 32,767")


class Stop(Exception):
    """Enough of a part was read."""


def _refuse_utf16(first: bytes, name: str) -> None:
    if first.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in first[:4]:
        raise Refused(
            f"a part in UTF-16, '{name}'",
            "a workbook in UTF-8",
            "open it in a spreadsheet program and save it again",
        )


def _doctype(name: str):
    def refuse(*_) -> None:
        raise Refused(
            f"a DOCTYPE in the part '{name}'",
            "a workbook without one",
            "open it in a spreadsheet program and save it again",
        )

    return refuse


def _declared(name: str):
    def check(_version, encoding, _standalone) -> None:
        if encoding and encoding.lower() not in ("utf-8", "utf8", "us-ascii", "ascii"):
            raise Refused(
                f"the encoding {encoding} in the part '{name}'",
                "a workbook in UTF-8",
                "open it in a spreadsheet program and save it again",
            )

    return check
