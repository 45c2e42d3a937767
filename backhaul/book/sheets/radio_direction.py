"""What one direction of a hop makes of its modes: their figures, and which one is in use."""

from typing import NamedTuple

import numpy as np

from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.spare_modes import MOST_HOPS, SPARE_MODES
from backhaul.units import DECIMALS


def held_mbps(*, margin_db, healthy_margin_db, availability_percent, target_percent, rate_mbps):
    """Rate on the air of a mode with margin and availability enough, else 0 [Mb/s].

    >>> print(held_mbps(margin_db=12.0, healthy_margin_db=10.0, availability_percent=99.99,
    ...     target_percent=99.9, rate_mbps=173.3))
    173.3
    """
    holds = np.logical_and(
        np.round(margin_db, DECIMALS) >= np.round(healthy_margin_db, DECIMALS),
        np.round(availability_percent, DECIMALS) >= np.round(target_percent, DECIMALS),
    )
    return np.where(holds, rate_mbps, 0)


class Direction(NamedTuple):
    """What one direction makes of its modes: keys and figures of its rows."""

    count: int
    margins: tuple[float, ...]
    available: tuple[float, ...]
    held: tuple[float, ...]
    user: tuple[float, ...]
    names: tuple[str, ...]
    #: rows for further modes that a radio may be offered with
    spares: int = 0

    @property
    def in_use(self) -> int:
        """Place of the fastest mode that holds, else of the toughest, -1 where none is known."""
        if not self.count or not any(map(is_known, self.margins)):
            return -1
        if max(self.held) > 0:
            return self.held.index(max(self.held))
        return int(np.nanargmax(self.margins))

    @property
    def reached(self) -> bool:
        return bool(self.count) and max(self.held) > 0


def direction_of(block: HopBlock, way: int) -> Direction:
    """Figures of the modes of one direction as they are now."""
    modes, places = block.radio.modes, list(block.modes(way))
    target = float(block.performance.target_percent[block.direction(way)])
    healthy = float(block.value("healthy_margin_db", way))
    margins = tuple(float(modes["margin_db"][place]) for place in places)
    available = tuple(float(modes["availability_percent"][place]) for place in places)
    held = tuple(
        float(
            held_mbps(
                margin_db=m,
                healthy_margin_db=healthy,
                availability_percent=a,
                target_percent=target,
                rate_mbps=float(modes["rate_mbps"][place]),
            )
        )
        if is_known(m) and is_known(a)
        else 0.0
        for m, a, place in zip(margins, available, places, strict=True)
    )
    user = tuple(float(block.performance.mode_user_rate_mbps[place]) for place in places)
    names = tuple(modes["name"][place] for place in places)
    return Direction(
        len(places), margins, available, held, user, names, _spares(block, margins, available)
    )


def _spares(block: HopBlock, margins: tuple[float, ...], available: tuple[float, ...]) -> int:
    """Rows for further modes, where all that they rest on is known."""
    known = bool(margins) and all(map(is_known, (*margins, *available)))
    return SPARE_MODES if known and len(block.hops.links) <= MOST_HOPS else 0


def mode_span(block: HopBlock, way: int, direction: Direction, name: str) -> str:
    """A figure of all modes of a direction, as a range."""
    last = direction.count + direction.spares - 1
    first, last_key = (block.end(way, f"mode{n}.{name}") for n in (0, last))
    return f"{{{first}}}:{{{last_key}}}"


def in_use(block: HopBlock, way: int, direction: Direction, name: str) -> str:
    """A figure of the mode in use, 0 where it has not the margin and the availability wanted."""
    held, margins, figures, available = (
        mode_span(block, way, direction, column)
        for column in ("held_mbps", "margin_db", name, "availability_percent")
    )
    place = f"{{{block.end(way, 'place_in_use')}}}"
    return (
        f"IF(OR(MAX({held})>0,AND(ROUND(INDEX({margins},{place}),{DECIMALS})>=0,"
        f"ROUND(INDEX({available},{place}),{DECIMALS})>="
        f"ROUND({{{block.end(way, 'target_percent')}}},{DECIMALS}))),"
        f"INDEX({figures},{place}),0)"
    )
