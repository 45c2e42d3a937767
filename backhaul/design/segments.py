"""The segment table: kinds, parts and sites looked up, each kind's own columns asked for."""

from collections.abc import Collection, Mapping, Sequence
from functools import partial
from itertools import chain, compress, repeat
from operator import attrgetter, is_not

from backhaul.design.collector import Collector, shown
from backhaul.design.columns import SEGMENTS
from backhaul.design.kinds import KINDS, Kind
from backhaul.design.model import Segment
from backhaul.design.names import fold, listed
from backhaul.design.tables import Parsed

KIND_CHOICES = {"kind": tuple(KINDS)}
#: columns that every kind reads
COMMON = frozenset(("path", "step", "kind", "part", "by", "label", "note"))
RADIOS, ANTENNAS = ("radios",), ("antennas",)


def read_segments(
    read: Parsed, catalog, sites: Mapping[str, object] | None, collector: Collector
) -> tuple[tuple[Segment, ...], dict[str, Sequence]]:
    """All segments in the order of their rows, and their columns that hold anything.

    `sites` is None where that table is missing.
    """
    columns = {column.name: read.column(column.name) for column in SEGMENTS}
    kinds = columns["kind"]
    _check_kinds_columns(read, kinds, collector)
    columns["part"] = _parts(read, "part", kinds, catalog, collector)
    for name, families in (
        ("to_part", RADIOS), ("antenna", ANTENNAS), ("to_antenna", ANTENNAS),
    ):  # fmt: skip
        if name in read.columns:
            columns[name] = _parts(read, name, kinds, catalog, collector, families)
    if sites is not None:
        for name in ("site", "to_site"):
            check_sites(read, name, sites, collector)
    _check_steps(read, collector)
    count = len(read)
    strands = columns["strand"]
    columns["strand"] = [strand or () for strand in strands] if any(strands) else [()] * count
    filled = {name: columns[name] for name in read.columns}
    ordered = [columns[name] for name in Segment._fields if name in columns]
    rows = zip(*ordered, range(count), read.numbers, repeat(read.table))
    return tuple(map(partial(tuple.__new__, Segment), rows)), filled


def _check_kinds_columns(read: Parsed, kinds, collector: Collector) -> None:
    """Required columns of a kind are filled; those that it does not read earn a note."""
    used = {name: COMMON | set(kind.columns) for name, kind in KINDS.items()}
    everywhere = set(kinds) - {None}
    for column in SEGMENTS:
        name = column.name
        if name in COMMON:
            continue
        values = read.column(name)
        needing = {kind for kind in everywhere if name in KINDS[kind].required}
        filled: set[str] = set()
        if name in read.columns:
            filled = set(compress(kinds, map(is_not, values, repeat(None)))) - {None}
        useless = {kind for kind in filled if name not in used[kind]}
        lacking = needing if None in values else set()
        if not useless and not lacking:
            continue
        for place, kind in enumerate(kinds):
            if kind in lacking and read.is_blank(place, name):
                article = "an" if kind[0] in "aeiou" else "a"
                collector.problem(read.table, read.numbers[place], name, "a blank",
                                  f"{column.help}: {article} {kind} needs it")  # fmt: skip
            elif kind in useless and values[place] is not None:
                collector.note(read.table, read.numbers[place], name,
                               f"{name} is not read for the kind {kind} and was ignored",
                               group=("unused", kind, name), segment=place)  # fmt: skip


class _Lookup(dict):
    """Parts by (kind, name as written): the catalogue's name, or None."""

    def __init__(self, catalog, families: tuple[str, ...] | None):
        self.catalog, self.families = catalog, families
        self.folded: dict[tuple[str, ...], dict[str, str]] = {}
        self.special = False

    def __missing__(self, key: tuple[str, str]) -> str | None:
        kind, name = key
        found = None
        if kind is not None and name is not None:
            families = self.families or KINDS[kind].families
            found = self._find(name, families)
            if found is None or _wrong_joint(self.catalog, families, kind, found):
                self.special = True
                found = None
        self[key] = found
        return found

    def _find(self, name: str, families: tuple[str, ...]) -> str | None:
        for family in families:
            if name in getattr(self.catalog, family):
                return name
        if families not in self.folded:
            self.folded[families] = {fold(p): p for p in parts_of(self.catalog, families)}
        return self.folded[families].get(fold(name))


def parts_of(catalog, families: tuple[str, ...]) -> list[str]:
    """Names of all parts of some families."""
    return [part for family in families for part in getattr(catalog, family)]


def parts_for(catalog, kind: Kind) -> list[str]:
    """Names of the parts that a row of that kind may name."""
    return [
        part for part in parts_of(catalog, kind.families)
        if not _wrong_joint(catalog, kind.families, kind.name, part)
    ]  # fmt: skip


def _wrong_joint(catalog, families: tuple[str, ...], kind: str, part: str) -> bool:
    """Whether the catalogue says that the part is of another kind than the row."""
    for family in families:
        record = getattr(catalog, family).get(part)
        stated = getattr(record, "kind", None)
        if stated in KINDS and stated != kind:
            return True
    return False


def _parts(read, name: str, kinds, catalog, collector, families=None) -> list[str | None]:
    """A column of parts by the catalogue's names; unknown ones become problems."""
    lookup = _Lookup(catalog, families)
    written = read.column(name)
    found = list(map(lookup.__getitem__, zip(kinds, written)))
    if not lookup.special:
        return found
    for place, (part, text) in enumerate(zip(found, written)):
        kind = kinds[place]
        if part is None and text is not None and kind is not None:
            if name != "part" and name not in KINDS[kind].columns:
                continue
            _unknown_part(read, place, name, kind, text, catalog, collector, families)
    return found


def _unknown_part(read, place, name, kind, text, catalog, collector, families) -> None:
    what = {"to_part": "radio", "antenna": "antenna", "to_antenna": "antenna"}.get(name, kind)
    needed = f"{'an' if what[0] in 'aeiou' else 'a'} {what} of the catalogues"
    found = shown(text)
    if known_as := _known_as(catalog, text):
        found += f", which is {known_as}"
    known = parts_of(catalog, families) if families else parts_for(catalog, KINDS[kind])
    remedy = collector.nearest(text, known)
    if not remedy and len(known) <= 12:
        remedy = f"known: {listed(known)}"
    remedy = remedy or f"see them with: backhaul parts {what}"
    collector.problem(read.table, read.numbers[place], name, found, needed, remedy)


def _known_as(catalog, text: str) -> str:
    """What the catalogues know under that name, in words."""
    asked = fold(text)
    for kind in KINDS.values():
        if any(fold(part) == asked for part in parts_for(catalog, kind)):
            return f"{'an' if kind.name[0] in 'aeiou' else 'a'} {kind.name}"
    if any(fold(part) == asked for part in catalog.antennas):
        return "an antenna"
    return ""


def check_sites(read: Parsed, name: str, sites: Collection[str], collector: Collector) -> None:
    """Every site named is in the sites table."""
    values = read.column(name)
    unknown = set(values) - set(sites) - {None}
    if not unknown:
        return
    for place, value in enumerate(values):
        if value in unknown:
            collector.problem(read.table, read.numbers[place], name, f"the site {shown(value)}",
                              "a site of the sites table", collector.nearest(value, sites))  # fmt: skip


def _check_steps(read: Parsed, collector: Collector) -> None:
    """A step stands once in each path."""
    paths, steps = read.column("path"), read.column("step")
    if None not in paths and None not in steps and set(map(len, set(paths))) == {1}:
        if len(set(zip(paths, steps))) == len(steps):
            return
    first: dict[tuple[str, float], int] = {}
    for place, (names, step) in enumerate(zip(paths, steps)):
        if names is None or step is None:
            continue
        for path in names:
            other = first.setdefault((path, step), place)
            if other != place:
                where = read.table.cell(read.numbers[other], "step")
                collector.problem(read.table, read.numbers[place], "step",
                                  f"step {step:g} of path '{path}' again, first at {where}",
                                  "each step once in a path")  # fmt: skip


def path_names(segments: tuple[Segment, ...]) -> dict[str, None]:
    """All paths that segments name, in order."""
    lists = dict.fromkeys(map(attrgetter("path"), segments))
    return dict.fromkeys(chain.from_iterable(names for names in lists if names))
