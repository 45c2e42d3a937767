"""Changes of what a hop is made of: its antennas, its terminals, the half of a band they send in."""

from collections.abc import Iterator
from math import floor
from typing import Any

from backhaul.design.edits import Edit, merged
from backhaul.design.model import Segment
from backhaul.path.ends import far_antenna
from backhaul.path.links import RADIO
from backhaul.remedies.moves import Candidate, Scene, differences, like, records
from backhaul.remedies.radio_moves import USUAL_CHANNEL_MHZ, own_hops, pair_settings, widths_of
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
    for link, row in own_hops(scene):
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
