"""How long a signal is on its way, link by link: each figure declared once, each formula written once."""

from typing import Any, NamedTuple

from backhaul.figures.terms import PART, Input
from backhaul.path.ends import HopDirection
from backhaul.physics.latency import air_delay_us, fiber_delay_us
from backhaul.units import M_PER_KM

#: Group index of a fiber whose row leaves it blank: usual at 1310 to 1550 nm (from memory).
GROUP_INDEX = 1.468


class Glass(NamedTuple):
    """A run of glass, whichever way its light goes."""

    row: Any
    part: Any
    FAMILIES = {"part": "fibers"}


def glass_of(link: Any, catalog: Any) -> list[Glass]:
    """The runs of glass of an optical link."""
    return [Glass(row, catalog.fibers[row.part]) for row in link.rows if row.part in catalog.fibers]


INDEX = Input("group_index", "Group index", "", PART, blank=GROUP_INDEX, digits=3)


def _first_radio(way: HopDirection) -> Any:
    return way.near.radio_place("latency_us")


#: Of a hop as a whole; its subject is either of its `HopDirection`s.
RADIO_LATENCY = Input(
    "latency_us",
    "Latency, once a hop",
    "µs",
    _first_radio,
    blank=0.0,
    digits=0,
    cell_label="latency, once a hop",
)


def run_delay_us(*, length_m, group_index):
    """Delay of one run of glass [us].

    length_m: 0 or more. Source: group index over the speed of light.

    >>> print(round(run_delay_us(length_m=10_000.0, group_index=1.468), 2))
    48.97
    """
    return fiber_delay_us(length_km=length_m / M_PER_KM, group_index=group_index)


def hop_delay_us(*, distance_km, latency_us):
    """Delay of a hop, its air and its two radios together [us].

    latency_us: of the radios, once a hop, as a data sheet states it. Source: ITU-R P.453-14.

    >>> print(round(hop_delay_us(distance_km=10.0, latency_us=200.0), 2))
    233.37
    """
    return air_delay_us(distance_km=distance_km) + latency_us
