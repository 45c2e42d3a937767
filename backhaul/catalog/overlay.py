"""A user's own catalogues: every file of a folder that bears the name of one of ours."""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from backhaul.catalog.families import FAMILIES
from backhaul.catalog.names import nearest, normal
from backhaul.catalog.reading import Row, read_table
from backhaul.errors import Problem
from backhaul.findings import NOTE, Finding

_BY_FILE = {normal(family.file): family for family in FAMILIES}


class Overlay(NamedTuple):
    """The rows of one folder by family, and what was noticed."""

    rows: dict[str, list[Row]]
    notes: list[Finding]


def read_overlays(folders: Sequence[Path]) -> tuple[list[Overlay], list[Problem]]:
    """All folders, lowest first, with the faults of all of them."""
    overlays: list[Overlay] = []
    problems: list[Problem] = []
    for folder in folders:
        overlay = Overlay({}, [])
        problems += _read_folder(Path(folder), overlay)
        overlays.append(overlay)
    return overlays, problems


def _read_folder(folder: Path, overlay: Overlay) -> list[Problem]:
    if not folder.is_dir():
        return [Problem(str(folder), "no such folder", "a folder with catalogue files")]
    problems: list[Problem] = []
    read: dict[str, str] = {}
    for path in sorted(folder.glob("*.[cC][sS][vV]")):
        name = f"{folder.name}/{path.name}"
        family = _BY_FILE.get(normal(path.name))
        if family is None:
            overlay.notes.append(_unread(path, name))
            continue
        if family.name in read:
            problems.append(
                Problem(
                    name,
                    f"{family.file} a second time",
                    f"one file of a name, as {read[family.name]}",
                )
            )
            continue
        read[family.name] = name
        table = read_table(family, path, name)
        problems += table.problems
        overlay.notes.extend(table.notes)
        overlay.rows[family.name] = table.rows
    if not read:
        needed = "one of " + ", ".join(family.file for family in FAMILIES)
        problems.append(Problem(str(folder), "no catalogue file", needed))
    return problems


def _unread(path: Path, name: str) -> Finding:
    near = nearest(path.name, [known.file for known in FAMILIES], 1)
    return Finding(
        check="ignored",
        severity=NOTE,
        where=name,
        message=f"{path.name} is not the name of a catalogue and is not read",
        remedy=f"is {near[0]} meant?" if near else None,
    )
