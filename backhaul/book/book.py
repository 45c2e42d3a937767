"""The whole workbook of an evaluation: its sheets in order, its properties, its file."""

import importlib
from collections.abc import Callable
from pathlib import Path

from backhaul.book.document import document
from backhaul.book.plan import NAMES, Plan
from backhaul.book.result_names import key_results
from backhaul.book.sheets.page_fit import PT_PER_CHARACTER, row_heights_pt
from backhaul.book.status import LONGEST_ALARM, lay_status
from backhaul.book.us_references import refer_in_si
from backhaul.checks.results import Results
from backhaul.progress import unwatched
from backhaul.safe_file import write_beside_and_rename
from backhaul.spreadsheet.cells import Calc, Text
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import text_pt

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

#: Room for the title of a sheet at least [characters of a column]; its status stands beside it.
_TITLE_CHARACTERS = 60.0
#: Kept free beside the words of the status [characters of a column].
_STATUS_SPARE = 3.0


#: What is done to write a workbook, in turn.
STAGES = (*(f"sheet {name.replace('_', ' ')}" for name in SHEETS), "writing the file")


def build_book(evaluation: Results, progress: Callable[[str], None] = unwatched) -> Book:
    """Lay out all sheets; a sheet that has nothing to say is left out."""
    plan = Plan(evaluation)
    sheets = _sheets(plan, progress)
    lay_status(plan, sheets)
    refer_in_si(sheets)
    status = _status(evaluation)
    for sheet in sheets:
        sheet.locked = True
        sheet.frozen = sheet.frozen or (1, 0)  # the title says so where the book does not stand
        _say_status(sheet, status)
    sheets.sort(key=lambda sheet: NAMES.index(sheet.name))
    return document(
        evaluation.design, sheets, subject="Backhaul budget workbook", names=key_results(plan)
    )


def _status(evaluation: Results) -> str:
    """What stands on every sheet: which document this is, in what state, and who answers for it."""
    project = evaluation.design.project
    what = (
        project.document,
        f"revision {project.revision}" if project.revision else "",
        project.date,
        project.status,
    )
    who = (
        f"{word} by {name}" if name else f"not {word}"
        for word, name in (
            ("prepared", project.prepared_by),
            ("checked", project.checked_by),
            ("approved", project.approved_by),
        )
    )
    return "\n".join((", ".join(str(word) for word in what if word), ", ".join(who)))


def _say_status(sheet: Sheet, status: str) -> None:
    """Put the status beside the title, in the columns that it leaves free."""
    title = sheet.rows[0].cells[0] if sheet.rows and sheet.rows[0].cells else None
    if not isinstance(title, Text | Calc) or title.style != "title" or title.span < sheet.width:
        return
    words = getattr(title, "text", "") or getattr(title, "value", "")
    needed = _characters(words + LONGEST_ALARM, "title")
    kept = max(_characters(line, "status") for line in status.split("\n")) + _STATUS_SPARE
    most = sum(sheet.columns[: sheet.width]) - kept
    taken, used = 0.0, 0
    while used < sheet.width - 1 and taken < max(_TITLE_CHARACTERS, needed):
        if taken >= _TITLE_CHARACTERS and taken + sheet.columns[used] > most:
            break
        taken += sheet.columns[used]
        used += 1
    beside = Text(status, "status", sheet.width - used)
    [height] = row_heights_pt(sheet, sheet.rows[:1])  # pages were laid with it
    sheet.rows[0] = sheet.rows[0]._replace(cells=(title._replace(span=used), beside), height=height)


def _characters(words: str, role: str) -> float:
    """Width of a line of words [characters of a column]."""
    look = LOOKS[role]
    return text_pt(words, look.size_pt, bold=look.bold) / PT_PER_CHARACTER


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
