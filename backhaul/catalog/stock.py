"""Our own files, indexed by part when opened and parsed part by part when asked for.

A design needs some thirty parts of three thousand rows. Our files keep one row a line, the
part first and unquoted (a test sees to it), so that the index needs no parsing.
"""

import csv
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from backhaul.catalog.families import Family
from backhaul.catalog.names import normal
from backhaul.catalog.reading import Row, Table, fields_of, parse_rows
from backhaul.errors import InputError

_PACKAGE = Path(__file__).parent.parent
_INSTALLED = _PACKAGE / "_catalogs"  # where the build puts them
_IN_THE_TREE = _PACKAGE.parent / "catalogs"


class Stock(Mapping[str, list[Row]]):
    """The rows of one family by part: ours, with a user's laid over."""

    def __init__(self, family: Family):
        self.family = family
        self.file = f"catalogs/{family.file}"
        folder = _INSTALLED if _INSTALLED.is_dir() else _IN_THE_TREE
        lines = (folder / family.file).read_text(encoding="utf-8").splitlines()
        self._header = lines[0]
        self._lines: dict[str, list[tuple[int, str]]] = {}
        for number, line in enumerate(lines[1:], 2):
            self._lines.setdefault(line.partition(",")[0], []).append((number, line))
        self._parsed: dict[str, list[Row]] = {}

    def __getitem__(self, part: str) -> list[Row]:
        if part not in self._parsed:
            self._parsed[part] = self._parse(self._lines[part])
        return self._parsed[part]

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    def __contains__(self, part: object) -> bool:
        return part in self._lines

    @cached_property
    def _fields(self) -> list[Any]:
        table = Table([], [], [])
        fields = fields_of(self.family, self._header.split(","), self.file, table)
        if table.problems:
            raise InputError(table.problems)
        return fields

    def _parse(self, lines: list[tuple[int, str]]) -> list[Row]:
        table = Table([], [], [])
        cells = csv.reader([line for _, line in lines], strict=True)
        numbered = zip([number for number, _ in lines], cells, strict=True)
        width = self._header.count(",") + 1
        parse_rows(self.family, self._fields, numbered, width, self.file, table)
        if table.problems:
            raise InputError(table.problems)
        return table.rows

    def lay_over(self, rows: list[Row], spelled: Mapping[str, str]) -> None:
        """A part that the upper file names replaces all of that part's rows.

        `spelled` gives the spelling of a name that is known already.
        """
        upper: dict[str, list[Row]] = {}
        for row in rows:
            part = spelled.get(normal(row.record.part), row.record.part)
            if part != row.record.part:
                row = row._replace(record=row.record._replace(part=part))
            upper.setdefault(part, []).append(row)
        for part, its_rows in upper.items():
            self._lines[part] = []
            self._parsed[part] = its_rows

    def spellings(self) -> dict[str, str]:
        return {normal(part): part for part in self._lines}


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
