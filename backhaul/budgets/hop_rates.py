"""What every direction of a hop delivers: share of the time, mode in use, its rate, its year."""

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

import numpy as np

from backhaul.budgets.hop_modes import MODES_AT_ONCE, batches
from backhaul.budgets.hub_time import busy_share, hub_shares
from backhaul.budgets.radio import RadioBudget
from backhaul.budgets.traffic import Load, Traffic
from backhaul.design.model import Design
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.physics.availability import hop_target_percent, mode_at_target
from backhaul.units import DECIMALS, PERCENT

#: Share of a time-division hop that runs up where nothing tells [%]: rules of the project.
EVEN_SHARE_PERCENT = 50.0
#: Shares that a time-division radio offers at least and at most [%]: common practice.
LEAST_SHARE_PERCENT, MOST_SHARE_PERCENT = 20.0, 80.0
TDD = "TDD"
#: A mode whose user rate misses the load by less than this still carries it [Mb/s].
RATE_TOLERANCE = 1e-6


class HopPerformance(NamedTuple):
    """Arrays over directions of hops."""

    target_percent: np.ndarray
    #: index into the flat modes, of the mode in use
    mode: np.ndarray
    #: a mode has the margin and the availability that are wanted
    reached: np.ndarray
    user_rate_mbps: np.ndarray
    #: of all modes, flat
    mode_user_rate_mbps: "UserRates"
    #: share of the year in which the load is carried
    carried_percent: np.ndarray
    #: index into the flat modes, of the one that carries the load longest; -1 where none does
    carrying_mode: np.ndarray
    #: share of the time or of the rate that a direction has of its hop, and the hop of its hub
    time_share: np.ndarray
    hub_share: np.ndarray
    #: user rate of the mode in use with the whole time, 0 where none is
    whole_rate_mbps: np.ndarray
    #: share of the time that the load takes, of this direction and of its whole hub
    busy: np.ndarray
    hub_busy: np.ndarray


class UserRates:
    """User rates of modes as they are asked for: rate on the air, times what the direction has."""

    def __init__(self, radio: RadioBudget, share: np.ndarray):
        self._modes, self._share = radio.modes, share

    def __getitem__(self, places) -> np.ndarray:
        return self._modes["rate_mbps"][places] * self._share[self._modes["direction"][places]]


def target_percent(path: str, design: Design) -> float:
    """Availability that a path is to reach [%]."""
    row = design.paths.get(path)
    if row is not None and row.availability_percent is not None:
        return row.availability_percent
    return design.project.availability_percent


def hop_performance(
    network: Network, design: Design, radio: RadioBudget, running: Traffic
) -> HopPerformance:
    """Mode in use, rate and share of the year of all directions of all hops."""
    links, modes = radio.links, radio.modes
    share = np.array(
        [time_share(link, radio, running.on(link)) for link in links], dtype=float
    ).reshape(-1)
    efficiency = np.array(
        [
            1.0 if record.mac_efficiency is None else record.mac_efficiency
            for pair in radio.hops.radios
            for record in pair
        ],
        dtype=float,
    )
    needed = np.array([running.on(link) for link in links], dtype=float).reshape(-1)
    count = 2 * len(links)
    width = int(np.diff(radio.mode_start).max()) if count else 0
    if not width:
        blank, none = np.full(count, np.nan), np.full(count, -1)
        target = np.repeat(_equal_shares(network, design, links), 2)
        no, idle = np.zeros(count, dtype=bool), np.zeros(count)
        whole, user = np.ones(count), UserRates(radio, share)
        return HopPerformance(
            target, none, no, blank, user, blank.copy(), none.copy(), share, whole, idle, idle, idle
        )
    target = np.repeat(_hop_targets(network, design, radio), 2)
    used = _modes_in_use(radio, target)
    mode = used.mode
    whole = np.where(used.carries & (mode >= 0), modes["rate_mbps"][mode] * efficiency, 0.0)
    busy = np.asarray(busy_share(load_mbps=needed, rate_mbps=whole), dtype=float)
    of_hub, hub_busy = hub_shares(radio.hops.hubs, busy, radio.hops.ends)
    user = UserRates(radio, efficiency * share * of_hub)
    in_use = np.where(mode >= 0, user[mode], np.nan)
    rate = np.where(used.is_known, np.where(used.carries, in_use, 0.0), np.nan)
    carried, carrying = _carried(radio, needed, user)
    return HopPerformance(
        target,
        mode,
        used.reached,
        rate,
        user,
        carried,
        carrying,
        share,
        of_hub,
        whole,
        busy,
        hub_busy,
    )


class _InUse(NamedTuple):
    """Arrays over directions."""

    #: place in the flat modes, -1 without any
    mode: np.ndarray
    reached: np.ndarray
    carries: np.ndarray
    is_known: np.ndarray


class _Padded:
    """Modes of some directions side by side; NaN where a direction has fewer."""

    def __init__(self, start: np.ndarray, ways: slice):
        width = int(np.diff(start[ways.start : ways.stop + 1]).max())
        place = np.arange(width)[None, :] + start[ways, None]
        self.inside = place < start[ways.start + 1 : ways.stop + 1, None]
        self.place = np.where(self.inside, place, 0)
        self.rows = np.arange(len(place))

    def __call__(self, values: np.ndarray) -> np.ndarray:
        return np.where(self.inside, values[self.place], np.nan)


def _by_batches(start: np.ndarray) -> Iterator[tuple[slice, _Padded]]:
    """Directions in turn that have a mode; the others have none in use."""
    for ways in batches(start, MODES_AT_ONCE):
        if start[ways.stop] > start[ways.start]:
            yield ways, _Padded(start, ways)


def _modes_in_use(radio: RadioBudget, target: np.ndarray) -> _InUse:
    modes, count = radio.modes, len(target)
    found = _InUse(np.full(count, -1), *np.zeros((3, count), dtype=bool))
    for ways, padded in _by_batches(radio.mode_start):
        margin, available = padded(modes["margin_db"]), padded(modes["availability_percent"])
        index, reached = mode_at_target(
            rate_mbps=padded(modes["rate_mbps"]),
            margin_db=margin,
            availability_percent=available,
            margin_wanted_db=radio.values["healthy_margin_db"][ways],
            target_percent=target[ways],
        )
        has_modes, rows = padded.inside.any(axis=1), padded.rows
        is_known = has_modes & ~np.isnan(margin).all(axis=1)
        found.mode[ways] = np.where(has_modes, padded.place[rows, index], -1)
        found.is_known[ways] = is_known
        found.reached[ways] = np.asarray(reached) & is_known
        holds = np.round(available[rows, index], DECIMALS) >= np.round(target[ways], DECIMALS)
        has_margin = np.round(margin[rows, index], DECIMALS) >= 0
        found.carries[ways] = found.reached[ways] | (has_margin & holds)
    return found


def _carried(
    radio: RadioBudget, needed: np.ndarray, user: UserRates
) -> tuple[np.ndarray, np.ndarray]:
    """Share of the year of the mode that carries the load longest, and its place; 0, -1 without."""
    carried, carrying = np.full(len(needed), np.nan), np.full(len(needed), -1)
    for ways, padded in _by_batches(radio.mode_start):
        available = padded(radio.modes["availability_percent"])
        load = needed[ways, None]
        enough = (padded(user) >= load - RATE_TOLERANCE) | (load <= 0)
        candidates = np.where(enough & ~np.isnan(available), available, -np.inf)
        best = candidates.max(axis=1)
        is_known = ~np.isnan(available).all(axis=1)
        carried[ways] = np.where(is_known, np.where(best >= 0, best, 0.0), np.nan)
        longest = padded.place[padded.rows, candidates.argmax(axis=1)]
        carrying[ways] = np.where(best >= 0, longest, -1)
    return carried, carrying


def time_share(link: Link, radio: RadioBudget, load: Load) -> tuple[float, float]:
    """Share of the time that a hop sends near to far, and back; 1 and 1 where both send at once.

    By `up_share_percent`, else in proportion to the load, as far as radios offer it.
    """
    near, _ = radio.hops.radios[link.index]
    if near.duplex != TDD:
        return 1.0, 1.0
    is_reversed = link.uses[0].is_reversed
    up = link.rows[0].up_share_percent
    if up is None:
        up = float(share_by_load_percent(*load.along(link.uses[0])))
    back = (PERCENT - up if is_reversed else up) / PERCENT
    return 1 - back, back


def share_by_load_percent(up_mbps, down_mbps):
    """Share of the time that runs up, in proportion to the load [%].

    >>> print(share_by_load_percent(10.0, 10.0), share_by_load_percent(97.0, 3.0))
    50.0 80.0
    """
    total = up_mbps + down_mbps
    has_load = total > 0
    wanted = PERCENT * up_mbps / np.where(has_load, total, 1)
    held = np.minimum(np.maximum(wanted, LEAST_SHARE_PERCENT), MOST_SHARE_PERCENT)
    return np.where(has_load, held, EVEN_SHARE_PERCENT)


def _hops_of(network: Network, path: str) -> int:
    return sum(1 for use in network.uses[path] if use.link.kind == RADIO)


def _equal_shares(network: Network, design: Design, links: Iterable[Link]) -> np.ndarray:
    """Availability that each hop must reach if the hops of a path share its outage evenly."""
    hops = {path: _hops_of(network, path) for path in network.uses}
    return np.array(
        [
            max(
                hop_target_percent(
                    path_target_percent=target_percent(path, design), hops=hops[path]
                )
                for path in link.paths
            )
            for link in links
        ],
        dtype=float,
    )


def _hop_targets(network: Network, design: Design, radio: RadioBudget) -> np.ndarray:
    """Availability that each hop must reach [%]: the equal share, or less where the path holds.

    A hop that misses its share takes what it takes, and the others share what is left.
    """
    targets = _equal_shares(network, design, radio.links)
    best = _best_percent(radio)
    short = [link for link in radio.links if best[link.index] < targets[link.index]]
    if not short:
        return targets
    concerned = {path for link in short for path in link.paths}
    eased: dict[int, list[float]] = {}
    for path in network.uses:
        hops = [use.link.index for use in network.uses[path] if use.link.kind == RADIO]
        if path in concerned:
            shares = shared_targets_percent(
                target_percent(path, design), {index: float(best[index]) for index in hops}
            )
        else:
            equal = hop_target_percent(
                path_target_percent=target_percent(path, design), hops=len(hops) or 1
            )
            shares = dict.fromkeys(hops, equal)
        for index, share in shares.items():
            eased.setdefault(index, []).append(share)
    return np.array([max(eased[link.index]) for link in radio.links], dtype=float)


def shared_targets_percent(target: float, best: Mapping[int, float]) -> dict[int, float]:
    """Availability that each hop of a path must reach, from the best that each can [%].

    Equal shares of the outage; where hops miss theirs, the rest share what those leave. Where the
    path cannot hold at all, equal shares stay.

    >>> shares = shared_targets_percent(99.9, {0: 99.93, 1: 99.999})
    >>> print(*(round(share, 3) for share in shares.values()))
    99.93 99.97
    >>> shared_targets_percent(99.9, {0: 99.8, 1: 99.999})
    {0: 99.95, 1: 99.95}
    """
    equal = float(hop_target_percent(path_target_percent=target, hops=len(best)))
    shares = dict.fromkeys(best, equal)
    left, open_hops = PERCENT - target, set(best)
    while True:
        share = left / len(open_hops) if open_hops else 0.0
        short = {hop for hop in open_hops if PERCENT - best[hop] > share}
        if not short:
            break
        left -= sum(PERCENT - best[hop] for hop in short)
        open_hops -= short
        if left < 0 or any(np.isnan(best[hop]) for hop in short):
            return shares
    return {hop: PERCENT - share if hop in open_hops else best[hop] for hop in best}


def _best_percent(radio: RadioBudget) -> np.ndarray:
    """Availability of the mode that is out least, the worse of both directions [%]."""
    available = radio.modes["availability_percent"]
    best = np.full(2 * len(radio.links), np.nan)
    start = radio.mode_start
    filled = np.flatnonzero(np.diff(start))
    if len(filled):
        best[filled] = np.fmax.reduceat(available, start[:-1][filled])
    return best.reshape(-1, 2).min(axis=1)
