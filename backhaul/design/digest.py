"""A digest of what was read: the same design gives the same one in all its forms."""

import hashlib
from array import array
from collections.abc import Mapping, Sequence
from itertools import compress, repeat
from operator import is_not
from sys import byteorder

from backhaul.design.model import Design

LETTERS = 16
NOT_INPUT = frozenset(("id", "row", "table", "rows", "typed"))
FORMAT = b"backhaul design 1"


def digest_of(design: Design, segments: Mapping[str, Sequence]) -> str:
    """Short hexadecimal digest of all that a designer wrote, without its place in files.

    `segments` are the columns of the design's segments, at hand while reading.
    """
    sha = hashlib.sha256(FORMAT)
    project = design.project
    _add(sha, "project", {name: [getattr(project, name)] for name in sorted(project.typed)})
    _add_records(sha, "sites", list(design.sites.values()))
    _add(sha, "segments", {name: segments[name] for name in sorted(segments)})
    _add_records(sha, "paths", list(design.paths.values()))
    _add_records(sha, "demand", design.demand)
    _add_records(sha, "extras", design.extras)
    _add_records(sha, "waters", list(design.waters.values()))
    _add_records(sha, "accepted", design.accepted)
    _add_records(sha, "readings", design.readings)
    for key in sorted(design.terrain, key=repr):
        profile = design.terrain[key]
        columns = {
            name: list(values) if isinstance(values, tuple) else values.tolist()
            for name, values in zip(profile._fields, profile)
            if name not in NOT_INPUT and values is not None
        }
        _add(sha, f"terrain {key!r}", columns)
    return sha.hexdigest()[:LETTERS]


def _add_records(sha, name: str, records: Sequence) -> None:
    if records:
        columns = dict(zip(records[0]._fields, zip(*records)))
        _add(sha, name, {n: values for n, values in columns.items() if n not in NOT_INPUT})


def _add(sha, name: str, columns: Mapping[str, Sequence]) -> None:
    """Feed columns that hold anything; each by its name, so that an unused one changes nothing."""
    for column, values in columns.items():
        filled = bytes(map(is_not, values, repeat(None)))
        if 1 not in filled:
            continue
        sha.update(f"\0{name}.{column}\0{len(values)}\0".encode() + filled)
        values = list(compress(values, filled))
        kinds = set(map(type, values))
        if kinds <= {float, int}:
            numbers = array("d", values)
            if byteorder == "big":
                numbers.byteswap()
            sha.update(numbers.tobytes())
        elif kinds == {str}:
            sha.update("\0".join(values).encode())
        elif kinds == {tuple}:
            sha.update("\0".join(map("\1".join, values)).encode())
        else:
            sha.update(repr(values).encode())
