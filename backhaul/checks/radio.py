"""Hops: do the terminals pair, is there margin, does the rate hold long enough."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import (
    best_of_modes,
    directions,
    from_site,
    unknown_level,
)
from backhaul.findings import FAIL, THIN, Finding
from backhaul.physics import availability
from backhaul.units import DECIMALS
from backhaul.wording import length_text

#: A typed hop length may differ from the geodesic by this share: rules of the project.
LENGTH_TOLERANCE = 0.01
#: A loss by an obstacle or by the water from which on it is named as what to mend first [dB]: half
#: the field strength; rules of the project.
OWN_REMEDY_DB = 6.0


def radio_pair(context: Context) -> Iterator[Finding]:
    """radio-pair: each end sends where the other hears, on one channel, in modes of one kind."""
    radio = context.radio
    frequencies = radio.hops.frequency_ghz.tolist()
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        near, far = radio.hops.radios[index]
        sent = frequencies[index]
        if near.duplex != far.duplex:
            yield on_link(
                "radio-pair",
                FAIL,
                link,
                row,
                "to_part",
                f"{near.part} is {near.duplex}, {far.part} is {far.duplex}",
                remedy="use two terminals of one kind",
            )
            continue
        remedy = _pair_remedy(context, near, far)
        for sender, receiver, ghz, column in (
            (near, far, sent[0], "frequency_ghz"),
            (far, near, sent[1], "to_frequency_ghz"),
        ):
            for which, radio_part, low, high in (
                ("transmits", sender, sender.tx_min_ghz, sender.tx_max_ghz),
                ("receives", receiver, receiver.rx_min_ghz, receiver.rx_max_ghz),
            ):
                low = radio_part.frequency_min_ghz if low is None else low
                high = radio_part.frequency_max_ghz if high is None else high
                if low is None or high is None or ghz != ghz or low <= ghz <= high:
                    continue
                yield on_link(
                    "radio-pair",
                    FAIL,
                    link,
                    row,
                    column,
                    f"{ghz:g} GHz is sent, {radio_part.part} {which} {low:g} to {high:g} GHz",
                    remedy=remedy,
                    value=ghz,
                    limit=low if ghz < low else high,
                    unit="GHz",
                )
        yield from _antennas_fit(context, link, row, sent)
        if near.duplex == "TDD" and sent[0] != sent[1]:
            yield on_link(
                "radio-pair",
                FAIL,
                link,
                row,
                "to_frequency_ghz",
                f"a time-division pair on two channels: {sent[0]:g} and {sent[1]:g} GHz",
                remedy="give one frequency for both ends",
                value=sent[1],
                limit=sent[0],
                unit="GHz",
            )
        if radio.mode_start[2 * index] == radio.mode_start[2 * index + 1]:
            widths = {m.channel_mhz for m in context.catalog.radio_modes.get(near.part, ())}
            known = ", ".join(f"{w:g}" for w in sorted(widths)) or "none in the catalogue"
            yield on_link(
                "radio-pair",
                FAIL,
                link,
                row,
                "channel_mhz",
                f"{near.part} and {far.part} share no mode at "
                f"{radio.hops.channel_mhz[index]:g} MHz",
                remedy=f"channels of {near.part}: {known}",
                value=radio.hops.channel_mhz[index],
                unit="MHz",
            )


def _pair_remedy(context: Context, near, far) -> str:
    """Two like halves want the other half at one end; else channel or ends are mixed up."""
    if near.part == far.part and near.tx_min_ghz is not None:
        for other in context.catalog.radios.values():
            if other.supply == near.supply and (other.tx_min_ghz, other.tx_max_ghz) == (
                near.rx_min_ghz,
                near.rx_max_ghz,
            ):
                return f"fit the other half of the pair, {other.part}, at one end"
    return "choose a channel inside both sub-bands, or swap the two halves of the pair"


def _antennas_fit(context: Context, link, row, sent) -> Iterator[Finding]:
    """An antenna that is made for another band."""
    for name, column in ((row.antenna, "antenna"), (row.to_antenna, "to_antenna")):
        part = context.catalog.antennas.get(name) if name else None
        if part is None:
            continue
        low, high = part.frequency_min_ghz, part.frequency_max_ghz
        for ghz in dict.fromkeys(sent):
            if (low is not None and ghz < low) or (high is not None and ghz > high):
                yield on_link(
                    "radio-pair",
                    FAIL,
                    link,
                    row,
                    column,
                    f"{name} is an antenna for {low:g} to {high:g} GHz, the hop runs at {ghz:g} "
                    "GHz",
                    remedy="choose an antenna of the hop's band",
                    value=ghz,
                    limit=low if low is not None and ghz < low else high,
                    unit="GHz",
                )


def radio_margin(context: Context) -> Iterator[Finding]:
    """radio-margin: the most robust mode's margin; thin below the healthy fade margin."""
    radio = context.radio
    healthy = context.design.project.radio_margin_db
    best = best_of_modes(radio, "margin_db").tolist()
    starts = radio.mode_start.tolist()
    for direction, row, link in directions(radio):
        start, stop = starts[direction : direction + 2]
        margin = best[direction]
        if start == stop or round(margin, DECIMALS) >= healthy:
            continue
        sent = from_site(row, direction)
        if margin != margin:
            yield on_link(
                "radio-margin",
                THIN,
                link,
                row,
                "part",
                f"no margin can be had{sent}: {unknown_level(radio, direction)}",
                remedy="give the figure",
                unit="dB",
            )
            continue
        severity = FAIL if round(margin, DECIMALS) < 0 else THIN
        name = radio.modes["name"][start + int(np.nanargmax(radio.modes["margin_db"][start:stop]))]
        yield on_link(
            "radio-margin",
            severity,
            link,
            row,
            "part",
            f"margin {margin:.1f} dB in the most robust mode ({name}){sent}, {healthy:g} dB wanted",
            remedy=_more_margin(radio, direction, healthy - margin),
            value=margin,
            limit=0.0 if severity == FAIL else healthy,
            unit="dB",
            source="level less sensitivity, reflection and noise rise",
        )


def _more_margin(radio, direction: int, short_db: float) -> str:
    """What an obstacle or the water takes is to be mended first; else level has to be gained."""
    for key, what in (
        ("diffraction_loss_db", "clear the ray first, diffraction takes {:.1f} dB"),
        ("reflection_loss_db", "settle the reflection first, it takes {:.1f} dB"),
    ):
        lost_db = radio.values[key][direction]
        if lost_db >= short_db or lost_db > OWN_REMEDY_DB:
            return what.format(lost_db) + f"; {_up(short_db)} dB are short"
    return (
        f"gain {_up(short_db)} dB: larger antennas, more power within the band's rule, a narrower "
        "channel or a shorter hop"
    )


def _up(level_db: float) -> str:
    """Rounded up, so that the gain suffices."""
    return f"{np.ceil(round(10 * level_db, DECIMALS)) / 10:.1f}"


def radio_availability(context: Context) -> Iterator[Finding]:
    """radio-availability: no mode holds long enough for the target of the hop."""
    radio, target = context.radio, context.performance.hops.target_percent
    best = best_of_modes(radio, "availability_percent")
    short = np.flatnonzero(best < target)
    if not len(short):
        return
    values = radio.values
    needed = availability.needed_margin_db(
        target_percent=target[short],
        fading=availability.Fading(
            *(
                values[key][short]
                for key in (
                    "rain_0_01_db",
                    "frequency_exponent",
                    "occurrence_percent",
                    "year_gain_db",
                )
            )
        ),
    )
    more = needed - best_of_modes(radio, "margin_db")[short]
    for place, direction in enumerate(short.tolist()):
        link = radio.links[direction // 2]
        remedy = "a shorter hop or a lower band: no margin reaches the target"
        if more[place] == more[place]:
            remedy = (
                f"gain {np.ceil(10 * more[place]) / 10:.1f} dB of margin, a shorter hop, or a "
                "lower band"
            )
        yield on_link(
            "radio-availability",
            FAIL,
            link,
            link.rows[0],
            "part",
            f"{best[direction]:.4f} % of the year in the most robust mode"
            f"{from_site(link.rows[0], direction)}, {target[direction]:.4f} % wanted",
            remedy=remedy,
            value=best[direction],
            limit=target[direction],
            unit="%",
            source="ITU-R P.530: rain and multipath, added",
        )


def radio_overload(context: Context) -> Iterator[Finding]:
    """radio-overload: more level than the receiver stands."""
    radio = context.radio
    levels = radio.values["received_dbm"].tolist()
    for direction, row, link in directions(radio):
        receiver = radio.hops.radios[direction // 2][1 - direction % 2]
        level = levels[direction]
        if receiver.max_input_dbm is not None and level > receiver.max_input_dbm:
            yield on_link(
                "radio-overload",
                FAIL,
                link,
                row,
                "part",
                f"{level:.1f} dBm arrive at {receiver.part}{from_site(row, direction)}, it stands "
                f"{receiver.max_input_dbm:g} dBm",
                remedy=f"lower the power by "
                f"{np.ceil(10 * (level - receiver.max_input_dbm)) / 10:.1f} dB or use smaller "
                "antennas",
                value=level,
                limit=receiver.max_input_dbm,
                unit="dBm",
            )


def hop_length(context: Context) -> Iterator[Finding]:
    """run-length: a typed hop length off the geodesic by more than 1 %."""
    straight_m = (context.radio.hops.geodesic_km * 1000).tolist()
    for straight, link in zip(straight_m, context.radio.links, strict=True):
        row = link.rows[0]
        if row.length_m and abs(row.length_m - straight) > LENGTH_TOLERANCE * straight:
            yield on_link(
                "run-length",
                THIN,
                link,
                row,
                "length_m",
                f"{length_text(row.length_m)} typed, {row.site} and {row.to_site} lie "
                f"{length_text(straight)} apart",
                remedy="leave length_m blank, or mend the coordinates",
                value=row.length_m,
                limit=straight,
                unit="m",
                source="WGS 84 geodesic",
            )
