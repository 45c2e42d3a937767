"""A digest of what was read: the same design gives the same one in all its forms."""

import hashlib
from array import array
from collections.abc import Iterable, Sequence
from sys import byteorder

from backhaul.design.model import Design

LETTERS = 16
NOT_INPUT = frozenset(("id", "row", "table", "rows", "typed"))
FORMAT = b"backhaul design 1"
BLANK_NUMBER = float("-inf")  # cannot be read from a cell


def digest_of(design: Design) -> str:
    """Short hexadecimal digest of all that a designer wrote, without its place in files."""
    sha = hashlib.sha256(FORMAT)
    project = design.project
    typed = sorted(project.typed)
    _add(sha, "project", [(name, [getattr(project, name)]) for name in typed])
    _add_records(sha, "sites", list(design.sites.values()))
    _add_records(sha, "segments", design.segments)
    _add_records(sha, "paths", list(design.paths.values()))
    _add_records(sha, "demand", design.demand)
    _add_records(sha, "extras", design.extras)
    for key, profile in sorted(design.terrain.items(), key=repr):
        columns = [(name, getattr(profile, name).tolist()) for name in profile._fields
                   if name not in NOT_INPUT]  # fmt: skip
        _add(sha, f"terrain {key!r}", columns)
    return sha.hexdigest()[:LETTERS]


def _add_records(sha, name: str, records: Sequence) -> None:
    if records:
        columns = zip(*records)
        named = zip(records[0]._fields, columns)
        _add(sha, name, ((field, column) for field, column in named if field not in NOT_INPUT))


def _add(sha, name: str, columns: Iterable[tuple[str, Sequence]]) -> None:
    """Feed columns that hold anything; each by its name, so that an unused one changes nothing."""
    for column, values in columns:
        kinds = set(map(type, values))
        if kinds == {type(None)}:
            continue
        sha.update(f"\0{name}.{column}\0{len(values)}\0".encode())
        if kinds <= {float, int, type(None)} and float in kinds:
            numbers = array("d", [BLANK_NUMBER if v is None else v for v in values])
            if byteorder == "big":
                numbers.byteswap()
            sha.update(numbers.tobytes())
        elif kinds == {str}:
            sha.update("\0".join(values).encode("utf-8", "surrogatepass"))
        else:
            sha.update(repr(list(values)).encode("utf-8", "surrogatepass"))
