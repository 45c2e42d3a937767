"""Where outputs may go: every place is looked at before anything is built."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from backhaul.as_built.sources import holds_readings
from backhaul.design.columns import ALL_TABLES, SEGMENTS
from backhaul.errors import OutputError
from backhaul.safe_file import is_same_file, refuse_place
from backhaul.spreadsheet.read_package import MAX_FILE_BYTES, Package, Refused
from backhaul.spreadsheet.read_workbook import sheet_titles
from backhaul.tables.files import TooLarge, read_capped
from backhaul.tables.names import squash
from backhaul.tables.sources import CSV_SUFFIXES

_TABLES = frozenset(map(squash, ALL_TABLES))
_NEEDED = frozenset(squash(column.name) for column in SEGMENTS if column.required)
_PARTS = frozenset(("part", "source", "basis"))
_HEAD_BYTES = 1 << 16
_HEAD_LINES = 20


def check_outputs(
    outputs: Sequence[Path],
    designs: Iterable[Path] = (),
    catalogs: Iterable[Path] = (),
    *,
    force: bool = False,
) -> None:
    """Raise OutputError where an output would take the place of something that must stay.

    designs, catalogs: what is read in this run. force: a design may be replaced, unless it is read.
    """
    for number, path in enumerate(outputs):
        refuse_place(path)
        for other in outputs[:number]:
            if _is_same_place(path, other):
                raise OutputError(f"{path}: two outputs of one name; give each its own")
        for design in designs:
            if is_same_file(path, design) or _is_in(path, design):
                raise OutputError(
                    f"{path}: this is the design itself; give the output another name"
                )
        for folder in catalogs:
            if _is_in(path, folder):
                raise OutputError(f"{path}: this is read as a catalogue; choose another place")
        if path.exists() and not force and (what := looks_like(path)):
            raise OutputError(
                f"{path}: there is {what} by that name, which is not replaced; choose another name"
            )


def place_of(text: str) -> Path:
    """Where an output goes. Raises OutputError for a name that is none, or the standard output's."""
    if text == "-":
        raise OutputError(
            "-: outputs go to files, not to the standard output; give a name (./- if that is one)"
        )
    if not text.strip():
        raise OutputError("the name of the output is blank; give one")
    return Path(text)


def check_ending(path: Path, what: str, *endings: str) -> None:
    """Raise OutputError where the name of an output promises another form than it gets.

    what: the output and its form, "a blank design is a workbook".
    """
    if path.suffix.lower() not in endings:
        raise OutputError(f"{path}: {what}; its name ends with {' or '.join(endings)}")


def looks_like(path: Path) -> str:
    """What a file is that somebody filled in: a design, a catalogue, filled site cards; else ""."""
    try:
        data = read_capped(path, MAX_FILE_BYTES)
    except (OSError, TooLarge):
        return ""
    if data.startswith(b"PK"):
        try:
            package = Package(data)
            if any(squash(title) == "segments" for title in sheet_titles(package)):
                return "a design"
            return "a book of filled site cards" if holds_readings(package) else ""
        except Refused:
            return ""
    is_table = path.suffix.lower() in CSV_SUFFIXES and squash(path.stem) in _TABLES
    if is_table and any(_is_segments(each) for each in path.parent.iterdir()):
        return "a table of a design"
    text = data[:_HEAD_BYTES].decode(
        "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "latin-1", "replace"
    )
    for line in text.splitlines()[:_HEAD_LINES]:
        for separator in ",;\t":
            heads = [squash(cell) for cell in line.split(separator)]
            if _NEEDED.issubset(heads):
                return "a design"
            if heads[0] == "part" and _PARTS.issubset(heads):  # an order list has them elsewhere
                return "a catalogue"
    return ""


def _is_segments(path: Path) -> bool:
    return path.suffix.lower() in CSV_SUFFIXES and squash(path.stem) == "segments"


def _is_in(path: Path, folder: Path) -> bool:
    """Whether a table of the folder would be replaced or added."""
    try:
        if not folder.is_dir() or path.suffix.lower() not in CSV_SUFFIXES:
            return False
        if any(is_same_file(path, each) for each in folder.iterdir()):
            return True
        return path.resolve().parent == folder.resolve()
    except OSError:
        return False


def _is_same_place(path: Path, other: Path) -> bool:
    if is_same_file(path, other):
        return True
    one, two = path.resolve(), other.resolve()
    return one.parent == two.parent and one.name.casefold() == two.name.casefold()
