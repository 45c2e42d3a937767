"""Links: what budgets are made for. Optic to optic, terminal to terminal, port to port, supply
to load."""

from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.equipment import Equipment

OPTICAL, RADIO, COPPER, FEED = "optical", "radio", "copper", "feed"


class Link:
    """One link of the design, built once however many paths run over it.

    `rows` are its segments in order. `near` and `far` are the equipment at its ends (None where an
    optic stands alone), `near_port` and `far_port` the ports that were found for it, `near_plug`
    and `far_plug` what the rows say about them.
    """

    __slots__ = (
        "kind",
        "key",
        "rows",
        "near",
        "far",
        "loads",
        "near_port",
        "far_port",
        "near_termination",
        "far_termination",
        "uses",
        "index",
    )

    def __init__(
        self,
        *,
        kind: str,
        key,
        rows: tuple[Segment, ...],
        near,
        far,
        near_termination=None,
        far_termination=None,
    ):
        self.kind = kind
        self.key = key
        self.rows = rows
        self.near: Equipment | None = near
        self.far: Equipment | None = far
        #: all that a feed named by one label feeds; else just the far end
        self.loads: list[Equipment] = [far] if far is not None else []
        self.near_port: Any = None
        self.far_port: Any = None
        self.near_termination: Any = near_termination
        self.far_termination: Any = far_termination
        self.uses: list[LinkUse] = []
        self.index = -1

    @property
    def paths(self) -> tuple[str, ...]:
        if len(self.uses) == 1:
            return (self.uses[0].path,)
        return tuple(dict.fromkeys(use.path for use in self.uses))

    @property
    def first_step(self) -> float:
        return self.uses[0].first_step

    @property
    def last_step(self) -> float:
        return self.uses[0].last_step

    @property
    def run(self) -> Segment:
        """Its first run, past a protector; of a hop its row."""
        return next((row for row in self.rows if KINDS[row.kind].is_run), self.rows[0])

    @property
    def row_ids(self) -> tuple[int, ...]:
        """Segments that a finding on the whole link counts for, in every path that uses it."""
        if len(self.uses) == 1:
            return self.uses[0].row_ids
        return tuple(dict.fromkeys(row for use in self.uses for row in use.row_ids))

    def __repr__(self) -> str:
        return f"Link({self.kind} {self.uses[0].path} {self.first_step}-{self.last_step})"


class LinkUse(NamedTuple):
    """A link as one path runs over it."""

    link: Link
    path: str
    first_step: float
    last_step: float
    #: the path runs from the link's far end to its near end
    is_reversed: bool
    row_ids: tuple[int, ...]
