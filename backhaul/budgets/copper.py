"""Reach and rate of every copper link: category, temperature and the ports at both ends."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.conductors import cable_temperature_c
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design
from backhaul.figures.arrays import number
from backhaul.path.links import COPPER, Link
from backhaul.path.network import Network
from backhaul.physics import copper
from backhaul.units import DECIMALS


class CopperBudget(NamedTuple):
    """Arrays over copper links; `rate_mbps` is NaN where no rate works."""

    links: tuple[Link, ...]
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


def copper_budget(network: Network, catalog: Any, design: Design) -> CopperBudget:
    """Length against reach of all copper links of a design."""
    links = network.links[COPPER]
    reach = reach_table(catalog)
    lengths, worst, parts_of = [], [], []
    for link in links:
        runs = [row for row in link.rows if KINDS[row.kind].is_run]
        parts = [catalog.coppers[row.part] for row in runs]
        lengths.append(sum(number(row.length_m) for row in runs))
        worst.append(_warmest(runs, parts, network, design))
        parts_of.append(tuple(dict.fromkeys(row.part for row in runs)))
    temperature = np.array([item[0] for item in worst], dtype=float)
    screened = np.array([item[1] for item in worst], dtype=bool)
    fixed = copper.fixed_length_m(cable_temperature_c=temperature, screened=screened)
    results = [
        _best(link, catalog, reach, parts_of[index], lengths[index], float(fixed[index]))
        for index, link in enumerate(links)
    ]
    rate, common, limit, published, near, far = (
        (np.array(column, dtype=float) for column in zip(*results, strict=True))
        if results
        else (np.zeros(0),) * 6
    )
    return CopperBudget(
        links,
        np.array(lengths, dtype=float),
        temperature,
        screened,
        np.asarray(fixed),
        rate,
        common,
        limit,
        published,
        near,
        far,
    )


def _warmest(runs, parts, network: Network, design: Design) -> tuple[float, bool]:
    """Temperature and screen of the run that shortens a channel the most."""
    found = [
        (cable_temperature_c(row, network, design), bool(part.screened))
        for row, part in zip(runs, parts, strict=True)
    ]
    if len(set(found)) == 1:
        return found[0]
    return min(
        found,
        key=lambda item: float(
            copper.fixed_length_m(cable_temperature_c=item[0], screened=item[1])
        ),
    )


def reach_table(catalog: Any) -> Mapping[tuple[str, float], float]:
    """Published reach by cable and rate [m]; of several rows the last, a user's own."""
    return {
        (part, row.rate_mbps): row.reach_m
        for part, rows in catalog.copper_reach.items()
        for row in rows
    }


def _best(link: Link, catalog, reach, parts, length_m, fixed_m):
    """Fastest rate that the ports share and the length allows, with its limit."""
    lists = [
        set(port.rates_mbps)
        for port in (link.near_port, link.far_port)
        if port is not None and port.rates_mbps
    ]
    rates = set.intersection(*lists) if lists else {rate for part, rate in reach if part in parts}
    for row in link.rows:
        if KINDS[row.kind].protects and (passes := catalog.protectors[row.part].rates_mbps):
            rates &= set(passes)
    nan = float("nan")
    near, far = (
        max(port.rates_mbps) if port is not None and port.rates_mbps else nan
        for port in (link.near_port, link.far_port)
    )
    ordered = sorted(rates, reverse=True)
    if not ordered:
        return nan, nan, nan, nan, near, far
    best_limit = best_reach = nan
    for rate in ordered:
        published = min(reach.get((part, rate)) or 0.0 for part in parts)
        limit = float(copper.reach_limit_m(reach_m=published, fixed_length_m=fixed_m))
        if published and (best_limit != best_limit or limit > best_limit):
            best_limit, best_reach = limit, published
        if published and round(length_m, DECIMALS) <= round(limit, DECIMALS):
            return rate, ordered[0], limit, published, near, far
    return nan, ordered[0], best_limit, best_reach, near, far
