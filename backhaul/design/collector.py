"""Collects what is wrong and what is worth a note while a design is read."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.design.columns import TABLES
from backhaul.design.model import Table
from backhaul.design.names import nearest
from backhaul.errors import InputError, Problem
from backhaul.findings import NOTE, Finding

TABLE_ORDER = {name: place for place, name in enumerate(("", "project", *TABLES))}
MOST_SUGGESTIONS = 40  # comparing names is slow; the terminal prints 50 problems at most
SHOWN_LETTERS = 60


class _Noted(NamedTuple):
    place: tuple
    check: str
    message: str
    where: str
    row: int | None


def shown(value: object) -> str:
    """A value as a message quotes it: short, on one line, nothing unprintable.

    >>> shown("96 m")
    "'96 m'"
    """
    text = str(value)
    if len(text) > SHOWN_LETTERS:
        text = text[: SHOWN_LETTERS - 3] + "..."
    text = "".join(ch if ch.isprintable() else "?" if ch > "\x7f" else " " for ch in text)
    return f"'{text}'"


class Collector:
    """All problems and notes of one reading, each with its place."""

    def __init__(self) -> None:
        self._problems: list[tuple[tuple, Problem]] = []
        self._notes: dict[object, list] = {}
        self._suggested = 0

    def problem(
        self, table: Table, row: int, column: str, found: str, needed: str, remedy: str = ""
    ) -> None:
        """A cell that cannot be used."""
        place = (TABLE_ORDER.get(table.name, 99), table.file, row, _order(table, column))
        where = table.cell(row, column)
        self._problems.append((place, Problem(where, found, needed, remedy)))

    def file_problem(
        self, where: str, found: str, needed: str, remedy: str = "", table: str = ""
    ) -> None:
        """A file or sheet that cannot be used."""
        place = (TABLE_ORDER.get(table, 0), where, 0, 0)
        self._problems.append((place, Problem(where, found, needed, remedy)))

    def note(
        self, table: Table, row: int, column: str, message: str, *, check: str = "ignored",
        group: object = None, where: str | None = None, segment: int | None = None,
    ) -> None:  # fmt: skip
        """Something read otherwise than written; notes of one group become one finding."""
        place = (TABLE_ORDER.get(table.name, 99), table.file, row, _order(table, column))
        where = where or table.cell(row, column)
        key = group if group is not None else (place, message)
        self._notes.setdefault(key, []).append(_Noted(place, check, message, where, segment))

    def nearest(self, name: str, known: Iterable[str]) -> str:
        """A remedy that quotes the nearest known names; '' when nothing comes near."""
        self._suggested += 1
        if self._suggested > MOST_SUGGESTIONS:
            return ""
        close = nearest(name, known)
        return "nearest: " + ", ".join(f"'{each}'" for each in close) if close else ""

    @property
    def failed(self) -> bool:
        return bool(self._problems)

    def raise_problems(self) -> None:
        """Raise everything that was found, sorted by place."""
        if self._problems:
            self._problems.sort(key=lambda entry: entry[0])
            raise InputError(dict.fromkeys(problem for _, problem in self._problems))

    def notes(self) -> tuple[Finding, ...]:
        """The notes as findings, sorted by place."""
        first_of_each = sorted(
            (
                (min(group, key=lambda noted: noted.place), len(group), group)
                for group in self._notes.values()
            ),
            key=lambda entry: entry[0].place,
        )
        return tuple(
            Finding(
                check=first.check,
                severity=NOTE,
                message=first.message + (f" (so in {count} cells)" if count > 1 else ""),
                where=first.where,
                rows=tuple(sorted({n.row for n in group if n.row is not None})),
            )
            for first, count, group in first_of_each
        )


def _order(table: Table, column: str) -> int:
    """Place of a column in its table."""
    if table.letters is not None:
        letter = table.letters.get(column)
        return _letters_to_number(letter) if letter else 0
    for place, each in enumerate(TABLES.get(table.name, ())):
        if each.name == column:
            return place
    return 0


def _letters_to_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number
