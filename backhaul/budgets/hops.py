"""Where each hop stands and what it is made of: ends, heights, antennas, frequencies, profile."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.arrays import number, numbers
from backhaul.design.model import Design
from backhaul.path.links import Link
from backhaul.path.terrain import terrain_of
from backhaul.physics.geometry import geodesic
from backhaul.physics.profiles import Profiles, profiles
from backhaul.units import M_PER_KM

LAND, SEA, FRESH = "land", "sea", "fresh"
#: Crest of the largest of 1000 waves above still water, as a share of the significant height
#: (Rayleigh statistics, from memory).
CREST_SHARE = 0.93
#: Stands for an end whose ground is not known; ends are never obstacles.
LOWEST_GROUND_M = -500.0
#: Points along a hop over water without terrain: step of at most d/200 (common practice).
WATER_POINTS = 201


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
    frequency_ghz: np.ndarray
    channel_mhz: np.ndarray
    #: horizontal is the worse of the two in rain and over water, so it stands for VH and blank
    is_vertical: np.ndarray
    #: "sea", "fresh" or "" by hop
    water: np.ndarray
    #: hops that have a profile, by index, and their profile at the highest water
    profiled: np.ndarray
    profile: Profiles | None
    surface: np.ndarray
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
    place = geodesic(
        latitude1=numbers(_of(a, "latitude") for a, _ in pairs),
        longitude1=numbers(_of(a, "longitude") for a, _ in pairs),
        latitude2=numbers(_of(b, "latitude") for _, b in pairs),
        longitude2=numbers(_of(b, "longitude") for _, b in pairs),
    ) if rows else None  # fmt: skip
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
    made = _profiles(links, rows, design, distance, assumed)
    return Hops(
        links=links, rows=rows, site_pairs=pairs, radios=radios,
        gain_dbi=_column(antennas, 0), beamwidth_deg=_column(antennas, 1),
        diameter_m=_column(antennas, 2), geodesic_km=geodesic_km, distance_km=distance,
        azimuth_deg=place.azimuth_deg if place else empty,
        to_azimuth_deg=place.to_azimuth_deg if place else empty,
        middle_latitude=place.middle_latitude if place else empty,
        ground_m=ground, height_m=ground + above, frequency_ghz=frequency,
        channel_mhz=_channels(rows, radios, catalog, assumed),
        is_vertical=np.array([row.polarization == "V" for row in rows], dtype=bool),
        water=made[0], profiled=made[1], profile=made[2], surface=made[3], assumed=assumed,
    )  # fmt: skip


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
            ends.append((number(part.gain_dbi), number(part.beamwidth_deg), number(part.diameter_m)))
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


def _profiles(links, rows, design, distance, assumed):
    """Profiles of all hops that have one, at the highest water with its waves."""
    project = design.project
    high = project.water_high_m
    crest = None if high is None else high + CREST_SHARE * project.wave_height_m
    water = np.full(len(rows), "", dtype=object)
    profiled, flat = [], []
    for index, (link, row) in enumerate(zip(links, rows, strict=True)):
        if np.isnan(distance[index]):
            continue
        terrain = terrain_of(link, row, design)
        if terrain is not None:
            km = np.asarray(terrain.distance_m, dtype=float) / M_PER_KM
            surface = np.asarray(terrain.surface)
            km = km * (distance[index] / km[-1]) if km[-1] > 0 else km
            wet = surface != LAND
            ground = np.asarray(terrain.ground_m, dtype=float)
            level = np.nan if crest is None else crest
            ground = np.where(wet, level, ground)
            cover = np.nan_to_num(np.asarray(terrain.cover_m, dtype=float))
            keep = ~np.isnan(ground)
            keep[0] = keep[-1] = True
            ground = np.where(np.isnan(ground), LOWEST_GROUND_M, ground)
            if wet.any() and crest is None:
                assumed.setdefault(index, []).append(
                    "the terrain has water, but water_high_m is not given"
                )
                continue
            if wet.any():
                water[index] = str(surface[wet][0])
            if km[0] > 0:
                km = np.concatenate([[0.0], km])
                start = number(_of(design.sites.get(row.site), "ground_m"))
                ground = np.concatenate([[start], ground])
                cover, surface = np.concatenate([[0.0], cover]), np.concatenate([[LAND], surface])
            profiled.append(index)
            flat.append((km[keep], ground[keep], cover[keep], surface[keep]))
        elif crest is not None:
            km = np.linspace(0.0, distance[index], WATER_POINTS)
            water[index] = project.water or SEA
            profiled.append(index)
            flat.append((km, np.full(km.shape, crest), np.zeros(km.shape),
                         np.full(km.shape, water[index])))  # fmt: skip
    if not profiled:
        return water, np.zeros(0, dtype=int), None, np.zeros(0, dtype=object)
    made = profiles(
        distance_km=np.concatenate([part[0] for part in flat]),
        ground_m=np.concatenate([part[1] for part in flat]),
        cover_m=np.concatenate([part[2] for part in flat]),
        count=[len(part[0]) for part in flat],
    )
    surface = np.concatenate([part[3].astype(object) for part in flat])
    return water, np.array(profiled, dtype=int), made, surface

