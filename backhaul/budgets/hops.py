"""Where each hop stands and what it is made of: ends, heights, antennas, frequencies, profile."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hop_profiles import HopProfiles, hop_profiles
from backhaul.budgets.hubs import Hubs, gather_hubs
from backhaul.design.model import Design
from backhaul.figures.arrays import number, numbers
from backhaul.figures.hop_terms import END_TERMS
from backhaul.figures.radio_terms import FREQUENCY
from backhaul.figures.terms import compute, gather
from backhaul.path.ends import HopDirection, HopEnd, hop_directions, hop_ends
from backhaul.path.links import Link
from backhaul.path.terrain import LENGTH_TOLERANCE
from backhaul.physics.geometry import geodesic, slant_range_km
from backhaul.units import M_PER_KM

#: A typed length is told apart from the one along the ground where the hop rises by more than this
#: share of it: half a percent of the length. And the least length [km].
STEEP_SHARE = 0.1
LEAST_KM = 0.001


class Hops(NamedTuple):
    """Arrays over hops; a figure that is not known is NaN. Of two columns, one is of each end."""

    links: tuple[Link, ...]
    rows: tuple[Any, ...]
    ends: tuple[tuple[HopEnd, HopEnd], ...]
    #: both ways of every hop, in the order of the arrays over directions
    directions: tuple[HopDirection, ...]
    site_pairs: list[tuple[Any, Any]]
    #: radio records at the near and the far end
    radios: list[tuple[Any, Any]]
    #: antenna gain and beamwidth at both ends, columns near and far
    gain_dbi: np.ndarray
    beamwidth_deg: np.ndarray
    diameter_m: np.ndarray
    #: straight line between the antennas by the coordinates of the sites
    straight_km: np.ndarray
    #: along the ground; a typed length that is not steep stands for it and for the slant range,
    #: but for one that is shorter than the coordinates allow
    distance_km: np.ndarray
    is_typed: np.ndarray
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
    #: what lies under the hops
    ground: HopProfiles
    #: notes by hop: what was assumed
    assumed: Mapping[int, list[str]]
    hubs: Hubs


def gather_hops(links: tuple[Link, ...], catalog: Any, design: Design) -> Hops:
    """Collect the geometry and the parts of all hops of a design."""
    rows = tuple(link.rows[0] for link in links)
    ends = tuple(hop_ends(row, design.sites, catalog) for row in rows)
    ways = tuple(
        way
        for number, (link, both) in enumerate(zip(links, ends, strict=True))
        for way in hop_directions(link, number, both, design.project)
    )
    place = _geodesic(ends)
    at_ends = _of_ends(ends)
    length = _lengths(rows, place.distance_km, at_ends["height_m"])
    distance = length.distance_km
    assumed: dict[int, list[str]] = {}
    frequency = gather([FREQUENCY], ways)[FREQUENCY.key].reshape(-1, 2)
    for index, row in enumerate(rows):
        if row.frequency_ghz is None and not np.isnan(frequency[index, 0]):
            assumed.setdefault(index, []).append(
                f"no frequency is given: {frequency[index, 0]:g} GHz, the {FREQUENCY.source}, "
                "was taken"
            )
    radios = [(near.radio, far.radio) for near, far in ends]
    return Hops(
        links=links,
        rows=rows,
        ends=ends,
        directions=ways,
        site_pairs=[(near.site, far.site) for near, far in ends],
        radios=radios,
        gain_dbi=_of_antennas(ends, "gain_dbi"),
        beamwidth_deg=at_ends["beamwidth_deg"],
        diameter_m=_of_antennas(ends, "diameter_m"),
        straight_km=length.straight_km,
        distance_km=distance,
        is_typed=length.is_typed,
        azimuth_deg=place.azimuth_deg,
        to_azimuth_deg=place.to_azimuth_deg,
        middle_latitude=place.middle_latitude,
        ground_m=at_ends["ground_m"],
        height_m=at_ends["height_m"],
        frequency_ghz=frequency,
        channel_mhz=_channels(rows, radios, catalog, assumed),
        is_vertical=np.array([row.polarization == "V" for row in rows], dtype=bool),
        is_either=np.array([row.polarization not in ("V", "H") for row in rows], dtype=bool),
        ground=hop_profiles(links, rows, design, distance, at_ends["ground_m"]),
        assumed=assumed,
        hubs=gather_hubs(rows, place.azimuth_deg, at_ends["beamwidth_deg"][:, 0]),
    )


class _Lengths(NamedTuple):
    distance_km: np.ndarray
    straight_km: np.ndarray
    is_typed: np.ndarray


def _lengths(rows, geodesic_km, height_m) -> _Lengths:
    """Length along the ground, and between the antennas.

    A typed length is the straight line between the antennas. It stands for both where the hop is
    not steep; a steep one lies on the geodesic, else on what its heights leave. Where it and the
    coordinates contradict each other the longer counts: no level better than either allows.
    """
    typed = numbers(row.length_m for row in rows) / M_PER_KM
    typed[~(typed > 0)] = np.nan
    geodesic_km = np.where(geodesic_km > 0, geodesic_km, np.nan)
    up = np.abs(height_m[:, 1] - height_m[:, 0]) / M_PER_KM
    straight = slant_range_km(
        distance_km=geodesic_km, height1_m=height_m[:, 0], height2_m=height_m[:, 1]
    )
    straight = np.where(np.isnan(straight), geodesic_km, straight)
    steep = up > STEEP_SHARE * typed
    flat = np.sqrt(np.maximum(typed**2 - up**2, LEAST_KM**2))
    agrees = np.abs(typed - straight) <= LENGTH_TOLERANCE * straight
    along = np.where(steep, np.where(agrees, geodesic_km, flat), typed)
    short = ~agrees & (typed < straight)
    distance = np.where(np.isnan(typed) | short, geodesic_km, along)
    return _Lengths(distance, straight, ~np.isnan(typed) & ~steep & ~short)


def _geodesic(ends):
    """Distance, azimuths and middle of every hop by the coordinates of its sites."""
    near, far = ([pair[end].site for pair in ends] for end in (0, 1))
    return geodesic(
        latitude1=numbers(getattr(site, "latitude", None) for site in near),
        longitude1=numbers(getattr(site, "longitude", None) for site in near),
        latitude2=numbers(getattr(site, "latitude", None) for site in far),
        longitude2=numbers(getattr(site, "longitude", None) for site in far),
    )


def _of_ends(ends) -> dict[str, np.ndarray]:
    """Figures of all ends, one column an end."""
    values = compute(END_TERMS, gather(END_TERMS, [end for pair in ends for end in pair]))
    return {key: column.reshape(-1, 2) for key, column in values.items()}


def _of_antennas(ends, name: str) -> np.ndarray:
    figures = [[number(end.antenna_figure(name)) for end in pair] for pair in ends]
    return np.array(figures, dtype=float).reshape(-1, 2)


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
