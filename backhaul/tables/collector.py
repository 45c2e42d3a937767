"""Collects what is wrong and what is worth a note while a design is read."""

from collections.abc import Iterable, Mapping, Sequence

from backhaul.errors import InputError, Problem
from backhaul.findings import NOTE, Finding
from backhaul.spreadsheet.column_letters import column_number
from backhaul.tables.column import Column
from backhaul.tables.names import nearest
from backhaul.tables.table import Table

MOST_SUGGESTIONS = 40  # comparing names is slow; the terminal prints 50 problems at most
#: cells that one problem names besides the first
MOST_CELLS = 6
MOST_PROBLEMS = 5_000  # what is beyond is counted: a table of junk must not fill the memory


class _Noted:
    """One note, or many of one group: the first of them, how many, which segments."""

    def __init__(self, row: int, place: tuple, finding: Finding):
        self.row, self.place, self.finding = row, place, finding
        self.count, self.segments = 0, set()


class Collector:
    """All problems and notes of one reading, each with its place.

    `tables` are the declared tables in the order in which their problems are told.
    """

    def __init__(self, tables: Mapping[str, Sequence[Column]]) -> None:
        self._tables = tables
        self._order = {name: place for place, name in enumerate(("", *tables))}
        self._problems: list[tuple[tuple, Problem]] = []
        self._notes: dict[object, _Noted] = {}
        self._suggested = 0
        self._beyond = 0

    def problem(
        self, table: Table, row: int, column: str, found: str, needed: str, remedy: str = ""
    ) -> None:
        """A cell that cannot be used."""
        if not self.has_room():
            return
        place = (
            self._order.get(table.name, 99),
            table.file,
            row,
            self._column_order(table, column),
        )
        where = table.cell(row, column)
        self._problems.append((place, Problem(where, found, needed, remedy)))

    def has_room(self) -> bool:
        """Whether one more problem would be kept; one that would not is counted."""
        if len(self._problems) < MOST_PROBLEMS:
            return True
        self._beyond += 1
        return False

    @property
    def is_full(self) -> bool:
        """Whether so much was found that nothing further need be looked at."""
        return len(self._problems) >= MOST_PROBLEMS

    def file_problem(
        self, where: str, found: str, needed: str, remedy: str = "", table: str = ""
    ) -> None:
        """A file or sheet that cannot be used."""
        if not self.has_room():
            return
        place = (self._order.get(table, 0), where, 0, 0)
        self._problems.append((place, Problem(where, found, needed, remedy)))

    def note(
        self,
        table: Table,
        row: int,
        column: str,
        message: str,
        *,
        check: str = "ignored",
        group: object = None,
        where: str | None = None,
        segment: int | None = None,
        remedy: str | None = None,
    ) -> None:
        """Something read otherwise than written; notes of one group become one finding."""
        key = group if group is not None else (table.name, row, column, message)
        noted = self._notes.get(key)
        if noted is None or row < noted.row:
            place = (
                self._order.get(table.name, 99),
                table.file,
                row,
                self._column_order(table, column),
            )
            cell = where or table.cell(row, column)
            finding = Finding(check, NOTE, message, where=cell, remedy=remedy)
            first = _Noted(row, place, finding)
            if noted is not None:
                first.count, first.segments = noted.count, noted.segments
            noted = self._notes[key] = first
        noted.count += 1
        if segment is not None:
            noted.segments.add(segment)

    def nearest(self, name: str, known: Iterable[str]) -> str:
        """A remedy that quotes the nearest known names; '' when nothing comes near."""
        self._suggested += 1
        if self._suggested > MOST_SUGGESTIONS:
            return ""
        close = nearest(name, known)
        return "nearest: " + ", ".join(f"'{each}'" for each in close) if close else ""

    @staticmethod
    def likewise(table: Table, cells: Sequence[tuple[int, str]]) -> str:
        """Where else the same stands, after the first cell of it; '' where nowhere.

        cells: numbers of rows, and columns.
        """
        if not cells:
            return ""
        rest = f" and {len(cells) - MOST_CELLS} more" if len(cells) > MOST_CELLS else ""
        names = [table.cell(*cell).removeprefix(f"{table.file}:") for cell in cells[:MOST_CELLS]]
        return f" (also at {', '.join(names)}{rest})"

    def raise_problems(self) -> None:
        """Raise everything that was found, sorted by place."""
        if self._problems:
            self._problems.sort(key=lambda entry: entry[0])
            problems = list(dict.fromkeys(problem for _, problem in self._problems))
            if self._beyond:
                problems.append(
                    Problem(
                        "elsewhere",
                        f"{self._beyond:,} problems more",
                        "none",
                        "correct those above first",
                    )
                )
            raise InputError(problems)

    def notes(self) -> tuple[Finding, ...]:
        """The notes as findings, sorted by place."""
        return tuple(
            noted.finding._replace(
                message=noted.finding.message
                + (f" (so in {noted.count} cells)" if noted.count > 1 else ""),
                rows=tuple(sorted(noted.segments)),
            )
            for noted in sorted(self._notes.values(), key=lambda noted: noted.place)
        )

    def _column_order(self, table: Table, column: str) -> int:
        """Place of a column in its table."""
        if table.letters is not None:
            letters = table.letters.get(column)
            return column_number(letters) if letters else 0
        for place, each in enumerate(self._tables.get(table.name, ())):
            if each.name == column:
                return place
        return 0
