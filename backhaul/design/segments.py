"""The segment table: kinds, parts and sites looked up, each kind's own columns asked for."""

from collections.abc import Collection, Mapping, Sequence
from functools import partial
from itertools import chain, compress, repeat
from operator import attrgetter, is_not

from backhaul.design.columns import SEGMENTS, SURFACE_WORDS, SURFACES, WATER
from backhaul.design.kinds import KINDS
from backhaul.design.lookup import (
    ANTENNAS,
    COMMON,
    RADIOS,
    find_part,
    is_of_other_kind,
    is_read,
    parts_for,
)
from backhaul.design.model import Segment
from backhaul.tables.collector import Collector
from backhaul.tables.names import listed, shown, squash
from backhaul.tables.parse import Parsed, report_faults


def read_segments(
    read: Parsed,
    catalog,
    sites: Mapping[str, object] | None,
    waters: Collection[str],
    collector: Collector,
) -> tuple[tuple[Segment, ...], dict[str, Sequence], dict[str, set[int]]]:
    """All segments in the order of their rows, their columns that hold anything, and by column the
    places of cells that cannot be used, of which nothing more is to be told.

    `sites` is None where that table is missing.
    """
    columns = {column.name: read.column(column.name) for column in SEGMENTS}
    kinds = columns["kind"]
    report_faults(read, collector, lambda name, place: is_read(name, kinds[place]))
    columns |= _without_unread(read, kinds, collector)
    columns["part"] = _parts(read, "part", columns["part"], kinds, catalog, collector)
    for name, families in (
        ("to_part", RADIOS),
        ("antenna", ANTENNAS),
        ("to_antenna", ANTENNAS),
    ):
        if name in read.filled:
            columns[name] = _parts(read, name, columns[name], kinds, catalog, collector, families)
    if sites is not None:
        columns |= _known_sites(read, columns, sites, collector)
    if "surface" in read.filled:
        columns["surface"] = read_surfaces(
            read, columns["surface"], (*SURFACES, WATER, *waters), collector
        )
    _check_steps(read, collector)
    if collector.is_full:  # rows of junk are not made into segments
        collector.raise_problems()
    count = len(read)
    strands = columns["strand"]
    columns["strand"] = [strand or () for strand in strands] if any(strands) else [()] * count
    filled = {name: columns[name] for name in read.filled}
    ordered = [columns[name] for name in Segment._fields if name in columns]
    rows = zip(*ordered, range(count), read.numbers, repeat(read.table))
    segments = tuple(map(partial(tuple.__new__, Segment), rows))
    return segments, filled, _unusable(read, columns)


def _unusable(read: Parsed, columns: Mapping[str, Sequence]) -> dict[str, set[int]]:
    """Places of cells that hold what cannot be used, by column."""
    found = {name: set(faults) for name, faults in read.faulty.items()}
    for name in read.filled:
        written, used = read.column(name), columns[name]
        if written is not used:
            lost = {
                place
                for place, (text, value) in enumerate(zip(written, used))
                if text is not None and value is None
            }
            if lost:
                found.setdefault(name, set()).update(lost)
    return found


def _without_unread(
    read: Parsed, kinds: Sequence[str | None], collector: Collector
) -> dict[str, list]:
    """Columns with what a row's kind does not read left out; each earns a note."""
    cleared: dict[str, list] = {}
    for name in read.filled:
        if name in COMMON:
            continue
        values, faults = read.column(name), read.faulty.get(name, {})
        filled = set(compress(kinds, map(is_not, values, repeat(None))))
        filled |= {kinds[place] for place in faults}
        if all(is_read(name, kind) for kind in filled):
            continue
        cleared[name] = list(values)
        for place, kind in enumerate(kinds):
            if (values[place] is not None or place in faults) and not is_read(name, kind):
                cleared[name][place] = None
                collector.note(
                    read.table,
                    read.numbers[place],
                    name,
                    f"{name} is not read for the kind {kind} and was ignored",
                    group=("unread", kind, name),
                    segment=place,
                )
    return cleared


class _Lookup(dict):
    """Parts by (kind, name as written): the catalogue's name, or None."""

    def __init__(self, catalog, families: tuple[str, ...] | None):
        self.catalog, self.families = catalog, families
        self.special = False
        self._known: dict[str, list[str]] = {}

    def known(self, kind: str) -> list[str]:
        """Names that a row of that kind may hold in this column."""
        if kind not in self._known:
            self._known[kind] = (
                list(getattr(self.catalog, self.families[0]))
                if self.families
                else parts_for(self.catalog, KINDS[kind])
            )
        return self._known[kind]

    def __missing__(self, key: tuple[str, str]) -> str | None:
        kind, name = key
        if kind is not None and name is not None:
            families = self.families or KINDS[kind].families
            found = find_part(self.catalog, families, name)
            if found is None or (not self.families and is_of_other_kind(found, kind)):
                self.special = True
            else:
                self[key] = found.part
                return found.part
        self[key] = None
        return None


def _parts(
    read: Parsed,
    name: str,
    written: Sequence[str | None],
    kinds: Sequence[str | None],
    catalog,
    collector: Collector,
    families: tuple[str, ...] | None = None,
) -> list[str | None]:
    """A column of parts by the catalogue's names; unknown ones become problems."""
    lookup = _Lookup(catalog, families)
    found = list(map(lookup.__getitem__, zip(kinds, written)))
    if not lookup.special:
        return found
    unknown: dict[tuple[str, str], list[int]] = {}
    for place, (part, text, kind) in enumerate(zip(found, written, kinds)):
        if part is None and text is not None and kind is not None:
            unknown.setdefault((kind, text), []).append(place)
    for (kind, text), places in unknown.items():
        if collector.has_room():
            _unknown_part(read, places, name, kind, text, lookup, collector)
    return found


def _unknown_part(
    read: Parsed,
    places: Sequence[int],
    name: str,
    kind: str,
    text: str,
    lookup: _Lookup,
    collector: Collector,
) -> None:
    what = {"to_part": "radio", "antenna": "antenna", "to_antenna": "antenna"}.get(name, kind)
    rows = [read.numbers[place] for place in places]
    found = shown(text) + collector.likewise(read.table, [(row, name) for row in rows[1:]])
    if known_as := _known_as(lookup.catalog, text):
        found += f", a part for {known_as}"
    known = lookup.known(kind)
    remedy = collector.nearest(text, known)
    if not remedy and len(known) <= 12:
        remedy = f"known: {listed(known)}"
    remedy = remedy or f"see them with: backhaul parts {what}"
    collector.problem(
        read.table, rows[0], name, found, f"a part of the catalogues for {what}", remedy
    )


def _known_as(catalog, name: str) -> str:
    """What the catalogues know under that name, in words."""
    for kind in KINDS.values():
        record = find_part(catalog, kind.families, name)
        if record is not None and not is_of_other_kind(record, kind.name):
            return kind.name
    return "antenna" if find_part(catalog, ANTENNAS, name) else ""


def _known_sites(
    read: Parsed,
    columns: Mapping[str, Sequence[str | None]],
    sites: Collection[str],
    collector: Collector,
) -> dict[str, list[str | None]]:
    """The columns of sites without those that the sites table does not have; each such name is
    told once, with its places."""
    names = ("site", "to_site")
    unknown = set(columns["site"]) | set(columns["to_site"])
    unknown -= {*sites, None}
    if not unknown:
        return {}
    places: dict[str, list[tuple[int, str]]] = {}
    for place, pair in enumerate(zip(*(columns[name] for name in names))):
        for name, value in zip(names, pair):
            if value in unknown:
                places.setdefault(value, []).append((read.numbers[place], name))
    for value, found in places.items():
        collector.problem(
            read.table,
            *found[0],
            f"the site {shown(value)}{collector.likewise(read.table, found[1:])}",
            "a site of the sites table",
            collector.nearest(value, sites),
        )
    return {
        name: [None if value in unknown else value for value in columns[name]] for name in names
    }


def read_surfaces(
    read: Parsed, values: Sequence[str | None], known: Collection[str], collector: Collector
) -> list[str | None]:
    """A column of surfaces in the spelling of those that there are; others become problems."""
    spelled = {squash(name): name for name in known}
    spelled |= {squash(word): meant for word, meant in SURFACE_WORDS.items()}
    found = [None if value is None else spelled.get(squash(value)) for value in values]
    for place, (name, value) in enumerate(zip(found, values)):
        if name is None and value is not None:
            collector.problem(
                read.table,
                read.numbers[place],
                "surface",
                shown(value),
                listed(known),
                collector.nearest(value, known),
            )
    return found


def _check_steps(read: Parsed, collector: Collector) -> None:
    """A step stands once in each path."""
    paths, steps = read.column("path"), read.column("step")
    is_plain = None not in paths and None not in steps and set(map(len, set(paths))) == {1}
    if is_plain and len(set(zip(paths, steps))) == len(steps):
        return
    first: dict[tuple[str, float], int] = {}
    for place, (names, step) in enumerate(zip(paths, steps)):
        if names is None or step is None:
            continue
        for path in names:
            other = first.setdefault((path, step), place)
            if other != place:
                where = read.table.cell(read.numbers[other], "step")
                collector.problem(
                    read.table,
                    read.numbers[place],
                    "step",
                    f"step {step:g} of path '{path}' again, first at {where}",
                    "each step once in a path",
                )


def path_names(segments: tuple[Segment, ...]) -> dict[str, None]:
    """All paths that segments name, in order."""
    lists = dict.fromkeys(map(attrgetter("path"), segments))
    return dict.fromkeys(chain.from_iterable(names for names in lists if names))
