"""Hops: do the terminals pair, is there margin, does the rate hold long enough."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.channels import RISE_DB, rise_by_others
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import best_of_modes, end_without_antenna, fading_of, unknown_level
from backhaul.figures.judgements import not_passing
from backhaul.figures.radio_judgements import MAIN_LOBE_SHARE, MARGIN, OVERLOAD, POINTING
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.terrain import LENGTH_TOLERANCE
from backhaul.physics import availability
from backhaul.physics.antennas import LARGEST_SWAY_PER_BEAMWIDTH
from backhaul.units import DECIMALS, M_PER_KM
from backhaul.wording import against, lengths_against, shares_against, whole_against

#: A loss by an obstacle or by the water from which on it is named as what to mend first [dB]: half
#: the field strength; rules of the project.
OWN_REMEDY_DB = 6.0


def radio_margin(context: Context) -> Iterator[Finding]:
    """radio-margin: the most robust mode's margin; thin below the healthy fade margin."""
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
            end = end_without_antenna(radio, place)
            yield on_link(
                "radio-margin",
                THIN,
                way.link,
                way.row,
                "part" if end is None else "antenna",
                f"the margin cannot be calculated{way.from_site}: {unknown_level(radio, place)}",
                remedy="give the figure" if end is None else "name an antenna",
                unit="dB",
            )
            continue
        severity, wanted = str(words[place]), float(healthy[place])
        limit = 0.0 if severity == FAIL else wanted
        has, _ = against(margin, limit)
        name = radio.modes["name"][start + int(np.nanargmax(radio.modes["margin_db"][start:stop]))]
        yield on_link(
            "radio-margin",
            severity,
            way.link,
            way.row,
            "part",
            f"margin {has} dB in the most robust mode ({name}){way.from_site}, {wanted:g} dB wanted",
            remedy=_more_margin(radio, place, wanted - margin),
            value=margin,
            limit=limit,
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
    needed = availability.needed_margin_db(
        target_percent=target[short], fading=fading_of(radio, short)
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
        has, share = shares_against(float(best[direction]), float(target[direction]))
        yield on_link(
            "radio-availability",
            NOTE,
            way.link,
            way.row,
            "part",
            f"{has} of the year in the most robust mode{way.from_site}; its share of the path's "
            f"target is {share}. The path decides",
            remedy=remedy,
            value=best[direction],
            limit=target[direction],
            unit="%",
            source="ITU-R P.530: rain and multipath, added",
        )


def radio_overload(context: Context) -> Iterator[Finding]:
    """radio-overload: more level than the receiver takes."""
    radio = context.radio
    for place, _ in not_passing(OVERLOAD, radio.values):
        way, level = radio.hops.directions[place], float(radio.values["received_dbm"][place])
        highest = float(radio.values["max_input_dbm"][place])
        arrive, most = against(level, highest)
        yield on_link(
            "radio-overload",
            FAIL,
            way.link,
            way.row,
            "part",
            f"{arrive} dBm arrive at {way.receiver.radio.part}{way.from_site}, its highest input "
            f"level is {most} dBm",
            remedy=f"lower the power by {_up(level - highest)} dB or use smaller antennas",
            value=level,
            limit=highest,
            unit="dBm",
        )


def radio_pointing(context: Context) -> Iterator[Finding]:
    """radio-pointing: masts that sway farther than their beams allow."""
    radio = context.radio
    for place, word in not_passing(POINTING, radio.values):
        way = radio.hops.directions[place]
        sway, beam = (float(radio.values[key][place]) for key in ("sway_deg", "beam_deg"))
        share = MAIN_LOBE_SHARE if word == FAIL else LARGEST_SWAY_PER_BEAMWIDTH
        sways, most = whole_against(sway, share * beam)
        lost = "is the edge of the main lobe" if word == FAIL else "is a quarter"
        yield on_link(
            "radio-pointing",
            word,
            way.link,
            way.row,
            way.sender.column("antenna"),
            f"{way.sender.name} sways by {sways}°, {most}° {lost} of its beam of {beam:g}°; sway at both "
            f"ends takes {radio.values['pointing_loss_db'][place]:.1f} dB",
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
        length, apart = lengths_against(row.length_m, straight)
        yield on_link(
            "run-length",
            THIN,
            link,
            row,
            "length_m",
            f"{length} typed, {row.site} and {row.to_site} lie {apart} apart; the longer counts",
            remedy="leave length_m blank, or correct the coordinates",
            value=row.length_m,
            limit=straight,
            unit="m",
            source="WGS 84 geodesic, slant range",
        )
