"""Our own files, indexed by part when opened and parsed part by part when asked for.

A design needs some thirty parts of three thousand rows. Our files keep one row a line, the
part first and unquoted (a test sees to it), so that the index needs no parsing.
"""

import csv
from collections.abc import Callable, Iterator, Mapping
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from backhaul.catalog.families import Family
from backhaul.catalog.reading import Row, columns_of, parts_of, record_of
from backhaul.errors import InputError, Problem
from backhaul.tables.faults import Fault
from backhaul.tables.names import squash
from backhaul.tables.values import parser

_PACKAGE = Path(__file__).parent.parent
_INSTALLED = _PACKAGE / "_catalogs"  # where the build puts them
_IN_THE_TREE = _PACKAGE.parent / "catalogs"


class _Ours:
    """Our rows of one family, each part parsed when it is asked for first."""

    def __init__(self, family: Family):
        self.family = family
        self.file = f"catalogs/{family.file}"
        folder = _INSTALLED if _INSTALLED.is_dir() else _IN_THE_TREE
        lines = (folder / family.file).read_text(encoding="utf-8").splitlines()
        self._header = lines[0]
        self.lines: dict[str, list[tuple[int, str]]] = {}
        for number, line in enumerate(lines[1:], 2):
            for part in parts_of(family, line.partition(",")[0]):
                self.lines.setdefault(part, []).append((number, line))
        self._parsed: dict[str, list[Row]] = {}

    def __getitem__(self, part: str) -> list[Row]:
        if part not in self._parsed:
            self._parsed[part] = self._parse(part, self.lines[part])
        return self._parsed[part]

    @cached_property
    def _columns(self) -> list[tuple[int, str, Callable[[object], Any]]]:
        """Place, name and parser of every column of the file."""
        heads = self._header.split(",")
        return [
            (heads.index(column.name), column.name, parser(column))
            for column in columns_of(self.family, heads)
            if column.name in heads
        ]

    def _parse(self, part: str, lines: list[tuple[int, str]]) -> list[Row]:
        rows = []
        texts = csv.reader([line for _, line in lines], strict=True)
        for (number, _), cells in zip(lines, texts, strict=True):
            values = {
                name: parse(cells[place]) if cells[place] else None
                for place, name, parse in self._columns
            }
            for name, value in values.items():
                if isinstance(value, Fault):
                    where = f"{self.file}:{number} {name}"
                    raise InputError([Problem(where, value.found, value.needed, value.remedy)])
            values["part"] = part
            rows.append(Row(record_of(self.family, values), self.file, number))
        return rows


@cache
def _ours(family: Family) -> _Ours:
    """Our rows are read once in a process: no catalogue changes them."""
    return _Ours(family)


class Stock(Mapping[str, list[Row]]):
    """The rows of one family by part: ours, with a user's laid over."""

    def __init__(self, family: Family):
        self.family = family
        self._ours = _ours(family)
        self.file = self._ours.file
        self._lines = dict(self._ours.lines)
        self._own: dict[str, list[Row]] = {}

    def __getitem__(self, part: str) -> list[Row]:
        return self._own[part] if part in self._own else self._ours[part]

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    def __contains__(self, part: object) -> bool:
        return part in self._lines

    def lay_over(self, rows: list[Row], spelled: Mapping[str, str]) -> None:
        """A part that the upper file names replaces all of that part's rows.

        `spelled` gives the spelling of a name that is known already.
        """
        upper: dict[str, list[Row]] = {}
        for row in rows:
            part = spelled.get(squash(row.record.part), row.record.part)
            if part != row.record.part:
                row = row._replace(record=row.record._replace(part=part))
            upper.setdefault(part, []).append(row)
        for part, its_rows in upper.items():
            self._lines[part] = []
            self._own[part] = its_rows

    def own(self, part: str) -> list[Row] | None:
        """The rows of a user's part; None where they are ours."""
        return self._own.get(part)

    def holding(self, text: str) -> Iterator[Row]:
        """Rows that may hold a text: of ours only those are parsed in whose line it stands."""
        for part, lines in self._lines.items():
            if part in self._own or any(text in line for _, line in lines):
                yield from self[part]

    def spellings(self) -> dict[str, str]:
        return {squash(part): part for part in self._lines}


class View(Mapping[str, Any]):
    """What a catalogue shows of a stock: a record a part, or a tuple of them."""

    def __init__(self, stock: Mapping[str, list[Row]], show: Callable[[list[Row]], Any]):
        self._stock, self._show = stock, show
        self._shown: dict[str, Any] = {}

    def __getitem__(self, part: str) -> Any:
        if part not in self._shown:
            self._shown[part] = self._show(self._stock[part])
        return self._shown[part]

    def __iter__(self) -> Iterator[str]:
        return iter(self._stock)

    def __len__(self) -> int:
        return len(self._stock)

    def __contains__(self, part: object) -> bool:
        return part in self._stock


def first_record(rows: list[Row]) -> Any:
    return rows[0].record


def all_records(rows: list[Row]) -> tuple[Any, ...]:
    return tuple([row.record for row in rows])
