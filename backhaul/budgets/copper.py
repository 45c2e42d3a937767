"""Reach and rate of every copper link: cables, cords, temperature and the ports at both ends."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.conductors import cable_temperature_c
from backhaul.budgets.orders import is_cord
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design, Segment
from backhaul.figures.arrays import number
from backhaul.figures.copper_terms import NO_RATE, ReachOf, rate_in_use, reach_in_use
from backhaul.path.links import COPPER, Link
from backhaul.path.network import Network
from backhaul.physics import copper

_NAN = float("nan")
_CORD = "cord"


class Channel(NamedTuple):
    """A copper link: its runs and their parts, the rates that all in it share, their reach."""

    link: Link
    runs: tuple[Segment, ...]
    parts: tuple[Any, ...]
    #: rates that both ports and the protectors list, the fastest first; a blank list is no limit
    rates_mbps: tuple[float, ...]
    #: of those rates that every cable has a reach at: for each, the reach rows of its cables
    reaches: tuple[tuple[ReachOf, ...], ...]

    @property
    def cords(self) -> list[Segment]:
        return [
            row for row, part in zip(self.runs, self.parts, strict=True) if is_copper_cord(part)
        ]

    @property
    def fixed(self) -> list[Segment]:
        return [
            row for row, part in zip(self.runs, self.parts, strict=True) if not is_copper_cord(part)
        ]

    @property
    def gauge(self) -> int:
        """Wire of its cords: of the sizes that the cord formula knows, the thinnest in use."""
        return max((cord_gauge(part) for part in self.parts if is_copper_cord(part)), default=24)


class CopperBudget(NamedTuple):
    """Arrays over copper links; `rate_mbps` is NaN where no rate works."""

    links: tuple[Link, ...]
    channels: tuple[Channel, ...]
    length_m: np.ndarray
    temperature_c: np.ndarray
    screened: np.ndarray
    fixed_length_m: np.ndarray
    rate_mbps: np.ndarray
    #: best rate that both ports and the protectors list, before length counts
    common_mbps: np.ndarray
    #: longest channel at `rate_mbps`, else at the best common rate [m]
    limit_m: np.ndarray
    #: published reach behind that limit [m]
    reach_m: np.ndarray
    #: links whose ports are told apart by rate: best rate of each port
    near_best_mbps: np.ndarray
    far_best_mbps: np.ndarray
    #: cords of the channel, and the longest that it bears [m]
    cords_m: np.ndarray
    cords_limit_m: np.ndarray


def copper_budget(network: Network, catalog: Any, design: Design) -> CopperBudget:
    """Length against reach of all copper links of a design."""
    channels = tuple(_channel(link, catalog) for link in network.links[COPPER])
    lengths = np.array([_metres(channel.runs) for channel in channels], dtype=float)
    worst = [_warmest(channel, network, design) for channel in channels]
    temperature = np.array([item[0] for item in worst], dtype=float)
    screened = np.array([item[1] for item in worst], dtype=bool)
    fixed = np.asarray(copper.fixed_length_m(cable_temperature_c=temperature, screened=screened))
    found = [_judged(channel, lengths[n], float(fixed[n])) for n, channel in enumerate(channels)]
    rate, limit, reach = np.array(found, dtype=float).reshape(-1, 3).T
    best = [
        [_best(port) for port in (channel.link.near_port, channel.link.far_port)]
        for channel in channels
    ]
    near, far = np.array(best, dtype=float).reshape(-1, 2).T
    return CopperBudget(
        links=network.links[COPPER],
        channels=channels,
        length_m=lengths,
        temperature_c=temperature,
        screened=screened,
        fixed_length_m=fixed,
        rate_mbps=rate,
        common_mbps=np.array(
            [max(channel.rates_mbps, default=_NAN) for channel in channels], dtype=float
        ),
        limit_m=limit,
        reach_m=reach,
        near_best_mbps=near,
        far_best_mbps=far,
        cords_m=np.array([_metres(channel.cords) for channel in channels], dtype=float),
        cords_limit_m=np.array([cords_limit_m(channel) for channel in channels], dtype=float),
    )


def _metres(rows) -> float:
    return sum(number(row.length_m) for row in rows)


def cords_limit_m(channel: Channel) -> float:
    """Longest cords of a channel, by its fixed cable [m]."""
    return float(
        copper.cords_limit_m(
            fixed_m=_metres(channel.fixed),
            cord_derating=copper.CORD_DERATING[channel.gauge],
            cords_max_m=copper.CORDS_MAX_M[channel.gauge],
        )
    )


def is_copper_cord(part: Any) -> bool:
    """A patch cord: sold in short pieces, or called one."""
    return is_cord(part) or _CORD in part.part.lower().split("-")


def cord_gauge(part: Any) -> int:
    """Wire of a cord by its resistance, of the sizes that the cord formula knows."""
    thick, thin = sorted(copper.CORD_DERATING)
    between = sum(
        copper.conductor_ohm_per_km(area_mm2=copper.awg_area_mm2(gauge=gauge))
        for gauge in (thick, thin)
    )
    return thin if part.ohm_per_km is not None and part.ohm_per_km > between / 2 else thick


def _channel(link: Link, catalog: Any) -> Channel:
    runs = tuple(row for row in link.rows if KINDS[row.kind].is_run)
    parts = tuple(catalog.coppers[row.part] for row in runs)
    cables = {part.part: _reach_rows(part, catalog) for part in parts}
    rates = _shared_rates(link, catalog, cables)
    reaches = tuple(
        tuple(rows[rate] for rows in cables.values())
        for rate in rates
        if all(rate in rows and rows[rate].row.reach_m for rows in cables.values())
    )
    return Channel(link, runs, parts, rates, reaches)


def _reach_rows(part: Any, catalog: Any) -> dict[float, ReachOf]:
    """Reach of a cable by rate; of several rows the last, a user's own."""
    return {row.rate_mbps: ReachOf(row.rate_mbps, row) for row in catalog.copper_reach[part.part]}


def _shared_rates(link: Link, catalog: Any, cables) -> tuple[float, ...]:
    """Rates that both ports and the protectors list; what lists none limits nothing."""
    lists = [port.rates_mbps for port in (link.near_port, link.far_port) if port is not None] + [
        catalog.protectors[row.part].rates_mbps for row in link.rows if KINDS[row.kind].protects
    ]
    listed = [set(rates) for rates in lists if rates]
    rates = set.intersection(*listed) if listed else {r for rows in cables.values() for r in rows}
    return tuple(sorted(rates, reverse=True))


def _best(port: Any) -> float:
    return max(port.rates_mbps) if port is not None and port.rates_mbps else _NAN


def _warmest(channel: Channel, network: Network, design: Design) -> tuple[float, bool]:
    """Temperature and screen of the run that shortens a channel the most."""
    found = [
        (cable_temperature_c(row, network, design), bool(part.screened))
        for row, part in zip(channel.runs, channel.parts, strict=True)
    ]
    if len(set(found)) == 1:
        return found[0]
    return min(
        found,
        key=lambda item: float(
            copper.fixed_length_m(cable_temperature_c=item[0], screened=item[1])
        ),
    )


def _judged(channel: Channel, length_m: float, fixed_m: float) -> tuple[float, float, float]:
    """Rate in use, longest channel at it and the published reach behind that."""
    if not channel.reaches:
        return _NAN, _NAN, _NAN
    reaches = [min(of.row.reach_m for of in rows) for rows in channel.reaches]
    rates = [rows[0].rate_mbps for rows in channel.reaches]
    given = {"length_m": length_m, "fixed_length_m": fixed_m, "reaches": reaches}
    reach = float(reach_in_use(**given))
    rate = float(rate_in_use(**given, rates_mbps=rates))
    limit = float(copper.reach_limit_m(reach_m=reach, fixed_length_m=fixed_m))
    return (_NAN if rate == NO_RATE else rate), limit, reach
