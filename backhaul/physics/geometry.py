"""Curved earth, refraction and Fresnel zones: the geometry of a hop."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import SPEED_OF_LIGHT_M_S

METHODS = (
    Method("distance and azimuth", "WGS 84 geodesic", "Karney 2013, GeographicLib"),
    Method("Fresnel zone", "ITU-R P.526", "16 (11/2025) sec. 2"),
    Method("clearance", "ITU-R P.530", "19 (09/2025) sec. 2.2.2, rules from memory"),
    Method("worst k factor", "fit to ITU-R P.530 figure 2", "157/(144 + 2670/d), from 20 km up"),
)
RANGES = {
    "distance_km": (0.05, 200.0),
    "worst_k_distance_km": (20.0, 200.0),  # extent of P.530 figure 2; below, the 20 km value
}

CELL_FORMULAS = (
    "k_factor",
    "worst_k_factor",
    "earth_bulge_m",
    "fresnel_radius_m",
    "ray_height_m",
    "slant_range_km",
    "tilt_deg",
    "clearance_ratio",
    "magnetic_azimuth_deg",
    "sphere_distance_km",
)

EARTH_RADIUS_KM = 6371.0  # mean radius, ITU-R P.310
NODE_STEP_KM = 5.0  # places between which a geodesic is followed as an arc
MEDIAN_K_FACTOR = 4 / 3  # ITU-R P.530 sec. 2.2.2, "median value of k, 4/3 in the absence of data"
WORST_K_SHORTEST_KM = 20.0  # where figure 2 of P.530 begins

# Fraction of the first Fresnel zone that must be clear, ITU-R P.530 sec. 2.2.2.1 (from memory).
MEDIAN_CLEARANCE_F1 = 1.0
WORST_K_CLEARANCE_F1 = {
    "temperate, one isolated obstacle": 0.0,
    "temperate, extended obstruction": 0.3,
    "tropical": 0.6,
}
FREE_SPACE_CLEARANCE_F1 = 0.6  # P.530 sec. 2.2.2: no diffraction loss to speak of


def k_factor(*, gradient_n_per_km: Figure) -> Figure:
    """Effective earth radius factor from the refractivity gradient [-].

    gradient_n_per_km: above -157, negative in a normal atmosphere. Source: ITU-R P.310, P.453.
    Valid: gradient_n_per_km above -157; at -157 it divides by zero (infinite radius), below it is
    negative: ducting, in which no k describes a path.
    >>> print(k_factor(gradient_n_per_km=-40))
    1.3419
    """
    return 157 / (157 + gradient_n_per_km)


def worst_k_factor(*, distance_km: Figure) -> Figure:
    """k exceeded for about 99.9 % of the worst month, continental temperate climate [-].

    Source: a fit in use for figure 2 of ITU-R P.530; below 20 km the value of 20 km, as caution.
    Valid: 20 to 200 km (RANGES), continental temperate climate; below, the value of 20 km, above,
    the fit goes on towards 1.09.
    >>> print(worst_k_factor(distance_km=40))
    0.7450
    """
    return 157 / (144 + 2670 / np.maximum(distance_km, WORST_K_SHORTEST_KM))


def earth_bulge_m(*, distance1_km: Figure, distance2_km: Figure, k_factor: Figure) -> Figure:
    """Height of the earth over the chord between the ends [m].

    distance1_km, distance2_km: from the point to either end. Source: ITU-R P.530 sec. 2.2.2.
    k_factor: of the effective earth radius.
    Valid: distances of 0 or more within 200 km (RANGES), k_factor above 0; 0 divides by zero, a
    negative k turns the earth hollow.
    >>> print(earth_bulge_m(distance1_km=8, distance2_km=42, k_factor=1))
    26.369
    """
    return 500 * distance1_km * distance2_km / (EARTH_RADIUS_KM * k_factor)


def fresnel_radius_m(
    *, distance1_km: Figure, distance2_km: Figure, frequency_ghz: Figure, zone: Figure = 1
) -> Figure:
    """Radius of a Fresnel ellipsoid [m]. Source: ITU-R P.526 sec. 2.1, exact wavelength.

    zone: number of the zone, 1 for the first.
    Valid: distances of 0 or more, one of them above 0, frequency_ghz above 0; far from the ends
    against the wavelength. 0 at an end, negative ones give NaN.

    >>> print(fresnel_radius_m(distance1_km=8, distance2_km=42, frequency_ghz=7.5))
    16.389
    """
    return np.sqrt(
        zone
        * SPEED_OF_LIGHT_M_S
        * 1e-6
        * distance1_km
        * distance2_km
        / (frequency_ghz * (distance1_km + distance2_km))
    )


def ray_height_m(
    *, distance1_km: Figure, distance2_km: Figure, height1_m: Figure, height2_m: Figure
) -> Figure:
    """Height of the straight line between the antennas above the datum [m].

    Valid: distances of 0 or more, one of them above 0; both 0 divide by zero.
    Source: geometry of a straight line.

    >>> ray_height_m(distance1_km=1, distance2_km=3, height1_m=20, height2_m=40)
    25.0
    """
    return (height1_m * distance2_km + height2_m * distance1_km) / (distance1_km + distance2_km)


def clearance_ratio(
    *, ray_m: Figure, obstacle_m: Figure, bulge_m: Figure, fresnel_m: Figure
) -> Figure:
    """Clearance of the ray over a point as a share of the first Fresnel radius [-].

    Valid: fresnel_m above 0: at the ends themselves it is 0 and divides by zero. Below 0 the ray is
    cut.
    Source: ITU-R P.530 sec. 2.2.2.

    >>> clearance_ratio(ray_m=30.0, obstacle_m=18, bulge_m=2, fresnel_m=10)
    1.0
    """
    return (ray_m - obstacle_m - bulge_m) / fresnel_m


def slant_range_km(*, distance_km: Figure, height1_m: Figure, height2_m: Figure) -> Figure:
    """Straight distance between the antennas [km] over the geodesic between their sites.

    height1_m, height2_m: antennas above sea level. Any steepness; distance_km 0 or more.
    Source: law of cosines on the mean sphere, in the form that keeps its digits.
    Valid: heights above the earth's centre and distances up to half round it; NaN stays NaN.
    >>> print(slant_range_km(distance_km=0.1, height1_m=2.0, height2_m=149.0))
    0.17779
    """
    radius = EARTH_RADIUS_KM
    sine = np.sin(distance_km / (2 * radius))
    chord = 4 * (radius + height1_m / 1000) * (radius + height2_m / 1000) * sine**2
    return np.sqrt(chord + ((height2_m - height1_m) / 1000) ** 2)


def tilt_deg(
    *, distance_km: Figure, height_m: Figure, far_height_m: Figure, k_factor: Figure = 1.0
) -> Figure:
    """Elevation of the line to the far antenna, seen from this one [degree], positive upwards.

    k_factor 1: the straight line over the curved earth, as a rigger sets it; 4/3: the bent ray.
    Valid: distance_km above 0 to 200 (RANGES), up to about 10 degrees; 0 divides by zero. Heights
    may be equal.
    Source: geometry; k = 1 for a rigger's level, common practice.
    >>> print(tilt_deg(distance_km=4.12322995, height_m=55, far_height_m=60))
    0.05094
    """
    rise = (far_height_m - height_m) / (1000 * distance_km)
    droop = distance_km / (2 * EARTH_RADIUS_KM * k_factor)
    return np.degrees(np.arctan(rise - droop))


def magnetic_azimuth_deg(*, azimuth_deg: Figure, declination_deg: Figure) -> Figure:
    """Azimuth from magnetic north [degree], 0 to 360; declination_deg positive to the east.

    Valid: any figures; the answer is turned into 0 to 360.
    Source: definition of the declination.

    >>> print(magnetic_azimuth_deg(azimuth_deg=1.0, declination_deg=3.0))
    358.0
    """
    turned = azimuth_deg - declination_deg
    return turned - 360 * np.floor(turned / 360)


def sphere_distance_km(
    *, latitude1: Figure, longitude1: Figure, latitude2: Figure, longitude2: Figure
) -> Figure:
    """Great-circle distance on the mean sphere [km]: within 0.6 % of the geodesic.

    For a live cell that only guards against a mistyped coordinate; the hop uses `geodesic`.
    latitude1, longitude1, latitude2, longitude2: degrees, north and east positive.
    Valid: latitudes -90 to 90, any longitude; antipodes are held at half the circumference.
    Source: haversine on the mean sphere, ITU-R P.310 radius.
    >>> print(sphere_distance_km(latitude1=51.5, longitude1=-0.15,
    ...     latitude2=51.52, longitude2=-0.1))
    4.113
    """
    half_chord_squared = (
        np.sin(np.radians(latitude2 - latitude1) / 2) ** 2
        + np.cos(np.radians(latitude1))
        * np.cos(np.radians(latitude2))
        * np.sin(np.radians(longitude2 - longitude1) / 2) ** 2
    )
    return 2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.minimum(half_chord_squared, 1)))


class Geodesic(NamedTuple):
    """Arrays over hops; azimuths in degrees from true north, clockwise, 0 to 360."""

    distance_km: np.ndarray
    azimuth_deg: np.ndarray
    to_azimuth_deg: np.ndarray
    middle_latitude: np.ndarray
    middle_longitude: np.ndarray


def geodesic(
    *, latitude1: Figure, longitude1: Figure, latitude2: Figure, longitude2: Figure
) -> Figure:
    """Distance [km], azimuth from each end to the other and middle of each hop, on WGS 84.

    The azimuth back is the forward azimuth at end 2 turned by 180 degrees; on long hops it is
    not the first azimuth turned. One and the same point twice gives distance 0, azimuth NaN.
    latitude1, longitude1, latitude2, longitude2: degrees, north and east positive.
    Valid: latitudes -90 to 90, any longitude; a NaN end gives NaN throughout. Works at the poles
    and across the date line.
    Source: C. F. F. Karney 2013, by GeographicLib.
    >>> g = geodesic(latitude1=[51.5], longitude1=[-0.15], latitude2=[51.52], longitude2=[-0.1])
    >>> print(g.distance_km[0], g.azimuth_deg[0], g.to_azimuth_deg[0])
    4.123230 57.319638 237.358774
    """
    ends = np.broadcast_arrays(*np.atleast_1d(latitude1, longitude1, latitude2, longitude2))
    rows = np.full((3, ends[0].size), np.nan)
    for i, hop in enumerate(zip(*(end.ravel().tolist() for end in ends))):
        if not all(np.isfinite(hop)):
            continue
        rows[:, i] = _inverse(*hop)
    return Geodesic(*rows.reshape(3, *ends[0].shape), *_middle(*ends))


@lru_cache(maxsize=1 << 14)
def _inverse(*ends_deg: float) -> tuple[float, float, float]:
    """Distance [km] and both azimuths of one hop: a change of a design leaves most as they are."""
    from geographiclib.geodesic import Geodesic as Ellipsoid

    line = Ellipsoid.WGS84.Inverse(*ends_deg)
    there, back = line["azi1"] % 360, (line["azi2"] + 180) % 360
    if line["s12"] == 0:
        there = back = np.nan
    return line["s12"] / 1000, there, back


def _middle(latitude1, longitude1, latitude2, longitude2):
    """Place half way [degrees]: the mean of the two verticals.

    Within 10 m of the geodesic's middle up to 200 km; it serves climate maps, whose grid is
    ten kilometres and more, at a third of the time.
    """
    phi = np.radians([latitude1, latitude2])
    lam = np.radians([longitude1, longitude2])
    east, north, up = (
        part.sum(axis=0)
        for part in (np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi))
    )
    return np.degrees(np.arctan2(up, np.hypot(east, north))), np.degrees(np.arctan2(north, east))


def geodesic_points(
    *, latitude1: float, longitude1: float, latitude2: float, longitude2: float, share: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Latitudes and longitudes of places along one geodesic on WGS 84 [degrees].

    latitude1, longitude1, latitude2, longitude2: of the two ends, degrees.
    share: how far along each lies, 0 at the first end to 1 at the other. Every 5 km the geodesic
    itself is asked; between, the arc of the two verticals is followed, which stays within a
    centimetre of it, in a hundredth of the time.
    Valid: share 0 to 1; any two places that are not antipodes.
    Source: C. F. F. Karney 2013, by GeographicLib.
    >>> latitude, longitude = geodesic_points(latitude1=51.5, longitude1=-0.15, latitude2=51.52,
    ...     longitude2=-0.1, share=np.array([0.5]))
    >>> print(latitude[0], longitude[0])
    51.5100027 -0.1250055
    """
    from geographiclib.geodesic import Geodesic as Ellipsoid

    line = Ellipsoid.WGS84.InverseLine(latitude1, longitude1, latitude2, longitude2)
    pieces = max(int(np.ceil(line.s13 / (1000 * NODE_STEP_KM))), 1)
    places = [line.Position(line.s13 * n / pieces) for n in range(pieces + 1)]
    up = _verticals(
        np.array([place["lat2"] for place in places]), np.array([place["lon2"] for place in places])
    )
    at = np.asarray(share, dtype=float) * pieces
    piece = np.clip(np.floor(at).astype(int), 0, pieces - 1)
    angle = np.arctan2(
        np.linalg.norm(np.cross(up[:-1], up[1:]), axis=1), (up[:-1] * up[1:]).sum(axis=1)
    )[piece]
    there = at - piece
    even = angle < 1e-12  # one place twice
    whole = np.where(even, 1.0, np.sin(angle))
    first = np.where(even, 1 - there, np.sin((1 - there) * angle) / whole)
    second = np.where(even, there, np.sin(there * angle) / whole)
    east, north, high = (first[:, None] * up[piece] + second[:, None] * up[piece + 1]).T
    return np.degrees(np.arctan2(high, np.hypot(east, north))), np.degrees(np.arctan2(north, east))


def _verticals(latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """Unit vectors that point up [-], a row a place."""
    phi, lam = np.radians(latitude), np.radians(longitude)
    return np.column_stack((np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)))
