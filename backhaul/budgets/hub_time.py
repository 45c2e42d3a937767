"""The time of a hub, shared by its hops in proportion to what each needs of it."""

import numpy as np

from backhaul.budgets.hubs import Hubs
from backhaul.path.ends import FDD


def busy_share(*, load_mbps, rate_mbps):
    """Share of the time that a load takes at a rate, the whole of it where there is no rate.

    Source: definition.

    >>> print(busy_share(load_mbps=20.0, rate_mbps=80.0), busy_share(load_mbps=1.0, rate_mbps=0.0))
    0.25 1.0
    """
    carries = rate_mbps > 0
    share = np.where(carries, load_mbps / np.where(carries, rate_mbps, 1), 1)
    return np.where(load_mbps > 0, share, 0)


def hub_share(*, busy, hub_busy, hops):
    """Share of a hub's time that one of its hops has.

    In proportion to what its load takes of the time: then the load of every hop fits its rate, with
    the same headroom, where the sum of all fits. A hop without a load has what the others leave;
    where no hop has one, all have the same.

    busy: of this hop, hub_busy: of all together, both shares of the time. hops: how many there are.
    Source: rules of the project.

    >>> print(hub_share(busy=0.2, hub_busy=0.5, hops=3), hub_share(busy=0.0, hub_busy=0.5, hops=3))
    0.4 0.5
    """
    has_load = hub_busy > 0
    by_load = np.where(
        busy > 0, busy / np.where(has_load, hub_busy, 1), np.maximum(1 - hub_busy, 0)
    )
    return np.where(has_load, by_load, 1 / hops)


def hub_shares(hubs: Hubs, busy: np.ndarray, ends) -> tuple[np.ndarray, np.ndarray]:
    """Share of its hub's time of every direction, 1 without a hub; and what all of it take together.

    A time-division hub sends and hears in turn: both directions count together. One that does both at
    once has the whole time for each.
    """
    share, together = np.ones(len(busy)), busy.copy()
    for hub in hubs.all:
        hops = np.array(hub.hops)
        ways = np.column_stack((2 * hops, 2 * hops + 1))
        needed = busy[ways]
        if ends[hub.hops[0]][0].radio.duplex != FDD:
            needed = np.repeat(needed.sum(axis=1, keepdims=True), 2, axis=1)
        total = np.broadcast_to(needed.sum(axis=0), needed.shape)
        share[ways] = hub_share(busy=needed, hub_busy=total, hops=len(hops))
        together[ways] = total
    return share, together
