"""What stood in for a blank of a hop, what cannot be had, and where a method is stretched."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.climate import CLIMATE_LABELS, DEFAULT, LOOKED_UP
from backhaul.checks.context import Context, on_link
from backhaul.findings import NOTE, THIN, Finding
from backhaul.path.ends import TDD
from backhaul.physics import antennas, diversity, multipath, rain
from backhaul.units import M_PER_KM

#: A mast above this is asked about where its height lies so little above the ground's level, and
#: above the second is thin until somebody answers for it [m]: common practice.
MAST_M, TALL_MAST_M = 40.0, 100.0
#: Farther than this the timing of a time-division radio is a matter of its make [km]: common
#: practice; IEEE 802.11 itself allows for some 14 to 28 km (from memory).
TIMING_KM = 30.0
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
    for index, link in enumerate(radio.links):
        told = []
        for how, words in ((LOOKED_UP, "from ITU-R maps"), (DEFAULT, "by cautious default")):
            named = [
                f"{label} {values[name][index]:.4g}"
                for name, label in CLIMATE_LABELS.items()
                if basis[name][index] == how
            ]
            if named:
                told.append(f"{words} {', '.join(named)}")
        if told:
            yield on_link(
                "assumption",
                NOTE,
                link,
                link.rows[0],
                "site",
                f"climate {'; '.join(told)}",
                remedy="type the climate at one of the two sites",
            )


def hop_heights(context: Context) -> Iterator[Finding]:
    """assumption: a height that reads as if it were above sea level, not above the ground."""
    hops = context.radio.hops
    for index, link in enumerate(context.radio.links):
        for end in hops.ends[index]:
            ground_m = float(hops.ground_m[index, end.number])
            height_m = float(hops.height_m[index, end.number]) - ground_m
            above_m = height_m - ground_m
            if not (height_m > MAST_M and ground_m > MAST_M and 0 <= above_m <= MAST_M):
                continue
            column = end.column("height_m")
            yield on_link(
                "assumption",
                THIN if height_m > TALL_MAST_M else NOTE,
                link,
                end.row,
                column,
                f"{column} {height_m:g} m above {end.name}, whose ground_m is {ground_m:g} m, puts "
                f"the antenna at {ground_m + height_m:g} m: was {above_m:g} m above the ground "
                "meant?",
                remedy="heights count from ground_m, not from sea level",
                value=height_m,
                unit="m",
                source="common practice: masts are seldom taller",
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
    yield from _near_field(radio)
    yield from _diversity(radio)
    yield from _of_the_radio(radio)


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
    """Rain outages of the mode in use that are truly more than the figure."""
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
    for index in np.flatnonzero((bound.reshape(-1, 2) > 0).any(axis=1)):
        direction = 2 * index + int(np.argmax(bound[2 * index : 2 * index + 2]))
        name = radio.modes["name"][mode[direction]]
        yield _note(
            radio,
            index,
            "part",
            f"rain stops the mode in use ({name}) more than {high:g} % of the year, worse than the "
            f"figure: the method holds from {low:g} to {high:g} %",
            value=outage[direction],
            limit=high,
            unit="%",
            source=_RAIN,
        )


def _wet_snow(radio) -> Iterator[Finding]:
    """What melting snow adds, where it is worth a word."""
    snow = radio.snow_0_01_db
    alone = radio.values["rain_0_01_db"].reshape(-1, 2).max(axis=1)
    for index in np.flatnonzero(~np.isnan(snow)):
        link = radio.links[index]
        height = float(rain.rain_height_m(latitude_deg=radio.hops.middle_latitude[index]))
        yield on_link(
            "assumption",
            NOTE,
            link,
            link.rows[0],
            "part",
            f"wet snow is counted: in 0.01 % of the year it and rain take {snow[index]:.1f} dB, "
            f"rain alone {alone[index]:.1f} dB; mean rain height {height:.0f} m by latitude",
            remedy="none is needed; the rain height is of ITU-R P.839-2, from memory",
            value=snow[index],
            limit=alone[index],
            unit="dB",
            source="ITU-R P.530-18 sec. 2.4.2",
        )


def _near_field(radio) -> Iterator[Finding]:
    """Antennas so close that the far-field figures of both do not hold."""
    hops = radio.hops
    frequency = hops.frequency_ghz.max(axis=1)[:, None]
    diameter = np.where(
        np.isnan(hops.diameter_m),
        antennas.aperture_m(gain_dbi=hops.gain_dbi, frequency_ghz=frequency),
        hops.diameter_m,
    )
    far_m = antennas.far_field_m(diameter_m=diameter, frequency_ghz=frequency).max(axis=1)
    distance_m = radio.values["slant_km"][::2] * M_PER_KM
    for index in np.flatnonzero(distance_m < far_m):
        yield _note(
            radio,
            index,
            "part",
            f"the antennas stand {distance_m[index]:.0f} m apart, their far field begins at "
            f"{far_m[index]:.0f} m: gain, level and overload are not to be relied on",
            remedy="use smaller antennas, or measure the level with the power turned down",
            value=distance_m[index],
            limit=far_m[index],
            unit="m",
            source="2 D² / wavelength; D from the gain where no diameter is given",
        )


def _diversity(radio) -> Iterator[Finding]:
    """A second antenna outside the range of the diversity law: none is counted in multipath."""
    hops, low = radio.hops, diversity.RANGES["distance_km"][0]
    spaced = radio.values["diversity_m"].reshape(-1, 2).any(axis=1)
    for index in np.flatnonzero(spaced & (hops.distance_km < low)):
        yield _note(
            radio,
            index,
            "diversity_m",
            f"the second antenna counts over water; in multipath it counts from {low:g} km on, for "
            f"which its law is published, this hop has {hops.distance_km[index]:.1f} km",
            value=hops.distance_km[index],
            limit=low,
            unit="km",
            source="ITU-R P.530-18 sec. 6.2.1 (from memory)",
        )


def _of_the_radio(radio) -> Iterator[Finding]:
    """More power than the radio has, or a time-division hop longer than its timing may reach."""
    hops, sent = radio.hops, radio.values["tx_power_dbm"].reshape(-1, 2).max(axis=1)
    for index, row in enumerate(hops.rows):
        near = hops.ends[index][0].radio
        if row.tx_power_dbm is not None and row.tx_power_dbm > sent[index]:
            yield _note(
                radio,
                index,
                "tx_power_dbm",
                f"{row.tx_power_dbm:g} dBm is more than {near.part} sends: {sent[index]:g} dBm is "
                "used",
                value=row.tx_power_dbm,
                limit=float(sent[index]),
                unit="dBm",
            )
        if near.duplex == TDD and hops.distance_km[index] > TIMING_KM:
            yield _note(
                radio,
                index,
                "part",
                f"a time-division hop of {hops.distance_km[index]:.1f} km: whether frames and "
                f"acknowledgements of {near.part} are timed for more than {TIMING_KM:g} km is for "
                "its data sheet",
                value=hops.distance_km[index],
                limit=TIMING_KM,
                unit="km",
                source="common practice",
            )


def _note(radio, index, column: str, message: str, **details) -> Finding:
    link = radio.links[index]
    return on_link("out-of-range", NOTE, link, link.rows[0], column, message, **details)
