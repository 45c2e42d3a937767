"""What is said of a whole path: each figure and each verdict declared once, for every outlet.

Chain, At a glance, JSON and terminal take label, unit, digits and the word for a blank from here.
"""

from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.judgements import Judgement
from backhaul.figures.verdicts import at_least
from backhaul.findings import FAIL, PASS, THIN
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import AVAILABILITY_FORMAT, availability_text, number_format, rate_figure

UP, DOWN = "up", "down"
#: The two ways of a path: up runs from its last site to its first.
WAYS = (UP, DOWN)


class PathFigure(NamedTuple):
    """A figure of a path. key: of the record in JSON and of `PathPerformance`.

    head: of its column where all paths stand in a table. decimals: to which JSON rounds it, None
    for all that there are; digits: that a sheet shows. none: the word where there is no figure.
    """

    key: str
    label: str
    head: str
    unit: str = ""
    digits: int = 1
    decimals: int | None = DECIMALS
    none: str = "not known"
    way: str = ""
    source: str = ""
    #: a share of the year, which is no better known than its method
    is_share: bool = False

    def of(self, served: Any) -> Any:
        """The figure of one path."""
        return getattr(served, self.key)

    def recorded(self, served: Any) -> Any:
        """The figure as JSON has it: without the dust of binary fractions."""
        value = self.of(served)
        if value is None or value != value:
            return None
        return value if self.decimals is None else round(float(value), self.decimals)

    def text(self, served: Any) -> str:
        """The figure with its unit, as a line of text has it."""
        value = self.of(served)
        if value is None or value != value:
            return self.none
        if self.unit == "Mb/s":
            return rate_figure(value)
        if self.is_share:
            return availability_text(value)
        return f"{value:.{self.digits}f} {self.unit}"

    @property
    def format(self) -> str:
        """How a cell shows it: a share of the year no better than the method knows it."""
        if self.is_share:
            return AVAILABILITY_FORMAT
        return number_format(self.digits)


def _rate(way: str) -> PathFigure:
    return PathFigure(
        f"rate_{way}_mbps",
        f"Rate {way}, lowest step",
        way.capitalize(),
        "Mb/s",
        1,
        none="no rate",
        way=way,
    )


def _demand(way: str) -> PathFigure:
    label, head = f"demand {way}, branches with it", f"Demand {way}"
    return PathFigure(
        f"demand_{way}_mbps", label, head, "Mb/s", 1, None, way=way, source="demand table"
    )


RATE = {way: _rate(way) for way in WAYS}
DEMAND = {way: _demand(way) for way in WAYS}
BOTTLENECK = PathFigure("bottleneck_step", "Lowest at step", "Lowest step", decimals=None, none="")
LATENCY = PathFigure(
    "latency_us",
    "Delay, one way: fiber, air and radios",
    "Delay",
    "µs",
    none="",
    source="length × index ÷ c, and what the radios state",
)
AVAILABILITY = PathFigure(
    "availability_percent",
    "Share of the year in which it carries its demand",
    "Available",
    "%",
    4,
    None,
    source="ITU-R P.530, hops multiplied, propagation only",
    is_share=True,
)
TARGET = PathFigure(
    "target_availability_percent", "availability wanted of a path", "Target", "%", 2, None
)
WITH_BACKUP = PathFigure(
    "availability_with_backup_percent",
    "Share of the year in which it or its backup holds",
    "With backup",
    "%",
    4,
    None,
    source="rain in common, multipath and reflection independent",
    is_share=True,
)
#: In the order in which a record of a path has them.
RECORDED = (
    RATE[UP],
    RATE[DOWN],
    BOTTLENECK,
    DEMAND[UP],
    DEMAND[DOWN],
    LATENCY,
    AVAILABILITY,
    TARGET,
    WITH_BACKUP,
)


def free_rate_mbps(*, rate_mbps, headroom_percent):
    """Rate that demand may fill [Mb/s]: what is left beside the headroom.

    headroom_percent: 0 to 100, 30 by default. Source: common practice.

    >>> print(round(free_rate_mbps(rate_mbps=1000.0, headroom_percent=30.0), 6))
    700.0
    """
    return rate_mbps * (1 - headroom_percent / PERCENT)


def rate_verdict(*, load_mbps, rate_mbps, headroom_percent):
    """fail where a link carries more than its rate, thin inside the headroom; no load, no demand.

    load_mbps: all that runs over the link that way, of every path. Source: common practice.

    >>> print(rate_verdict(load_mbps=600.0, rate_mbps=1000.0, headroom_percent=30.0),
    ...     rate_verdict(load_mbps=701.0, rate_mbps=1000.0, headroom_percent=30.0),
    ...     rate_verdict(load_mbps=1200.0, rate_mbps=1000.0, headroom_percent=30.0))
    pass thin fail
    """
    load = np.round(load_mbps, DECIMALS)
    free = free_rate_mbps(rate_mbps=rate_mbps, headroom_percent=headroom_percent)
    return np.where(
        load <= 0,
        PASS,
        np.where(
            load > np.round(rate_mbps, DECIMALS),
            FAIL,
            np.where(load > np.round(free, DECIMALS), THIN, PASS),
        ),
    )


def airtime_verdict(*, hub_busy, headroom_percent):
    """fail where hops of one terminal ask for more than all of its time, thin inside the headroom.

    hub_busy: share of the time that the loads of all its hops take. Source: common practice.

    >>> print(*(str(airtime_verdict(hub_busy=busy, headroom_percent=30)) for busy in (0.7, 0.8, 1.1)))
    pass thin fail
    """
    busy = np.round(hub_busy, DECIMALS)
    free = free_rate_mbps(rate_mbps=1.0, headroom_percent=headroom_percent)
    return np.where(busy > 1, FAIL, np.where(busy > np.round(free, DECIMALS), THIN, PASS))


#: What all hops of one terminal take of its time.
AIRTIME_JUDGED = Judgement(
    "airtime",
    "Airtime",
    "path-rate",
    airtime_verdict,
    {"hub_busy": "hub_busy", "headroom_percent": "headroom_percent"},
)
#: What runs over a link one way against its rate.
RATE_JUDGED = Judgement(
    "rate",
    "Rate",
    "path-rate",
    rate_verdict,
    {"load_mbps": "load_mbps", "rate_mbps": "rate_mbps", "headroom_percent": "headroom_percent"},
    no_limit=("rate_mbps",),
)
#: The share of the year in which a path carries its demand against the target.
AVAILABILITY_JUDGED = Judgement(
    "availability",
    "Availability",
    "path-availability",
    at_least,
    {"value": AVAILABILITY.key, "limit": TARGET.key},
)
