"""Where each hop stands and what it is made of: ends, heights, antennas, frequencies, profile."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hop_profiles import hop_profiles
from backhaul.design.model import Design
from backhaul.figures.arrays import number, numbers
from backhaul.path.links import Link
from backhaul.physics.geometry import geodesic
from backhaul.physics.profiles import Profiles
from backhaul.units import M_PER_KM


class Hops(NamedTuple):
    """Arrays over hops; a figure that is not known is NaN."""

    links: tuple[Link, ...]
    rows: tuple[Any, ...]
    site_pairs: list[tuple[Any, Any]]
    #: radio records at the near and the far end
    radios: list[tuple[Any, Any]]
    #: antenna gain and beamwidth at both ends, columns near and far
    gain_dbi: np.ndarray
    beamwidth_deg: np.ndarray
    diameter_m: np.ndarray
    geodesic_km: np.ndarray
    distance_km: np.ndarray
    azimuth_deg: np.ndarray
    to_azimuth_deg: np.ndarray
    middle_latitude: np.ndarray
    ground_m: np.ndarray
    height_m: np.ndarray
    #: sent by the near and by the far end
    frequency_ghz: np.ndarray
    channel_mhz: np.ndarray
    is_vertical: np.ndarray
    #: VH or blank: the worse of the two polarizations counts
    is_either: np.ndarray
    #: "sea", "fresh" or "" by hop
    water: np.ndarray
    #: hops that have a profile, by index, and their profile at the highest water
    profiled: np.ndarray
    profile: Profiles | None
    surface: np.ndarray
    #: why a hop has no profile
    no_profile: Mapping[int, str]
    #: notes by hop: what was assumed
    assumed: Mapping[int, list[str]]


def gather_hops(links: tuple[Link, ...], catalog: Any, design: Design) -> Hops:
    """Collect the geometry and the parts of all hops of a design."""
    rows = tuple(link.rows[0] for link in links)
    sites = design.sites
    pairs = [(sites.get(row.site), sites.get(row.to_site)) for row in rows]
    assumed: dict[int, list[str]] = {}
    radios = [(catalog.radios[row.part], catalog.radios[row.to_part or row.part]) for row in rows]
    antennas = [_antennas(row, pair, catalog) for row, pair in zip(rows, radios, strict=True)]
    place = (
        geodesic(
            latitude1=numbers(_of(a, "latitude") for a, _ in pairs),
            longitude1=numbers(_of(a, "longitude") for a, _ in pairs),
            latitude2=numbers(_of(b, "latitude") for _, b in pairs),
            longitude2=numbers(_of(b, "longitude") for _, b in pairs),
        )
        if rows
        else None
    )
    empty = np.zeros(0)
    geodesic_km = place.distance_km if place else empty
    typed_km = numbers(row.length_m for row in rows) / M_PER_KM
    distance = np.where(np.isnan(typed_km), geodesic_km, typed_km)
    distance = np.where(distance > 0, distance, np.nan)
    ground = np.array([[number(_of(s, "ground_m")) for s in pair] for pair in pairs], dtype=float)
    ground = ground.reshape(-1, 2)
    above = np.array([[number(row.height_m), number(row.to_height_m)] for row in rows], dtype=float)
    above = above.reshape(-1, 2)
    frequency = _frequencies(rows, radios, assumed)
    made = hop_profiles(links, rows, design, distance)
    return Hops(
        links=links,
        rows=rows,
        site_pairs=pairs,
        radios=radios,
        gain_dbi=_column(antennas, 0),
        beamwidth_deg=_column(antennas, 1),
        diameter_m=_column(antennas, 2),
        geodesic_km=geodesic_km,
        distance_km=distance,
        azimuth_deg=place.azimuth_deg if place else empty,
        to_azimuth_deg=place.to_azimuth_deg if place else empty,
        middle_latitude=place.middle_latitude if place else empty,
        ground_m=ground,
        height_m=ground + above,
        frequency_ghz=frequency,
        channel_mhz=_channels(rows, radios, catalog, assumed),
        is_vertical=np.array([row.polarization == "V" for row in rows], dtype=bool),
        is_either=np.array([row.polarization not in ("V", "H") for row in rows], dtype=bool),
        water=made.water,
        profiled=made.profiled,
        profile=made.profile,
        surface=made.surface,
        no_profile=made.reasons,
        assumed=assumed,
    )


def _of(record: Any, name: str) -> Any:
    return None if record is None else getattr(record, name)


def _column(antennas, place: int) -> np.ndarray:
    return np.array([[end[place] for end in both] for both in antennas], dtype=float).reshape(-1, 2)


def _antennas(row, radios, catalog):
    """Gain, beamwidth, diameter at both ends: the row's antenna, else the part's own."""
    ends = []
    for radio, name in zip(radios, (row.antenna, row.to_antenna or row.antenna), strict=True):
        if name:
            part = catalog.antennas[name]
            figures = part.gain_dbi, part.beamwidth_deg, part.diameter_m
            ends.append(tuple(number(figure) for figure in figures))
        else:
            ends.append((number(radio.antenna_dbi), number(radio.beamwidth_deg), np.nan))
    return ends


def _frequencies(rows, radios, assumed) -> np.ndarray:
    """Frequency sent by the near and by the far end [GHz]; the middle of the range if blank."""
    frequencies = []
    for index, (row, (near, far)) in enumerate(zip(rows, radios, strict=True)):
        sent = row.frequency_ghz
        if sent is None:
            sent = _middle(near)
            if sent is not None:
                assumed.setdefault(index, []).append(
                    f"no frequency is given: {sent:g} GHz, the middle of the radio's range, "
                    "was taken"
                )
        back = row.to_frequency_ghz
        if back is None:
            back = _middle(far) if row.frequency_ghz is None and near.duplex == "FDD" else sent
        frequencies.append((number(sent), number(back)))
    return np.array(frequencies, dtype=float).reshape(-1, 2)


def _middle(radio) -> float | None:
    low = radio.tx_min_ghz if radio.tx_min_ghz is not None else radio.frequency_min_ghz
    high = radio.tx_max_ghz if radio.tx_max_ghz is not None else radio.frequency_max_ghz
    return None if low is None or high is None else round((low + high) / 2, 6)


def _channels(rows, radios, catalog, assumed) -> np.ndarray:
    channels = []
    for index, (row, (near, _)) in enumerate(zip(rows, radios, strict=True)):
        width = row.channel_mhz
        if width is None:
            widths = sorted({mode.channel_mhz for mode in catalog.radio_modes.get(near.part, ())})
            width = widths[0] if widths else None
            if len(widths) > 1:
                assumed.setdefault(index, []).append(
                    f"no channel is given: {width:g} MHz, the narrowest, was taken"
                )
        channels.append(number(width))
    return np.array(channels, dtype=float)
