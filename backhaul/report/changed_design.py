"""A changed design in the form that it came in: the same file with the edits made in place."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from backhaul.design.edits import Edit
from backhaul.design.model import Design
from backhaul.errors import OutputError
from backhaul.report.changed_csv import changed_csv
from backhaul.report.changed_workbook import changed_workbook
from backhaul.report.design_difference import HEADS, change_rows
from backhaul.safe_file import refuse_folder, refuse_place, write_beside_and_rename
from backhaul.tables.names import squash
from backhaul.tables.sources import CSV_SUFFIXES


def refuse_changed(source: Path, output: Path) -> None:
    """Raise OutputError where the changed design cannot stand; before anything is searched."""
    wants_file = output.suffix.lower() in (*CSV_SUFFIXES, ".xlsx")
    if source.is_dir() and wants_file:
        raise OutputError(f"{output}: the design is a folder; give the output the name of one")
    is_table = source.suffix.lower() in CSV_SUFFIXES
    if source.is_file() and not is_table and output.suffix.lower() != ".xlsx":
        raise OutputError(f"{output}: the design is a workbook; give the output .xlsx")
    if is_table and output.suffix.lower() == ".xlsx":
        raise OutputError(f"{output}: the design is a table; give the output .csv, or a folder")
    if not wants_file:
        refuse_folder(output)


def write_changed(
    source: Path, output: Path, design: Design, changed: Design, edits: Sequence[Edit]
) -> None:
    """Write the changed design. Raises OutputError where it cannot be written.

    source: the design that was read; output: an .xlsx for an .xlsx, a .csv for a .csv, else a
    folder. design, changed: before and after; edits: what was done.
    """
    refuse_changed(source, output)
    if source.suffix.lower() in CSV_SUFFIXES and source.is_file():
        if output.suffix.lower() in CSV_SUFFIXES:
            data = changed_csv(source, design, changed)
            write_beside_and_rename(output, lambda: data, source=source)
        else:
            tables = {"segments.csv": changed_csv(source, design, changed)}
            _write_folder(tables, output, edits, design)
    elif source.is_dir():
        tables = {
            file.name: changed_csv(file, design, changed)
            if squash(file.stem) in ("segments", "sites", "project")
            else file.read_bytes()
            for file in sorted(source.iterdir())
            if file.suffix.lower() in CSV_SUFFIXES
        }
        _write_folder(tables, output, edits, design)
    else:
        write_beside_and_rename(
            output, lambda: changed_workbook(source, design, changed, edits), source=source
        )


def _write_folder(
    tables: Mapping[str, bytes], output: Path, edits: Sequence[Edit], design: Design
) -> None:
    output.mkdir(parents=False, exist_ok=True)
    lines = ["\t".join(HEADS), *("\t".join(map(str, row)) for row in change_rows(edits, design))]
    for name, data in {**tables, "changes.txt": "\n".join(lines).encode()}.items():
        refuse_place(output / name)
        write_beside_and_rename(output / name, lambda data=data: data)
