"""Every run of a design once: where it begins and ends, what is on its ends, who uses it."""

from collections import defaultdict
from typing import Any, NamedTuple

from backhaul.budgets.orders import is_factory_made
from backhaul.budgets.terminations import BARE, EXISTING, end_faces, termination_to_fit
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL, Link

TERMINATED = "plug fitted on site"
PIGTAIL = "pigtail spliced on"
SPLICED = "bare, spliced"
AS_IT_LIES = "as it lies"


class Use(NamedTuple):
    """A run as one link goes over it: its place among the link's rows."""

    link: Link
    place: int

    @property
    def row(self) -> Segment:
        return self.link.rows[self.place]


class End(NamedTuple):
    """One end of a run: site, what it meets there, what is on it."""

    site: str | None
    meets: str
    face: str
    #: plug to be fitted on site, "" if none
    termination: str = ""

    @property
    def text(self) -> str:
        return ": ".join(word for word in (self.site, self.meets) if word)


class Run(NamedTuple):
    """A physical run. Rows of one label are one run."""

    row: Segment
    record: Any
    uses: tuple[Use, ...]
    ends: tuple[End, End]
    paths: tuple[str, ...]

    @property
    def name(self) -> str:
        return self.row.label or f"{self.paths[0]} {self.row.step:g}"

    @property
    def key(self) -> str:
        return f"cable.{self.row.id}"

    @property
    def is_fiber(self) -> bool:
        return KINDS[self.row.kind].families[0] == "fibers"

    @property
    def is_made(self) -> bool:
        return is_factory_made(self.record)


def cable_runs(evaluation: Any) -> list[Run]:
    """All runs in the order of the design, each once."""
    uses: dict[tuple, list[Use]] = defaultdict(list)
    for links in evaluation.network.links.values():
        for link in links:
            for place, row in enumerate(link.rows):
                if KINDS[row.kind].is_run:
                    uses[row_key(row)].append(Use(link, place))
    rows: dict[tuple, list[Segment]] = defaultdict(list)
    for row in evaluation.design.segments:
        if KINDS[row.kind].is_run:
            rows[row_key(row)].append(row)
    return [_run(evaluation, same, tuple(uses[key])) for key, same in rows.items()]


def _run(evaluation: Any, rows: list[Segment], uses: tuple[Use, ...]) -> Run:
    first = uses[0].row if uses else rows[0]
    record = getattr(evaluation.catalog, KINDS[first.kind].families[0])[first.part]
    sites = evaluation.network.places.get(first.id, (first.site, first.to_site))
    if uses:
        ends = run_ends(evaluation, uses[0], sites)
    else:
        ends = tuple(End(site, "", "") for site in sites)
    paths = tuple(dict.fromkeys(path for row in rows for path in row.path))
    return Run(first, record, uses, ends, paths)


def run_ends(evaluation: Any, use: Use, sites: tuple[str | None, str | None]) -> tuple[End, End]:
    """Both ends of a run as a link meets them."""
    catalog, link, place = evaluation.catalog, use.link, use.place
    faces = end_faces(link, place, catalog) if link.kind == OPTICAL else ("", "")
    ends = []
    for side, step in enumerate((-1, 1)):
        face, termination = faces[side], ""
        if face == BARE and use.row.by == EXISTING:
            face = AS_IT_LIES
        elif face == BARE:
            termination = termination_to_fit(link, place, side, catalog)
            is_spliced = KINDS[link.rows[place + step].kind].divides_run
            face = (
                f"{PIGTAIL if is_spliced else TERMINATED} ({termination})"
                if termination
                else SPLICED
            )
        ends.append(End(sites[side], _meets(evaluation, use, step), face, termination))
    return ends[0], ends[1]


def _meets(evaluation: Any, use: Use, step: int) -> str:
    """What stands beside an end of a run: a port, a joint, a protector, another run."""
    link, place = use.link, use.place + step
    if not 0 <= place < len(link.rows):
        return port_text(link, far=step > 0)
    row = link.rows[place]
    if KINDS[row.kind].ends_light:
        port = port_text(link, far=step > 0)
        return f"{port} ({row.part})" if port else row.part
    if KINDS[row.kind].is_run:
        return row.label or row.part
    return joint_text(row)


def port_text(link: Link, *, far: bool) -> str:
    """Equipment and port at one end of a link; of a shared feed all its loads."""
    equipment, port = (link.far, link.far_port) if far else (link.near, link.near_port)
    if far and len(link.loads) > 1:
        return ", ".join(load.label or load.part for load in link.loads)
    if equipment is None:
        return ""
    name = equipment.label or equipment.part
    return f"{name} port {port.port}" if port is not None else name


def joint_text(row: Segment) -> str:
    """A joint or protector in the way of a link.

    >>> joint_text(Segment(("P",), 4, "splice", part="fusion-splice", count=2))
    '2 × fusion-splice'
    """
    count = 1 if row.count is None else row.count
    return f"{count} × {row.part}" if KINDS[row.kind].per_strand else row.part
