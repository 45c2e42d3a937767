"""The parts of a workbook beside its sheets: which sheets there are, texts, day 0 of dates."""

import posixpath
from datetime import datetime
from typing import NamedTuple

from backhaul.spreadsheet.read_cells import EPOCH_1900, EPOCH_1904
from backhaul.spreadsheet.read_package import MAX_LETTERS, Package, Refused, long_text, parse_part
from backhaul.spreadsheet.read_sheet import no_cells, unescape
from backhaul.spreadsheet.read_styles import cell_styles

MAX_SHEETS = 500
MAX_STRINGS = 2_000_000
MAX_ALL_LETTERS = 64 * 2**20  # of all shared texts together


class SheetEntry(NamedTuple):
    """A sheet as the workbook lists it; `part` is None where it is no sheet of cells."""

    title: str
    part: str | None
    is_hidden: bool


class Workbook:
    """What all sheets of a package share; texts and styles are read when first asked for."""

    def __init__(self, package: Package):
        self.package = package
        part = _target(package, "", "officeDocument") or "xl/workbook.xml"
        self._links = _relations(package, part)
        listed, self.epoch = _sheets(package, part)
        self.sheets = tuple(
            SheetEntry(title, self._cells_part(title, relation), hidden)
            for title, relation, hidden in listed
        )

    def strings(self) -> list[str]:
        """The shared texts."""
        part = _part(self._links, "sharedStrings", self.package)
        return _strings(self.package, part) if part else []

    def styles(self) -> dict[int, str]:
        """Which cell styles show dates or percent."""
        part = _part(self._links, "styles", self.package)
        return cell_styles(self.package, part) if part else {}

    def _cells_part(self, title: str, relation: str) -> str | None:
        if relation not in self._links:
            raise no_cells(title)
        kind, part = self._links[relation]
        return part if kind == "worksheet" else None


def sheet_titles(package: Package) -> list[str]:
    """Titles of all sheets."""
    return [sheet.title for sheet in Workbook(package).sheets]


def _relations(package: Package, part: str) -> dict[str, tuple[str, str]]:
    """Kind and target of each relation of a part, by id; external ones left out."""
    folder, _, name = part.rpartition("/")
    relations: dict[str, tuple[str, str]] = {}

    def start(element: str, attributes: dict) -> None:
        if element.rpartition(":")[2] != "Relationship":
            return
        if attributes.get("TargetMode", "").lower() == "external":
            return
        target = attributes.get("Target", "")
        joined = target.lstrip("/") if target.startswith("/") else posixpath.join(folder, target)
        kind = attributes.get("Type", "").rpartition("/")[2]
        relations[attributes.get("Id", "")] = (kind, posixpath.normpath(joined))

    links = f"{folder}/_rels/{name}.rels".lstrip("/")
    if links in package:
        parse_part(package, links, start)
    return relations


def _target(package: Package, part: str, kind: str) -> str | None:
    return _part(_relations(package, part), kind, package)


def _part(links: dict[str, tuple[str, str]], kind: str, package: Package) -> str | None:
    for found, target in links.values():
        if found == kind and target in package:
            return target
    return None


def _sheets(package: Package, workbook: str) -> tuple[list[tuple[str, str, bool]], datetime]:
    """Title, relation and visibility of every sheet, and day 0 of its dates."""
    sheets: list[tuple[str, str, bool]] = []
    epoch = EPOCH_1900

    def start(element: str, attributes: dict) -> None:
        nonlocal epoch
        name = element.rpartition(":")[2]
        if name == "sheet":
            relation = next((v for k, v in attributes.items() if k.rpartition(":")[2] == "id"), "")
            hidden = attributes.get("state", "visible") != "visible"
            sheets.append((attributes.get("name", ""), relation, hidden))
            if len(sheets) > MAX_SHEETS:
                raise Refused("too many sheets", f"at most {MAX_SHEETS}")
        elif name == "workbookPr" and attributes.get("date1904") in ("1", "true"):
            epoch = EPOCH_1904

    if workbook not in package:
        raise Refused(
            f"no part '{workbook[:60]}'",
            "a workbook in .xlsx",
            "open it in a spreadsheet program and save it again",
        )
    parse_part(package, workbook, start)
    return sheets, epoch


def _strings(package: Package, part: str) -> list[str]:
    """The shared strings; reading aids for East Asian text are left out."""
    strings: list[str] = []
    pieces: list[str] = []
    taking = phonetic = False
    letters = all_letters = 0

    def start(element: str, _attributes: dict) -> None:
        nonlocal taking, phonetic, letters
        name = element.rpartition(":")[2]
        if name == "t":
            taking = not phonetic
        elif name == "si":
            pieces.clear()
            letters = 0
        elif name == "rPh":
            phonetic = True

    def end(element: str) -> None:
        nonlocal taking, phonetic
        name = element.rpartition(":")[2]
        if name == "t":
            taking = False
        elif name == "rPh":
            phonetic = False
        elif name == "si":
            strings.append(unescape("".join(pieces)))
            if len(strings) > MAX_STRINGS:
                raise Refused(f"more than {MAX_STRINGS:,} texts", f"at most {MAX_STRINGS:,}")

    def text(data: str) -> None:
        nonlocal letters, all_letters
        if taking:
            pieces.append(data)
            letters += len(data)
            all_letters += len(data)
            if letters > MAX_LETTERS:
                raise long_text()
            if all_letters > MAX_ALL_LETTERS:
                raise Refused("texts of over 64 million letters", "a design of usual size")

    parse_part(package, part, start, end, text)
    return strings
