"""Which parts and columns a kind of segment may name."""

from backhaul.design.kinds import KINDS, Kind

KIND_CHOICES = {"kind": tuple(KINDS)}
#: joints that have no kind of row of their own -> the kind that they stand in
PLACED_AS = {"splitter": "connector", "filter": "connector"}
#: columns that every kind reads
COMMON = frozenset(("path", "step", "kind", "part", "by", "label", "note"))
RADIOS, ANTENNAS = ("radios",), ("antennas",)


def is_read(column: str, kind: str | None) -> bool:
    """Whether rows of that kind read the column."""
    return column in COMMON or kind is None or column in KINDS[kind].columns


def find_part(catalog, families: tuple[str, ...], name: str):
    """The record of a part, however its name is spelled; None if unknown."""
    for family in families:
        record = catalog.find(family, name)
        if record is not None:
            return record
    return None


def parts_for(catalog, kind: Kind) -> list[str]:
    """Names of the parts that a row of that kind may name."""
    return [
        part
        for family in kind.families
        for part, record in getattr(catalog, family).items()
        if not is_of_other_kind(record, kind.name)
    ]


def is_of_other_kind(record, kind: str) -> bool:
    """Whether the catalogue says that the part is of another kind than the row."""
    stated = getattr(record, "kind", None)
    stated = PLACED_AS.get(stated, stated)
    return stated in KINDS and stated != kind
