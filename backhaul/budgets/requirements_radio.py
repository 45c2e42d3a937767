"""What equivalents of radios and antennas must meet, from the budgets of the air."""

from collections.abc import Iterator
from typing import Any

from backhaul.budgets.needed_modes import Needed, needed_mode
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    COVERS,
    IS,
    Demand,
    rounded_down,
    rounded_up,
    settle_first,
    stated,
    surroundings,
)
from backhaul.budgets.requirements_wired import ports_needed
from backhaul.figures.radio_terms import ALONE
from backhaul.path.ends import HopDirection
from backhaul.path.equipment import terminal_key
from backhaul.units import DECIMALS, MHZ_PER_GHZ, PERCENT
from backhaul.wording import rate_text


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
        what = (
            f"sensitivity at {rate_text(float(radio.modes['rate_mbps'][needed.mode]))} on the air "
            f"({radio.modes['name'][needed.mode]} or like)"
        )
        ours = float(radio.modes["sensitivity_dbm"][needed.mode])
        found += _limit(what, AT_MOST, "dBm", ours, _share_db(evaluation, [needed]), _SENSITIVITY)
    for needed in _worst(sent):
        ours = float(radio.modes["mode_power_dbm"][needed.mode])
        what = "power in that mode, all chains"
        found += _limit(what, AT_LEAST, "dBm", ours, _share_db(evaluation, [needed]), _POWER)
    if record.antenna_dbi is not None and any(way.sender.antenna is None for way in ends):
        share = _share_db(evaluation, [*sent, *heard])
        what = "gain of its antenna"
        found += _limit(what, AT_LEAST, "dBi", record.antenna_dbi, share, "antenna_dbi")
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


_SENSITIVITY, _POWER = "sensitivity_dbm", "tx_power_dbm"
#: Figures of a direction that offers may take from: power, both gains, sensitivity.
SHARERS = 4
_OF_SHARE = "its share of what the margin leaves, all lines of the hop at their limits"


def _share_db(evaluation: Any, needed: list[Needed]) -> float | None:
    """What one figure may take of the tightest direction [dB]; None where nothing is known.

    Where other senders of the design are heard their noise moves too: nothing is given away.
    """
    if not needed:
        return None
    slack = min(n.slack_db for n in needed)
    heard = any(evaluation.radio.values["noise_basis"][n.direction] != ALONE for n in needed)
    return min(slack, 0.0) if heard or slack < 0 else slack / SHARERS


def _limit(
    what: str, sense: str, unit: str, ours: float, share_db: float | None, field: str
) -> list[Demand]:
    """A figure less its share, rounded to the safe side; none while the hop lacks margin."""
    if share_db is None:
        return []
    if round(share_db, DECIMALS) < 0:
        return settle_first(what)
    if sense == AT_LEAST:
        limit = float(rounded_up(value=ours - share_db, digits=1))
        limit = min(limit, ours)
    else:
        limit = max(float(rounded_down(value=ours + share_db, digits=1)), ours)
    return stated(what, sense, limit, unit, ours, _OF_SHARE, field, 1)


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
    found_modes: list[Needed] = []
    for end in ends:
        for way in (end.place, end.back):
            centre = float(radio.values["frequency_ghz"][way])
            low.append(centre)
            high.append(centre)
            needed = needed_mode(evaluation, way)
            if needed is not None:
                found_modes.append(needed)
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
    share = _share_db(evaluation, found_modes)
    found += _limit("gain", AT_LEAST, "dBi", record.gain_dbi, share, "gain_dbi")
    if share is not None:
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
