"""What stood in for a blank of a hop, what cannot be had, and where a method is stretched."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.climate import CLIMATE_LABELS, DEFAULT, LOOKED_UP
from backhaul.checks.context import Context, on_link
from backhaul.findings import NOTE, Finding
from backhaul.physics import multipath, rain

#: Rain that takes less than this does not make wet snow worth a word [dB].
RAIN_OF_NOTE_DB = 1.0
_RAIN, _FADING = "ITU-R P.530-18 sec. 2.4.1", "ITU-R P.530-18 sec. 2.3.1"


def hop_assumptions(context: Context) -> Iterator[Finding]:
    """assumption: defaults that stood in for what a hop's rows and sites leave open."""
    radio = context.radio
    for index, texts in radio.hops.assumed.items():
        link = radio.links[index]
        for text in texts:
            yield on_link(
                "assumption", NOTE, link, link.rows[0], "part", text, remedy="fill the cell"
            )
    values, basis = radio.climate.values, radio.climate.basis
    for how, words in ((DEFAULT, "cautious default"), (LOOKED_UP, "ITU-R maps")):
        stood_in = {name: basis[name] == how for name in CLIMATE_LABELS}
        if not radio.links:
            return
        for index in np.flatnonzero(np.any(list(stood_in.values()), axis=0)):
            link = radio.links[index]
            named = ", ".join(
                f"{label} {values[name][index]:.4g}"
                for name, label in CLIMATE_LABELS.items()
                if stood_in[name][index]
            )
            yield on_link(
                "assumption",
                NOTE,
                link,
                link.rows[0],
                "site",
                f"climate by {words}: {named}",
                remedy="type the climate at one of the two sites",
            )


def hop_unknowns(context: Context) -> Iterator[Finding]:
    """assumption: figures of a hop that cannot be had, and what stood in for them."""
    hops = context.radio.hops
    no_place = np.isnan(hops.middle_latitude)
    no_height = np.isnan(hops.height_m).any(axis=1)
    for index in np.flatnonzero(no_place | no_height):
        link = context.radio.links[index]
        if no_place[index]:
            yield on_link(
                "assumption",
                NOTE,
                link,
                link.rows[0],
                "site",
                "latitude and longitude of a site are missing: no azimuth; the worst month is "
                "weighed as at the equator, the cautious case",
                remedy="give the coordinates of both sites",
            )
        if no_height[index]:
            yield on_link(
                "assumption",
                NOTE,
                link,
                link.rows[0],
                "height_m",
                "ground_m of a site or the height of an antenna is missing: no tilt, and no loss "
                "by diffraction is counted; multipath is computed for level antennas at 0 m",
                remedy="give ground_m of both sites, height_m and to_height_m",
            )


def hop_ranges(context: Context) -> Iterator[Finding]:
    """out-of-range: a hop outside the published range of a method."""
    radio = context.radio
    if not radio.links:
        return
    yield from _rain_ranges(radio)
    yield from _fading_ranges(radio)
    yield from _time_ranges(context)
    yield from _wet_snow(radio)


def _rain_ranges(radio) -> Iterator[Finding]:
    for key, unit, column in (
        ("distance_km", "km", "length_m"),
        ("frequency_ghz", "GHz", "frequency_ghz"),
    ):
        low, high = rain.RANGES[key]
        values = radio.values[key][::2]
        for index in np.flatnonzero((values < low) | (values > high)):
            nil = key == "frequency_ghz" and values[index] < low
            yield _note(
                radio,
                index,
                column,
                f"{values[index]:g} {unit} lies outside {low:g} to {high:g} {unit}, for which the "
                "rain method is published; "
                + ("rain is taken as nil" if nil else "it was computed all the same"),
                value=values[index],
                limit=low if values[index] < low else high,
                unit=unit,
                source=_RAIN,
            )


def _fading_ranges(radio) -> Iterator[Finding]:
    distance, frequency = radio.hops.distance_km, radio.hops.frequency_ghz[:, 0]
    counted = distance > multipath.NO_MULTIPATH_KM
    highest = multipath.RANGES["frequency_ghz"][1]
    lowest = multipath.lowest_frequency_ghz(distance_km=np.where(counted, distance, 1.0))
    for index in np.flatnonzero(counted & ((frequency > highest) | (frequency < lowest))):
        limit = highest if frequency[index] > highest else lowest[index]
        yield _note(
            radio,
            index,
            "frequency_ghz",
            f"{frequency[index]:g} GHz over {distance[index]:.1f} km lies outside "
            f"{lowest[index]:.2g} to {highest:g} GHz, for which the multipath method is "
            "published; it was computed all the same",
            value=frequency[index],
            limit=limit,
            unit="GHz",
            source=_FADING,
        )


def _time_ranges(context: Context) -> Iterator[Finding]:
    """Rain outages of the mode in use that the method only bounds."""
    radio, mode = context.radio, context.performance.hops.mode
    low, high = rain.RANGES["percent_of_time"]
    known = mode >= 0
    picked = np.where(known, mode, 0)
    if not len(radio.modes["margin_db"]):
        return
    outage = np.where(known, radio.modes["rain_outage_percent"][picked], np.nan)
    margin = radio.modes["margin_db"][picked]
    bound = np.where(
        (radio.values["rain_0_01_db"] > 0) & (margin >= 0) & ~np.isnan(outage),
        rain.outage_bound(outage_percent=np.nan_to_num(outage, nan=low * 10)),
        0,
    )
    for index in np.flatnonzero((bound.reshape(-1, 2) != 0).any(axis=1)):
        pair = bound[2 * index : 2 * index + 2]
        direction = 2 * index + int(np.argmax(pair) if pair.max() > 0 else np.argmin(pair))
        name = radio.modes["name"][mode[direction]]
        if bound[direction] > 0:
            text, limit = f"more than {high:g} % of the year, worse than the figure", high
        else:
            text, limit = f"less than {low:g} % of the year, better than the figure", low
        yield _note(
            radio,
            index,
            "part",
            f"rain stops the mode in use ({name}) {text}: the method holds from {low:g} to "
            f"{high:g} %",
            value=outage[direction],
            limit=limit,
            unit="%",
            source=_RAIN,
        )


def _wet_snow(radio) -> Iterator[Finding]:
    hops = radio.hops
    latitude = hops.middle_latitude
    known = ~np.isnan(latitude) & ~np.isnan(hops.height_m).any(axis=1)
    possible = rain.wet_snow_possible(
        height1_m=np.nan_to_num(hops.height_m[:, 0]),
        height2_m=np.nan_to_num(hops.height_m[:, 1]),
        rain_height_m=rain.rain_height_m(latitude_deg=np.nan_to_num(latitude)),
    )
    rainy = np.nan_to_num(radio.values["rain_0_01_db"][::2]) >= RAIN_OF_NOTE_DB
    for index in np.flatnonzero(known & possible & rainy):
        yield _note(
            radio,
            index,
            "part",
            "melting snow can take more than rain at this latitude and height; the combined "
            "method of P.530 is not computed",
            source="ITU-R P.530-18 sec. 2.4.2",
        )


def _note(radio, index, column: str, message: str, **details) -> Finding:
    link = radio.links[index]
    return on_link("out-of-range", NOTE, link, link.rows[0], column, message, **details)
