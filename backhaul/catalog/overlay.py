"""A user's own catalogues: every file of a folder that bears the name of one of ours."""

from collections.abc import Sequence
from pathlib import Path

from backhaul.catalog.families import FAMILIES
from backhaul.catalog.reading import Row, read_table
from backhaul.errors import reason_of
from backhaul.tables.collector import Collector
from backhaul.tables.names import nearest, on_one_line, squash
from backhaul.tables.table import Table

_BY_FILE = {squash(family.file): family for family in FAMILIES}
#: So many files of other names are asked about.
MOST_MEANT = 3
#: The rows of one folder by family.
Overlay = dict[str, list[Row]]


def read_overlays(folders: Sequence[Path], collector: Collector) -> list[Overlay]:
    """All folders, lowest first; faults and notes of all of them go to the collector."""
    return [_read_folder(Path(folder), collector) for folder in folders]


def _read_folder(folder: Path, collector: Collector) -> Overlay:
    overlay: Overlay = {}
    if not folder.is_dir():
        collector.file_problem(str(folder), "no such folder", "a folder with catalogue files")
        return overlay
    read: dict[str, str] = {}
    try:
        paths = sorted(folder.glob("*.[cC][sS][vV]"))
    except OSError as error:
        found = reason_of(error)
        collector.file_problem(str(folder), found, "a folder that can be read")
        return overlay
    for path in paths:
        called = on_one_line(f"{folder.name}/{path.name}")
        family = _BY_FILE.get(squash(path.name))
        if family is None:
            _unread(path, called, collector)
        elif family.name in read:
            collector.file_problem(
                called,
                f"{family.file} a second time",
                f"one file of a name, as {read[family.name]}",
                table=family.name,
            )
        else:
            read[family.name] = called
            overlay[family.name] = read_table(family, path, called, collector)
    if not read:
        needed = "one of " + ", ".join(family.file for family in FAMILIES)
        meant = "; ".join(filter(None, (_meant(path) for path in paths[:MOST_MEANT])))
        collector.file_problem(str(folder), "no catalogue file", needed, meant)
    return overlay


def _unread(path: Path, called: str, collector: Collector) -> None:
    collector.note(
        Table("", ""),
        0,
        "",
        " ".join(
            filter(None, (f"{path.name} is no catalogue's name and is not read;", _meant(path)))
        ).rstrip(";"),
        where=called,
        remedy=_meant(path) or None,
    )


def _meant(path: Path) -> str:
    """The catalogue whose name is nearest to that of a file."""
    near = nearest(path.stem, [known.file.removesuffix(".csv") for known in FAMILIES], 1)
    return f"is {path.name} meant as {near[0]}.csv?" if near else ""
