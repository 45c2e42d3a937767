"""Designs in a compact notation, so that a case fits into one cell of a table.

Rows are parted by `|`: a kind, a part, then `column=value`; a bare `1200m` is the length. A path's
rows are parted from the next path's by `||`; a name with a colon before the first row names it:

    P: device t-switch site=A | optic t-p | fiber t-sm 1200m | optic t-p | device t-switch site=B

Other tables stand the same way, each row begun by its table: `site A outdoor=yes`,
`project optical_margin_db=3`, `demand P up_mbps=10`, `paths P availability_percent=99.99`.
A value with blanks stands in double quotes.
"""

import csv
import shlex
from collections import defaultdict
from functools import cache
from pathlib import Path

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import Evaluation, evaluate
from backhaul.report.record import record

OWN_PARTS = Path(__file__).parent / "cases" / "catalog"
_FIRST_COLUMN = {
    "site": ("sites", "site"),
    "project": ("project", None),
    "demand": ("demand", "path"),
    "paths": ("paths", "path"),
    "terrain": ("terrain", "label"),
    "waters": ("waters", "water"),
}


def segments(text: str) -> list[dict[str, str]]:
    """Rows of the segment table.

    >>> segments("P: device sw site=A | fiber os2 96m")[1]
    {'path': 'P', 'step': '2', 'kind': 'fiber', 'part': 'os2', 'length_m': '96'}
    """
    rows = []
    for number, path_text in enumerate(text.split("||"), start=1):
        name, colon, rest = path_text.partition(":")
        if not colon:
            name, rest = f"P{number}", path_text
        for step, row_text in enumerate(rest.split("|"), start=1):
            kind, part, *cells = shlex.split(row_text)
            row = {"path": name.strip(), "step": str(step), "kind": kind, "part": part}
            for cell in cells:
                column, equals, value = cell.partition("=")
                row |= {column: value} if equals else {"length_m": cell.removesuffix("m")}
            rows.append(row)
    return rows


def other_tables(text: str) -> dict[str, list[dict[str, str]]]:
    """Rows of the other tables, by table."""
    tables = defaultdict(list)
    for row_text in filter(str.strip, text.split("|")):
        begin, *cells = shlex.split(row_text)
        table, first = _FIRST_COLUMN[begin]
        pairs = [cell.partition("=")[::2] for cell in cells]
        if table == "project":
            tables[table] += [{"setting": name, "value": value} for name, value in pairs]
        else:
            tables[table].append({first: pairs[0][0]} | dict(pairs[1:]))
    return tables


def write_tables(folder: Path, tables: dict[str, list[dict]]) -> Path:
    """Tables as a folder of CSV files."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        heads = list(dict.fromkeys(head for row in rows for head in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, heads, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


@cache
def own_catalog():
    """The catalogues with the parts of the cases laid over."""
    return load_catalog((OWN_PARTS,))


def run(folder: Path, text: str, others: str = "", catalog=None) -> Evaluation:
    """Write a design in compact notation, read it as a user's and evaluate it."""
    return run_tables(folder, {"segments": segments(text), **other_tables(others)}, catalog)


def run_tables(folder: Path, tables: dict[str, list[dict]], catalog=None) -> Evaluation:
    """Write tables, read them as a user's design and evaluate it."""
    catalog = catalog or own_catalog()
    return evaluate(read_design(write_tables(folder, tables), catalog), catalog)


def checked(folder: Path, text: str, others: str = "", **families) -> dict:
    """A design with parts of its own, as a user checks it."""
    parts = folder / "parts"
    parts.mkdir()
    for family, rows in families.items():
        rows = [row | {"source": "as the example prints", "basis": "data sheet"} for row in rows]
        heads = list(dict.fromkeys(head for row in rows for head in row))
        with (parts / f"{family}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, heads, restval="")
            writer.writeheader()
            writer.writerows(rows)
    catalog = load_catalog((parts,))
    return record(run(folder / "design", text, others, catalog))
