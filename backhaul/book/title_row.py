"""Beside the title of every sheet: which document this is, in what state, who answers for it."""

from backhaul.book.sheets.page_fit import PT_PER_CHARACTER, row_heights_pt
from backhaul.book.status import LONGEST_ALARM
from backhaul.checks.results import Results
from backhaul.spreadsheet.cells import Calc, Text
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import text_pt

#: Room for the title of a sheet at least [characters of a column]; its status stands beside it.
_TITLE_CHARACTERS = 60.0
#: Kept free beside the words of the status [characters of a column].
_STATUS_SPARE = 3.0


def status_words(evaluation: Results) -> str:
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


def say_status(sheet: Sheet, evaluation: Results) -> None:
    """Put the status beside the title, in the columns that it leaves free."""
    row = _titled(sheet, evaluation)
    if row is not None:
        [height] = row_heights_pt(sheet, sheet.rows[:1])  # pages were laid with it
        sheet.rows[0] = row._replace(height=height)


def reserve_status(sheet: Sheet, evaluation: Results) -> None:
    """Give the title's row, before pages are laid, the height that the status beside it takes."""
    row = _titled(sheet, evaluation)
    if row is not None:
        [height] = row_heights_pt(sheet, [row])
        sheet.rows[0] = sheet.rows[0]._replace(height=height)


def _titled(sheet: Sheet, evaluation: Results) -> Row | None:
    """The title's row with the status; None where a sheet has no room for it."""
    title = sheet.rows[0].cells[0] if sheet.rows and sheet.rows[0].cells else None
    if not isinstance(title, Text | Calc) or title.style != "title" or title.span < sheet.width:
        return None
    status = status_words(evaluation)
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
    return Row((title._replace(span=used), beside))


def _characters(words: str, role: str) -> float:
    """Width of a line of words [characters of a column]."""
    look = LOOKS[role]
    return text_pt(words, look.size_pt, bold=look.bold) / PT_PER_CHARACTER
