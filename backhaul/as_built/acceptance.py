"""Readings of a design that was built: what is good, off, open, and what was not used."""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from backhaul.as_built.cards import is_filled, keys_of
from backhaul.as_built.entry import Entry, of_table
from backhaul.as_built.hints import hint
from backhaul.as_built.judged import (
    OFF,
    OPEN,
    Judged,
    NotUsed,
    Taken,
    judge,
    one_each,
    still_open,
    take,
)
from backhaul.as_built.sources import read_entries
from backhaul.budgets.reading_keys import folded, is_by_place
from backhaul.budgets.site_reading import SiteReading
from backhaul.budgets.site_readings import readings_of
from backhaul.checks.results import Results
from backhaul.design.columns import READINGS
from backhaul.design.model import Reading
from backhaul.design.settings import US
from backhaul.tables.collector import Collector
from backhaul.tables.names import nearest, shown, squash

#: Share of the keys of a book that must be known, else it is of another design.
_KNOWN_SHARE = 0.5


class Acceptance:
    """Every reading of a design with what was written down for it."""

    def __init__(
        self,
        results: Results,
        judged: Sequence[Judged],
        not_used: Sequence[NotUsed],
        notes: Sequence[str],
    ):
        self.results = results
        self.judged = tuple(judged)
        #: what was written down and could not be used, with its place
        self.not_used = tuple(not_used)
        #: what is to be known of the books
        self.notes = tuple(notes)

    @cached_property
    def counts(self) -> Counter:
        """How many readings are good, off, noted and open."""
        return Counter(each.status for each in self.judged)

    @property
    def exit_status(self) -> int:
        """1 where a reading is off or could not be used, else 0; what is open is told only."""
        return 1 if self.counts[OFF] or self.not_used else 0

    @property
    def is_open(self) -> bool:
        """Whether readings that the design asks for are still to be taken, or to be judged."""
        return bool(self.counts[OPEN])

    def of(self, status: str) -> list[Judged]:
        return [each for each in self.judged if each.status == status]

    @property
    def taken(self) -> list[Taken]:
        """Readings that were taken and can be used, as a `readings` table has them."""
        return [each.taken for each in self.judged if each.taken is not None]

    def frame(self) -> Any:
        """A pandas table: one row a reading, taken or not."""
        import pandas

        return pandas.DataFrame([record_of(each) for each in self.judged], columns=list(FIELDS))


FIELDS = (
    "site",
    "reading",
    "what",
    "unit",
    "expected",
    "lowest",
    "highest",
    "value",
    "apart",
    "status",
    "water_level_m",
    "by",
    "date",
    "remark",
    "why",
    "hint",
    "where",
)


def record_of(judged: Judged) -> dict[str, Any]:
    """One reading as plain data."""
    taken, reading = judged.taken, judged.reading
    figures = [
        float(figure) if figure == figure else None
        for figure in (judged.limits.expected, judged.limits.lowest, judged.limits.highest)
    ]
    return dict(
        zip(
            FIELDS,
            (
                reading.site,
                reading.key,
                reading.label,
                reading.unit,
                *figures,
                judged.value,
                judged.apart,
                judged.status,
                taken.water_level_m if taken else None,
                taken.by if taken else "",
                taken.date if taken else "",
                taken.remark if taken else "",
                judged.why,
                judged.hint,
                taken.entry.where if taken else None,
            ),
            strict=True,
        )
    )


def accept(
    results: Results, sources: Iterable[Path] = (), own: Sequence[Reading] | None = None
) -> Acceptance:
    """Readings of books of filled cards and of `readings` tables, that of the design with them.

    results: of the design without its readings. own: the design's readings, if not those of
    `results`. Raises InputError where a file cannot be read, or is of another design.
    """
    by_site = readings_of(results)
    known = keys_of(by_site)
    collector = Collector({"readings": READINGS})
    entries = of_table(tuple(results.design.readings if own is None else own))
    notes: list[str] = []
    for source in sources:
        sites = results.design.sites or None
        found = read_entries(Path(source), known.keys(), sites, collector)
        notes += _whose(found, Path(source).name, known, results, collector)
        entries += found
    collector.raise_problems()
    return _accepted(results, by_site, known, entries, notes)


def _accepted(results: Results, by_site, known, entries: list[Entry], notes) -> Acceptance:
    taken: list[Taken] = []
    us = results.design.project.units == US
    refused: list[NotUsed] = []
    paths = {path for row in results.design.segments for path in row.path}
    for entry in entries:
        reading = known.get(folded(entry.key))
        if reading is None:
            if entry.faults:
                refused.append(NotUsed(entry.where, entry.key, "; ".join(entry.faults)))
            elif is_filled(entry.value):
                refused.append(NotUsed(entry.where, entry.key, _unknown(entry.key, known)))
            continue
        if is_filled(entry.value) and (
            why := _of_another_row(entry, reading, results.design.digest, paths)
        ):
            refused.append(NotUsed(entry.where, entry.key, why))
            continue
        found = take(entry, reading, us=us)
        if isinstance(found, Taken):
            taken.append(found)
        elif found is not None:
            refused.append(found)
    taken, disagreeing = one_each(taken)
    refused += disagreeing
    judged = [judge(each) for each in taken]
    judged += [
        each._replace(why=_told_of(each, refused))
        for readings in by_site.values()
        for each in still_open(readings, judged)
    ]
    order = {folded(r.key): n for n, r in enumerate(r for rs in by_site.values() for r in rs)}
    judged.sort(key=lambda each: order[folded(each.reading.key)])
    others = {each.reading.key: each for each in judged}
    judged = [each._replace(hint=hint(each, results, others)) for each in judged]
    return Acceptance(results, judged, refused, notes)


def _of_another_row(entry: Entry, reading: SiteReading, digest: str, paths: Collection[str]) -> str:
    """Why the reading of a card of another revision may be of another row; blank where it is not.

    A key of path and step moves with the numbers of the steps: what the card says beside it and
    its site must be those of this design.
    """
    if entry.digest in ("", digest) or not is_by_place(reading.key, paths):
        return ""
    told = str(entry.what or "").strip()
    is_same = reading.is_text or squash(told) == squash(reading.label)
    if is_same and entry.site in (None, reading.site):
        return ""
    return (
        f"found {shown(told)} at {entry.site}; in this design the key is {shown(reading.label)} at "
        f"{reading.site}; the steps were renumbered: read by a new card, or give the row a label"
    )


def _told_of(judged: Judged, refused: Sequence[NotUsed]) -> str:
    places = [each.where for each in refused if folded(each.key) == folded(judged.reading.key)]
    return f"what was written is not used: {', '.join(places)}" if places else judged.why


def _unknown(key: str, known) -> str:
    close = nearest(key, (reading.key for reading in known.values()), 1)
    more = f"; nearest: {shown(close[0])}" if close else ""
    return f"{shown(key)} is no reading of this design{more}"


def _whose(
    entries: list[Entry], file: str, known, results: Results, collector: Collector
) -> list[str]:
    """What is to be said of a book whose cards are not those of this revision."""
    if not entries:
        return []
    design = results.design
    cards = {(e.digest, e.revision): e for e in entries if e.digest and e.digest != design.digest}
    keys = {folded(entry.key) for entry in entries}
    if len(keys & known.keys()) < _KNOWN_SHARE * len(keys):
        entry = entries[0]
        told = next(iter(cards), ("", ""))
        digest = f", its cards say design digest {told[0]}" if told[0] else ""
        collector.file_problem(
            entry.where,
            f"{len(keys - known.keys())} of {len(keys)} readings that this design does not have{digest}",
            f"cards of the design with digest {design.digest}",
            "give the design that the cards were printed from",
        )
        return []
    return [
        f"{file}: cards of another revision "
        f"({f'revision {revision}, ' if revision else ''}digest {digest}; this design is "
        f"{design.digest}): matched by their keys, judged by the limits of this design"
        for digest, revision in cards
    ]
