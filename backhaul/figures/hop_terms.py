"""The lines of a hop's ends, and its geometry half way."""

from typing import Any

from backhaul.figures.terms import Input, Term
from backhaul.path.ends import HopEnd, Place
from backhaul.physics import geometry


def _height_place(end: HopEnd) -> Place:
    return Place(end.row, end.column("height_m"))


def _at(end: HopEnd) -> str:
    return end.name


def _antenna_m(*, ground_m, above_m):
    return ground_m + above_m


#: One end of a hop; its subject is a `HopEnd`.
END_TERMS = (
    Input(
        "ground_m",
        "Level that heights are measured from",
        "m",
        lambda end: end.site_place("ground_m"),
        digits=1,
    ),
    Input("above_m", "Antenna height", "m", _height_place, at=_at, digits=1),
    Term("height_m", "Antenna above the datum", "m", _antenna_m, digits=1),
    Input("beamwidth_deg", "Beamwidth", "°", lambda end: end.antenna_place("beamwidth_deg")),
    Input(
        "declination_deg",
        "Magnetic declination, east positive",
        "°",
        lambda end: end.site_place("declination_deg"),
    ),
)
END: dict[str, Any] = {term.key: term for term in END_TERMS}

#: Geometry in the middle of a hop.
HOP_TERMS = (
    Term("distance_km", "Distance", "km", digits=3),
    Term("frequency_ghz", "Frequency", "GHz", digits=4),
    Term("height_m", "Antenna, first end", "m", digits=1),
    Term("far_height_m", "Antenna, far end", "m", digits=1),
    Term("half_km", "Half way", "km", lambda *, distance_km: distance_km / 2, digits=3),
    Term(
        "earth_bulge_mid_m",
        "Earth bulge half way, k = 4/3",
        "m",
        lambda *, half_km: geometry.earth_bulge_m(
            distance1_km=half_km, distance2_km=half_km, k_factor=geometry.MEDIAN_K_FACTOR
        ),
    ),
    Term(
        "fresnel_mid_m",
        "First Fresnel radius half way",
        "m",
        lambda *, half_km, frequency_ghz: geometry.fresnel_radius_m(
            distance1_km=half_km, distance2_km=half_km, frequency_ghz=frequency_ghz
        ),
        source="ITU-R P.526 sec. 2.1",
    ),
    Term("tilt_deg", "Tilt, first end", "degrees", geometry.tilt_deg, digits=2),
    Term(
        "to_tilt_deg",
        "Tilt, far end",
        "degrees",
        lambda *, distance_km, height_m, far_height_m: geometry.tilt_deg(
            distance_km=distance_km, height_m=far_height_m, far_height_m=height_m
        ),
        digits=3,
    ),
)
