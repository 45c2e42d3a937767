"""Hops: does each end transmit where the other receives, on one channel, with antennas of the band."""

from collections.abc import Iterator

from backhaul.checks.band_rows import edges_ghz
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, Finding
from backhaul.path.ends import FDD, TDD, HopDirection, HopEnd, antenna_ports


def radio_pair(context: Context) -> Iterator[Finding]:
    """radio-pair: each end transmits where the other receives, on one channel, in modes of one kind."""
    radio = context.radio
    for index, link in enumerate(radio.links):
        row, (near, far) = link.rows[0], radio.hops.ends[index]
        if near.radio.duplex != far.radio.duplex:
            yield on_link(
                "radio-pair",
                FAIL,
                link,
                row,
                "to_part",
                f"{near.radio.part} is {near.radio.duplex}, {far.radio.part} is {far.radio.duplex}",
                remedy="use two terminals of one kind",
            )
            continue
        yield from _in_band(context, radio.hops.directions[2 * index : 2 * index + 2])
        yield from _no_connector(context, index)
        yield from _antennas_fit(context, index)
        yield from _two_frequencies(context, index)
        if radio.mode_start[2 * index] == radio.mode_start[2 * index + 1]:
            widths = {m.channel_mhz for m in context.catalog.radio_modes.get(near.radio.part, ())}
            known = ", ".join(f"{w:g}" for w in sorted(widths)) or "none in the catalogue"
            yield on_link(
                "radio-pair",
                FAIL,
                link,
                row,
                "channel_mhz",
                f"{near.radio.part} and {far.radio.part} share no mode at "
                f"{radio.hops.channel_mhz[index]:g} MHz",
                remedy=f"channels of {near.radio.part}: {known}",
                value=radio.hops.channel_mhz[index],
                unit="MHz",
            )


def _in_band(context: Context, ways: tuple[HopDirection, ...]) -> Iterator[Finding]:
    """All that an end sends lies where it transmits and where the other receives: one finding."""
    said, first = [], None
    for way in ways:
        ghz, width = (
            float(context.radio.values[key][way.place]) for key in ("frequency_ghz", "channel_mhz")
        )
        edges = edges_ghz(ghz, width)
        beyond = []
        for does, part, ends in (
            ("transmits", way.sender.radio, ("tx_min_ghz", "tx_max_ghz")),
            ("receives", way.receiver.radio, ("rx_min_ghz", "rx_max_ghz")),
        ):
            low, high = (getattr(part, name) for name in ends)
            low = part.frequency_min_ghz if low is None else low
            high = part.frequency_max_ghz if high is None else high
            limits = [outside(edge, low, high) for edge in (ghz, *edges)]
            place = next((n for n, limit in enumerate(limits) if limit is not None), None)
            if place is None:
                continue
            beyond.append((place, f"{part.part} {does} {range_text(low, high)}"))
            first = first or (way, (ghz, *edges)[place], limits[place])
        if beyond:
            sent = f"{ghz:.9g} GHz"
            if beyond[0][0]:
                sent += f" with {width:g} MHz, that is {edges[0]:.9g} to {edges[1]:.9g} GHz,"
            said.append(f"{sent} is transmitted, {', '.join(words for _, words in beyond)}")
    if first is None:
        return
    way, value, limit = first
    yield on_link(
        "radio-pair",
        FAIL,
        way.link,
        way.row,
        way.sender.column("frequency_ghz"),
        "; ".join(dict.fromkeys(said)),
        remedy=_pair_remedy(context, way.near.radio, way.sender, way.receiver),
        value=value,
        limit=limit,
        unit="GHz",
        shared=f"hop {way.link.index}",
    )


def outside(ghz: float, low: float | None, high: float | None) -> float | None:
    """The limit that a frequency breaks, None where it breaks none; a blank limit is no limit.

    >>> outside(5.0, 5.1, None), outside(5.2, 5.1, None)
    (5.1, None)
    """
    if low is not None and ghz < low:
        return low
    return high if high is not None and ghz > high else None


def range_text(low: float | None, high: float | None) -> str:
    """A range in words, either end of which may be blank.

    >>> range_text(5.1, 5.9), range_text(None, 5.9), range_text(5.1, None)
    ('5.1 to 5.9 GHz', 'up to 5.9 GHz', 'from 5.1 GHz on')
    """
    if low is None:
        return f"up to {high:g} GHz"
    return f"from {low:g} GHz on" if high is None else f"{low:g} to {high:g} GHz"


def _two_frequencies(context: Context, index: int) -> Iterator[Finding]:
    """A time-division pair has one frequency, a frequency-division pair two."""
    hops = context.radio.hops
    sent, link = hops.frequency_ghz[index].tolist(), hops.links[index]
    duplex = hops.ends[index][0].radio.duplex
    if duplex == TDD and sent[0] != sent[1]:
        message = f"a time-division pair on two channels: {sent[0]:g} and {sent[1]:g} GHz"
        remedy = "give one frequency for both ends"
    elif duplex == FDD and sent[0] == sent[1]:
        message = (
            f"a frequency-division pair transmits {sent[0]:g} GHz both ways: each end receives "
            "itself"
        )
        remedy = "give to_frequency_ghz, the frequency that the far end transmits"
    else:
        return
    if sent[0] != sent[0] or sent[1] != sent[1]:
        return
    yield on_link(
        "radio-pair",
        FAIL,
        link,
        link.rows[0],
        "to_frequency_ghz",
        message,
        remedy=remedy,
        value=sent[1],
        limit=sent[0],
        unit="GHz",
    )


def _pair_remedy(context: Context, near, *ends) -> str:
    """Two like halves want the other half at one end; else channel or ends are mixed up."""
    if ends[0].radio.part == ends[1].radio.part and near.tx_min_ghz is not None:
        for other in context.catalog.radios.values():
            if other.supply == near.supply and (other.tx_min_ghz, other.tx_max_ghz) == (
                near.rx_min_ghz,
                near.rx_max_ghz,
            ):
                return f"fit the other half of the pair, {other.part}, at one end"
    return "choose a channel inside both sub-bands, or swap the two halves of the pair"


def _antennas_fit(context: Context, index: int) -> Iterator[Finding]:
    """An antenna that is made for another band; a far one that is as the first is said once."""
    hops = context.radio.hops
    for end in hops.ends[index]:
        part = end.antenna
        if part is None or end.typed("antenna") is None:
            continue
        low, high = part.frequency_min_ghz, part.frequency_max_ghz
        for ghz in dict.fromkeys(hops.frequency_ghz[index].tolist()):
            side = outside(ghz, low, high)
            if side is None:
                continue
            yield on_link(
                "radio-pair",
                FAIL,
                hops.links[index],
                end.row,
                end.column("antenna"),
                f"{part.part} is an antenna for {range_text(low, high)}, the hop runs at "
                f"{ghz:g} GHz",
                remedy="choose an antenna of the hop's band",
                value=ghz,
                limit=side,
                unit="GHz",
                shared=f"hop {index}",
            )


def _no_connector(context: Context, index: int) -> Iterator[Finding]:
    """Antennas, and second ones, for which the radios have no connector: each kind is said once."""
    ends = context.radio.hops.ends[index]
    own = [end for end in ends if end.has_own_antenna and end.typed("antenna")]
    if own:
        first = own[0]
        yield on_link(
            "radio-pair",
            FAIL,
            context.radio.links[index],
            first.row,
            first.column("antenna"),
            "; ".join(
                f"{end.radio.part} at {end.name} has its own antenna of "
                f"{end.radio.antenna_dbi:g} dBi and no connector for {end.typed('antenna')}"
                for end in own
            )
            + "; the figures are those of its own",
            remedy=f"leave {_columns(own, 'antenna')} blank, or fit a radio for an external antenna",
        )
    second = [end for end in ends if end.typed("diversity_m") and not end.takes_second_antenna]
    if second:
        first = second[0]
        yield on_link(
            "radio-pair",
            FAIL,
            context.radio.links[index],
            first.row,
            first.column("diversity_m"),
            "; ".join(
                f"{end.radio.part} at {end.name} has no connector for a second antenna "
                f"({_connectors(end.radio)})"
                for end in second
            )
            + "; none is counted",
            remedy=f"leave {_columns(second, 'diversity_m')} blank, or fit a radio that receives "
            "with two antennas",
        )


def _columns(ends: list[HopEnd], name: str) -> str:
    return " and ".join(end.column(name) for end in ends)


def _connectors(radio) -> str:
    if radio.antenna_dbi is not None:
        return "its antenna is built in"
    ports, chains = antenna_ports(radio), radio.chains
    return f"{ports} connector{'s' * (ports > 1)} for {chains} chain{'s' * (chains > 1)}"
