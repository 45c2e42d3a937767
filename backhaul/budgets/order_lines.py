"""Records of an order list: lines, runs, pairs; how reels are told and shared."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from backhaul.design.model import Segment

(
    DEVICES,
    OPTICS,
    CABLES,
    CORDS,
    JOINTS,
    RADIOS,
    ANTENNAS,
    COPPERS,
    FEEDS,
    PROTECTORS,
    FITTINGS,
    WORK,
    EXTRAS,
) = (
    "Devices and supplies",
    "Optics",
    "Fiber cable",
    "Cords and assemblies",
    "Connectors and attenuators",
    "Radios",
    "Antennas",
    "Copper cable",
    "Feed cable",
    "Surge protectors",
    "Plugs and fittings",
    "Work on site",
    "Extras",
)
SECTIONS = (
    DEVICES,
    OPTICS,
    CABLES,
    CORDS,
    JOINTS,
    RADIOS,
    ANTENNAS,
    COPPERS,
    FEEDS,
    PROTECTORS,
    FITTINGS,
    EXTRAS,
    WORK,
)
PIECE, METRE, PAIR, SPLICE = "piece", "m", "mated pair", "splice"
TO_ORDER = ""


class Place(NamedTuple):
    """Where a thing is used."""

    paths: tuple[str, ...]
    sites: tuple[str, ...]
    name: str = ""


class AtSite(NamedTuple):
    """How many of a line one site takes; of a joint of cable the site at which the cable begins."""

    site: str | None
    count: float


class Item(NamedTuple):
    """Pieces of one part at one place."""

    section: str
    family: str
    record: Any
    by: str
    count: float
    unit: str
    spared: bool
    place: Place
    note: str = ""

    @property
    def at_site(self) -> AtSite:
        """The count, where it is needed."""
        return AtSite(self.place.sites[0] if self.place.sites else None, self.count)


class Run(NamedTuple):
    """One run of cable, cord or assembly, and the lengths that it is ordered in [m]."""

    row: Segment
    place: Place
    by: str
    loops: int
    needed_m: float
    lengths_m: tuple[float, ...]
    factory_made: bool
    #: a feed that carries mains
    mains: bool = False
    #: of a pigtail or a cord of one strand one for each strand of the link
    pieces: int = 1


class OrderLine(NamedTuple):
    """One line: a part (of one order length, where it is a cord), and how much of it."""

    section: str
    family: str
    part: str
    description: str
    by: str
    needed: float
    spares: int
    to_order: float
    unit: str
    spared: bool
    places: tuple[Place, ...]
    source: str = ""
    basis: str = ""
    note: str = ""
    #: of a cord or assembly [m]
    length_m: float | None = None
    runs: tuple[Run, ...] = ()
    #: order lengths that all runs of a cable are cut from [m]
    shared_m: tuple[float, ...] = ()
    #: what adds up to `needed`; none of runs
    at_sites: tuple[AtSite, ...] = ()

    @property
    def is_shared(self) -> bool:
        """Whether runs are cut from one length."""
        return len(self.shared_m) < sum(len(run.lengths_m) for run in self.runs)

    @property
    def pack(self) -> str:
        """Pieces and their length, or the reels of a cable."""
        if self.length_m is not None:
            return f"of {self.length_m:g} m"
        return reels(self.shared_m)


def item_numbers(lines: tuple[OrderLine, ...]) -> list[str]:
    """Item of each line of one provider: goods by number, works apart under W."""
    goods = works = 0
    found = []
    for line in lines:
        if line.section == WORK:
            works += 1
            found.append(f"W{works}")
        else:
            goods += 1
            found.append(f"{goods}")
    return found


class PairCount(NamedTuple):
    """Optics for one strand go in pairs: one end sends where the other hears."""

    part: str
    partner: str
    count: int
    places: tuple[Place, ...]


class OrderList(NamedTuple):
    """All lines, those to be ordered first; `pairs` of optics for one strand; all runs."""

    lines: tuple[OrderLine, ...]
    pairs: tuple[PairCount, ...]
    spare_percent: float

    def lines_by(self, by: str) -> tuple[OrderLine, ...]:
        """Lines of one provider; "" is what is to be ordered."""
        return tuple(line for line in self.lines if line.by == by)

    @property
    def runs(self) -> tuple[Run, ...]:
        """Every run to be ordered."""
        return tuple(run for line in self.lines_by(TO_ORDER) for run in line.runs)


def reels(
    lengths: Iterable[float], text: Callable[[float], str] = "{:g}".format, unit: str = METRE
) -> str:
    """Order lengths in few words.

    >>> reels([2000.0, 2000.0, 500.0])
    '2 × 2000 m, 1 × 500 m'
    """
    counts: dict[float, int] = defaultdict(int)
    for length in lengths:
        counts[length] += 1
    return ", ".join(
        f"{n} × {text(length)} {unit}" for length, n in sorted(counts.items(), reverse=True)
    )


def packed_lengths_m(needed_m: list[float], sizes_m: tuple[float, ...]) -> tuple[float, ...]:
    """Few metres in order lengths that hold several runs, longest run first [m].

    First fit, so not always the least; the last cut of a length shrinks it to what it holds.

    >>> packed_lengths_m([41.0] * 10, (100.0, 305.0, 500.0)), packed_lengths_m([206.0], (100.0, 305.0))
    ((500.0,), (305.0,))
    """
    best: tuple[float, ...] = ()
    for size in sizes_m:
        if not needed_m or max(needed_m) > size:
            continue
        rest: list[float] = []
        for metres in sorted(needed_m, reverse=True):
            place = next((n for n, left in enumerate(rest) if left - metres > -1e-9), None)
            if place is None:
                rest.append(size - metres)
            else:
                rest[place] -= metres
        packed = tuple(
            min(other for other in sizes_m if other - (size - left) > -1e-9) for left in rest
        )
        if not best or (sum(packed), len(packed)) < (sum(best), len(best)):
            best = packed
    return best
