"""Paths that back each other up: what holds in the year when either suffices.

Rain falls on both at once: where two hops lie near each other, the outage in common is the smaller
one by rain; only multipath and reflection, which know nothing of each other, multiply.
"""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hop_rates import HopPerformance
from backhaul.budgets.radio import RadioBudget
from backhaul.design.model import Design
from backhaul.path.branches import Branches
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.physics.geometry import sphere_distance_km
from backhaul.units import PERCENT

#: Hops nearer to each other than this stand in one rain [km]: rules of the project.
SAME_RAIN_KM = 20.0
#: Places along a hop that are looked at: every 5 km of one of 100 km.
_PLACES_ALONG = 21


class Outage(NamedTuple):
    """Share of the year that a path is out by its hops [%]: by rain, and by all else."""

    rain_percent: float
    other_percent: float


def with_backup(
    paths: dict[str, Any],
    design: Design,
    network: Network,
    branches: Branches,
    radio: RadioBudget,
    hops: HopPerformance,
) -> dict[str, Any]:
    """Paths that back each other up show the share of the year in which one of them holds."""
    beside: dict[str, list[str]] = {}
    for name, row in design.paths.items():
        if row.backs_up in paths and name in paths:
            beside.setdefault(name, []).append(row.backs_up)
            beside.setdefault(row.backs_up, []).append(name)
    found = dict(paths)
    for name, others in beside.items():
        group = (name, *(other for other in others if _carries(paths[other], paths[name])))
        together = None
        if all(paths[path].availability_percent is not None for path in group):
            hops_of = {
                path: [
                    use.link
                    for use in branches.uses_to_root(path, network)
                    if use.link.kind == RADIO
                ]
                for path in group
            }
            together = PERCENT - _together_percent(hops_of, design, radio, hops)
        found[name] = paths[name]._replace(
            backup_paths=tuple(others), availability_with_backup_percent=together
        )
    return found


def _carries(backup: Any, path: Any) -> bool:
    """Whether the rate of a backup holds what the other path is asked for, both ways."""
    rates = (backup.rate_up_mbps, backup.rate_down_mbps)
    asked = (path.demand_up_mbps, path.demand_down_mbps)
    return not backup.is_stopped and all(
        rate is not None and rate >= needed for rate, needed in zip(rates, asked, strict=True)
    )


def _together_percent(
    hops_of: Mapping[str, list[Link]], design: Design, radio: RadioBudget, hops: HopPerformance
) -> float:
    """Share of the year in which all of the paths are out at once [%]."""
    paths = list(hops_of)
    shared = set.intersection(*(set(hops_of[path]) for path in paths))
    own = {path: [link for link in hops_of[path] if link not in shared] for path in paths}
    common = _outage(shared, radio, hops)
    together = _outage(own[paths[0]], radio, hops)
    for place, path in enumerate(paths[1:], start=1):
        near = any(
            _in_one_rain(one, other, design)
            for before in paths[:place]
            for one in own[before]
            for other in own[path]
        )
        together = both_out(together, _outage(own[path], radio, hops), same_rain=near)
    return min(sum(together) + sum(common), PERCENT)


def both_out(one: Outage, other: Outage, *, same_rain: bool) -> Outage:
    """Share of the year in which two paths are out at once [%].

    In one rain the smaller outage by rain is the one in common (the larger rain covers both), and
    what is left of each multiplies; in separate rains all multiplies. Source: rules of the project.

    >>> print(*(round(share, 9) for share in both_out(Outage(0.003, 0.0), Outage(0.01, 0.0),
    ...     same_rain=True)))
    0.003 0.0
    >>> print(*(round(share, 9) for share in both_out(Outage(0.01, 0.0), Outage(0.01, 0.0),
    ...     same_rain=False)))
    0.0 1e-06
    """
    rain = min(one.rain_percent, other.rain_percent) if same_rain else 0.0
    all_of_one, all_of_other = sum(one), sum(other)
    product = all_of_one * all_of_other / PERCENT
    if same_rain:
        product -= one.rain_percent * other.rain_percent / PERCENT
    return Outage(rain, max(product, 0.0))


def _outage(links: Iterable[Link], radio: RadioBudget, hops: HopPerformance) -> Outage:
    """Outage of a path by its hops in the modes that carry its load, the worse direction of each."""
    rain = other = 0.0
    for link in links:
        worst = min((2 * link.index, 2 * link.index + 1), key=lambda way: hops.carried_percent[way])
        whole = PERCENT - float(hops.carried_percent[worst])
        mode = int(hops.carrying_mode[worst])
        by_rain = float(radio.modes["rain_outage_percent"][mode]) if mode >= 0 else 0.0
        by_rain = min(by_rain, whole) if by_rain == by_rain else 0.0
        rain, other = rain + by_rain, other + whole - by_rain
    return Outage(min(rain, PERCENT), min(other, PERCENT))


def _in_one_rain(one: Link, other: Link, design: Design) -> bool:
    """Whether two hops come within reach of one rain anywhere; where it is not known, they do."""
    if one is other:
        return True
    lines = [_places_along(link, design) for link in (one, other)]
    if lines[0] is None or lines[1] is None:
        return True
    (latitude1, longitude1), (latitude2, longitude2) = lines
    distance_km = sphere_distance_km(
        latitude1=latitude1[:, None],
        longitude1=longitude1[:, None],
        latitude2=latitude2,
        longitude2=longitude2,
    )
    return bool(np.min(distance_km) <= SAME_RAIN_KM)


def _places_along(link: Link, design: Design) -> tuple[np.ndarray, np.ndarray] | None:
    """Latitudes and longitudes along a hop, straight between its ends."""
    ends = [design.sites.get(name) for name in (link.rows[0].site, link.rows[0].to_site)]
    if any(end is None or end.latitude is None or end.longitude is None for end in ends):
        return None
    return (
        np.linspace(ends[0].latitude, ends[1].latitude, _PLACES_ALONG),
        np.linspace(ends[0].longitude, ends[1].longitude, _PLACES_ALONG),
    )
