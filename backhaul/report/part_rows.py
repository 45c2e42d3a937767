"""A part as rows to start from, and the rows of which somebody has to make sure."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from backhaul.catalog import FAMILIES, Catalog
from backhaul.catalog.families import SPECTRA, UNSURE, Family
from backhaul.errors import InputError, Problem
from backhaul.safe_file import refuse_folder, write_beside_and_rename
from backhaul.tables.names import nearest, squash


def files_of_part(catalog: Catalog, part: str) -> dict[str, str]:
    """The rows of a part by catalogue file, each a text that the loader reads as it stands.

    A radio has rows of three families, a device of two, an optic its reach besides.
    Raises InputError where no family has the part; tells the nearest names.

    >>> from backhaul.catalog import load_catalog
    >>> list(files_of_part(load_catalog(), "RADIO 5ghz he int"))
    ['ports.csv', 'radios.csv', 'radio_modes.csv']
    """
    found = {}
    for family in FAMILIES:
        records = _records(catalog, family, part)
        if records:
            found[family.file] = _csv_text(family, records)
    if not found:
        if not part:
            raise InputError([Problem("parts", "no name", "a part, such as 1000base-lx10")])
        names = {name for family in FAMILIES for name in catalog.stock(family.name)}
        close = ", ".join(nearest(part, sorted(names)))
        wanted = "a part of the catalogues"
        raise InputError(
            [Problem("parts", f"'{part}'", wanted, f"nearest: {close}" if close else "")]
        )
    return found


def _records(catalog: Catalog, family: Family, part: str) -> list[Any]:
    stock = catalog.stock(family.name)
    name = part if part in stock else stock.spellings().get(squash(part))
    return [] if name is None else [row.record for row in stock[name]]


def _csv_text(family: Family, records: list[Any]) -> str:
    """Head and rows; attenuation by wavelength in columns of its own."""
    table = [_cells(family, record) for record in records]
    heads = list(dict.fromkeys(name for cells in table for name in cells))
    tail = ["note", "source", "basis"]
    heads = [name for name in heads if name not in tail] + tail
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows([cells.get(name, "") for name in heads] for cells in table)
    return text.getvalue()


def _cells(family: Family, record: Any) -> dict[str, str]:
    cells = {c.name: _cell(getattr(record, c.attribute)) for c in family.columns}
    if family.spectra:
        for name in SPECTRA:
            cells |= {f"{name}_{nm}": _cell(value) for nm, value in getattr(record, name).items()}
    return cells


def _cell(value: Any) -> str:
    """As the loader reads it, no digit lost.

    >>> [_cell(value) for value in (None, True, 40.0, 0.333333, (10.0, 100.0), "Cat 6")]
    ['', 'yes', '40', '0.333333', '10;100', 'Cat 6']
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, tuple):
        return ";".join(map(_cell, value))
    return str(value)


def write_files(folder: Path, files: dict[str, str]) -> None:
    """Write the rows into a folder, which is made; a file that is there is not replaced."""
    refuse_folder(folder, files)
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        write_beside_and_rename(folder / name, text.encode)


def unsure_rows(catalog: Catalog, family: str | None = None) -> Iterator[dict[str, Any]]:
    """Rows whose figures were not read again: family, part, place, source and note."""
    for each in FAMILIES:
        if family not in (None, each.name):
            continue
        for row in catalog.rows(each.name):
            if row.record.basis == UNSURE:
                key = [str(getattr(row.record, name)) for name in each.key[1:]]
                yield {
                    "family": each.name,
                    "part": " ".join([row.record.part, *key]),
                    "place": f"{row.file}:{row.line}",
                    "source": row.record.source,
                    "note": row.record.note,
                }
