"""Changes of a hop: power, frequency, channel, heights, antennas, terminals."""

from collections.abc import Iterator
from math import ceil, floor
from typing import Any

from backhaul.design.model import Segment
from backhaul.path.links import RADIO, Link
from backhaul.remedies.moves import Candidate, Scene, differences, like, records

#: Heights that a mast is usually made for are tried in these steps [m] (common practice).
HEIGHT_STEPS_M = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0)
#: A dish is not mounted lower over its ground than this [m] (common practice).
LOWEST_MOUNT_M = 2.0
#: Vertical spacings of a second antenna [m].
SPACINGS_M = tuple(step / 10 for step in range(4, 61, 2))
_CENTS = 10  # powers are set in tenths of a decibel


def _hops(scene: Scene) -> Iterator[tuple[Link, Segment]]:
    for link in scene.links:
        if link.kind == RADIO and scene.may_change(link.rows[0]):
            yield link, link.rows[0]


def power(scene: Scene) -> Iterator[Candidate]:
    """A lower power, by what the finding is over its limit."""
    value, limit = scene.finding.value, scene.finding.limit
    if not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return
    for link, row in _hops(scene):
        over = abs(value - limit)
        for record in scene.context.radio.hops.radios[link.index]:
            now = row.tx_power_dbm if row.tx_power_dbm is not None else record.tx_power_dbm
            if now is None:
                continue
            for more in (0.0, 1.0, 3.0):
                lower = floor(_CENTS * (now - over - more) + 1e-6) / _CENTS
                yield Candidate((scene.set(row, "tx_power_dbm", lower),), ("setting",), more)


def more_power(scene: Scene) -> Iterator[Candidate]:
    """As much power as the terminal has."""
    for _, row in _hops(scene):
        if row.tx_power_dbm is not None:
            yield Candidate((scene.set(row, "tx_power_dbm", None),), ("setting",))
            for more in (1.0, 2.0, 3.0, 5.0, 8.0):
                yield Candidate(
                    (scene.set(row, "tx_power_dbm", row.tx_power_dbm + more),), ("setting",), more
                )


def narrower_channel(scene: Scene) -> Iterator[Candidate]:
    """Another channel width of the terminal."""
    for _, row in _hops(scene):
        widths = {mode.channel_mhz for mode in scene.context.catalog.radio_modes.get(row.part, ())}
        for width in sorted(widths - {row.channel_mhz}, reverse=True):
            yield Candidate((scene.set(row, "channel_mhz", width),), ("setting",), 1 / width)


def frequency(scene: Scene) -> Iterator[Candidate]:
    """Another channel in the range of the terminal."""
    for link, row in _hops(scene):
        near, _ = scene.context.radio.hops.radios[link.index]
        width = row.channel_mhz or 20.0
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
    halves = (radio.tx_min_ghz, radio.tx_max_ghz, radio.rx_min_ghz, radio.rx_max_ghz)
    if None in halves:
        return
    sends, hears = (halves[0] + halves[1]) / 2, (halves[2] + halves[3]) / 2
    for first, second in ((sends, hears), (hears, sends)):
        edits = (
            scene.set(row, "frequency_ghz", round(first, 4)),
            scene.set(row, "to_frequency_ghz", round(second, 4)),
        )
        yield Candidate(edits, ("setting", "setting"))


def heights(scene: Scene) -> Iterator[Candidate]:
    """Higher or lower antennas, one end or both, the smallest change first."""
    for _, row in _hops(scene):
        if row.height_m is None or row.to_height_m is None:
            continue
        for step in HEIGHT_STEPS_M:
            for sign in (1, -1):
                for near, far in ((0, 1), (1, 0), (1, 1), (1, -1)):
                    first = row.height_m + sign * near * step
                    second = row.to_height_m + sign * far * step
                    if min(first, second) < min(LOWEST_MOUNT_M, row.height_m, row.to_height_m):
                        continue
                    edits, changes = [], []
                    for column, was, new in (
                        ("height_m", row.height_m, first),
                        ("to_height_m", row.to_height_m, second),
                    ):
                        if new != was:
                            edits.append(scene.set(row, column, round(new, 2)))
                            changes.append("mast" if new > was else "height")
                    yield Candidate(tuple(edits), tuple(changes), step)


def raise_by(scene: Scene) -> Iterator[Candidate]:
    """Antennas raised in whole half metres up to where a clearance can be had."""
    for _, row in _hops(scene):
        if row.height_m is None or row.to_height_m is None:
            continue
        for step in (0.5 * n for n in range(1, 61)):
            for near, far in ((0, 1), (1, 0), (1, 1)):
                edits, changes = [], []
                if near:
                    edits.append(scene.set(row, "height_m", ceil(2 * (row.height_m + step)) / 2))
                    changes.append("mast")
                if far:
                    edits.append(
                        scene.set(row, "to_height_m", ceil(2 * (row.to_height_m + step)) / 2)
                    )
                    changes.append("mast")
                yield Candidate(tuple(edits), tuple(changes), step)


def second_antenna(scene: Scene) -> Iterator[Candidate]:
    """A second antenna above or below one end."""
    for _, row in _hops(scene):
        for spacing in SPACINGS_M:
            for column in ("to_diversity_m", "diversity_m"):
                if not hasattr(row, column):
                    return
                for sign in (1, -1):
                    yield Candidate(
                        (scene.set(row, column, sign * spacing),), ("second antenna",), spacing
                    )


def antennas(scene: Scene) -> Iterator[Candidate]:
    """Other antennas of the band at one end or both."""
    for link, row in _hops(scene):
        if not row.antenna:
            continue
        ghz = float(scene.context.radio.hops.frequency_ghz[link.index][0])
        catalog = scene.context.catalog
        old = catalog.antennas[row.antenna]
        for new in like(records(scene.context, "antennas"), old):
            low, high = new.frequency_min_ghz, new.frequency_max_ghz
            if (low is not None and ghz < low) or (high is not None and ghz > high):
                continue
            gain = abs((new.gain_dbi or 0.0) - (old.gain_dbi or 0.0))
            both = [scene.set(row, "antenna", new.part)]
            changes = ["antenna", "antenna"]
            if row.to_antenna:
                both.append(scene.set(row, "to_antenna", new.part))
            yield Candidate(tuple(both), tuple(changes), gain)
            far = row.to_antenna or row.antenna
            if far != new.part:
                yield Candidate((scene.set(row, "to_antenna", new.part),), ("antenna",), gain)


def terminals(scene: Scene) -> Iterator[Candidate]:
    """Both terminals by another class, with antennas that it needs."""
    for link, row in _hops(scene):
        near, _ = scene.context.radio.hops.radios[link.index]
        for new in like(records(scene.context, "radios"), near):
            low, high = new.frequency_min_ghz, new.frequency_max_ghz
            edits = [scene.set(row, "part", new.part)]
            if row.to_part:
                edits.append(scene.set(row, "to_part", new.part))
            ghz = row.frequency_ghz
            if ghz is not None and None not in (low, high) and not low <= ghz <= high:
                edits.append(scene.set(row, "frequency_ghz", round((low + high) / 2, 4)))
            widths = {
                mode.channel_mhz for mode in scene.context.catalog.radio_modes.get(new.part, ())
            }
            if widths and row.channel_mhz not in widths:
                width = min(widths, key=lambda each: abs(each - (row.channel_mhz or 20.0)))
                edits.append(scene.set(row, "channel_mhz", width))
            if row.antenna and new.antenna_dbi is not None:
                edits.append(scene.set(row, "antenna", None))
            yield Candidate(tuple(edits), ("terminal", "terminal"), differences(near, new))
