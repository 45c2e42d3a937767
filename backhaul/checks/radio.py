"""Hops: do the terminals pair, is there margin, does the rate hold long enough."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.channels import RISE_DB, rise_by_others
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import best_of_modes, unknown_level
from backhaul.figures.judgements import not_passing
from backhaul.figures.radio_judgements import MAIN_LOBE_SHARE, MARGIN, OVERLOAD, POINTING
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.ends import FDD, TDD, HopDirection
from backhaul.path.terrain import LENGTH_TOLERANCE
from backhaul.physics import availability
from backhaul.physics.antennas import LARGEST_SWAY_PER_BEAMWIDTH
from backhaul.units import DECIMALS, M_PER_KM
from backhaul.wording import length_text

#: A loss by an obstacle or by the water from which on it is named as what to mend first [dB]: half
#: the field strength; rules of the project.
OWN_REMEDY_DB = 6.0


def radio_pair(context: Context) -> Iterator[Finding]:
    """radio-pair: each end sends where the other hears, on one channel, in modes of one kind."""
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
        for way in radio.hops.directions[2 * index : 2 * index + 2]:
            yield from _in_band(context, way)
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


def _in_band(context: Context, way: HopDirection) -> Iterator[Finding]:
    """What one end sends lies where it sends and where the other hears."""
    ghz = float(context.radio.values["frequency_ghz"][way.place])
    for does, part, ends in (
        ("sends", way.sender.radio, ("tx_min_ghz", "tx_max_ghz")),
        ("hears", way.receiver.radio, ("rx_min_ghz", "rx_max_ghz")),
    ):
        low, high = (getattr(part, name) for name in ends)
        low = part.frequency_min_ghz if low is None else low
        high = part.frequency_max_ghz if high is None else high
        side = outside(ghz, low, high)
        if side is None:
            continue
        yield on_link(
            "radio-pair",
            FAIL,
            way.link,
            way.row,
            way.sender.column("frequency_ghz"),
            f"{ghz:g} GHz is sent, {part.part} {does} {range_text(low, high)}",
            remedy=_pair_remedy(context, way.near.radio, way.sender, way.receiver),
            value=ghz,
            limit=side,
            unit="GHz",
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
            f"a frequency-division pair sends {sent[0]:g} GHz both ways: each end hears itself"
        )
        remedy = "give to_frequency_ghz, the frequency that the far end sends"
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
            )


def radio_margin(context: Context) -> Iterator[Finding]:
    """radio-margin: the toughest mode's margin; thin below the healthy fade margin."""
    radio = context.radio
    best, healthy = best_of_modes(radio, "margin_db"), radio.values["healthy_margin_db"]
    words = MARGIN.words({"best_margin_db": best, "healthy_margin_db": healthy})
    starts = radio.mode_start.tolist()
    # with others silent it would hold: radio-interference says so
    rise = rise_by_others(radio)
    by_others = (np.round(rise, DECIMALS) >= RISE_DB) & (best + rise >= healthy)
    for way in radio.hops.directions:
        place = way.place
        start, stop = starts[place : place + 2]
        if start == stop or words[place] == PASS or by_others[place]:
            continue
        margin = float(best[place])
        if margin != margin:
            yield on_link(
                "radio-margin",
                THIN,
                way.link,
                way.row,
                "part",
                f"no margin can be had{way.from_site}: {unknown_level(radio, place)}",
                remedy="give the figure",
                unit="dB",
            )
            continue
        severity, wanted = str(words[place]), float(healthy[place])
        name = radio.modes["name"][start + int(np.nanargmax(radio.modes["margin_db"][start:stop]))]
        yield on_link(
            "radio-margin",
            severity,
            way.link,
            way.row,
            "part",
            f"margin {margin:.1f} dB in the toughest mode ({name}){way.from_site}, {wanted:g} dB "
            "wanted",
            remedy=_more_margin(radio, place, wanted - margin),
            value=margin,
            limit=0.0 if severity == FAIL else wanted,
            unit="dB",
            source="level a chain less sensitivity, reflection, sway and noise rise",
        )


def _more_margin(radio, direction: int, short_db: float) -> str:
    """What an obstacle or the water takes is to be mended first; else level has to be gained."""
    for key, what in (
        ("diffraction_loss_db", "clear the ray first, diffraction takes {:.1f} dB"),
        ("reflection_loss_db", "settle the reflection first, it takes {:.1f} dB"),
        ("pointing_loss_db", "stiffen the mounts first, sway takes {:.1f} dB"),
        ("by_others", "settle the interference first, the noise rises by {:.1f} dB"),
    ):
        lost_db = (rise_by_others(radio) if key == "by_others" else radio.values[key])[direction]
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
    """radio-availability: no mode holds as long as the hop's share of its path asks."""
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
        remedy = "a shorter hop or a lower band: no margin reaches the target"
        if more[place] == more[place]:
            remedy = (
                f"gain {np.ceil(10 * more[place]) / 10:.1f} dB of margin, a shorter hop, or a "
                "lower band"
            )
        way = radio.hops.directions[direction]
        yield on_link(
            "radio-availability",
            NOTE,
            way.link,
            way.row,
            "part",
            f"{best[direction]:.4f} % of the year in the toughest mode{way.from_site}; its share "
            f"of the path's target is {target[direction]:.4f} %. The path decides",
            remedy=remedy,
            value=best[direction],
            limit=target[direction],
            unit="%",
            source="ITU-R P.530: rain and multipath, added",
        )


def radio_overload(context: Context) -> Iterator[Finding]:
    """radio-overload: more level than the receiver stands."""
    radio = context.radio
    for place, _ in not_passing(OVERLOAD, radio.values):
        way, level = radio.hops.directions[place], float(radio.values["received_dbm"][place])
        stands = float(radio.values["max_input_dbm"][place])
        yield on_link(
            "radio-overload",
            FAIL,
            way.link,
            way.row,
            "part",
            f"{level:.1f} dBm arrive at {way.receiver.radio.part}{way.from_site}, it stands "
            f"{stands:g} dBm",
            remedy=f"lower the power by {_up(level - stands)} dB or use smaller antennas",
            value=level,
            limit=stands,
            unit="dBm",
        )


def radio_pointing(context: Context) -> Iterator[Finding]:
    """radio-pointing: masts that sway farther than their beams allow."""
    radio = context.radio
    for place, word in not_passing(POINTING, radio.values):
        way = radio.hops.directions[place]
        sway, beam = (float(radio.values[key][place]) for key in ("sway_deg", "beam_deg"))
        share = MAIN_LOBE_SHARE if word == FAIL else LARGEST_SWAY_PER_BEAMWIDTH
        lost = "the far end drops out of the main lobe" if word == FAIL else "more than a quarter"
        yield on_link(
            "radio-pointing",
            word,
            way.link,
            way.row,
            way.sender.column("antenna"),
            f"{way.sender.name} sways by {sway:g}°, the beam is {beam:g}° wide: {lost}; sway at "
            f"both ends takes {radio.values['pointing_loss_db'][place]:.1f} dB",
            remedy=f"a stiffer mount (at most {LARGEST_SWAY_PER_BEAMWIDTH * beam:.2g}°) or a wider "
            "beam; a structural engineer decides, local codes apply",
            value=sway,
            limit=share * beam,
            unit="degrees",
            source="common practice; ITU-R F.699",
        )


def hop_length(context: Context) -> Iterator[Finding]:
    """run-length: a typed hop length off the distance of its sites by more than 1 %."""
    hops = context.radio.hops
    straight_m = hops.straight_km * M_PER_KM
    typed = np.array([row.length_m or np.nan for row in hops.rows], dtype=float)
    off = np.abs(typed - straight_m) > LENGTH_TOLERANCE * straight_m
    for index in np.flatnonzero(off).tolist():
        link, straight = hops.links[index], float(straight_m[index])
        row = link.rows[0]
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
            source="WGS 84 geodesic, slant range",
        )
