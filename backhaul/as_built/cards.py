"""Filled site cards: readings found by their printed key, wherever a program has moved them."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from backhaul.as_built.entry import Entry
from backhaul.budgets.reading_keys import folded
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.read_cells import NO_VALUE, Merge, Odd, SheetCells
from backhaul.tables.names import squash
from backhaul.tables.twins import FOOT, METRE

#: Heads of the columns that are read, as they are compared: the first names are those printed.
HEADS = {
    "key": ("key", "reading key"),
    "what": ("what is read", "what"),
    "value": ("value", "reading", "measured", "serial number"),
    "unit": ("unit",),
    "water": ("water, m", "water", "water level", "water level, m", "water_level_m"),
    "water_ft": ("water, ft", "water level, ft", "water_level_ft"),
    "by": ("by", "measured by"),
    "date": ("date",),
    "remark": ("remark", "remarks", "photo"),
}
_BY_HEAD = {squash(name): column for column, names in HEADS.items() for name in names}
#: Other heads of the tables of a card: a row of them without Key and Value has lost those.
_BESIDE = frozenset(map(squash, ("expected", "lowest", "highest", "verdict", "fed by")))
_LEAST_HEADS = 3
_CARD = re.compile(r"\s*site card(?:, continued)?:\s*(.+?)\.?\s*", re.IGNORECASE)
_DIGEST = re.compile(r"design digest ([0-9a-f]{8,64})", re.IGNORECASE)
_REVISION = re.compile(r"\brevision ([^,]+)", re.IGNORECASE)
#: Of a card as a whole, and labels that end the cell before them.
_SIGNED = {"measuredby": "by", "date": "date"}
_LABELS = (*_SIGNED, "weather", "photos", "signature", "remarks")
_AS_ABOVE = "asabove"
NO_KEY = "the key beside it is gone"
#: A key that stands where no heads are above it.
NO_HEADS = "the heads Key and Value do not stand above it"


def entries_in(sheet: str, file: str, cells: SheetCells, known: Collection[str]) -> list[Entry]:
    """Rows with a printed key on one sheet; known: keys of the design as they are compared."""
    return _Sheet(sheet, file, cells, known).entries()


class Card:
    """What the rows of one card share."""

    def __init__(self, site: str | None = None):
        self.site = site
        self.digest = self.revision = ""
        self.signed: dict[str, Any] = {}
        self.water: Any = None
        self.found: list[Entry] = []


class _Sheet:
    def __init__(self, sheet: str, file: str, cells: SheetCells, known: Collection[str]):
        self.sheet, self.file, self.cells, self.known = sheet, file, cells, known
        self.card = Card()
        self.heads: dict[str, int] = {}
        self.last_head = 0  # what stands right of it is no part of a card
        self.merges = [merge for merge in cells.merges if merge.last_row > merge.first_row]

    def entries(self) -> list[Entry]:
        cards = [self.card]
        for number, row in zip(self.cells.numbers, zip(*self.cells.columns), strict=True):
            filled = [(place, cell) for place, cell in enumerate(row) if cell not in (None, "")]
            if self._begins_card(filled):
                if self.card not in cards:
                    cards.append(self.card)
            elif (heads := _heads_in(filled)) is not None:
                self.heads = heads
                self.last_head = max(place for place, cell in filled if _is_head(cell))
            else:
                self._read_row(number, row, filled)
        return [self._signed(entry, card) for card in cards for entry in card.found]

    def _begins_card(self, filled: Sequence[tuple[int, Any]]) -> bool:
        for _, cell in filled:
            found = _CARD.fullmatch(cell) if isinstance(cell, str) else None
            if found is None:
                continue
            site = found[1].partition(". ")[0]
            if site != self.card.site:
                self.card = Card(site)
                self.heads = {}
            self._tell_revision(filled)
            return True
        return False

    def _tell_revision(self, filled: Sequence[tuple[int, Any]]) -> None:
        for _, cell in filled:
            if isinstance(cell, str):
                if digest := _DIGEST.search(cell):
                    self.card.digest = digest[1].lower()
                if revision := _REVISION.search(cell):
                    self.card.revision = revision[1].strip()

    def _read_row(self, number: int, row: Sequence, filled: Sequence[tuple[int, Any]]) -> None:
        key_place = self.heads.get("key")
        cell = row[key_place] if key_place is not None and key_place < len(row) else None
        if isinstance(cell, str) and _may_be_key(cell):
            self._take(number, row, cell)
            return
        if not is_filled(cell) and (what := self._lost_key(row)):
            where = self._where(number, self.heads["value"])
            self.card.found.append(
                Entry(what, None, where, self.file, self.card.site, faults=(NO_KEY,))
            )
        self._note_signature(number, filled)
        for place, other in filled if self.card.site and not self.heads else ():
            if isinstance(other, str) and folded(other) in self.known:
                # a key beside its heads: which cell is its figure would be a guess
                where = self._where(number, place)
                self.card.found.append(
                    Entry(other.strip(), None, where, self.file, self.card.site, faults=(NO_HEADS,))
                )

    def _lost_key(self, row: Sequence) -> str:
        """What is read in a row that somebody filled in and whose key is gone; else blank."""
        what, value, unit = (
            row[place] if place is not None and place < len(row) else None
            for place in map(self.heads.get, ("what", "value", "unit"))
        )
        if not isinstance(what, str) or not is_filled(value) or isinstance(unit, float):
            return ""
        return "" if isinstance(value, Odd) and value.what == NO_VALUE else what.strip()

    def _take(self, number: int, row: Sequence, key: str) -> None:
        cells = {
            name: row[place] if place < len(row) else None for name, place in self.heads.items()
        }
        if isinstance(cells.get("unit"), float):
            return  # figures alone, such as limits by water level
        faults = tuple(self._merged(number))
        in_feet = "water_ft" in self.heads
        water = cells.get("water_ft" if in_feet else "water")
        if isinstance(water, str) and squash(water) == _AS_ABOVE:
            water = self.card.water
        elif water not in (None, ""):
            self.card.water = water
        self.card.found.append(
            Entry(
                key.strip(),
                cells.get("value"),
                self._where(number, self.heads["value"]),
                self.file,
                self.card.site,
                cells.get("unit"),
                water,
                cells.get("by"),
                cells.get("date"),
                cells.get("remark"),
                self.card.digest,
                self.card.revision,
                faults,
                cells.get("what"),
                FOOT if in_feet else METRE,
            )
        )

    def _merged(self, number: int) -> Iterator[str]:
        """Merged cells over several rows hide all figures but one."""
        columns = {
            self.heads[name] + 1
            for name in ("key", "value", "water", "water_ft")
            if name in self.heads
        }
        for merge in self.merges:
            if _covers(merge, number, columns):
                yield f"merged cells {merge.text}: which row the figure belongs to is not told"

    def _note_signature(self, number: int, filled: Sequence[tuple[int, Any]]) -> None:
        """Who measured and when, below a card, for its rows that do not say."""
        for (place, label), (at, value) in pairwise(filled):
            names = [n for word, n in _SIGNED.items() if _is_label(label, word)]
            if not names or any(_is_label(value, word) for word in _LABELS):
                continue
            if at <= max(self.last_head, self._end_of(number, place) + 1):
                self.card.signed.setdefault(names[0], value)

    def _end_of(self, number: int, place: int) -> int:
        """Last column of a cell, from 0: of a merged one that of its range."""
        return max(
            (
                merge.last_column - 1
                for merge in self.cells.merges
                if _covers(merge, number, (place + 1,))
            ),
            default=place,
        )

    def _signed(self, entry: Entry, card: Card) -> Entry:
        return entry._replace(
            by=entry.by if entry.by not in (None, "") else card.signed.get("by"),
            date=entry.date if entry.date not in (None, "") else card.signed.get("date"),
            digest=card.digest,
            revision=card.revision,
        )

    def _where(self, number: int, place: int) -> str:
        return f"{self.file}: {self.sheet}!{column_letters(place + 1)}{number}"


def _is_label(cell: Any, word: str) -> bool:
    return isinstance(cell, str) and squash(cell).startswith(word)


def _covers(merge: Merge, row: int, columns: Collection[int]) -> bool:
    return merge.first_row <= row <= merge.last_row and any(
        merge.first_column <= column <= merge.last_column for column in columns
    )


def _heads_in(filled: Sequence[tuple[int, Any]]) -> dict[str, int] | None:
    """Columns by what they hold, where a row is one of heads; none where it lost Key or Value."""
    found: dict[str, int] = {}
    beside = 0
    for place, cell in filled:
        word = squash(cell) if isinstance(cell, str) else ""
        column = _BY_HEAD.get(word)
        if column is not None:
            found.setdefault(column, place)
        beside += word in _BESIDE
    if {"key", "value"} <= found.keys():
        return found
    return {} if len(found) + beside >= _LEAST_HEADS else None


def _is_head(cell: Any) -> bool:
    return isinstance(cell, str) and (squash(cell) in _BY_HEAD or squash(cell) in _BESIDE)


def _may_be_key(text: str) -> bool:
    """Whether a cell of the key's column is a key: words parted by dots, no sentence."""
    text = text.strip()
    return "." in text and not text.endswith(".") and len(text.split()) < 4


def is_filled(cell: Any) -> bool:
    """Whether somebody wrote something.

    >>> is_filled(" "), is_filled(0.0)
    (False, True)
    """
    if isinstance(cell, Odd):
        return True
    return cell is not None and not (isinstance(cell, str) and not cell.strip())


def keys_of(readings: Mapping[Any, Sequence[Any]]) -> dict[str, Any]:
    """Readings by their key as it is compared."""
    return {folded(reading.key): reading for site in readings.values() for reading in site}
