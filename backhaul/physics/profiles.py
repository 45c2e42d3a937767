"""Terrain profiles of many hops in flat arrays, and the clearance of the rays over them."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import geometry

METHODS = (Method("clearance", "ITU-R P.530", "19 (09/2025) sec. 2.2.2, rules from memory"),)
RANGES = {"points": (2, 1000)}  # ITU-R P.1812 and P.452 ask for 50 to 1000 (from memory)
CELL_FORMULAS = ()


class Profiles(NamedTuple):
    """Points of all hops one after the other; hop i owns `start[i] : start[i] + count[i]`.

    Each hop has at least its two end points, distances rise from 0 at its first end.
    """

    distance_km: np.ndarray
    ground_m: np.ndarray
    cover_m: np.ndarray
    start: np.ndarray
    count: np.ndarray  # type: ignore[assignment]  # instead of the tuple's own method

    @property
    def length_km(self):
        """Length of each hop [km]."""
        return self.distance_km[self.start + self.count - 1]

    @property
    def inside(self):
        """True at points that lie strictly between the ends."""
        return (self.distance_km > 0) & (self.distance_km < self.spread(self.length_km))

    @property
    def surface_m(self):
        """Ground with its cover between the ends, bare at them [m]."""
        return self.ground_m + np.where(self.inside, self.cover_m, 0.0)

    def spread(self, per_hop):
        """A value per hop, repeated at each of its points."""
        return np.repeat(np.broadcast_to(per_hop, self.start.shape), self.count)

    def largest(self, per_point):
        """Largest value of each hop between its ends; -inf where nothing lies between."""
        return np.maximum.reduceat(np.where(self.inside, per_point, -np.inf), self.start)

    def total(self, per_point):
        """Sum of each hop."""
        return np.add.reduceat(per_point, self.start)

    def index_of(self, per_point, largest):
        """Index of the first inner point that reaches `largest`; that of the hop's first end
        where there is none."""
        hit = self.inside & (per_point >= self.spread(largest))
        position = np.where(hit, np.arange(hit.size), hit.size)
        first = np.minimum.reduceat(position, self.start)
        return np.where(first == hit.size, self.start, first)


def profiles(
    *, distance_km: Figure, ground_m: Figure, cover_m: Figure = None, count: Figure
) -> Figure:
    """Profiles from flat columns and the number of points of each hop.

    Raises ValueError where a hop has fewer than two points, does not begin at 0 or runs back.
    count: points of each hop.
    Valid: two points a hop or more, distances that begin at 0 and rise; else ValueError. NaN
    heights pass through.
    Source: geometry; 50 to 1000 points a path ITU-R P.1812 and P.452 (from memory).
    >>> p = profiles(distance_km=[0, 1, 2, 0, 3], ground_m=[5, 9, 4, 0, 0], count=[3, 2])
    >>> p.length_km.tolist()
    [2.0, 3.0]
    """
    distance_km, ground_m = (np.asarray(x, dtype=float) for x in (distance_km, ground_m))
    cover = np.zeros_like(ground_m) if cover_m is None else np.asarray(cover_m, dtype=float)
    count = np.atleast_1d(np.asarray(count, dtype=int))
    start = np.concatenate(([0], np.cumsum(count)[:-1]))
    if count.sum() != distance_km.size or ground_m.size != distance_km.size:
        raise ValueError("points of the profiles and their counts do not agree")
    if (count < 2).any():
        raise ValueError("a profile needs at least its two ends")
    step = np.diff(distance_km)
    step = np.delete(step, start[1:] - 1)
    if (step < 0).any() or (distance_km[start] != 0).any():
        raise ValueError("distances of a profile must begin at 0 and rise")
    made = Profiles(distance_km, ground_m, cover, start, count)
    if (made.length_km <= 0).any():
        raise ValueError("a profile has no length")
    return made


def clear_and_zone(
    profile: Figure,
    *,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    k_factor: Figure,
) -> Figure:
    """Clearance [m] and first Fresnel radius [m] at each point (1 m at the ends, unused).

    profile: `profiles`. k_factor: of the effective earth radius.
    Valid: frequency_ghz and k_factor above 0; 0 divides by zero, which gives infinities with
    numpy's warning.
    Source: ITU-R P.530-19 sec. 2.2.2 and P.526-16 sec. 2.
    >>> p = profiles(distance_km=[0, 20, 40], ground_m=[0, 20, 0], count=[3])
    >>> clear, zone = clear_and_zone(p, height1_m=65.02, height2_m=65.02, frequency_ghz=6.5,
    ...     k_factor=4 / 3)
    >>> print(clear[1], zone[1])
    21.476 21.476
    """
    d1 = profile.distance_km
    d2 = profile.spread(profile.length_km) - d1
    ray = geometry.ray_height_m(
        distance1_km=d1,
        distance2_km=d2,
        height1_m=profile.spread(height1_m),
        height2_m=profile.spread(height2_m),
    )
    bulge = geometry.earth_bulge_m(
        distance1_km=d1, distance2_km=d2, k_factor=profile.spread(k_factor)
    )
    zone = geometry.fresnel_radius_m(
        distance1_km=d1, distance2_km=d2, frequency_ghz=profile.spread(frequency_ghz)
    )
    return ray - profile.surface_m - bulge, np.where(profile.inside, zone, 1.0)


class Raise(NamedTuple):
    """How far antennas must rise [m] to reach a clearance; 0 where it is reached."""

    both_m: np.ndarray
    first_m: np.ndarray
    second_m: np.ndarray


def needed_raise(
    *,
    profile: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    k_factor: Figure,
    fraction_f1: Figure,
) -> Figure:
    """Raise of both antennas alike, of the first alone, or of the second alone [m].

    fraction_f1: share of the first Fresnel radius that must be clear at this k_factor.
    profile: `profiles`. k_factor: of the effective earth radius.
    Valid: fraction_f1 0 or more, frequency_ghz and k_factor above 0; held at 0 where it is reached,
    and where no point lies between the ends.
    Source: ITU-R P.530-19 sec. 2.2.2, solved for the height.
    >>> p = profiles(distance_km=[0, 20, 40], ground_m=[0, 20, 0], count=[3])
    >>> r = needed_raise(profile=p, height1_m=60, height2_m=60, frequency_ghz=6.5,
    ...     k_factor=0.74498, fraction_f1=0.3)
    >>> print(r.both_m[0], r.first_m[0])
    8.58 17.16
    """
    signed = signed_raise(
        profile=profile,
        height1_m=height1_m,
        height2_m=height2_m,
        frequency_ghz=frequency_ghz,
        k_factor=k_factor,
        fraction_f1=fraction_f1,
    )
    return Raise(*(np.maximum(value, 0.0) for value in signed))


def signed_raise(
    *,
    profile: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    k_factor: Figure,
    fraction_f1: Figure,
) -> Figure:
    """The same with its sign [m]: below 0 the antennas may be lowered by that much.

    profile, k_factor, fraction_f1: as in `needed_raise`.
    Valid: as `needed_raise`; -inf where no point lies between the ends.
    Source: ITU-R P.530-19 sec. 2.2.2, solved for the height.
    >>> p = profiles(distance_km=[0, 20, 40], ground_m=[0, 20, 0], count=[3])
    >>> r = signed_raise(profile=p, height1_m=70, height2_m=70, frequency_ghz=6.5,
    ...     k_factor=0.74498, fraction_f1=0.3)
    >>> print(r.both_m[0], r.second_m[0])
    -1.419 -2.838
    """
    clear, zone = clear_and_zone(
        profile,
        height1_m=height1_m,
        height2_m=height2_m,
        frequency_ghz=frequency_ghz,
        k_factor=k_factor,
    )
    short = np.where(profile.inside, profile.spread(fraction_f1) * zone - clear, 0.0)
    share2 = np.where(profile.inside, profile.distance_km / profile.spread(profile.length_km), 0.5)
    values = (short, short / (1 - share2), short / share2)
    return Raise(*(profile.largest(value) for value in values))


class Obstacle(NamedTuple):
    """What stands highest towards the ray of each hop; NaN and the first end where nothing does."""

    stretch_km: np.ndarray
    point: np.ndarray


def highest_obstacle(
    *,
    profile: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    k_factor: Figure,
    fraction_f1: Figure,
) -> Figure:
    """The point that comes nearest to the ray [m], and the stretch of points about as high.

    About as high: short of fraction_f1 of the first Fresnel zone if the ray grazed the highest.
    So it tells one isolated obstacle from an extended one, whatever the antennas' height.
    profile: `profiles`. k_factor: of the effective earth radius.
    Valid: fraction_f1 above 0, frequency_ghz and k_factor above 0; a hop without an inner point,
    and NaN, give NaN and its first end.
    Source: ITU-R P.530 sec. 2.2.2.1 (from memory) tells isolated from extended; how it is told is a
    rule of this project.
    >>> p = profiles(distance_km=[0, 10, 20, 30, 40], ground_m=[0, 8, 30, 31, 0], count=[5])
    >>> o = highest_obstacle(profile=p, height1_m=90, height2_m=90, frequency_ghz=6.5,
    ...     k_factor=1.0, fraction_f1=0.6)
    >>> print(o.stretch_km[0], p.distance_km[o.point[0]])
    10.0 20.0
    """
    clear, zone = clear_and_zone(
        profile,
        height1_m=height1_m,
        height2_m=height2_m,
        frequency_ghz=frequency_ghz,
        k_factor=k_factor,
    )
    nearest = profile.largest(-clear)
    known = np.isfinite(nearest)
    lowered = clear + profile.spread(np.where(known, nearest, 0.0))
    short = lowered < profile.spread(fraction_f1) * zone
    last = profile.largest(np.where(short, profile.distance_km, -np.inf))
    first = -profile.largest(np.where(short, -profile.distance_km, -np.inf))
    with np.errstate(invalid="ignore"):
        stretch = np.where(np.isfinite(last), last - first, np.nan)
    return Obstacle(stretch, profile.index_of(-clear, nearest))
