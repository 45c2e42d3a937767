"""The order list as a CSV that any spreadsheet or buying system takes."""

import csv
import io
from pathlib import Path

from backhaul.budgets.order_lines import item_numbers
from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import phrases
from backhaul.budgets.requirements import demands
from backhaul.checks.results import Results
from backhaul.findings import FAIL, PASS, THIN
from backhaul.safe_file import write_beside_and_rename

#: Suppliers for whose offers there are columns, as on the sheet.
SUPPLIERS = 3
_OF_SUPPLIER = ("part", "complies", "price", "weeks")
COLUMNS = (
    "item",
    "section",
    "part",
    "description",
    "by",
    "needed",
    "spares",
    "to_order",
    "unit",
    "pack",
    "must_meet",
    "sites",
    "paths",
    "note",
    "design",
    "currency",
    *(f"offer_{s}_{name}" for s in range(1, SUPPLIERS + 1) for name in _OF_SUPPLIER),
)
#: What every line says of the design, by its verdict.
DESIGN = {
    PASS: "passes",
    THIN: "thin: order once its open points are accepted",
    FAIL: "fails: do not order before it is settled",
}
#: Of a length, which may come from feet: 850 m, not 849.998808.
_DECIMALS = 2
#: A text that begins so is taken for a formula by spreadsheet programs.
_RISKY = ("=", "+", "-", "@", "\t", "\r")


def safe_text(text: str) -> str:
    """Text that no spreadsheet takes for a formula.

    >>> safe_text("=1+1"), safe_text("os2-12")
    ("'=1+1", 'os2-12')
    """
    return f"'{text}" if text.startswith(_RISKY) else text


def order_csv(evaluation: Results) -> str:
    """All lines of the order list, those to be ordered first; figures with a decimal point."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    currency = evaluation.design.project.currency or ""
    orders = order_list(evaluation)
    ordered = orders.lines_by("")
    items = item_numbers(ordered)
    for number, line in enumerate(orders.lines):
        paths = dict.fromkeys(path for place in line.places for path in place.paths)
        sites = dict.fromkeys(site for place in line.places for site in place.sites)
        must = "" if line.by else phrases(demands(evaluation, line))
        row = (
            items[number] if number < len(items) else "",
            line.section,
            line.part,
            line.description,
            line.by,
            _figure(line.needed),
            line.spares,
            _figure(line.to_order),
            line.unit,
            line.pack,
            must,
            ", ".join(sites),
            ", ".join(paths),
            line.note,
            DESIGN[evaluation.verdict],
            currency,
            *[""] * SUPPLIERS * len(_OF_SUPPLIER),
        )
        writer.writerow(safe_text(cell) if isinstance(cell, str) else cell for cell in row)
    return out.getvalue()


def write_order_csv(evaluation: Results, path: Path, *, source: Path | None = None) -> None:
    """Write the order list; an existing file is replaced only by a whole one."""
    write_beside_and_rename(path, lambda: order_csv(evaluation).encode("utf-8-sig"), source=source)


def _figure(value: float) -> int | float:
    value = round(value, _DECIMALS)
    return int(value) if value == int(value) else value
