"""The whole workbook of an evaluation: its sheets in order, its properties, its file."""

import importlib
from collections.abc import Callable
from pathlib import Path

from backhaul.book.document import document
from backhaul.book.plan import NAMES, Plan
from backhaul.book.result_names import key_results
from backhaul.book.status import lay_status
from backhaul.book.title_row import say_status
from backhaul.book.us_references import refer_in_si
from backhaul.checks.results import Results
from backhaul.progress import unwatched
from backhaul.safe_file import write_beside_and_rename
from backhaul.spreadsheet.grid import Book, Sheet

#: Modules of `workbook.sheets` in the order in which they are built: sheets whose cells others
#: refer to come first; Basis lists the sources that Inputs names, and comes last. The order in the book is `plan.NAMES`.
SHEETS = (
    "optical_links",
    "radio_hops",
    "copper_and_supply",
    "alternatives",
    "chain",
    "line_drawings",
    "order_list",
    "order_runs",
    "requirements",
    "cables_and_strands",
    "site_cards",
    "open_points",
    "at_a_glance",
    "inputs",
    "basis",
)

#: What is done to write a workbook, in turn.
STAGES = (*(f"sheet {name.replace('_', ' ')}" for name in SHEETS), "writing the file")


def build_book(evaluation: Results, progress: Callable[[str], None] = unwatched) -> Book:
    """Lay out all sheets; a sheet that has nothing to say is left out."""
    plan = Plan(evaluation)
    sheets = _sheets(plan, progress)
    lay_status(plan, sheets)
    refer_in_si(sheets)
    for sheet in sheets:
        sheet.locked = True
        sheet.frozen = sheet.frozen or (1, 0)  # the title says so where the book does not stand
        say_status(sheet, evaluation)
    sheets.sort(key=lambda sheet: NAMES.index(sheet.name))
    return document(
        evaluation.design, sheets, subject="Backhaul budget workbook", names=key_results(plan)
    )


def _sheets(plan: Plan, progress: Callable[[str], None]) -> list[Sheet]:
    for name, stage in zip(SHEETS, STAGES, strict=False):
        progress(stage)
        module = importlib.import_module(f"backhaul.book.sheets.{name}")
        sheet = module.build(plan)
        if sheet is not None:
            plan.sheets.append(sheet)
    return plan.sheets


def write_workbook(
    evaluation: Results,
    path: Path,
    *,
    source: Path | None = None,
    progress: Callable[[str], None] = unwatched,
) -> None:
    """Write the workbook of an evaluation; `progress` is called with each of `STAGES`.

    An existing file is replaced only by a whole one. Raises OutputError where the file cannot be
    written or is the design itself.
    """
    from backhaul.spreadsheet.writer import write_book

    def made() -> bytes:
        book = build_book(evaluation, progress)
        progress("writing the file")
        return write_book(book)

    write_beside_and_rename(path, made, source=source)
