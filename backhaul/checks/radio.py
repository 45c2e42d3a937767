"""Hops: do the terminals pair, is there margin and clearance, does the rate hold."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.climate import DEFAULT, LOOKED_UP
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.physics import availability, geometry, rain
from backhaul.wording import length_text

DECIMALS = 6
#: A reflection that takes more than this is worth a remedy [dB]: rules of the project.
REFLECTION_DB = 3.0
_P530 = "ITU-R P.530-19 sec. 2.2.2 (rules from memory)"


def radio_pair(context: Context) -> Iterator[Finding]:
    """radio-pair: each end sends where the other hears, on one channel, in modes of one kind."""
    radio = context.radio
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        near, far = radio.hops.radios[index]
        sent = radio.hops.frequency_ghz[index]
        if near.duplex != far.duplex:
            yield on_link(
                "radio-pair", FAIL, link, row, "to_part",
                f"{near.part} is {near.duplex}, {far.part} is {far.duplex}",
                remedy="use two terminals of one kind",
            )  # fmt: skip
            continue
        for sender, receiver, ghz, column in (
            (near, far, sent[0], "frequency_ghz"), (far, near, sent[1], "to_frequency_ghz"),
        ):  # fmt: skip
            for which, radio_part, low, high in (
                ("sends", sender, sender.tx_min_ghz, sender.tx_max_ghz),
                ("hears", receiver, receiver.rx_min_ghz, receiver.rx_max_ghz),
            ):
                low = radio_part.frequency_min_ghz if low is None else low
                high = radio_part.frequency_max_ghz if high is None else high
                if low is None or high is None or np.isnan(ghz) or low <= ghz <= high:
                    continue
                yield on_link(
                    "radio-pair", FAIL, link, row, column,
                    f"{ghz:g} GHz is sent, {radio_part.part} {which} {low:g} to {high:g} GHz",
                    remedy="choose a channel inside both sub-bands, or swap the two halves of the "
                    "pair", value=ghz, limit=low if ghz < low else high, unit="GHz",
                )  # fmt: skip
        if near.duplex == "TDD" and sent[0] != sent[1]:
            yield on_link(
                "radio-pair", FAIL, link, row, "to_frequency_ghz",
                f"a time-division pair on two channels: {sent[0]:g} and {sent[1]:g} GHz",
                remedy="give one frequency for both ends", value=sent[1], limit=sent[0],
                unit="GHz",
            )  # fmt: skip
        if radio.mode_start[2 * index] == radio.mode_start[2 * index + 1]:
            widths = {m.channel_mhz for m in context.catalog.radio_modes.get(near.part, ())}
            known = ", ".join(f"{w:g}" for w in sorted(widths)) or "none in the catalogue"
            yield on_link(
                "radio-pair", FAIL, link, row, "channel_mhz",
                f"{near.part} and {far.part} share no mode at "
                f"{radio.hops.channel_mhz[index]:g} MHz",
                remedy=f"channels of {near.part}: {known}",
                value=radio.hops.channel_mhz[index], unit="MHz",
            )  # fmt: skip


def radio_margin(context: Context) -> Iterator[Finding]:
    """radio-margin: the toughest mode's margin; thin below the healthy fade margin."""
    radio = context.radio
    healthy = context.design.project.radio_margin_db
    for direction, row, link in _directions(radio):
        modes = slice(radio.mode_start[direction], radio.mode_start[direction + 1])
        margins = radio.modes["margin_db"][modes]
        if not len(margins):
            continue
        site = _site_of(row, direction)
        if np.isnan(margins).all():
            yield on_link(
                "radio-margin", THIN, link, row, "part",
                f"no margin can be had{site}: {_unknown(radio, direction)}",
                remedy="give the figure", unit="dB",
            )  # fmt: skip
            continue
        best = float(np.nanmax(margins))
        if round(best, DECIMALS) < healthy:
            severity = FAIL if round(best, DECIMALS) < 0 else THIN
            name = radio.modes["name"][modes][int(np.nanargmax(margins))]
            yield on_link(
                "radio-margin", severity, link, row, "part",
                f"margin {best:.1f} dB in the toughest mode ({name}){site}, {healthy:g} dB wanted",
                remedy=f"gain {healthy - best:.1f} dB: larger antennas, more power within the "
                "band's rule, a narrower channel or a shorter hop", value=best,
                limit=0.0 if severity == FAIL else healthy, unit="dB",
                source="level less sensitivity, reflection and noise rise",
            )  # fmt: skip


def radio_availability(context: Context) -> Iterator[Finding]:
    """radio-availability: no mode holds long enough for the target of the hop."""
    radio, hops = context.radio, context.service.hops
    for direction, row, link in _directions(radio):
        modes = slice(radio.mode_start[direction], radio.mode_start[direction + 1])
        available = radio.modes["availability_percent"][modes]
        if not len(available) or np.isnan(available).all():
            continue
        target, best = hops.target_percent[direction], float(np.nanmax(available))
        if best >= target:
            continue
        needed = availability.needed_margin_db(
            target_percent=target, fading=_fading(radio, direction)
        )
        have = float(np.nanmax(radio.modes["margin_db"][modes]))
        more = float(np.asarray(needed)) - have
        remedy = (
            f"gain {more:.1f} dB of margin, a shorter hop, or a lower band"
            if more == more else "a shorter hop or a lower band: no margin reaches the target"
        )
        yield on_link(
            "radio-availability", FAIL, link, row, "part",
            f"{best:.4f} % of the year in the toughest mode{_site_of(row, direction)}, "
            f"{target:.4f} % wanted", remedy=remedy, value=best, limit=target, unit="%",
            source="ITU-R P.530: rain and multipath, added",
        )  # fmt: skip


def radio_overload(context: Context) -> Iterator[Finding]:
    """radio-overload: more level than the receiver stands."""
    radio = context.radio
    for direction, row, link in _directions(radio):
        receiver = radio.hops.radios[direction // 2][1 - direction % 2]
        level = radio.values["received_dbm"][direction]
        if receiver.max_input_dbm is not None and level > receiver.max_input_dbm:
            yield on_link(
                "radio-overload", FAIL, link, row, "part",
                f"{level:.1f} dBm arrive at {receiver.part}, it stands "
                f"{receiver.max_input_dbm:g} dBm",
                remedy=f"lower the power by {level - receiver.max_input_dbm:.1f} dB or use smaller "
                "antennas", value=level, limit=receiver.max_input_dbm, unit="dBm",
            )  # fmt: skip


def radio_clearance(context: Context) -> Iterator[Finding]:
    """radio-clearance: the first Fresnel zone over ground, cover and the highest water."""
    radio = context.radio
    clear = radio.clearance
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        median, worst = clear.median[index], clear.worst[index]
        wanted = geometry.FREE_SPACE_CLEARANCE_F1
        if np.isnan(median) or np.isnan(worst):
            yield on_link(
                "radio-clearance", THIN, link, row, "part",
                f"the clearance is not known: {_why_no_clearance(context, index)}",
                remedy="add terrain rows for the hop, or the water levels and both heights",
            )  # fmt: skip
            continue
        raise_far, raise_both = clear.raise_far_m[index], clear.raise_both_m[index]
        remedy = f"raise the far antenna by {_up(raise_far)} m, or both by {_up(raise_both)} m"
        if round(median, DECIMALS) < wanted:
            yield on_link(
                "radio-clearance", FAIL, link, row, "to_height_m",
                f"{median:.2f} of the first Fresnel radius is clear at k = 4/3, "
                f"{clear.median_at_km[index]:.2f} km from the first end; {wanted:g} is needed",
                remedy=remedy, value=median, limit=wanted, unit="F1", source=_P530,
            )  # fmt: skip
        elif round(worst, DECIMALS) < 0:
            yield on_link(
                "radio-clearance", FAIL, link, row, "to_height_m",
                f"the ray is blocked at k = {radio.worst_k[index]:.2f}, "
                f"{clear.worst_at_km[index]:.2f} km from the first end",
                remedy=remedy, value=worst, limit=0.0, unit="F1", source=_P530,
            )  # fmt: skip
        elif (
            round(median, DECIMALS) < geometry.MEDIAN_CLEARANCE_F1
            or round(worst, DECIMALS) < clear.wanted_worst_f1[index]
        ):
            yield on_link(
                "radio-clearance", THIN, link, row, "to_height_m",
                f"{median:.2f} F1 is clear at k = 4/3 and {worst:.2f} F1 at k = "
                f"{radio.worst_k[index]:.2f}; P.530 asks for 1 and "
                f"{clear.wanted_worst_f1[index]:g}", remedy=remedy, value=median,
                limit=geometry.MEDIAN_CLEARANCE_F1, unit="F1", source=_P530,
            )  # fmt: skip


def radio_reflection(context: Context) -> Iterator[Finding]:
    """radio-reflection: the water's mirror takes more than 3 dB somewhere in the sweep."""
    radio = context.radio
    for index, link in enumerate(radio.links):
        loss = radio.mirror.loss_db[index]
        if not loss > REFLECTION_DB:
            continue
        yield on_link(
            "radio-reflection", THIN, link, link.rows[0], "to_height_m",
            f"the reflection off the water takes up to {loss:.1f} dB, at water level "
            f"{radio.mirror.at_water_m[index]:.2f} m and k = {radio.mirror.at_k[index]:.2f}",
            remedy=radio.mirror.remedy(index), value=loss, limit=REFLECTION_DB, unit="dB",
            source="two rays on the curved earth, ITU-R P.530 sec. 6.1, P.527-6",
        )  # fmt: skip


def hop_length(context: Context) -> Iterator[Finding]:
    """run-length: a typed hop length off the geodesic by more than 1 %."""
    hops = context.radio.hops
    for index, link in enumerate(context.radio.links):
        row = link.rows[0]
        straight = hops.geodesic_km[index] * 1000
        if row.length_m and abs(row.length_m - straight) > 0.01 * straight:
            yield on_link(
                "run-length", THIN, link, row, "length_m",
                f"{length_text(row.length_m)} typed, {row.site} and {row.to_site} lie "
                f"{length_text(straight)} apart", remedy="leave length_m blank, or mend the "
                "coordinates", value=row.length_m, limit=straight, unit="m",
                source="WGS 84 geodesic",
            )  # fmt: skip


def hop_assumptions(context: Context) -> Iterator[Finding]:
    """assumption: defaults that stood in for what a hop's rows and sites leave open."""
    radio = context.radio
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        for text in radio.hops.assumed.get(index, ()):
            yield on_link("assumption", NOTE, link, row, "part", text, remedy="fill the cell")
        values, basis = radio.climate.values, radio.climate.basis
        for how, words in ((DEFAULT, "cautious default"), (LOOKED_UP, "ITU-R maps")):
            named = [
                f"{_CLIMATE[name]} {values[name][index]:g}" for name in _CLIMATE
                if basis[name][index] == how
            ]  # fmt: skip
            if named:
                yield on_link(
                    "assumption", NOTE, link, row, "site",
                    f"climate by {words}: {', '.join(named)}",
                    remedy="type the climate at one of the two sites",
                )  # fmt: skip


_CLIMATE = {
    "rain_rate_mm_h": "rain rate [mm/h]", "dn1": "dN1 [N/km]", "vapour_g_m3": "vapour [g/m3]",
    "temperature_c": "temperature [°C]", "pressure_hpa": "pressure [hPa]",
}  # fmt: skip


def hop_ranges(context: Context) -> Iterator[Finding]:
    """out-of-range: a hop outside the published range of a method."""
    radio = context.radio
    limits = (
        ("distance_km", rain.RANGES.get("distance_km"), "km", "length_m"),
        ("frequency_ghz", rain.RANGES.get("frequency_ghz"), "GHz", "frequency_ghz"),
    )
    for key, limit, unit, column in limits:
        if limit is None:
            continue
        values = radio.values[key][::2]
        for index in np.flatnonzero((values < limit[0]) | (values > limit[1])):
            link = radio.links[index]
            yield on_link(
                "out-of-range", NOTE, link, link.rows[0], column,
                f"{values[index]:g} {unit} lies outside {limit[0]:g} to {limit[1]:g} {unit}, for "
                "which the rain method is published; it was computed all the same",
                value=values[index], limit=limit[0] if values[index] < limit[0] else limit[1],
                unit=unit, source="ITU-R P.530-18 sec. 2.4.1",
            )  # fmt: skip


def _directions(radio) -> Iterator[tuple]:
    for index, link in enumerate(radio.links):
        for way in (0, 1):
            yield 2 * index + way, link.rows[0], link


def _site_of(row, direction: int) -> str:
    site = row.site if direction % 2 == 0 else row.to_site
    return f", sent from {site}" if site else ""


def _fading(radio, direction: int):
    values = radio.values
    return availability.Fading(
        values["rain_0_01_db"][direction], values["frequency_exponent"][direction],
        values["occurrence_percent"][direction], values["year_gain_db"][direction],
    )  # fmt: skip


def _unknown(radio, direction: int) -> str:
    for key, what in (
        ("distance_km", "the distance is not known: give coordinates or length_m"),
        ("frequency_ghz", "the frequency is not known"),
        ("tx_power_dbm", "the transmit power is not known"),
        ("tx_gain_dbi", "the antenna at the sending end is not known"),
        ("rx_gain_dbi", "the antenna at the receiving end is not known"),
    ):
        if np.isnan(radio.values[key][direction]):
            return what
    return "the sensitivity is not known"


def _why_no_clearance(context: Context, index: int) -> str:
    hops = context.radio.hops
    if hops.profile is None or index not in hops.profiled:
        return "neither terrain nor a water level is given"
    if np.isnan(hops.height_m[index]).any():
        return "ground_m of a site or the height of an antenna is missing"
    return "the terrain has no point between the ends"


def _up(metres: float) -> str:
    return f"{np.ceil(metres * 10) / 10:.1f}"
