"""What terminal, JSON and workbook say of one design, verdict by verdict, side by side."""

import re
from collections.abc import Iterator
from typing import Any, NamedTuple

import recalculation
from raw_cells import raw_cells

from backhaul.book.sheets.chain import SOUND_ROW
from backhaul.findings import PASS
from backhaul.report.record import record
from backhaul.report.terminal import MARKS, report
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.writer import write_book

VERDICT_OF_MARK = {mark: verdict for verdict, mark in MARKS.items()}
ANSWERS = {"yes": "pass", "with care": "thin", "not yet": "fail"}
_ROW = re.compile(r"^ {0,4}(\d+(?:\.\d+)?)  (FAIL|thin|pass)  ")


class Said(NamedTuple):
    """One verdict: of what, and what each outlet says; None where an outlet does not show it."""

    what: str
    json: str
    terminal: str | None
    book: object


def verdicts(evaluation: Any, book: "Recalculated") -> Iterator[Said]:
    """All verdicts of a design: of the whole, of paths, of rows, of links."""
    data = record(evaluation)
    text = [line for line, _ in report(evaluation, width=400, everything=True)]
    yield Said("design", data["verdict"], _design_in(text), book.answer())
    shown = dict(_paths_in(text, [path["path"] for path in data["paths"]]))
    for path in data["paths"]:
        name = path["path"]
        verdict, rows = shown[name]
        yield Said(name, path["verdict"], verdict, book.of(f"chain.{_safe(name)}.verdict"))
        for segment in path["segments"]:
            step = f"{segment['step']:g}"
            cell = book.row(name, step)
            yield Said(f"{name} step {step}", segment["verdict"], rows.get(step), cell)


def links(evaluation: Any, book: "Recalculated") -> Iterator[Said]:
    """Verdict of every link that has a live cell, against the evaluation's."""
    for kind in evaluation.network.links.values():
        for link in kind:
            key = book.link_keys.get(link.key)
            if key:
                yield Said(repr(link), evaluation.link_verdict(link), None, book.of(key))


class Recalculated:
    """The book of an evaluation as a second engine computes it, by key."""

    def __init__(self, evaluation: Any, engine: str = "formualizer"):
        from backhaul.book import book as books
        from backhaul.book.document import NO_DATE
        from backhaul.book.plan import NAMES, Plan
        from backhaul.book.status import lay_status
        from backhaul.book.us_references import refer_in_si
        from backhaul.spreadsheet.grid import Book

        plan = Plan(evaluation)
        sheets = list(books._sheets(plan, lambda stage: None))
        lay_status(plan, sheets)
        refer_in_si(sheets)
        sheets.sort(key=lambda sheet: NAMES.index(sheet.name))
        self.book = Book(sheets, title="try", created=NO_DATE)
        self.plan = plan
        self.link_keys = {key: cell for key, (cell, _) in plan.link_verdicts.items()}
        self.layout = Layout(self.book)
        self.data = write_book(self.book)
        self.stored = recalculation.stored_values(self.data)
        self._memory: recalculation.InMemory | None = None
        self.values = recalculation.recalculate(self.data, engine)

    def type_in(self, typed: dict[str, float]) -> "Recalculated":
        """The same book with figures typed over by key; it forgets what was typed before."""
        places = {self.place(key): value for key, value in typed.items()}
        if self._memory is None:
            self._memory = recalculation.InMemory(self.data)
        self.values = self._memory.typed(places)
        return self

    def has(self, key: str) -> bool:
        return key in self.layout.spots

    def place(self, key: str) -> tuple[str, str]:
        spot = self.layout.spots[key]
        return self.layout.names[spot.sheet], f"{column_letters(spot.column)}{spot.row}"

    def of(self, key: str) -> object:
        sheet, address = self.place(key)
        if address in self.values[sheet]:
            return self.values[sheet][address]
        return self.stored_cell(sheet, address)

    def stored_cell(self, sheet: str, address: str) -> object:
        cell = raw_cells(self.data)[sheet].get(address)
        return cell and cell.value

    def answer(self) -> object:
        return ANSWERS.get(str(self.of("glance.answer")))

    def row(self, path: str, step: str) -> object:
        """Verdict of a row on Chain; a dash is that of a sound row whose link fails."""
        chain = next(sheet for sheet in self.book.sheets if sheet.name == "Chain")
        begun = False
        for row in chain.rows:
            first = row.cells[0] if row.cells else None
            key = getattr(first, "key", "")
            if key.endswith(".anchor"):
                begun = key == f"chain.{_safe(path)}.anchor"
            if begun and getattr(first, "text", first) == step and len(row.cells) > 10:
                cells = [cell for cell in row.cells if type(cell).__name__ == "Verdict"]
                sound = any(getattr(cell, "text", "") == SOUND_ROW for cell in row.cells)
                return cells[0].value if cells or not sound else PASS
        return None


def _safe(path: str) -> str:
    return path.replace("{", "(").replace("}", ")")


def _design_in(text: list[str]) -> str:
    return VERDICT_OF_MARK[text[0].rpartition(": ")[2]]


def _paths_in(text: list[str], paths: list[str]) -> Iterator[tuple[str, tuple[str, dict]]]:
    """Verdict of each path and of its rows, as the terminal prints them."""
    name, verdict, rows = "", "", {}
    for line in text:
        found = next((p for p in paths if re.match(rf"{re.escape(p)}(?: \(.*?\))?: ", line)), None)
        if found and (mark := re.match(r"[^:]*: (FAIL|thin|pass)", line[len(found) :])):
            if name:
                yield name, (verdict, rows)
            name, verdict, rows = found, VERDICT_OF_MARK[mark[1]], {}
        elif name and (row := _ROW.match(line)):
            rows[row[1]] = VERDICT_OF_MARK[row[2]]
    if name:
        yield name, (verdict, rows)
