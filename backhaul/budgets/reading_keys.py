"""Printed keys of readings: the same from revision to revision, however rows move.

A key is a name, what is read, and the end where there are two: `crest-hop.level.near`. The name is the
label of the thing; without one it is path and step. Site cards print it, filled cards and the table
`readings` bring it back.
"""

from collections.abc import Iterable
from typing import Any

from backhaul.path.equipment import Equipment
from backhaul.path.links import Link

ENDS = ("near", "far")


def key_text(*words: str | None) -> str:
    """A printed key of its words.

    >>> key_text("Crest cabinet", "earth")
    'crest-cabinet.earth'
    """
    return ".".join("-".join(str(word).split()).casefold() for word in words if word)


def folded(key: str) -> str:
    """A key as it is compared: hyphens, underscores, blanks and case do not count.

    >>> folded(" Crest Hop.Level.near ") == folded("crest-hop.level.near")
    True
    """
    return "".join(letter for letter in key.casefold() if letter not in " \t\n\u00a0-_")


def row_name(row: Any) -> str:
    """Label of the thing that a row stands for, else its first path and step.

    >>> from backhaul.design.model import Segment
    >>> row_name(Segment(("power",), 3, "feed"))
    'power.3'
    """
    return row.label or f"{row.path[0]}.{row.step:g}"


def is_by_place(key: str, paths: Iterable[str]) -> bool:
    """Whether a key is made of a path and a step: with other numbers it may be that of another row.

    >>> is_by_place("Power.3.volts", ["power"]), is_by_place("hop.level.near", ["power"])
    (True, False)
    """
    own = folded(key)
    return any(
        own.startswith(start) and own[len(start)].isdigit()
        for start in (f"{folded(key_text(path))}." for path in paths)
        if len(own) > len(start)
    )


def hop_key(link: Link, what: str, end: int) -> str:
    """Of something at one terminal of a hop, 0 near and 1 far."""
    return key_text(row_name(link.rows[0]), what, ENDS[end])


def light_key(link: Link, what: str, end: int) -> str:
    """Of something at one end of an optical link: the optic's label, else device and typed port."""
    row, equipment = (link.rows[-1], link.far) if end else (link.rows[0], link.near)
    if not row.label and equipment is not None and equipment.label and row.port:
        return key_text(equipment.label, row.port, what)
    return key_text(row_name(row), what)


def equipment_key(equipment: Equipment, what: str) -> str:
    """Of something at a device, or at one terminal of a hop."""
    return key_text(row_name(equipment.segment), what, equipment.end)


def run_key(row: Any, what: str) -> str:
    """Of something along a run."""
    return key_text(row_name(row), what)


def site_key(site: str | None, what: str) -> str:
    """Of something that is done once at a site."""
    return key_text(site or "no-site", what)
