"""What every path delivers: rates, load, availability, delay."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, TypeVar

import numpy as np

from backhaul.budgets.backup import with_backup
from backhaul.budgets.copper import CopperBudget
from backhaul.budgets.hop_rates import HopPerformance, hop_performance, target_percent
from backhaul.budgets.optical import OpticalBudget
from backhaul.budgets.radio import RadioBudget
from backhaul.budgets.traffic import Load, Traffic, traffic
from backhaul.design.model import Design, Segment
from backhaul.figures.arrays import number
from backhaul.figures.delays import INDEX, RADIO_LATENCY, glass_of, hop_delay_us, run_delay_us
from backhaul.figures.optical_items import LENGTH
from backhaul.path.branches import Branches
from backhaul.path.links import COPPER, FEED, RADIO, Link, LinkUse
from backhaul.path.network import Network
from backhaul.units import PERCENT

_N = TypeVar("_N")


class PathPerformance(NamedTuple):
    """What one path delivers; None where it cannot be had."""

    path: str
    rate_up_mbps: float | None
    rate_down_mbps: float | None
    bottleneck_step: float | None
    demand_up_mbps: float
    demand_down_mbps: float
    has_demand: bool
    latency_us: float | None
    availability_percent: float | None
    target_availability_percent: float
    carries_data: bool
    #: paths that back this one up, or that it backs up
    backup_paths: tuple[str, ...] = ()
    #: share of the year in which this path or one of those holds
    availability_with_backup_percent: float | None = None
    #: it is dark, broken or unfed: there is no rate
    is_stopped: bool = False


class Performance(NamedTuple):
    hops: HopPerformance
    paths: Mapping[str, PathPerformance]
    traffic: Traffic
    #: rate of every data link, near to far and back [Mb/s]; 0 where margin lacks, NaN where no rate
    #: can work
    rates: Mapping[tuple, tuple[float, float]]
    #: of optical links and hops, one way; NaN where a length is not known
    delays_us: Mapping[tuple, float]

    @property
    def load(self) -> Mapping[tuple, Load]:
        """Traffic on every link that has some."""
        return self.traffic.load

    def stopped(self, paths: Iterable[str], dead: Iterable[Link] = ()) -> "Performance":
        """The same with no rate on paths that are dark, broken or unfed, and on dead links."""
        changed = {
            path: self.paths[path]._replace(
                rate_up_mbps=None,
                rate_down_mbps=None,
                bottleneck_step=None,
                availability_percent=None,
                is_stopped=True,
            )
            for path in paths
            if self.paths[path].carries_data
        }
        if not changed:
            return self
        rates = {**self.rates, **{link.key: (np.nan, np.nan) for link in dead}}
        return self._replace(paths={**self.paths, **changed}, rates=rates)


def performance(
    network: Network,
    branches: Branches,
    design: Design,
    catalog: Any,
    optical: OpticalBudget,
    copper: CopperBudget,
    radio: RadioBudget,
) -> Performance:
    """Rates, load and availability of all links and paths of a design."""
    running = traffic(network, branches, design)
    hops = hop_performance(network, design, radio, running)
    rates = _link_rates(network, catalog, optical, copper, hops)
    delays = _link_delays(catalog, optical, radio)
    paths = {
        path: _path_performance(path, network, branches, design, running, rates, delays, hops)
        for path in network.chains
    }
    paths = with_backup(paths, design, network, branches, radio, hops)
    return Performance(hops, paths, running, rates, delays)


def _link_rates(network, catalog, optical, copper, hops) -> dict[tuple, tuple[float, float]]:
    """Rate of every data link, near to far and back [Mb/s]; NaN where none works."""
    rates = {}
    for link in optical.links:
        rate = 0.0 if optical.is_dark(link) else optical_rate_mbps(link, catalog)
        rates[link.key] = (rate, rate)
    for index, link in enumerate(copper.links):
        rate = float(copper.rate_mbps[index])
        rates[link.key] = (rate, rate)
    for index, link in enumerate(network.links[RADIO]):
        pair = hops.user_rate_mbps[2 * index : 2 * index + 2]
        rates[link.key] = (float(pair[0]), float(pair[1]))
    return rates


def optical_rate_mbps(link: Link, catalog: Any) -> float:
    """Rate of a link whose light suffices; NaN where its optics have two."""
    near, far = (catalog.optics[row.part].rate_mbps for row in (link.rows[0], link.rows[-1]))
    return near if near == far else float("nan")


def _link_delays(catalog, optical, radio) -> dict[tuple, float]:
    """One-way delay of every link [us]; copper drops are too short to count."""
    delays = {}
    for link in optical.links:
        delays[link.key] = float(
            sum(
                run_delay_us(length_m=number(LENGTH.read(run)), group_index=INDEX.read(run))
                for run in glass_of(link, catalog)
            )
        )
    for index, link in enumerate(radio.links):
        latency_us = RADIO_LATENCY.read(radio.hops.directions[2 * index])
        distance_km = radio.hops.distance_km[index]
        delays[link.key] = float(hop_delay_us(distance_km=distance_km, latency_us=latency_us))
    return delays


def _path_performance(path, network, branches, design, running, rates, delays, hops):
    uses = network.uses[path]
    carries = network.carries_data(path)
    up = down = narrowest = None
    if carries:
        found = [
            (*along(rates[use.link.key], use), *running.on(use.link).along(use), use)
            for use in uses
            if use.link.kind != FEED
        ]
        if found:
            up, down = (_least(item[way] for item in found) for way in (0, 1))
            narrowest = narrow_row(max(found, key=_strain)[4], network).step
    demand = running.demand
    own = demand.get(path, (0.0, 0.0))
    added = [demand[name] for name in branches.below(path) if name in demand]
    latency = sum(delays.get(use.link.key, 0.0) for use in uses)
    return PathPerformance(
        path=path,
        rate_up_mbps=up,
        rate_down_mbps=down,
        bottleneck_step=narrowest,
        demand_up_mbps=own[0] + sum(item[0] for item in added),
        demand_down_mbps=own[1] + sum(item[1] for item in added),
        has_demand=path in demand or bool(added),
        latency_us=latency if carries and latency == latency else None,
        availability_percent=_availability(path, network, branches, hops) if carries else None,
        target_availability_percent=target_percent(path, design),
        carries_data=carries,
    )


def along(pair: tuple[_N, _N], use: LinkUse) -> tuple[_N, _N]:
    """Figures of a link near to far and back, as its path sees them: up, down."""
    return (pair[0], pair[1]) if use.is_reversed else (pair[1], pair[0])


def narrow_row(use: LinkUse, network: Network) -> Segment:
    """The row at which a link's rate is set: the run of a copper link, else its first row.

    As it stands in the path of this use, where several rows bear one label.
    """
    row = use.link.run if use.link.kind == COPPER else use.link.rows[0]
    if use.path in row.path or not row.label:
        return row
    rows = network.chains[use.path].rows
    return next((mate for mate in rows if mate.label == row.label), row)


def _least(rates) -> float | None:
    rates = list(rates)
    return None if any(rate != rate for rate in rates) else min(rates)


def _strain(item) -> tuple[float, float]:
    """How narrow a link is: its load over its rate, else just its rate."""
    up, down, load_up, load_down, _ = item
    shares = [
        float("inf") if not rate > 0 else needed / rate
        for needed, rate in ((load_up, up), (load_down, down))
        if needed > 0 or rate != rate
    ]
    lowest = min(up, down) if up == up and down == down else -1.0
    return (max(shares, default=0.0), -lowest)


def _availability(path, network, branches, hops) -> float | None:
    """Share of the year in which all hops to the root of the path carry their load [%]."""
    share = 1.0
    for use in branches.uses_to_root(path, network):
        if use.link.kind == RADIO:
            pair = hops.carried_percent[2 * use.link.index : 2 * use.link.index + 2]
            share *= float(pair.min()) / PERCENT
    return None if share != share else share * PERCENT
