"""Every run of a design once: where it begins and ends, what is on its ends, who uses it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from backhaul.budgets.orders import is_factory_made
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import OPTICAL, Link
from backhaul.path.things import row_key

BARE = "bare"
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
    plug: str = ""

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
    faces = _faces(evaluation.catalog, use) if use.link.kind == OPTICAL else ("", "")
    ends = []
    for side, step in enumerate((-1, 1)):
        face, plug = faces[side], ""
        if face == BARE and use.row.by == "existing":
            face = AS_IT_LIES
        elif face == BARE:
            plug = _plug_to_fit(evaluation.catalog, use, step)
            is_spliced = KINDS[use.link.rows[use.place + step].kind].divides_run
            face = f"{PIGTAIL if is_spliced else TERMINATED} ({plug})" if plug else SPLICED
        ends.append(End(sites[side], _meets(evaluation, use, step), face, plug))
    return ends[0], ends[1]


def _faces(catalog: Any, use: Use) -> tuple[str, str]:
    """What is on both ends of a fiber run; unlike ends lie the way that fits their neighbours."""
    record = catalog.fibers[use.row.part]
    ends = (record.end_a or BARE, record.end_b or BARE)
    if ends[0] == ends[1]:
        return ends
    beside = [_neighbour_face(catalog, use, step) for step in (-1, 1)]

    def misses(order: tuple[str, str]) -> int:
        return sum(
            _family(face) != _family(other) for face, other in zip(order, beside, strict=True)
            if other is not None
        )  # fmt: skip

    turned = ends[::-1]
    return turned if misses(turned) < misses(ends) else ends


def _family(face: str) -> str:
    return face.partition("/")[0].upper()


def _neighbour_face(catalog: Any, use: Use, step: int) -> str | None:
    """Plug family that the next row takes; BARE for a splice, None where it does not say."""
    row = use.link.rows[use.place + step]
    kind = KINDS[row.kind]
    if kind.ends_light:
        return catalog.optics[row.part].receptacle
    if kind.divides_run:
        return BARE
    return None if kind.is_run else catalog.joints[row.part].family


def _plug_to_fit(catalog: Any, use: Use, step: int) -> str:
    """The plug that a bare end needs, through splices; "" where it is spliced to a run."""
    place = use.place + step
    rows = use.link.rows
    while KINDS[rows[place].kind].divides_run:
        place += step
    row, kind = rows[place], KINDS[rows[place].kind]
    if kind.is_run:
        return ""
    part = catalog.optics[row.part] if kind.ends_light else catalog.joints[row.part]
    family = part.receptacle if kind.ends_light else part.family
    return f"{family}/{part.polish or 'UPC'}" if family else ""


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
    thing, port = (link.far, link.far_port) if far else (link.near, link.near_port)
    if far and len(link.loads) > 1:
        return ", ".join(load.label or load.part for load in link.loads)
    if thing is None:
        return ""
    name = thing.label or thing.part
    return f"{name} port {port.port}" if port is not None else name


def joint_text(row: Segment) -> str:
    """A joint or protector in the way of a link.

    >>> joint_text(Segment(("P",), 4, "splice", part="fusion-splice", count=2))
    '2 × fusion-splice'
    """
    count = 1 if row.count is None else row.count
    return f"{count} × {row.part}" if KINDS[row.kind].per_strand else row.part


def strands_needed(evaluation: Any, link: Link) -> int:
    """Strands that the optics of a link take."""
    optics = evaluation.catalog.optics
    return max(int(optics[row.part].strands or 1) for row in (link.rows[0], link.rows[-1]))


def plugs_on_site(
    evaluation: Any, runs: Iterable[Run]
) -> Iterator[tuple[str | None, str, Run, int]]:
    """Plugs to be fitted: site, plug, run and how many, one a strand in use at each end."""
    for run in runs:
        for use in run.uses if run.is_fiber else ():
            if use.link.kind != OPTICAL:
                continue
            sites = evaluation.network.places[use.row.id]
            for end in run_ends(evaluation, use, sites):
                if end.plug:
                    yield end.site, end.plug, run, strands_needed(evaluation, use.link)
