"""A folder that holds several designs."""

from pathlib import Path

from backhaul.tables.names import squash

_SHEET = ".xlsx"


def designs_in(folder: Path) -> list[Path]:
    """Designs in a folder that is none itself: workbooks, and folders with a segments table.

    Empty where the path is a design of its own.
    """
    if not folder.is_dir() or _may_be_design(folder):
        return []
    entries = sorted(folder.iterdir(), key=lambda entry: entry.name.lower())
    return [
        entry
        for entry in entries
        if not entry.name.startswith((".", "~$"))
        and (entry.suffix.lower() == _SHEET or (entry.is_dir() and _may_be_design(entry)))
    ]


def skipped_in(folder: Path) -> list[str]:
    """What else is in a folder of designs: names, with a reason where they look like one."""
    taken = set(designs_in(folder))
    rest = [
        entry
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name.lower())
        if entry not in taken and not entry.name.startswith((".", "~$"))
    ]
    return [f"{entry.name}{_why_skipped(entry)}" for entry in rest]


def _why_skipped(entry: Path) -> str:
    if entry.is_dir():
        return " (no segments table)"
    # beside others it may be one table of a design whose segments are missing
    return " (check it by itself)" if entry.suffix.lower() == ".csv" else ""


def _may_be_design(folder: Path) -> bool:
    """One that may not be entered is told with its reason, where it is read."""
    try:
        return _is_design(folder)
    except OSError:
        return True


def _is_design(folder: Path) -> bool:
    return any(
        entry.suffix.lower() == ".csv" and squash(entry.stem) == "segments"
        for entry in folder.iterdir()
    )
