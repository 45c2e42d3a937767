"""What every link and path delivers: the mode in use, rates, load, availability, delay."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.copper import CopperBudget
from backhaul.budgets.optical import OpticalBudget
from backhaul.budgets.radio import RadioBudget
from backhaul.design.model import Design, Segment
from backhaul.figures.arrays import number
from backhaul.path.branches import Branches
from backhaul.path.links import COPPER, FEED, RADIO, Link, LinkUse
from backhaul.path.network import Network
from backhaul.physics.availability import backed_up_percent, hop_target_percent, mode_at_target
from backhaul.physics.latency import air_delay_us, fiber_delay_us
from backhaul.units import M_PER_KM, PERCENT

#: Share of a time-division hop that runs up where nothing tells [%]: rules of the project.
EVEN_SHARE_PERCENT = 50.0
#: Group index of a fiber whose row leaves it blank: usual at 1310 to 1550 nm (from memory).
GROUP_INDEX = 1.468
#: A mode whose user rate misses the load by less than this still carries it [Mb/s].
_RATE_TOLERANCE = 1e-6


class Load(NamedTuple):
    """Traffic on a link [Mb/s], along its own direction: near to far, and back."""

    forward_mbps: float
    back_mbps: float


class HopPerformance(NamedTuple):
    """Arrays over directions of hops."""

    target_percent: np.ndarray
    #: index into the flat modes, of the mode in use
    mode: np.ndarray
    reached: np.ndarray
    user_rate_mbps: np.ndarray
    #: user rates of all modes, flat
    mode_user_rate_mbps: np.ndarray
    #: share of the year in which the load is carried
    carried_percent: np.ndarray


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
    target_percent: float
    carries_data: bool
    #: paths that back this one up, or that it backs up
    backup: tuple[str, ...] = ()
    #: share of the year in which this path or one of those holds
    with_backup_percent: float | None = None


class Performance(NamedTuple):
    hops: HopPerformance
    paths: Mapping[str, PathPerformance]
    load: Mapping[tuple, Load]
    #: rate of every data link, near to far and back [Mb/s]; NaN where none works
    rates: Mapping[tuple, tuple[float, float]]


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
    demand = path_demand(network, design)
    load = _link_loads(network, branches, demand)
    hop_performance = _hop_performance(network, design, radio, load)
    rates = _link_rates(network, catalog, optical, copper, hop_performance)
    delays = _link_delays(network, catalog, optical, radio)
    paths = {
        path: _path_performance(
            path, network, branches, design, demand, load, rates, delays, hop_performance
        )
        for path in network.chains
    }
    return Performance(hop_performance, _with_backup(paths, design), load, rates)


def _with_backup(paths: dict[str, PathPerformance], design: Design) -> dict[str, PathPerformance]:
    """Paths that back each other up show the share of the year in which one of them holds."""
    beside: dict[str, list[str]] = {}
    for name, row in design.paths.items():
        if row.backs_up in paths and name in paths:
            beside.setdefault(name, []).append(row.backs_up)
            beside.setdefault(row.backs_up, []).append(name)
    for name, others in beside.items():
        shares = [paths[path].availability_percent for path in (name, *others)]
        together = None
        if None not in shares:
            together = shares[0]
            for share in shares[1:]:
                together = backed_up_percent(
                    availability1_percent=together, availability2_percent=share
                )
        paths[name] = paths[name]._replace(backup=tuple(others), with_backup_percent=together)
    return paths


def path_demand(network: Network, design: Design) -> dict[str, tuple[float, float]]:
    """Demand of each path that has one, up and down [Mb/s]."""
    demand: dict[str, tuple[float, float]] = {}
    for row in design.demand:
        up, down = demand.get(row.path, (0.0, 0.0))
        count = 1.0 if row.count is None else row.count
        demand[row.path] = (
            up + count * (row.up_mbps or 0.0),
            down + count * (row.down_mbps or 0.0),
        )
    return demand


def target_percent(path: str, design: Design) -> float:
    """Availability that a path is to reach [%]."""
    row = design.paths.get(path)
    if row is not None and row.availability_percent is not None:
        return row.availability_percent
    return design.project.availability_percent


def _link_loads(network, branches, demand) -> dict[tuple, Load]:
    """Traffic on every link: of its own paths, and of branches that come in beyond it."""
    sums: dict[tuple, list[float]] = {}
    for path, (up, down) in demand.items():
        for use in branches.uses_to_root(path, network):
            forward, back = (up, down) if use.is_reversed else (down, up)
            total = sums.setdefault(use.link.key, [0.0, 0.0])
            total[0] += forward
            total[1] += back
    return {key: Load(*total) for key, total in sums.items()}


def _hop_performance(network, design, radio: RadioBudget, load) -> HopPerformance:
    links = radio.links
    hops_of_path = {
        path: sum(1 for use in uses if use.link.kind == RADIO)
        for path, uses in network.uses.items()
    }
    target = np.array(
        [
            max(
                hop_target_percent(
                    path_target_percent=target_percent(path, design), hops=hops_of_path[path]
                )
                for path in link.paths
            )
            for link in links
        ],
        dtype=float,
    )
    target = np.repeat(target, 2)
    share = np.array(
        [_user_share(link, index, radio, load) for index, link in enumerate(links)], dtype=float
    ).reshape(-1)
    modes = radio.modes
    user = modes["rate_mbps"] * share[modes["direction"]]
    count = len(target)
    width = int(np.diff(radio.mode_start).max()) if count else 0
    if not width:
        blank = np.full(count, np.nan)
        return HopPerformance(
            target, np.full(count, -1), np.zeros(count, dtype=bool), blank, user, blank.copy()
        )
    place = np.arange(width)[None, :] + radio.mode_start[:-1, None]
    inside = place < radio.mode_start[1:, None]
    place = np.where(inside, place, 0)

    def padded(values):
        return np.where(inside, values[place], np.nan)

    margin, available = padded(modes["margin_db"]), padded(modes["availability_percent"])
    index, reached = mode_at_target(
        rate_mbps=padded(modes["rate_mbps"]),
        margin_db=margin,
        availability_percent=available,
        margin_wanted_db=design.project.radio_margin_db,
        target_percent=target,
    )
    has_modes = inside.any(axis=1)
    toughest_known = ~np.isnan(margin).all(axis=1)
    mode = np.where(has_modes, place[np.arange(count), index], -1)
    reached = np.asarray(reached) & has_modes & toughest_known
    in_use = np.where(mode >= 0, user[mode], np.nan)
    needed = np.array([load.get(link.key, Load(0.0, 0.0)) for link in links], dtype=float).reshape(
        -1
    )
    enough = padded(user) >= needed[:, None] - _RATE_TOLERANCE
    unloaded = needed[:, None] <= 0
    candidates = np.where(enough | unloaded, available, np.nan)
    carried = np.where(
        np.isnan(available).all(axis=1),
        np.nan,
        np.where(np.isnan(candidates).all(axis=1), 0.0, _nanmax(candidates)),
    )
    rate = np.where(reached, in_use, np.where(toughest_known & has_modes, 0.0, np.nan))
    return HopPerformance(target, mode, reached, rate, user, carried)


def _nanmax(values: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(values), -np.inf, values).max(axis=1)


def _user_share(link: Link, index: int, radio: RadioBudget, load) -> tuple[float, float]:
    """Share of the rate on the air that users have, near to far and back."""
    near, far = radio.hops.radios[index]
    efficiency = [1.0 if r.mac_efficiency is None else r.mac_efficiency for r in (near, far)]
    if near.duplex != "TDD":
        return efficiency[0], efficiency[1]
    up = link.rows[0].up_share_percent
    is_reversed = link.uses[0].is_reversed
    if up is None:
        forward, back = load.get(link.key, Load(0.0, 0.0))
        up_load, down_load = (forward, back) if is_reversed else (back, forward)
        total = up_load + down_load
        up = PERCENT * up_load / total if total else EVEN_SHARE_PERCENT
    back_share = (PERCENT - up if is_reversed else up) / PERCENT
    return efficiency[0] * (1 - back_share), efficiency[1] * back_share


def _link_rates(network, catalog, optical, copper, hops) -> dict[tuple, tuple[float, float]]:
    """Rate of every data link, near to far and back [Mb/s]; NaN where none works."""
    rates = {}
    for link in optical.links:
        ends = [catalog.optics[row.part].rate_mbps for row in (link.rows[0], link.rows[-1])]
        rate = min(ends) if ends[0] == ends[1] else float("nan")
        rates[link.key] = (rate, rate)
    for index, link in enumerate(copper.links):
        rate = float(copper.rate_mbps[index])
        rates[link.key] = (rate, rate)
    for index, link in enumerate(network.links[RADIO]):
        pair = hops.user_rate_mbps[2 * index : 2 * index + 2]
        rates[link.key] = (float(pair[0]), float(pair[1]))
    return rates


def _link_delays(network, catalog, optical, radio) -> dict[tuple, float]:
    """One-way delay of every link [us]; copper drops are too short to count."""
    delays = {}
    for link in optical.links:
        delays[link.key] = float(
            sum(
                fiber_delay_us(
                    length_km=number(row.length_m) / M_PER_KM,
                    group_index=catalog.fibers[row.part].group_index or GROUP_INDEX,
                )
                for row in link.rows
                if row.part in catalog.fibers
            )
        )
    for index, link in enumerate(radio.links):
        air = float(air_delay_us(distance_km=radio.hops.distance_km[index]))
        delays[link.key] = air + (radio.hops.radios[index][0].latency_us or 0.0)
    return delays


def _path_performance(path, network, branches, design, demand, load, rates, delays, hops):
    uses = network.uses[path]
    data = [use for use in uses if use.link.kind != FEED]
    carries = network.carries_data(path)
    up = down = None
    narrowest = None
    if carries:
        found = []
        for use in data:
            forward, back = rates[use.link.key]
            use_up, use_down = (forward, back) if use.is_reversed else (back, forward)
            carried = load.get(use.link.key, Load(0.0, 0.0))
            load_up, load_down = carried if use.is_reversed else carried[::-1]
            found.append((use_up, use_down, load_up, load_down, use))
        if found:
            up, down = (_least(item[way] for item in found) for way in (0, 1))
            narrowest = narrow_row(max(found, key=_strain)[4], network).step
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
        target_percent=target_percent(path, design),
        carries_data=carries,
    )


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
