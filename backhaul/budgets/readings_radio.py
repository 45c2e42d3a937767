"""Readings of a terminal: height, azimuth, tilt, level of all chains together and of each."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from backhaul.budgets.reading_keys import hop_key
from backhaul.budgets.site_index import SiteIndex, Terminal
from backhaul.budgets.site_reading import (
    AZIMUTH,
    CHAIN,
    EXPECTED,
    HEIGHT,
    HIGHEST,
    LEVEL,
    LOWEST,
    TILT,
    Bound,
    SiteReading,
)
from backhaul.budgets.water_bands import water_band
from backhaul.figures import reading_formulas as formulas
from backhaul.figures.arrays import number

#: What is set at a terminal, not measured: nothing of a hop that fails.
SET_ON_SITE = ("tx_power_dbm", "eirp_dbm")


def at_site(index: SiteIndex, site: str | None) -> Iterator[SiteReading]:
    """What is read at each terminal that stands here."""
    for terminal in index.at[site].terminals:
        hubs, hop = index.evaluation.radio.hops.hubs, terminal.link.index
        hub = None if terminal.end else hubs.shared(hop)
        if hub is None or hop == hub.hops[0]:
            yield _height(index, site, terminal)
        if hub is None:  # the antenna of a hub looks at no one far end
            yield _angle(index, site, terminal, AZIMUTH)
            yield _angle(index, site, terminal, TILT)
        yield from _levels(index, site, terminal)


def hop_name(link: Any) -> str:
    """How a card calls a hop."""
    return link.rows[0].label or f"{link.paths[0]} {link.first_step:g}"


def heard_way(terminal: Terminal) -> int:
    """Place of the direction that arrives at a terminal."""
    return 2 * terminal.link.index + 1 - terminal.end


def _height(index: SiteIndex, site: str | None, terminal: Terminal) -> SiteReading:
    row = terminal.link.rows[0]
    values = {
        "height_m": number(row.to_height_m if terminal.end else row.height_m),
        "tolerance_m": formulas.HEIGHT_TOLERANCE_M,
    }
    return SiteReading(
        hop_key(terminal.link, HEIGHT, terminal.end),
        site,
        HEIGHT,
        f"Antenna above ground, {hop_name(terminal.link)}",
        "m",
        terminal.link,
        terminal.end,
        "from the site's level to the middle of the antenna",
        {
            EXPECTED: Bound({"height_m": values["height_m"]}, digits=1),
            LOWEST: Bound(values, formulas.height_low_m, 1),
            HIGHEST: Bound(values, formulas.height_high_m, 1),
        },
        instrument="tape or laser rangefinder",
    )


def _angle(index: SiteIndex, site: str | None, terminal: Terminal, kind: str) -> SiteReading:
    radio, hop = index.evaluation.radio, terminal.link.index
    if kind == AZIMUTH:
        angle = (radio.hops.to_azimuth_deg if terminal.end else radio.hops.azimuth_deg)[hop]
        name, instrument = "Azimuth, true", "compass"
        low, high = formulas.bearing_low_deg, formulas.bearing_high_deg
        how = "at the peak of the level, against a far mark or by satellite compass"
    else:
        angle = radio.hop_values["to_tilt_deg" if terminal.end else "tilt_deg"][hop]
        name, instrument = "Tilt, up positive", "inclinometer"
        low, high = formulas.aim_low_deg, formulas.aim_high_deg
        how = "at the peak of the level, on the antenna's back"
    values = {
        "angle_deg": float(angle),
        "beamwidth_deg": float(radio.hops.beamwidth_deg[hop, terminal.end]),
    }
    return SiteReading(
        hop_key(terminal.link, kind, terminal.end),
        site,
        kind,
        f"{name}, {hop_name(terminal.link)}",
        "°",
        terminal.link,
        terminal.end,
        how,
        {
            EXPECTED: Bound({"angle_deg": values["angle_deg"]}, digits=1),
            LOWEST: Bound(values, low, 1),
            HIGHEST: Bound(values, high, 1),
        },
        instrument=instrument,
    )


def chain_count(index: SiteIndex, terminal: Terminal) -> int:
    """Receive chains of the terminal."""
    own = index.evaluation.radio.hops.directions[2 * terminal.link.index + terminal.end]
    return int(own.sender.radio.chains or 1)


def slowest_mode(radio: Any, way: int) -> int | None:
    """Number of the mode of a direction that is heard at the lowest level, None without any."""
    first, end = (int(radio.mode_start[way + step]) for step in (0, 1))
    needed = radio.modes["sensitivity_dbm"][first:end]
    return None if not len(needed) or np.isnan(needed).all() else int(np.nanargmin(needed))


def _levels(index: SiteIndex, site: str | None, terminal: Terminal) -> Iterator[SiteReading]:
    yield _level(index, site, terminal, 0)
    count = chain_count(index, terminal)
    if count > 1:
        for chain in range(1, count + 1):
            yield _level(index, site, terminal, chain)


def _level(index: SiteIndex, site: str | None, terminal: Terminal, chain: int) -> SiteReading:
    """Level of all chains together (chain 0), or of one."""
    radio, place = index.evaluation.radio, heard_way(terminal)
    hop, end = terminal.link.index, terminal.end
    term = "received_chain_dbm" if chain else "received_dbm"
    received = float(radio.values[term][place])
    tolerance = formulas.CHAIN_TOLERANCE_DB if chain else formulas.LEVEL_TOLERANCE_DB
    flat = {"received_dbm": received, "tolerance_db": tolerance}
    mirrored = bool(radio.reflection.mirrored[hop])
    reflection = float(radio.values["reflection_loss_db"][place])
    stands = radio.hops.directions[2 * hop + end].sender.radio.max_input_dbm
    highest = formulas.greatest_mirrored_dbm if mirrored else formulas.greatest_received_dbm
    most = flat
    if stands is not None:
        most = flat | {"max_input_dbm": float(stands)}
        highest = (
            formulas.greatest_mirrored_below_damage_dbm
            if mirrored
            else formulas.greatest_below_damage_dbm
        )
    low, lowest = flat | {"reflection_loss_db": reflection}, formulas.least_received_dbm
    slowest = slowest_mode(radio, place)
    if slowest is not None:
        mode = int(radio.mode_start[place]) + slowest
        low["slowest_dbm"] = float(radio.modes["sensitivity_dbm"][mode])
        low["split_db"] = float(radio.values["received_dbm"][place]) - received
        lowest = formulas.least_heard_dbm
    name = f"Level, {hop_name(terminal.link)}"
    key = hop_key(terminal.link, LEVEL, end)
    if chain:
        name = f"Chain {chain}, {hop_name(terminal.link)}"
        key = hop_key(terminal.link, f"{CHAIN}{chain}", end)
    return SiteReading(
        key,
        site,
        CHAIN if chain else LEVEL,
        name,
        "dBm",
        terminal.link,
        end,
        "the radio's own, both antennas at their peak, dry weather"
        if not chain
        else "where the radio shows each",
        {
            EXPECTED: Bound({"received_dbm": received}, digits=1),
            LOWEST: Bound(low, lowest, 1),
            HIGHEST: Bound(most, highest, 1),
        },
        band=water_band(radio, place) if mirrored else None,
        needs_water=mirrored,
        is_optional=bool(chain),
    )
