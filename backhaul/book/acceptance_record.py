"""The acceptance record: as designed against as built, who, when, with what is open."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from backhaul.as_built.acceptance import Acceptance
from backhaul.as_built.judged import GOOD, NOTED, OFF, OPEN, Judged
from backhaul.as_built.table import table_heads, table_rows
from backhaul.book.document import document
from backhaul.book.formula_cells import number_format
from backhaul.book.us_sheet import sheet_of
from backhaul.checks.safety import DEFERS
from backhaul.findings import FAIL, PASS, THIN
from backhaul.safe_file import write_beside_and_rename
from backhaul.spreadsheet.cells import Head, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Book, Content, Sheet

_PAGE = (30, 12, 12, 12, 12, 26)
_RIGHT = "head right"
_ON_PAGE = 18
_WORDS = {GOOD: PASS, NOTED: "note", OFF: FAIL, OPEN: THIN}


def write_acceptance_record(acceptance: Acceptance, path: Path) -> None:
    """Write the record; an existing file is replaced only by a whole one. Raises OutputError."""
    from backhaul.spreadsheet.writer import write_book

    write_beside_and_rename(path, lambda: write_book(acceptance_record(acceptance)))


def acceptance_record(acceptance: Acceptance) -> Book:
    """One page to sign, every reading behind it, and the readings as a table of the design."""
    sheets = [_page(acceptance), _as_built(acceptance), _not_used(acceptance), _table(acceptance)]
    return document(
        acceptance.results.design,
        [sheet for sheet in sheets if sheet is not None],
        subject="Acceptance record",
    )


def _page(acceptance: Acceptance) -> Sheet:
    design = acceptance.results.design
    project = design.project
    sheet = sheet_of(
        design,
        "Acceptance",
        "Acceptance record",
        _PAGE,
        subtitle=", ".join(
            str(word)
            for word in (
                project.title or design.name,
                project.client and f"for {project.client}",
                project.document,
                project.revision and f"revision {project.revision}",
                project.date,
                f"design digest {design.digest}",
            )
            if word
        ),
        landscape=False,
        one_page=True,
    )
    sheet.row(Text(_in_a_sentence(acceptance), "lead", sheet.width))
    for note in acceptance.notes:
        sheet.say(note, "caution")
    sheet.heading("Sites")
    sheet.head(
        "Site",
        *(Head(word.capitalize(), _RIGHT) for word in (GOOD, OFF, OPEN, NOTED)),
        "Measured by, on",
    )
    for site, judged in _by_site(acceptance).items():
        counts = [sum(each.status == s for each in judged) for s in (GOOD, OFF, OPEN, NOTED)]
        sheet.row(site, *(Number(count, format="0") for count in counts), _who(judged))
    _listed(sheet, "Off", [each for each in acceptance.judged if each.status == OFF])
    _listed(sheet, "Open", [each for each in acceptance.judged if each.status == OPEN])
    sheet.heading("Accepted")
    for label in (
        "For the builder: name, date, signature",
        "For the client: name, date, signature",
    ):
        sheet.row(Text(label, span=2), Text("", span=4), height=24)
    sheet.row(Text("With these points open until", span=2), Text("", span=4), height=24)
    sheet.say(
        f"Readings say nothing of fixings, earthing and disconnection times: {DEFERS}.", "caution"
    )
    return sheet


def _in_a_sentence(acceptance: Acceptance) -> str:
    counts = acceptance.counts
    if not sum(counts.values()):
        return "The design asks for no readings."
    if counts[OFF] or acceptance.not_used:
        word = "Not to be accepted as it is"
    elif counts[OPEN]:
        word = "Good as far as it was read"
    else:
        word = "As designed"
    told = [f"{counts[status]} {status}" for status in (GOOD, OFF, OPEN) if counts[status]]
    if acceptance.not_used:
        told.append(f"{len(acceptance.not_used)} entries not used")
    return f"{word}: {', '.join(told)}."


def _by_site(acceptance: Acceptance) -> dict[str, list[Judged]]:
    found: dict[str, list[Judged]] = {}
    for each in acceptance.judged:
        found.setdefault(each.reading.site or "no site given", []).append(each)
    return found


def _who(judged: Sequence[Judged]) -> str:
    words = dict.fromkeys(
        ", ".join(filter(None, (each.taken.by, each.taken.date)))
        for each in judged
        if each.taken is not None
    )
    return "; ".join(word for word in words if word)


def _listed(sheet: Sheet, title: str, judged: Sequence[Judged]) -> None:
    if not judged:
        return
    sheet.heading(title)
    for each in judged[:_ON_PAGE]:
        why = each.why + (f"; {each.hint}" if each.hint else "")
        sheet.row(each.reading.key, Text(why, span=5))
    if len(judged) > _ON_PAGE:
        sheet.say(f"and {len(judged) - _ON_PAGE} more on the sheet As built", "muted")


def _as_built(acceptance: Acceptance) -> Sheet:
    sheet = sheet_of(
        acceptance.results.design,
        "As built",
        "As designed against as built",
        (13, 25, 26, 9, 9, 9, 9, 9, 6, 8, 8, 13, 11, 14, 32),
    )
    sheet.head(
        "Site",
        "Key",
        "What is read",
        *(Head(word, _RIGHT) for word in ("Expected", "Lowest", "Highest", "Measured", "Apart")),
        "Unit",
        Head("Verdict", "head center"),
        Head("Water, m", _RIGHT),
        "By",
        "Date",
        "Remark",
        "Why, what it hints at",
        repeat=True,
    )
    sheet.table([_cells(each) for each in acceptance.judged])
    return sheet


def _cells(judged: Judged) -> tuple[Content, ...]:
    reading, taken, limits = judged.reading, judged.taken, judged.limits
    figures = (limits.expected, limits.lowest, limits.highest)
    digits = max((bound.digits for bound in reading.bounds.values()), default=2)
    return (
        reading.site or "",
        reading.key,
        reading.label,
        *(_figure(figure, digits) for figure in figures),
        _value(judged.value),
        _figure(judged.apart, digits),
        reading.unit,
        _status(judged),
        _figure(taken.water_level_m if taken else None),
        taken.by if taken else "",
        taken.date if taken else "",
        taken.remark if taken else "",
        "; ".join(filter(None, (judged.why, judged.hint))),
    )


def _status(judged: Judged) -> SheetCell:
    word = _WORDS[judged.status]
    if word == "note":
        return Text("noted", "text center")
    return Verdict("OK" if judged.status == GOOD else "FAIL" if judged.status == OFF else "open")


def _figure(value: Any, digits: int = 2) -> Content:
    if value is None or value != value:
        return ""
    return Number(float(value), format=number_format(digits))


def _value(value: Any) -> Content:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return Number(value, format="General") if isinstance(value, int | float) else value or ""


def _not_used(acceptance: Acceptance) -> Sheet | None:
    if not acceptance.not_used:
        return None
    design, title = acceptance.results.design, "What was written and is not used"
    sheet = sheet_of(design, "Not used", title, (44, 34, 80))
    sheet.head("Where", "Key", "Why", repeat=True)
    sheet.table([tuple(each) for each in _told(acceptance)])
    return sheet


def _told(acceptance: Acceptance) -> Iterator[tuple[str, str, str]]:
    for each in acceptance.not_used:
        yield each.where, each.key, each.why


def _table(acceptance: Acceptance) -> Sheet | None:
    """The sheet that can be copied into the design: its name and heads are those of the table."""
    rows = list(table_rows(acceptance))
    if not rows:
        return None
    sheet = Sheet("readings", "", (18, 34, 12, 8, 14, 18, 12, 30))
    sheet.head(*table_heads(acceptance))
    sheet.table(
        [tuple(Number(c, format="General") if isinstance(c, float) else c for c in r) for r in rows]
    )
    return sheet
