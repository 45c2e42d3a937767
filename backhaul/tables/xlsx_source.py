"""A workbook to grids: which parts it has, its strings and styles, then sheet by sheet."""

import posixpath
from collections.abc import Callable
from pathlib import Path

from backhaul.spreadsheet.read_package import (
    MAX_FILE_BYTES,
    MAX_LETTERS,
    Package,
    Refused,
    long_text,
    parse_part,
)
from backhaul.spreadsheet.read_sheet import EPOCH_1900, EPOCH_1904, read_sheet, unescape
from backhaul.spreadsheet.read_styles import cell_styles
from backhaul.tables.collector import Collector
from backhaul.tables.files import TooLarge, read_capped
from backhaul.tables.grid import Grid
from backhaul.tables.names import shown

MAX_SHEETS = 500
MAX_STRINGS = 2_000_000


def read_xlsx(
    path: Path, is_wanted: Callable[[str], bool], collector: Collector
) -> list[Grid] | None:
    """All sheets, with the cells of those that are wanted; None with a problem."""
    try:
        return _read(Package(read_capped(path, MAX_FILE_BYTES)), path.name, is_wanted)
    except TooLarge:
        most = f"{MAX_FILE_BYTES >> 20} MiB"
        collector.file_problem(
            path.name, f"a file of more than {most}", f"at most {most}", "split the design"
        )
        return None
    except Refused as refused:
        collector.file_problem(path.name, refused.found, refused.needed, refused.remedy)
        return None


def _read(package: Package, file: str, is_wanted: Callable[[str], bool]) -> list[Grid]:
    workbook = _target(package, "", "officeDocument") or "xl/workbook.xml"
    links = _relations(package, workbook)
    sheets, epoch = _sheets(package, workbook)
    wanted = [sheet for sheet in sheets if is_wanted(sheet[0])]
    strings: list[str] = []
    styles: dict[int, str] = {}
    if wanted:
        if part := _part(links, "sharedStrings", package):
            strings = _strings(package, part)
        if part := _part(links, "styles", package):
            styles = cell_styles(package, part)
    grids = []
    for title, relation, hidden in sheets:
        kind, part = links.get(relation, ("", ""))
        if (title, relation, hidden) not in wanted or kind != "worksheet":
            grids.append(Grid(title, file, True, (), ()))
            continue
        cells = read_sheet(package, part, title, strings, styles, epoch)
        remark = f"hidden columns of the sheet {title} were read as all others"
        grids.append(
            Grid(
                title,
                file,
                True,
                cells.numbers,
                cells.columns,
                merges=cells.merges,
                hidden_rows=cells.hidden_rows,
                hidden=hidden,
                external=cells.external,
                remarks=(remark,) if cells.has_hidden_columns else (),
            )
        )
    return grids


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


def _sheets(package: Package, workbook: str):
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
            f"no part {shown(workbook)}",
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
    letters = 0

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
        nonlocal letters
        if taking:
            pieces.append(data)
            letters += len(data)
            if letters > MAX_LETTERS:
                raise long_text()

    parse_part(package, part, start, end, text)
    return strings
