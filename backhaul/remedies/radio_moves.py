"""Changes of a hop: power, frequency, channel, air time."""

from collections import Counter
from collections.abc import Iterator
from math import floor, inf, log2
from typing import Any

from backhaul.budgets.hop_rates import EVEN_SHARE_PERCENT
from backhaul.checks.band_rows import is_open
from backhaul.checks.bands import excess_at_db
from backhaul.design.edits import Edit
from backhaul.design.hubs import OF_CHANNEL, OF_SETTING
from backhaul.design.model import Segment
from backhaul.path.links import RADIO, Link
from backhaul.remedies.moves import Candidate, Scene
from backhaul.remedies.tolerance import POWER_DB

#: A decibel of power counts as much as so far a move of the frequency: 2 dB as a 20 MHz channel.
_GHZ_A_DB = 0.01
_CENTS = 10  # powers are set in tenths of a decibel


def hops_of(scene: Scene) -> Iterator[tuple[Link, Segment]]:
    for link in scene.links:
        if link.kind == RADIO and scene.may_change(link.rows[0]):
            yield link, link.rows[0]


def own_hops(scene: Scene) -> Iterator[tuple[Link, Segment]]:
    """Hops whose terminals and channel may be changed; a hub once: what it sends on and with, all
    of its hops do."""
    told = set()
    for link, row in hops_of(scene):
        if row.hub in told or not scene.may_change_hub(row):
            continue
        if row.hub:
            told.add(row.hub)
        yield link, row


def as_in_the_hub(scene: Scene) -> Iterator[Candidate]:
    """One channel and setting for all hops of a hub: that of most of them first."""
    for row in scene.rows[:1]:
        hops = scene.hops_of_hub(row)
        for column in (*OF_CHANNEL, *OF_SETTING) if scene.may_change_hub(row) else ():
            found = Counter(getattr(hop, column) for hop in hops)
            for rank, (value, _) in enumerate(found.most_common() if len(found) > 1 else ()):
                odd = next(hop for hop in hops if getattr(hop, column) != value)
                yield Candidate((scene.set(odd, column, value),), ("setting",), rank)


def power(scene: Scene) -> Iterator[Candidate]:
    """A lower power, by what the finding is over its limit."""
    value, limit = scene.finding.value, scene.finding.limit
    if not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return
    for link, row in hops_of(scene):
        if not scene.may_change_hub(row):
            continue
        over = abs(value - limit)
        for record in scene.context.radio.hops.radios[link.index]:
            powers = [each for each in (row.tx_power_dbm, record.tx_power_dbm) if each is not None]
            if not powers:
                continue
            now = min(powers)
            for more in (0.0, 1.0, 3.0):
                lower = floor(_CENTS * (now - over - POWER_DB - more) + 1e-6) / _CENTS
                apart = (over + more) * _GHZ_A_DB
                yield Candidate((scene.set(row, "tx_power_dbm", lower),), ("setting",), apart)


def more_power(scene: Scene) -> Iterator[Candidate]:
    """As much power as the terminal has."""
    for _, row in own_hops(scene):
        if row.tx_power_dbm is not None:
            yield Candidate((scene.set(row, "tx_power_dbm", None),), ("setting",))
            for more in (1.0, 2.0, 3.0, 5.0, 8.0):
                yield Candidate(
                    (scene.set(row, "tx_power_dbm", row.tx_power_dbm + more),), ("setting",), more
                )


def other_channel(scene: Scene) -> Iterator[Candidate]:
    """Another channel width of the terminal, the nearest first; a wider one where it may help."""
    for _, row in own_hops(scene):
        now = row.channel_mhz or USUAL_CHANNEL_MHZ
        for width in widths_of(scene, row.part):
            if width != row.channel_mhz and (width < now or scene.finding.check in _WIDER_HELPS):
                octaves = abs(log2(width / now))
                yield Candidate((scene.set(row, "channel_mhz", width),), ("setting",), octaves)


#: Findings for which a wider channel may be the answer; others want less noise or fewer neighbours.
_WIDER_HELPS = ("radio-pair", "path-rate")
#: What is taken for a channel that is not given [MHz].
USUAL_CHANNEL_MHZ = 20.0


def widths_of(scene: Scene, part: str) -> list[float]:
    """Channel widths of a terminal, the narrowest first."""
    return sorted({mode.channel_mhz for mode in scene.context.catalog.radio_modes.get(part, ())})


def frequency(scene: Scene) -> Iterator[Candidate]:
    """Another channel in the range of the terminal."""
    for link, row in own_hops(scene):
        near, _ = scene.context.radio.hops.radios[link.index]
        width = row.channel_mhz or USUAL_CHANNEL_MHZ
        low, high = near.frequency_min_ghz, near.frequency_max_ghz
        if None in (low, high):
            continue
        if near.duplex == "FDD":
            yield from _pair(scene, row, near)
            continue
        step_ghz = width / 1000
        count = int((high - low) / step_ghz)
        stride = max(1, count // 24)
        centres = [round(low + (n + 0.5) * step_ghz, 4) for n in range(0, count, stride)]
        now = row.frequency_ghz or centres[len(centres) // 2]
        for ghz in sorted(centres, key=lambda each: abs(each - now)):
            if ghz == row.frequency_ghz or not is_open(scene.context, row, near, ghz, width):
                continue
            edits = [scene.set(row, "frequency_ghz", ghz)]
            apart = abs(ghz - now)
            if scene.finding.check in _OF_THE_RULE:
                over = excess_at_db(scene.context, link.index, ghz)
                if over > 0 and (over == inf or scene.finding.check == "radio-eirp"):
                    continue
                if over > 0:
                    edits += _less_power(scene, row, link, over)
                    apart += over * _GHZ_A_DB
            yield Candidate(tuple(edits), ("setting",) * len(edits), apart)


#: What another channel settles only where its rule allows the hop.
_OF_THE_RULE = ("radio-band", "radio-eirp")


def _less_power(scene: Scene, row: Segment, link: Link, over_db: float) -> list[Edit]:
    """The power lowered by so much, below that of the stronger terminal."""
    powers = [radio.tx_power_dbm for radio in scene.context.radio.hops.radios[link.index]]
    known = [power for power in (row.tx_power_dbm, max(powers, key=_or_least)) if power is not None]
    if not known:
        return []
    lower = floor(_CENTS * (min(known) - over_db - POWER_DB) + 1e-6) / _CENTS
    return [scene.set(row, "tx_power_dbm", lower)]


def _or_least(power: float | None) -> float:
    return -inf if power is None else power


def _pair(scene: Scene, row: Segment, radio: Any) -> Iterator[Candidate]:
    """Both halves of a frequency-division pair, either way round."""
    for rank, edits in enumerate(pair_settings(scene, row, radio)):
        if edits:
            yield Candidate(edits, ("setting",) * len(edits), rank)


def pair_settings(scene: Scene, row: Segment, radio: Any) -> Iterator[tuple[Edit, ...]]:
    """Frequencies of the two halves, those first that keep one that is given."""
    halves = (radio.tx_min_ghz, radio.tx_max_ghz, radio.rx_min_ghz, radio.rx_max_ghz)
    if None in halves:
        return
    sends, hears = (halves[0] + halves[1]) / 2, (halves[2] + halves[3]) / 2
    apart = hears - sends
    pairs = [(sends, hears), (hears, sends)]
    if row.to_frequency_ghz is not None:
        pairs.insert(0, (row.to_frequency_ghz - apart, row.to_frequency_ghz))
    if row.frequency_ghz is not None:
        pairs.insert(0, (row.frequency_ghz, row.frequency_ghz + apart))
    for first, second in pairs:
        edits = (
            scene.set(row, "frequency_ghz", round(first, 4)),
            scene.set(row, "to_frequency_ghz", round(second, 4)),
        )
        yield tuple(edit for edit in edits if edit.to != edit.before)


def air_time(scene: Scene) -> Iterator[Candidate]:
    """The air time shared by the demand, or evenly."""
    for _, row in hops_of(scene):
        if row.up_share_percent is not None:
            for share in (None, EVEN_SHARE_PERCENT):
                yield Candidate((scene.set(row, "up_share_percent", share),), ("setting",))
