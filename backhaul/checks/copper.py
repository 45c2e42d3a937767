"""Copper links: a rate that both ports share, and a channel short enough for it."""

from collections.abc import Iterator
from itertools import permutations

import numpy as np

from backhaul.budgets.copper import Channel
from backhaul.checks.context import Context, on_link
from backhaul.design.kinds import KINDS
from backhaul.figures.copper_terms import CORDS
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.links import Link
from backhaul.path.ports import is_copper_port, takes_cable
from backhaul.physics.copper import CHANNEL_M, RANGES, fixed_length_m, reach_limit_m
from backhaul.wording import length_text, lengths_against, rate_text

_REACH = "IEEE 802.3 and TIA-568.2-D, copper_reach.csv"


def copper_rate(context: Context) -> Iterator[Finding]:
    """copper-rate: no rate common to both ports, or a port held below its best."""
    budget = context.copper
    for index, link in enumerate(budget.links):
        ports = [(link.near, link.near_port), (link.far, link.far_port)]
        if any(port is None for _, port in ports):
            continue  # optics-port says it
        row = link.run
        if np.isnan(budget.common_mbps[index]):
            offers = " and ".join(
                f"{equipment.part} {port.port} ({_rates(port)})" for equipment, port in ports
            )
            yield on_link(
                "copper-rate",
                FAIL,
                link,
                row,
                "part",
                f"no rate that {offers} and what lies between share",
                remedy="use ports that list one rate",
            )
            continue
        rate = budget.rate_mbps[index]
        for (equipment, port), best, termination in zip(
            ports,
            (budget.near_best_mbps[index], budget.far_best_mbps[index]),
            (link.near_termination, link.far_termination),
            strict=True,
        ):
            if rate < best:
                yield on_link(
                    "copper-rate",
                    NOTE,
                    link,
                    termination.row,
                    termination.column,
                    f"port {port.port} of {equipment.part} could run {rate_text(best)}, this link "
                    f"holds it at {rate_text(rate)}",
                    remedy="fit a port, injector or cable of the higher rate if it is wanted",
                    value=rate,
                    limit=best,
                    unit="Mb/s",
                )


def copper_ports(context: Context) -> Iterator[Finding]:
    """optics-port: a copper run named into a port that takes none, or not of so many pairs."""
    for index, link in enumerate(context.copper.links):
        yield from _pairs(link, context.copper.channels[index])
        yield from _protected_pairs(context, link)
        for termination, equipment, port in (
            (link.near_termination, link.near, link.near_port),
            (link.far_termination, link.far, link.far_port),
        ):
            if port is not None and not is_copper_port(port):
                yield on_link(
                    "optics-port",
                    FAIL,
                    link,
                    termination.row,
                    termination.column,
                    f"port {port.port} of {equipment.part} is a cage for {port.form}, not for copper",
                    remedy="name an rj45 port",
                    value=port.form,
                    limit="rj45",
                )


def _pairs(link: Link, channel: Channel) -> Iterator[Finding]:
    """One pair meets four: at a port, or where two cables join."""
    ends = (
        (link.near_port, channel.runs[0], channel.parts[0]),
        (link.far_port, channel.runs[-1], channel.parts[-1]),
    )
    found = [
        (row, part, f"port {port.port} ({port.form})")
        for port, row, part in ends
        if port is not None and is_copper_port(port) and not takes_cable(port, part)
    ]
    found += [
        (row, part, before.part)
        for row, part, before in zip(channel.runs[1:], channel.parts[1:], channel.parts)
        if (part.pairs == 1) != (before.pairs == 1)
    ]
    for row, part, other in found[:1]:
        has = _pairs_text(part.pairs)
        yield on_link(
            "optics-port",
            FAIL,
            link,
            row,
            "part",
            f"{part.part} has {has}, {other} does not go with it",
            remedy="one pair takes ports of 10BASE-T1L and one-pair cable from end to end",
            value=part.pairs,
            source="IEEE 802.3cg Clause 146",
        )


def _protected_pairs(context: Context, link: Link) -> Iterator[Finding]:
    """A protector of fewer pairs than the cable beside it: neither its data nor its power pass."""
    rows = list(link.rows)
    for row, beside in permutations(rows, 2):
        if not KINDS[row.kind].protects or not KINDS[beside.kind].is_run:
            continue
        if abs(rows.index(row) - rows.index(beside)) > 1:
            continue
        passes = context.catalog.protectors[row.part].pairs
        pairs = context.catalog.coppers[beside.part].pairs
        if passes < pairs:
            yield on_link(
                "optics-port",
                FAIL,
                link,
                row,
                "part",
                f"{row.part} passes {_pairs_text(passes)}, {beside.part} has {pairs:g}",
                remedy="fit a protector of all pairs of the cable",
                value=passes,
                limit=pairs,
                unit="pairs",
                source="IEEE 802.3 Clauses 40 and 146: four pairs, one pair",
            )
            return


def _pairs_text(pairs: float) -> str:
    return "one pair" if pairs == 1 else f"{pairs:g} pairs"


def copper_reach(context: Context) -> Iterator[Finding]:
    """copper-reach: longer than any common rate allows at the temperature of the cable."""
    budget = context.copper
    warmest = RANGES["cable_temperature_c"][1]
    for index, link in enumerate(budget.links):
        row = link.run
        if np.isnan(budget.length_m[index]):
            yield on_link(
                "copper-reach",
                THIN,
                link,
                row,
                "length_m",
                "the reach was not judged: the length of the copper is not given",
                remedy="fill length_m",
                source=_REACH,
            )
        elif np.isnan(budget.rate_mbps[index]) and not np.isnan(budget.common_mbps[index]):
            limit = budget.limit_m[index]
            have, most = lengths_against(budget.length_m[index], limit)
            reach = (
                "not specified on this category"
                if np.isnan(limit)
                else f"at most {most} with the cable at {budget.temperature_c[index]:g} °C"
            )
            yield on_link(
                "copper-reach",
                FAIL,
                link,
                row,
                "length_m",
                f"{have} of copper, {reach}",
                remedy=_shorter(budget.length_m[index], budget.temperature_c[index]),
                value=budget.length_m[index],
                limit=limit,
                unit="m",
                source=_REACH,
            )
        elif budget.rate_mbps[index] < budget.common_mbps[index]:
            yield on_link(
                "copper-rate",
                NOTE,
                link,
                row,
                "length_m",
                f"{length_text(budget.length_m[index])} of this category hold the link at "
                f"{rate_text(budget.rate_mbps[index])}; both ports could run "
                f"{rate_text(budget.common_mbps[index])}",
                remedy="shorten the channel or use a higher category if the rate is wanted",
                value=budget.rate_mbps[index],
                limit=budget.common_mbps[index],
                unit="Mb/s",
                source=_REACH,
            )
        yield from _crosstalk(budget, index)
        yield from _cords(budget, index)
        if budget.temperature_c[index] > warmest:
            yield on_link(
                "out-of-range",
                NOTE,
                link,
                row,
                "cable_temperature_c",
                f"{budget.temperature_c[index]:g} °C is beyond the published table "
                f"(to {warmest:g} °C); its last slope was carried on",
                value=budget.temperature_c[index],
                limit=warmest,
                unit="°C",
                source="TIA-568.2-D Annex (informative)",
            )


def _crosstalk(budget, index: int) -> Iterator[Finding]:
    """A rate that the reach allows, but bundled cables of that category do not assure."""
    rate, have = budget.rate_mbps[index], budget.length_m[index]
    channel = budget.channels[index]
    assured = [
        of.row
        for rows in channel.reaches
        for of in rows
        if of.rate_mbps == rate and of.row.assured_m is not None and of.row.assured_m < have
    ]
    for row in assured[:1]:
        upto = f"beyond {length_text(row.assured_m)}" if row.assured_m else "at any length"
        yield on_link(
            "copper-rate",
            THIN,
            channel.link,
            channel.link.run,
            "part",
            f"{rate_text(rate)} over {length_text(have)} of {row.category}: not assured {upto} "
            "beside cables of the same kind (alien crosstalk)",
            remedy="use a higher category, have alien crosstalk measured, or set the ports to a "
            "lower rate",
            value=have,
            limit=row.assured_m,
            unit="m",
            source="TIA TSB-155-A, TSB-5021 (from memory)",
        )


def _cords(budget, index: int) -> Iterator[Finding]:
    """Cords lose more than fixed cable: the longest depends on how much of that there is."""
    cords, limit = budget.cords_m[index], budget.cords_limit_m[index]
    if CORDS.words({"cords_m": cords, "cords_limit_m": limit}) == FAIL:
        channel = budget.channels[index]
        fixed = budget.length_m[index] - cords
        have, most = lengths_against(cords, limit)
        yield on_link(
            "copper-reach",
            FAIL,
            channel.link,
            channel.cords[0],
            "length_m",
            f"{have} of cords beside {length_text(fixed)} of cable, at most {most} of them",
            remedy="shorten the cords, or run fixed cable in their place",
            value=cords,
            limit=limit,
            unit="m",
            source="TIA-568.2-D, C = (102 − H) / (1 + D) (to be confirmed)",
        )


def _rates(port) -> str:
    return ", ".join(rate_text(rate) for rate in port.rates_mbps) or "no rate"


def _shorter(length_m: float, cable_c: float) -> str:
    """What helps a channel that is too long: a better cable as far as one goes when so warm."""
    fixed = fixed_length_m(cable_temperature_c=cable_c, screened=True)
    if length_m > reach_limit_m(reach_m=CHANNEL_M, fixed_length_m=fixed):
        return "no category goes further: shorten the channel, part it by equipment, or lay fiber"
    return "shorten the channel, use a higher category or screened cable, or go on in fiber"
