"""Changes of a hop: power, frequency, channel, antennas, terminals."""

from collections.abc import Iterator
from math import floor, log2
from typing import Any

from backhaul.budgets.hop_rates import EVEN_SHARE_PERCENT
from backhaul.design.edits import Edit
from backhaul.design.model import Segment
from backhaul.path.ends import far_antenna
from backhaul.path.links import RADIO, Link
from backhaul.remedies.moves import Candidate, Scene, differences, like, records
from backhaul.remedies.tolerance import POWER_DB

_CENTS = 10  # powers are set in tenths of a decibel


def hops_of(scene: Scene) -> Iterator[tuple[Link, Segment]]:
    """Hops of the scene that may be changed, and their rows."""
    for link in scene.links:
        if link.kind == RADIO and scene.may_change(link.rows[0]):
            yield link, link.rows[0]


def _own_hops(scene: Scene) -> Iterator[tuple[Link, Segment]]:
    """Hops whose terminals are theirs alone: what a hub sends on and with, all of its hops do."""
    return ((link, row) for link, row in hops_of(scene) if not row.hub)


def power(scene: Scene) -> Iterator[Candidate]:
    """A lower power, by what the finding is over its limit."""
    value, limit = scene.finding.value, scene.finding.limit
    if not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return
    for link, row in hops_of(scene):
        over = abs(value - limit)
        for record in scene.context.radio.hops.radios[link.index]:
            powers = [each for each in (row.tx_power_dbm, record.tx_power_dbm) if each is not None]
            if not powers:
                continue
            now = min(powers)
            for more in (0.0, 1.0, 3.0):
                lower = floor(_CENTS * (now - over - POWER_DB - more) + 1e-6) / _CENTS
                yield Candidate((scene.set(row, "tx_power_dbm", lower),), ("setting",), more)


def more_power(scene: Scene) -> Iterator[Candidate]:
    """As much power as the terminal has."""
    for _, row in _own_hops(scene):
        if row.tx_power_dbm is not None:
            yield Candidate((scene.set(row, "tx_power_dbm", None),), ("setting",))
            for more in (1.0, 2.0, 3.0, 5.0, 8.0):
                yield Candidate(
                    (scene.set(row, "tx_power_dbm", row.tx_power_dbm + more),), ("setting",), more
                )


def other_channel(scene: Scene) -> Iterator[Candidate]:
    """Another channel width of the terminal, the nearest first; a wider one where it may help."""
    for _, row in _own_hops(scene):
        now = row.channel_mhz or USUAL_CHANNEL_MHZ
        for width in _widths(scene, row.part):
            if width != row.channel_mhz and (width < now or scene.finding.check in _WIDER_HELPS):
                octaves = abs(log2(width / now))
                yield Candidate((scene.set(row, "channel_mhz", width),), ("setting",), octaves)


#: Findings for which a wider channel may be the answer; others want less noise or fewer neighbours.
_WIDER_HELPS = ("radio-pair", "path-rate")
#: What is taken for a channel that is not given [MHz].
USUAL_CHANNEL_MHZ = 20.0


def _widths(scene: Scene, part: str) -> list[float]:
    """Channel widths of a terminal, the narrowest first."""
    return sorted({mode.channel_mhz for mode in scene.context.catalog.radio_modes.get(part, ())})


def frequency(scene: Scene) -> Iterator[Candidate]:
    """Another channel in the range of the terminal."""
    for link, row in _own_hops(scene):
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
            if ghz != row.frequency_ghz:
                yield Candidate(
                    (scene.set(row, "frequency_ghz", ghz),), ("setting",), abs(ghz - now)
                )


def _pair(scene: Scene, row: Segment, radio: Any) -> Iterator[Candidate]:
    """Both halves of a frequency-division pair, either way round."""
    for rank, edits in enumerate(_pair_settings(scene, row, radio)):
        if edits:
            yield Candidate(edits, ("setting",) * len(edits), rank)


def _pair_settings(scene: Scene, row: Segment, radio: Any) -> Iterator[tuple[Edit, ...]]:
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


def other_half(scene: Scene) -> Iterator[Candidate]:
    """The other half of a frequency-division pair at one end, and the frequencies that go with it."""
    for link, row in _own_hops(scene):
        near, far = scene.context.radio.hops.radios[link.index]
        for column, stays, goes in (("to_part", near, far), ("part", far, near)):
            for new in like(records(scene.context, "radios"), goes, "supply"):
                if not _is_other_half(new, stays):
                    continue
                fitted = scene.set(row, column, new.part)
                kept = (
                    ()
                    if row.to_part or column == "to_part"
                    else (scene.set(row, "to_part", far.part),)
                )
                sender = near if column == "to_part" else new
                for rank, settings in enumerate(_pair_settings(scene, row, sender)):
                    edits = (fitted, *kept, *settings)
                    changes = ("terminal", *("setting" for _ in settings))
                    yield Candidate(edits, changes, rank + differences(goes, new) / _MANY)


#: More columns than a radio has: which half of the band is named counts before which part.
_MANY = 100.0


def _is_other_half(one: Any, other: Any) -> bool:
    """Whether each sends where the other hears."""
    sends = (one.tx_min_ghz, one.tx_max_ghz)
    hears = (other.rx_min_ghz, other.rx_max_ghz)
    back = (one.rx_min_ghz, one.rx_max_ghz) == (other.tx_min_ghz, other.tx_max_ghz)
    return None not in sends and one.duplex == other.duplex and sends == hears and back


def air_time(scene: Scene) -> Iterator[Candidate]:
    """The air time shared by the demand, or evenly."""
    for _, row in hops_of(scene):
        if row.up_share_percent is not None:
            for share in (None, EVEN_SHARE_PERCENT):
                yield Candidate((scene.set(row, "up_share_percent", share),), ("setting",))


def antennas(scene: Scene) -> Iterator[Candidate]:
    """Other antennas of the band at one end or both."""
    for link, row in _own_hops(scene):
        if not row.antenna:
            continue
        ghz = float(scene.context.radio.hops.frequency_ghz[link.index][0])
        catalog = scene.context.catalog
        old = catalog.antennas[row.antenna]
        for new in like(records(scene.context, "antennas"), old):
            if not _works_at(new, ghz):
                continue
            gain = abs((new.gain_dbi or 0.0) - (old.gain_dbi or 0.0))
            both = [scene.set(row, "antenna", new.part)]
            changes = ["antenna", "antenna"]
            if row.to_antenna:
                both.append(scene.set(row, "to_antenna", new.part))
            yield Candidate(tuple(both), tuple(changes), gain)
            far = far_antenna(row, catalog)
            if far != new.part:
                yield Candidate((scene.set(row, "to_antenna", new.part),), ("antenna",), gain)


def terminals(scene: Scene) -> Iterator[Candidate]:
    """Both terminals by another class, with a channel and antennas that it can use."""
    for link, row in _own_hops(scene):
        near, _ = scene.context.radio.hops.radios[link.index]
        for new in like(records(scene.context, "radios"), near):
            edits = [scene.set(row, "part", new.part)]
            if row.to_part:
                edits.append(scene.set(row, "to_part", new.part))
            low, high, ghz = new.frequency_min_ghz, new.frequency_max_ghz, row.frequency_ghz
            if ghz is not None and None not in (low, high) and not low <= ghz <= high:
                ghz = round((low + high) / 2, 4)
                edits.append(scene.set(row, "frequency_ghz", ghz))
            widths = _widths(scene, new.part)
            if widths and row.channel_mhz not in widths:
                now = row.channel_mhz or USUAL_CHANNEL_MHZ
                width = min(widths, key=lambda each: abs(each - now))
                edits.append(scene.set(row, "channel_mhz", width))
            antennas = _antennas_of(scene, row, new, ghz)
            if antennas is None:
                continue
            edits += _same_eirp(scene, row, near, new)
            changes = ("terminal", "terminal", *("antenna" for edit in antennas if edit.to))
            yield Candidate((*edits, *antennas), changes, differences(near, new))


def _same_eirp(scene: Scene, row: Segment, old: Any, new: Any) -> tuple[Edit, ...]:
    """A power that is given, lowered by what the new terminal's own antenna has more."""
    if None in (row.tx_power_dbm, old.antenna_dbi, new.antenna_dbi):
        return ()
    more_db = new.antenna_dbi - old.antenna_dbi
    if more_db <= 0:
        return ()
    lower = floor(_CENTS * (row.tx_power_dbm - more_db - POWER_DB)) / _CENTS
    return (scene.set(row, "tx_power_dbm", lower),)


def terminals_fed(scene: Scene) -> Iterator[Candidate]:
    """The terminals of the hops at the ends of the scene's drops."""
    ends = {
        end.segment.id
        for link in scene.links
        for end in (link.near, link.far, *link.loads)
        if end is not None
    }
    hops = [link for link in scene.context.network.links[RADIO] if ends & set(link.row_ids)]
    yield from terminals(scene._replace(links=tuple(hops)))


def _antennas_of(
    scene: Scene, row: Segment, radio: Any, ghz: float | None
) -> tuple[Edit, ...] | None:
    """What is to be done to the antennas of a hop with another terminal; None where none fits."""
    if radio.antenna_dbi is not None:
        return (scene.set(row, "antenna", None),) if row.antenna else ()
    catalog = scene.context.catalog.antennas
    edits = []
    for column in ("antenna", "to_antenna"):
        named = getattr(row, column)
        if column == "to_antenna" and not named:
            continue  # as at the first end
        old = catalog.get(named)
        if old is not None and (ghz is None or _works_at(old, ghz)):
            continue
        fitting = [part for part in catalog.values() if ghz is not None and _works_at(part, ghz)]
        if not fitting:
            return None
        size = (old.diameter_m if old is not None else None) or 0.0
        new = min(fitting, key=lambda part: (abs((part.diameter_m or 0.0) - size), part.part))
        edits.append(scene.set(row, column, new.part))
    return tuple(edits)


def _works_at(antenna: Any, ghz: float) -> bool:
    low, high = antenna.frequency_min_ghz, antenna.frequency_max_ghz
    return (low is None or ghz >= low) and (high is None or ghz <= high)
