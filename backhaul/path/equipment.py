"""Physical things and their identity: what is counted once, however many rows name it.

Rows with one label are one thing. A row without a label is a thing of its own, even where it
stands in several paths. A radio's label names the hop; a terminal is that label at a site.
"""

from typing import Any

from backhaul.design.model import Segment


class Equipment:
    """Equipment with ports: a device, or one terminal of a hop."""

    __slots__ = ("key", "label", "part", "record", "segment", "site", "end", "paths", "row_ids")

    def __init__(self, *, key, label, part, record, segment: Segment, site, end: str = ""):
        self.key = key
        self.label: str | None = label
        self.part: str = part
        self.record: Any = record
        self.segment = segment
        self.site: str | None = site
        self.end = end  # "near" or "far" of a hop, "" for a device
        self.paths: dict[str, float] = {}  # path -> step
        #: all rows that stand for it
        self.row_ids: dict[int, None] = {}

    @property
    def name(self) -> str:
        """How a message calls it."""
        name = f"{self.label} ({self.part})" if self.label else self.part
        return f"{name} at {self.site}" if self.site else name

    def __repr__(self) -> str:
        return f"Thing({self.name})"


def row_key(segment: Segment) -> tuple:
    """Identity of the thing that a row stands for.

    >>> row_key(Segment(("P1",), 1, "device", label="SW1", id=4))
    ('label', 'SW1')
    >>> row_key(Segment(("P1",), 1, "device", id=4))
    ('row', 4)
    """
    return ("label", segment.label) if segment.label else ("row", segment.id)


NEAR, FAR = "near", "far"


def terminal_label(segment: Segment, end: str) -> str | None:
    """Label of one terminal of a hop: the hop's, at its first end that of a hub where it has one."""
    return segment.hub if segment.hub and end == NEAR else segment.label


def terminal_key(segment: Segment, *, site: str | None, end: str) -> tuple:
    """Identity of one terminal of a hop: hop and site, without a site hop and end.

    Hops of one hub have one terminal at their first end.

    >>> hops = [Segment(("P1",), 3, "radio", label=name, hub="H", id=n) for n, name in enumerate("ab")]
    >>> one, other = (terminal_key(hop, site="mast", end=NEAR) for hop in hops)
    >>> one == other, one
    (True, ('terminal', ('label', 'H'), 'mast'))
    """
    label = terminal_label(segment, end)
    return ("terminal", ("label", label) if label else row_key(segment), site or end)
