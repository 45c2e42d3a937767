"""What equivalents of radios and antennas must meet, from the budgets of the air."""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    COVERS,
    IS,
    Demand,
    rounded_down,
    rounded_up,
    stated,
    surroundings,
)
from backhaul.budgets.requirements_wired import ports_needed
from backhaul.figures.mode_terms import MODE_TERMS
from backhaul.figures.terms import compute
from backhaul.path.ends import HopDirection
from backhaul.path.equipment import terminal_key
from backhaul.units import MHZ_PER_GHZ, PERCENT
from backhaul.wording import rate_text

#: Fade margins between which the one that an availability needs is sought [dB], and steps.
_LEAST_MARGIN_DB, _MOST_MARGIN_DB, _STEPS = 0.0, 120.0, 60
#: Shares of the year are compared to this [%].
_SAME_PERCENT = 1e-9


class Needed(NamedTuple):
    """The mode that one direction of a hop needs, and the margin that it needs there."""

    direction: int
    mode: int
    margin_db: float
    #: smallest margin with which everything that is asked of the direction holds [dB]
    needed_db: float

    @property
    def slack_db(self) -> float:
        return self.margin_db - self.needed_db


def needed_mode(evaluation: Any, direction: int) -> Needed | None:
    """The slowest mode that carries the load with its headroom; without a load the one in use."""
    return _needed_modes(evaluation)[direction]


@lru_cache(maxsize=4)
def _needed_modes(evaluation: Any) -> list[Needed | None]:
    """The needed mode of every direction, None where it has none or its margin is not known."""
    radio = evaluation.radio
    modes = np.array([_mode(evaluation, d) for d in range(2 * len(radio.links))], dtype=int)
    known = np.flatnonzero(modes >= 0)
    known = known[~np.isnan(radio.modes["margin_db"][modes[known]])] if known.size else known
    found: list[Needed | None] = [None] * len(modes)
    if not known.size:
        return found
    needed = _needed_margin_db(evaluation, known, modes[known])
    for place, direction in enumerate(known.tolist()):
        mode = int(modes[direction])
        margin = float(radio.modes["margin_db"][mode])
        found[direction] = Needed(direction, mode, margin, float(needed[place]))
    return found


def _mode(evaluation: Any, direction: int) -> int:
    radio, hops = evaluation.radio, evaluation.performance.hops
    start, end = (int(radio.mode_start[direction + n]) for n in (0, 1))
    way = radio.hops.directions[direction]
    load = evaluation.performance.load.get(way.link.key)
    carried = 0.0 if load is None else load[way.sender.number]
    if carried > 0:
        kept = 1 - evaluation.design.project.rate_headroom_percent / PERCENT
        for mode in range(start, end):
            if hops.mode_user_rate_mbps[mode] * kept >= carried:
                return mode
    return int(hops.mode[direction]) if end > start else -1


def _needed_margin_db(evaluation: Any, directions: np.ndarray, modes: np.ndarray) -> np.ndarray:
    """Healthy margin, or more where the availability of the hop asks for more [dB]."""
    healthy = evaluation.radio.values["healthy_margin_db"][directions]
    target = evaluation.performance.hops.target_percent[directions]
    below = np.full(len(directions), _LEAST_MARGIN_DB)
    above = np.full(len(directions), _MOST_MARGIN_DB)
    reached = _availability(evaluation, directions, modes, above) >= target - _SAME_PERCENT
    for _ in range(_STEPS):
        middle = (below + above) / 2
        enough = _availability(evaluation, directions, modes, middle) >= target - _SAME_PERCENT
        below, above = np.where(enough, below, middle), np.where(enough, middle, above)
    return np.where(reached, np.maximum(healthy, above), healthy)


def _availability(evaluation: Any, directions, modes, margin_db: np.ndarray) -> np.ndarray:
    """Availability of a mode with another margin, by the lines of the budget below the margin."""
    radio = evaluation.radio
    names = [term.key for term in MODE_TERMS]
    after = MODE_TERMS[names.index("margin_db") + 1 :]
    count = len(radio.mode_start) - 1
    inputs = {
        key: np.asarray(column)[directions]
        for key, column in radio.values.items()
        if np.shape(column) == (count,)
    }
    inputs |= {key: radio.modes[key][modes] for key in _OF_MODE}
    clear = margin_db + inputs["reflection_loss_db"]
    given = {**inputs, "margin_db": margin_db, "clear_margin_db": clear}
    return np.asarray(compute(after, given)["availability_percent"])


#: Figures of a mode that stay as they are when its margin is another.
_OF_MODE = (
    "rate_mbps",
    "mode_power_dbm",
    "sensitivity_dbm",
    "snow_factor",
    "reflection_outage_percent",
    "diversity_basis",
)


def radio_ends(evaluation: Any, part: str, by: str) -> Iterator[HopDirection]:
    """Ends of hops at which a radio stands: the way that it sends."""
    for way in evaluation.radio.hops.directions:
        if way.sender.radio.part == part and (way.row.by or "") == by:
            yield way


def antenna_ends(evaluation: Any, part: str, by: str) -> Iterator[HopDirection]:
    """Ends of hops at which an antenna hangs: the way that it sends."""
    for way in evaluation.radio.hops.directions:
        antenna = way.sender.antenna
        if antenna is not None and antenna.part == part and (way.row.by or "") == by:
            yield way


def radio_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Band, levels, modes, power and surroundings that an equivalent radio must meet."""
    record, radio = evaluation.catalog.radios[part], evaluation.radio
    ends = list(radio_ends(evaluation, part, by))
    found = _channels(evaluation, record, ends)
    found += stated(
        "duplex", IS, record.duplex, "", record.duplex, "both ends of a hop of one kind", "duplex"
    )
    sent = [n for way in ends if (n := needed_mode(evaluation, way.place)) is not None]
    heard = [n for way in ends if (n := needed_mode(evaluation, way.back)) is not None]
    for needed in _worst(heard):
        mode = needed.mode
        ours = float(radio.modes["sensitivity_dbm"][mode])
        limit = float(rounded_down(value=ours + needed.slack_db, digits=1))
        found += stated(
            f"sensitivity at {rate_text(float(radio.modes['rate_mbps'][mode]))} on the air "
            f"({radio.modes['name'][mode]} or like)",
            AT_MOST,
            limit,
            "dBm",
            ours,
            f"margin {needed.needed_db:.1f} dB for what the path carries, its availability counted",
            "sensitivity_dbm",
            1,
        )
    for needed in _worst(sent):
        ours = float(radio.modes["mode_power_dbm"][needed.mode])
        limit = float(rounded_up(value=ours - needed.slack_db, digits=1))
        found += stated(
            "power in that mode, all chains",
            AT_LEAST,
            limit,
            "dBm",
            ours,
            "other figures as in the book",
            "tx_power_dbm",
            1,
        )
    eirp = [float(radio.values["eirp_dbm"][way.place]) for way in ends]
    eirp = [value for value in eirp if value == value]
    if eirp:
        highest = float(rounded_down(value=max(eirp), digits=1))
        found += stated(
            "EIRP, set on site",
            AT_MOST,
            highest,
            "dBm",
            highest,
            "as judged by the rule of the band; local rules decide",
            "",
        )
    level = [float(radio.values["received_dbm"][way.back]) for way in ends]
    level = [value for value in level if value == value]
    if level:
        found += stated(
            "highest input level",
            AT_LEAST,
            float(rounded_up(value=max(level), digits=1)),
            "dBm",
            record.max_input_dbm,
            "level in clear air",
            "max_input_dbm",
            1,
        )
    found += _rate(evaluation, ends)
    found += _power(evaluation, record, part, by)
    return found + surroundings(record, sites, enclosed=False)


def _worst(needed: list[Needed]) -> list[Needed]:
    return [min(needed, key=lambda n: n.slack_db)] if needed else []


def _channels(evaluation: Any, record: Any, ends: list[HopDirection]) -> list[Demand]:
    radio = evaluation.radio
    widths = sorted({float(radio.hops.channel_mhz[end.hop]) for end in ends})
    low, high = [], []
    for end in ends:
        half = float(radio.hops.channel_mhz[end.hop]) / 2 / MHZ_PER_GHZ
        for way in (end.place, end.back):
            centre = float(radio.values["frequency_ghz"][way])
            if centre == centre and half == half:
                low.append(centre - half)
                high.append(centre + half)
    found: list[Demand] = []
    if low:
        ours = None
        if record.frequency_min_ghz is not None and record.frequency_max_ghz is not None:
            ours = f"{record.frequency_min_ghz:g} to {record.frequency_max_ghz:g} GHz"
        found += stated(
            "frequency",
            COVERS,
            f"{min(low):.6g} to {max(high):.6g} GHz",
            "",
            ours,
            "channels as planned",
            "frequency_min_ghz",
        )
    widths = [width for width in widths if width == width]
    if widths:
        words = ", ".join(f"{width:g}" for width in widths)
        found += stated(
            "channel", IS, f"{words} MHz", "", f"{words} MHz", "as planned", "channel_mhz"
        )
    return found


def _rate(evaluation: Any, ends: list[HopDirection]) -> list[Demand]:
    """User rate that the paths need, headroom counted; both directions share a TDD channel."""
    kept = 1 - evaluation.design.project.rate_headroom_percent / PERCENT
    needs = []
    for end in ends:
        load = evaluation.performance.load.get(end.link.key)
        if load is not None:
            needs.append(sum(load) / kept if kept > 0 else sum(load))
    rates = evaluation.performance.hops.user_rate_mbps
    ours = [float(rates[end.place] + rates[end.back]) for end in ends]
    ours = [value for value in ours if value == value]
    if not needs or not max(needs) > 0:
        return []
    return stated(
        "user rate, both directions",
        AT_LEAST,
        float(rounded_up(value=max(needs), digits=1)),
        "Mb/s",
        round(min(ours), 1) if ours else None,
        "demand with its headroom",
        "",
        1,
    )


def _power(evaluation: Any, record: Any, part: str, by: str) -> list[Demand]:
    found: list[Demand] = []
    keys = {
        terminal_key(way.row, site=way.sender.site_name, end="far" if way.sender.is_far else "near")
        for way in radio_ends(evaluation, part, by)
    }
    all_equipment = [
        equipment for key, equipment in evaluation.network.all_equipment.items() if key in keys
    ]
    for (form, rate, poe), _ in ports_needed(evaluation, all_equipment):
        words = f"{form}{f' at {rate_text(rate)}' if rate else ''}{f', {poe}' if poe else ''}"
        found += stated("port", IS, words, "", words, "in use", "")
    if record.supply not in (None, "", "none"):
        volts = f", {record.supply_volts:g} V" if record.supply_volts else ""
        found += stated(
            "supply", IS, f"{record.supply}{volts}", "", f"{record.supply}{volts}", "", "supply"
        )
    return found + stated(
        "own power", AT_MOST, record.watts, "W", record.watts, "as budgeted", "watts"
    )


def antenna_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Gain and band of an equivalent antenna; it counts in both directions of its hop."""
    record, radio = evaluation.catalog.antennas[part], evaluation.radio
    ends = list(antenna_ends(evaluation, part, by))
    low, high = [], []
    slack: list[float] = []
    for end in ends:
        for way in (end.place, end.back):
            centre = float(radio.values["frequency_ghz"][way])
            low.append(centre)
            high.append(centre)
            needed = needed_mode(evaluation, way)
            if needed is not None:
                slack.append(needed.slack_db)
    found: list[Demand] = []
    if low:
        found += stated(
            "frequency",
            COVERS,
            f"{min(low):.6g} to {max(high):.6g} GHz",
            "",
            None,
            "channels as planned",
            "frequency_min_ghz",
        )
    if slack:
        found += stated(
            "gain",
            AT_LEAST,
            float(rounded_up(value=record.gain_dbi - min(slack), digits=1)),
            "dBi",
            record.gain_dbi,
            "the far end as in the book",
            "gain_dbi",
            1,
        )
        found += stated(
            "gain",
            AT_MOST,
            record.gain_dbi,
            "dBi",
            record.gain_dbi,
            "EIRP was judged with it: with more, lower the power",
            "gain_dbi",
            1,
        )
    found += stated(
        "beamwidth",
        AT_LEAST,
        record.beamwidth_deg,
        "°",
        record.beamwidth_deg,
        "sway and interference were judged with ours",
        "beamwidth_deg",
    )
    return found + surroundings(record, sites, enclosed=False)
