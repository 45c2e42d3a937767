"""How a run lies: through air, ground or a building, outdoors, between two buildings."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.physics.geometry import geodesic
from backhaul.units import M_PER_KM

INDOOR, DUCT, AERIAL, SURFACE = "indoor", "duct", "aerial", "surface"
#: Two indoor sites so close are rooms of one building [m]: rules of the project.
ONE_BUILDING_M = 5.0
#: A run may fall short of the straight line between its sites by this much: coordinates are
#: rounded (common practice).
STRAIGHT_LINE_TOLERANCE_M = 2.0


def route_of(row: Segment, network: Any, sites: Mapping[str, Any]) -> str:
    """Route of a run: typed, else duct between two sites, whatever is known of them, else by its
    site; "" where that is not known."""
    if row.route:
        return row.route
    start, end = network.places[row.id]
    ends = [sites[name] for name in (start, end) if name in sites]
    if start and end and start != end:
        return INDOOR if len(ends) == 2 and is_one_building(row, ends) else DUCT
    if not ends or ends[0].outdoor is None:
        return ""
    return SURFACE if ends[0].outdoor else INDOOR


def least_length_m(row: Segment, ends: list[Any]) -> float | None:
    """No run between two sites is shorter [m]: their straight line less the rounding of places.

    None where it is not known, or within one building.
    """
    if len(ends) != 2 or ends[0] is ends[1] or is_one_building(row, ends):
        return None
    figures = [getattr(site, name) for site in ends for name in ("latitude", "longitude")]
    if None in figures:
        return None
    # in tenths, as places are known: a cell that holds it is compared with it again
    least = round(_apart_m(*figures) - STRAIGHT_LINE_TOLERANCE_M, 1)
    return least if least > 0 else None


def is_one_building(row: Segment, ends: list[Any]) -> bool:
    """Both sites indoors and within 5 m of each other, by their places or by a cable so short."""
    if any(site.outdoor is not False for site in ends):
        return False
    if row.length_m is not None and row.length_m <= ONE_BUILDING_M:
        return True
    figures = [getattr(site, name) for site in ends for name in ("latitude", "longitude")]
    if None in figures:
        return False
    return _apart_m(*figures) <= ONE_BUILDING_M


@lru_cache(maxsize=4096)
def _apart_m(latitude1: float, longitude1: float, latitude2: float, longitude2: float) -> float:
    apart = geodesic(
        latitude1=latitude1, longitude1=longitude1, latitude2=latitude2, longitude2=longitude2
    )
    return float(apart.distance_km.item()) * M_PER_KM


def is_outdoor(row: Segment, network: Any, sites: Mapping[str, Any]) -> bool:
    """Whether a run, or any other row, is outdoors."""
    if not KINDS[row.kind].is_run:
        return any(name in sites and sites[name].outdoor for name in network.places[row.id])
    return route_of(row, network, sites) not in (INDOOR, "")


def is_in_the_sun(row: Segment, network: Any, sites: Mapping[str, Any]) -> bool:
    """Outdoors, and neither buried nor in a duct."""
    return route_of(row, network, sites) in (AERIAL, SURFACE)


def joins_buildings(row: Segment, network: Any, sites: Mapping[str, Any]) -> bool:
    """A run outdoors between two sites: their earths may differ."""
    start, end = network.places[row.id]
    return bool(start and end and start != end and is_outdoor(row, network, sites))
