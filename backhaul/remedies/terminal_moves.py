"""Changes of what a hop is made of: its antennas, its terminals, the half of a band they send in."""

from collections.abc import Iterator
from math import floor
from typing import Any

from backhaul.design.edits import Edit, merged
from backhaul.design.model import Segment
from backhaul.path.ends import far_antenna, near_antenna
from backhaul.path.links import RADIO
from backhaul.remedies.moves import Candidate, Scene, differences, like, records
from backhaul.remedies.radio_moves import (
    USUAL_CHANNEL_MHZ,
    hops_of,
    own_hops,
    pair_settings,
    widths_of,
)
from backhaul.remedies.tolerance import POWER_DB

_CENTS = 10  # powers are set in tenths of a decibel


def other_half(scene: Scene) -> Iterator[Candidate]:
    """The other half of a frequency-division pair at one end, and the frequencies that go with it."""
    for link, row in own_hops(scene):
        near, far = scene.context.radio.hops.radios[link.index]
        ways = (("to_part", near, far), ("part", far, near))
        for column, stays, goes in ways[:1] if row.hub else ways:
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
                for rank, settings in enumerate(pair_settings(scene, row, sender)):
                    edits = (fitted, *kept, *settings)
                    changes = ("terminal", *("setting" for _ in settings))
                    yield Candidate(edits, changes, rank + differences(goes, new) / _MANY)


def other_way_round(scene: Scene) -> Iterator[Candidate]:
    """The halves of a frequency-division pair at each other's end, with or without what they send.

    The same two terminals are bought: no more than a setting.
    """
    for link, row in own_hops(scene):
        near, far = scene.context.radio.hops.radios[link.index]
        if row.hub or near.part == far.part or not _is_other_half(near, far):
            continue
        halves = (scene.set(row, "part", far.part), scene.set(row, "to_part", near.part))
        yield Candidate(halves, ("setting",) * 2, 1.0)
        sent, heard = row.frequency_ghz, row.to_frequency_ghz
        if None not in (sent, heard):
            swapped = (
                scene.set(row, "frequency_ghz", heard),
                scene.set(row, "to_frequency_ghz", sent),
            )
            yield Candidate((*halves, *swapped), ("setting",) * 2, 0.0)


def one_terminal(scene: Scene) -> Iterator[Candidate]:
    """The terminal of one end by the class of the other, or by one like it that pairs with it."""
    for link, row in own_hops(scene):
        near, far = scene.context.radio.hops.radios[link.index]
        if near.part == far.part or near.tx_min_ghz is not None or far.tx_min_ghz is not None:
            continue
        ways = (("to_part", near, far), ("part", far, near))
        for column, stays, goes in ways[:1] if row.hub else ways:
            for new in (stays, *like(records(scene.context, "radios"), goes, "duplex")):
                if new.antenna_dbi is None and not (row.antenna or row.to_antenna):
                    continue
                if new.duplex == stays.duplex and _share_a_mode(scene, row, new, stays):
                    edits = (scene.set(row, column, new.part),)
                    yield Candidate(edits, ("terminal",), differences(goes, new))


def _share_a_mode(scene: Scene, row: Segment, one: Any, other: Any) -> bool:
    modes, width = scene.context.catalog.radio_modes, row.channel_mhz or USUAL_CHANNEL_MHZ
    names = (
        {m.mode for m in modes.get(part, ()) if m.channel_mhz == width}
        for part in (one.part, other.part)
    )
    return not next(names).isdisjoint(next(names))


#: More columns than a radio has: which half of the band is named counts before which part.
_MANY = 100.0


def _is_other_half(one: Any, other: Any) -> bool:
    """Whether each sends where the other hears."""
    sends = (one.tx_min_ghz, one.tx_max_ghz)
    hears = (other.rx_min_ghz, other.rx_max_ghz)
    back = (one.rx_min_ghz, one.rx_max_ghz) == (other.tx_min_ghz, other.tx_max_ghz)
    return None not in sends and one.duplex == other.duplex and sends == hears and back


def antennas(scene: Scene) -> Iterator[Candidate]:
    """Other antennas of the band at one end or both."""
    catalog = scene.context.catalog
    for link, row in own_hops(scene):
        near, far = near_antenna(row, catalog), far_antenna(row, catalog)
        if not (near or far):
            continue
        ghz = float(scene.context.radio.hops.frequency_ghz[link.index][0])
        old = catalog.antennas[near or far]
        for new in like(records(scene.context, "antennas"), old):
            if not _works_at(new, ghz):
                continue
            gain = abs((new.gain_dbi or 0.0) - (old.gain_dbi or 0.0))
            if near:
                both = [scene.set(row, "antenna", new.part)]
                if far and row.to_antenna:
                    both.append(scene.set(row, "to_antenna", new.part))
                yield Candidate(tuple(both), ("antenna", "antenna"), gain)
            if far and far != new.part:
                yield Candidate((scene.set(row, "to_antenna", new.part),), ("antenna",), gain)


def without_connector(scene: Scene) -> Iterator[Candidate]:
    """No antenna where the radio has no connector for it: its own stays, or the first alone."""
    for link, row in hops_of(scene):
        if not scene.may_change_hub(row):
            continue
        ends = scene.context.radio.hops.ends[link.index]
        no_antenna, no_second = (
            [scene.set(row, end.column(name), None) for end in ends if end.typed(name) and no(end)]
            for name, no in (
                ("antenna", lambda end: end.has_own_antenna),
                ("diversity_m", lambda end: not end.takes_second_antenna),
            )
        )
        for edits in (no_antenna, no_second, no_antenna + no_second):
            if edits:
                yield Candidate(tuple(edits), ("setting",) * len(edits))


def terminals(scene: Scene) -> Iterator[Candidate]:
    """Both terminals by another class, with a channel and antennas that it can use."""
    for link, row in own_hops(scene):
        near, _ = scene.context.radio.hops.radios[link.index]
        for new in like(records(scene.context, "radios"), near):
            hops = scene.hops_of_hub(row)
            edits = [scene.set(row, "part", new.part)]
            edits += [scene.set(hop, "to_part", new.part) for hop in hops if hop.to_part]
            low, high, ghz = new.frequency_min_ghz, new.frequency_max_ghz, row.frequency_ghz
            if ghz is not None and None not in (low, high) and not low <= ghz <= high:
                ghz = round((low + high) / 2, 4)
                edits.append(scene.set(row, "frequency_ghz", ghz))
            widths = widths_of(scene, new.part)
            if widths and row.channel_mhz not in widths:
                now = row.channel_mhz or USUAL_CHANNEL_MHZ
                width = min(widths, key=lambda each: abs(each - now))
                edits.append(scene.set(row, "channel_mhz", width))
            fitted = [_antennas_of(scene, hop, new, ghz) for hop in hops]
            if None in fitted:
                continue
            antennas = merged(edit for edits_of_hop in fitted for edit in edits_of_hop or ())
            edits += _same_eirp(scene, row, near, new)
            changes = (
                *("terminal",) * (1 + len(hops)),
                *("antenna" for edit in antennas if edit.to),
            )
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
    edits = []
    if radio.antenna_dbi is not None:
        columns = ("antenna", "to_antenna", "diversity_m", "to_diversity_m")
        return tuple(scene.set(row, column, None) for column in columns if getattr(row, column))
    catalog = scene.context.catalog.antennas
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
