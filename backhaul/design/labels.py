"""Rows with one label are one thing: they agree, or the design cannot be used."""

from collections.abc import Container, Iterable, Mapping
from typing import Any

from backhaul.design.columns import SEGMENTS
from backhaul.design.kinds import AIR, KINDS
from backhaul.tables.collector import Collector
from backhaul.tables.names import listed, plain, shown
from backhaul.tables.twins import as_written

#: what may differ between rows of one thing
FREE = frozenset(("path", "step", "strand", "port", "to_port", "note", "label"))
ENDS = (
    ("site", "to_site"),
    ("part", "to_part"),
    ("height_m", "to_height_m"),
    ("antenna", "to_antenna"),
    ("diversity_m", "to_diversity_m"),
    ("frequency_ghz", "to_frequency_ghz"),
)
#: a blank at the far end means the same as at the first
SAME_IF_BLANK = (
    ("part", "to_part"),
    ("antenna", "to_antenna"),
    ("frequency_ghz", "to_frequency_ghz"),
)
BLANK_IS = {"count": 1, "extra_loss_db": 0.0}
COMPARED = tuple(c.name for c in SEGMENTS if c.name not in FREE and c.name != "kind")


Faulty = Mapping[str, Container[int]]


def check_labels(segments: Iterable[Any], faulty: Faulty, collector: Collector) -> None:
    """Every label names one thing of one kind, described alike wherever it stands.

    `faulty` holds the ids of rows by column whose cell could not be read: not compared.
    """
    by_label: dict[str, list[Any]] = {}
    for segment in segments:
        if segment.label is not None and segment.kind is not None:
            by_label.setdefault(segment.label, []).append(segment)
    for rows in by_label.values():
        if len(rows) > 1:
            _check_one(rows, faulty, collector)


def _check_one(rows: list[Any], faulty: Faulty, collector: Collector) -> None:
    first = rows[0]
    alike = [row for row in rows if row.kind == first.kind]
    for row in rows:
        if row.kind != first.kind:
            collector.problem(
                row.table,
                row.row,
                "kind",
                f"a {row.kind} labelled {shown(row.label)}, at {first.at('kind')} a {first.kind}",
                "one label for one thing",
                "give one of them another label",
            )
    terminals: list[Any] = []
    if KINDS[first.kind].medium == AIR:
        ends = [*faulty.get("site", ()), *faulty.get("to_site", ())]  # type: ignore[misc]
        alike = [row for row in alike if row.id not in ends]
        terminals = [row for row in alike if row.to_site is None]
        alike = [row for row in alike if row.to_site is not None]
    if alike:
        reference = as_meant(alike[0])
        for row in alike[1:]:
            _compare(reference, alike[0], row, faulty, collector)
    _check_terminals(terminals, alike[0] if alike else None, collector)


def as_meant(row: Any) -> dict[str, Any]:
    """The compared columns with blanks as they are read."""
    meant: dict[str, Any] = {name: getattr(row, name) for name in COMPARED}
    for name, value in BLANK_IS.items():
        if meant[name] is None:
            meant[name] = value
    if row.to_site is not None and KINDS[row.kind].medium == AIR:
        for name, far in SAME_IF_BLANK:
            if meant[far] is None:
                meant[far] = meant[name]
    return meant


def columns_as_written(first: Any, row: Any, names: Iterable[str]) -> dict[str, str]:
    """What each column of a thing is called in another row of its label, which may be turned."""
    swap = _other_ends(row.kind) if _is_turned(first, row) else {}
    return {name: swap.get(name, name) for name in names}


def _is_turned(first: Any, row: Any) -> bool:
    """Whether a row tells the same thing from its other end."""
    meant = as_meant(first)
    return as_meant(row) != meant and turned(as_meant(row), row.kind) == meant


def cells_of_another(before: Any, after: Any, row: Any, names: Iterable[str]) -> dict[str, Any]:
    """What is to stand in another row of the label of a changed one, which may be turned.

    A blank at the far end that means the same as at the first is written out where it has to be.
    """
    meant, swap = as_meant(after), {}
    if _is_turned(before, row):
        meant, swap = turned(meant, row.kind), _other_ends(row.kind)
    cells = {swap.get(name, name): meant[swap.get(name, name)] for name in names}
    for name in names:
        if name in BLANK_IS and name not in swap:
            cells[name] = getattr(after, name)
    if row.to_site is not None and KINDS[row.kind].medium == AIR:
        for near, far in SAME_IF_BLANK:
            if near in cells or far in cells:
                is_blank = getattr(row, far) is None and meant[far] == meant[near]
                cells |= {near: meant[near], far: None if is_blank else meant[far]}
    return cells


def _other_ends(kind: str) -> dict[str, str]:
    """What the columns of one end are called in a row that is turned."""
    swap = {name: far for pair in ENDS for name, far in (pair, pair[::-1])}
    if KINDS[kind].medium != AIR:
        del swap["part"], swap["to_part"]
    return swap


def turned(meant: dict[str, Any], kind: str) -> dict[str, Any]:
    """The same thing written from its other end."""
    is_reversed = dict(meant)
    for name, far in ENDS:
        if name == "part" and KINDS[kind].medium != AIR:
            continue
        is_reversed[name], is_reversed[far] = meant[far], meant[name]
    return is_reversed


def _compare(reference: dict, first: Any, row: Any, faulty: Faulty, collector: Collector) -> None:
    """Make a problem of every column in which a row contradicts the first of its label."""
    meant = as_meant(row)
    straight = [name for name in COMPARED if meant[name] != reference[name]]
    if not straight:
        return
    is_reversed = turned(meant, row.kind)
    other_way = [name for name in COMPARED if is_reversed[name] != reference[name]]
    if not other_way:
        return
    differing, is_reversed = straight, False
    if len(other_way) < len(straight):
        differing, is_reversed = other_way, True
    swap = _other_ends(row.kind) if is_reversed else {}
    for name in differing:
        own = swap.get(name, name)
        if row.id in faulty.get(own, ()) or first.id in faulty.get(name, ()):
            continue
        collector.problem(
            row.table,
            row.row,
            own,
            f"{_in_cell(row, own, meant[own])} for the thing labelled {shown(row.label)}, "
            f"at {first.at(name)} {_in_cell(first, name, reference[name])}",
            "the same wherever the label stands",
            "correct one of them, or give one another label",
        )


def _in_cell(row: Any, column: str, value: object) -> str:
    """A value as its cell has it: a length may stand there in feet."""
    if column.endswith("_m") and isinstance(value, float) and row.table is not None:
        return shown(as_written(row.table, row.row, column, value))
    return _value(value)


def _value(value: object) -> str:
    if value is None:
        return "a blank"
    return shown(plain(value) if isinstance(value, float) else value)


def _check_terminals(terminals: list[Any], hop: Any | None, collector: Collector) -> None:
    """A terminal alone is one end of the hop of its label: the same part at that site."""
    known: dict[str | None, tuple[str, str]] = {}
    if hop is not None:
        known[hop.site] = (hop.part, hop.at("part"))
        far = "to_part" if hop.to_part else "part"
        known[hop.to_site] = (hop.to_part or hop.part, hop.at(far))
    for row in terminals:
        if hop is not None and row.site not in known:
            collector.problem(
                row.table,
                row.row,
                "site",
                f"{_value(row.site)} for a terminal of the hop {shown(row.label)} "
                f"at {hop.at('site')}",
                "one of its ends: " + listed([s for s in (hop.site, hop.to_site) if s]),
            )
            continue
        part, where = known.setdefault(row.site, (row.part, row.at("part")))
        if row.part != part and part and row.part:
            collector.problem(
                row.table,
                row.row,
                "part",
                f"{_value(row.part)} for the terminal of {shown(row.label)} at "
                f"{_value(row.site)}, at {where} {_value(part)}",
                "the same part wherever the terminal stands",
            )
