"""What equivalents of radios and antennas must meet, from the budgets of the air."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from backhaul.budgets.needed_modes import Needed, needed_mode
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    COVERS,
    IS,
    Demand,
    down,
    settle_first,
    stated,
    surroundings,
    up,
)
from backhaul.budgets.requirements_wired import ports_needed
from backhaul.budgets.site_supply import site_volts
from backhaul.figures.influences import Influence
from backhaul.figures.mode_terms import GAIN, MODE_POWER, SENSITIVITY
from backhaul.figures.radio_terms import ALONE
from backhaul.findings import FAIL
from backhaul.path.ends import HopDirection
from backhaul.path.equipment import terminal_key
from backhaul.units import DECIMALS, MHZ_PER_GHZ, PERCENT
from backhaul.wording import rate_text

_SHARED = "its share of the margin, power, sensitivity and antennas at their limits"


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
    if heard:
        mode, needed_db = _tightest(heard).mode, _tightest(heard).needed_db
        found += _moved(
            SENSITIVITY,
            heard,
            float(radio.modes["sensitivity_dbm"][mode]),
            f"sensitivity at {rate_text(float(radio.modes['rate_mbps'][mode]))} on the air "
            f"({radio.modes['name'][mode]} or like)",
            "dBm",
            f"{_SHARED}: {needed_db:.1f} dB for what the path carries, its availability counted",
            "sensitivity_dbm",
        )
    if sent:
        found += _moved(
            MODE_POWER,
            sent,
            float(radio.modes["mode_power_dbm"][_tightest(sent).mode]),
            "power in that mode, all chains",
            "dBm",
            _SHARED,
            "tx_power_dbm",
        )
    found_on = (finding for way in ends for finding in evaluation.findings_on.get(way.row.id, ()))
    forbidden = any(f.check == "radio-eirp" and f.severity == FAIL for f in found_on)
    eirp = [float(radio.values["eirp_dbm"][way.place]) for way in ends]
    eirp = [value for value in eirp if value == value]
    if forbidden:
        found += settle_first("EIRP, set on site")  # the band allows less than is set
    elif eirp:
        highest = down(max(eirp), 1)
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
            up(max(level), 1),
            "dBm",
            record.max_input_dbm,
            "level in clear air",
            "max_input_dbm",
            1,
        )
    built_in = [way for way in ends if way.sender.antenna is None]
    if built_in:
        found += stated(
            "gain of its antenna",
            AT_LEAST,
            record.antenna_dbi,
            "dBi",
            record.antenna_dbi,
            "both ways were judged with ours",
            "antenna_dbi",
            1,
        )
        found += _beam(evaluation, record.beamwidth_deg, built_in)
    found += _rate(evaluation, ends)
    found += _power(evaluation, record, part, by)
    return found + surroundings(record, sites, enclosed=False)


#: A part that is better by more is not looked for: the hop has to be drawn anew.
MOST_LACKING_DB = 6.0


def _tightest(needed: list[Needed]) -> Needed:
    return min(needed, key=lambda n: n.share_db)


def _moved(
    influence: Influence,
    needed: list[Needed],
    ours: float,
    what: str,
    unit: str,
    why: str,
    field: str,
) -> list[Demand]:
    """The limit of a figure by its share where the direction has the least to spare.

    While the hop fails there is none: what would mend it is no matter of one part.
    """
    tightest = _tightest(needed)
    if round(tightest.margin_db, DECIMALS) < 0 or tightest.slack_db < -MOST_LACKING_DB:
        return settle_first(what)
    share = {"margin_db": tightest.needed_db + tightest.share_db, "needed_db": tightest.needed_db}
    limit = influence.limit({influence.input: ours, **share})
    rounded = up if influence.sense == AT_LEAST else down
    return stated(what, influence.sense, rounded(limit, 1), unit, ours, why, field, 1)


def _channels(evaluation: Any, record: Any, ends: list[HopDirection]) -> list[Demand]:
    radio = evaluation.radio
    widths = sorted({float(radio.hops.channel_mhz[end.hop]) for end in ends})
    covered = _channel_edges(radio, ends)
    found: list[Demand] = []
    if covered:
        ours = None
        if record.frequency_min_ghz is not None and record.frequency_max_ghz is not None:
            ours = f"{record.frequency_min_ghz:g} to {record.frequency_max_ghz:g} GHz"
        found += stated(
            "frequency",
            COVERS,
            covered,
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


def _channel_edges(radio: Any, ends: list[HopDirection]) -> str:
    """From the lowest to the highest edge of the channels of both ways, "" where none is known."""
    edges = []
    for end in ends:
        half = float(radio.hops.channel_mhz[end.hop]) / 2 / MHZ_PER_GHZ
        for way in (end.place, end.back):
            centre = float(radio.values["frequency_ghz"][way])
            if centre == centre and half == half:
                edges += [centre - half, centre + half]
    return f"{min(edges):.6g} to {max(edges):.6g} GHz" if edges else ""


def _rate(evaluation: Any, ends: list[HopDirection]) -> list[Demand]:
    """User rate that the paths need, headroom counted; both directions share a TDD channel."""
    kept = 1 - evaluation.design.project.rate_headroom_percent / PERCENT
    served = evaluation.performance.hops
    needs = []
    for end in ends:
        load = evaluation.performance.load.get(end.link.key)
        if load is not None:
            # of a hub, what it would be with the whole of its time
            whole = served.hub_share[end.place]
            needs.append(sum(load) / (kept * whole) if kept * whole > 0 else sum(load))
    rates = served.user_rate_mbps / np.where(served.hub_share > 0, served.hub_share, 1)
    ours = [float(rates[end.place] + rates[end.back]) for end in ends]
    ours = [value for value in ours if value == value]
    if not needs or not max(needs) > 0:
        return []
    return stated(
        "user rate, both directions",
        AT_LEAST,
        up(max(needs), 1),
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
        nominal = site_volts(record, evaluation.design.project.region)
        words = f"{record.supply}, {nominal:g} V" if nominal else record.supply
        found += stated("supply", IS, words, "", words, "", "supply")
    return found + stated(
        "own power", AT_MOST, record.watts, "W", record.watts, "as budgeted", "watts"
    )


def _beam(evaluation: Any, ours_deg: float | None, ends: list[HopDirection]) -> list[Demand]:
    """No narrower where masts sway; no wider where it meets the water or other senders."""
    radio, what, field = evaluation.radio, "beamwidth", "beamwidth_deg"
    sway = "sway was judged with ours"
    found = stated(what, AT_LEAST, ours_deg, "°", ours_deg, sway, field)
    meets = any(
        radio.reflection.mirrored[way.hop]
        or any(radio.values["noise_basis"][each] != ALONE for each in (way.place, way.back))
        for way in ends
    )
    if meets:
        why = "reflection and interference were judged with ours"
        found += stated(what, AT_MOST, ours_deg, "°", ours_deg, why, field)
    return found


def antenna_demands(evaluation: Any, part: str, by: str, sites: list[Any]) -> list[Demand]:
    """Gain and band of an equivalent antenna; it counts in both directions of its hop."""
    record, radio = evaluation.catalog.antennas[part], evaluation.radio
    ends = list(antenna_ends(evaluation, part, by))
    covered = _channel_edges(radio, ends)
    all_needed: list[Needed] = []
    for end in ends:
        for way in (end.place, end.back):
            needed = needed_mode(evaluation, way)
            if needed is not None:
                all_needed.append(needed)
    found: list[Demand] = []
    if covered:
        found += stated(
            "frequency",
            COVERS,
            covered,
            "",
            None,
            "channels as planned",
            "frequency_min_ghz",
        )
    if all_needed:
        found += _moved(GAIN, all_needed, record.gain_dbi, "gain", "dBi", _SHARED, "gain_dbi")
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
    found += _beam(evaluation, record.beamwidth_deg, ends)
    return found + surroundings(record, sites, enclosed=False)
