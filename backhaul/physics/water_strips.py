"""How much of the mirror is water: the part of the Fresnel zone of a reflection that is wet.

Physical optics along the path: the reflected field is the integral of the phase over the surface,
whose phase is stationary at the mirror point. A strip of water gives the difference of two Fresnel
integrals, water all along gives 1. Across the path the zone is narrow and taken as wet. No shore
is as sharp as the integrals take it: what their ripple gives beyond the whole mirror does not
count, and water over the whole first zone is the whole mirror.
"""

from itertools import pairwise

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import wavelength_m

METHODS = (
    Method("share of the mirror", "physical optics", "Fresnel integrals along the path"),
    Method("Fresnel integrals", "Abramowitz and Stegun", "7.3.11, 7.3.13 and 7.3.27 to 7.3.28"),
)
RANGES = {"v": (-np.inf, np.inf), "share": (0.0, 1.4)}  # one edge reaches 1.17, a strip 1.34
#: Fresnel parameter at the edge of the first zone, where the way is half a wavelength longer.
FIRST_ZONE_V = np.sqrt(2)
CELL_FORMULAS = ()

MOST_STRIPS = 2000  # of one hop; more of them are gathered
PAIRS_AT_ONCE = 200_000  # of a point of a sweep and a strip
SERIES_UP_TO = 3.2  # beyond it the asymptotic series is as good: 1e-7
SERIES_TERMS = 32
ASYMPTOTIC_TERMS = 6


def fresnel_integrals(*, v: Figure) -> Figure:
    """C(v) and S(v) [-]: integrals of cos and sin of pi t^2 / 2 from 0 to v; any v, infinite too.

    Accurate to 2e-7. NaN gives NaN. Source: Abramowitz and Stegun 7.3.11, 7.3.13 (series) and
    7.3.9, 7.3.10, 7.3.27, 7.3.28 (auxiliary functions).
    Valid: any v; beyond 1e6 held at the value there, a half but for 3e-7.
    >>> cosine, sine = fresnel_integrals(v=1.0)
    >>> print(cosine, sine)
    0.7798934 0.4382591
    """
    v = np.asarray(v, dtype=float)
    size = np.abs(v)
    near = size <= SERIES_UP_TO
    cosine, sine = np.full(v.shape, np.nan), np.full(v.shape, np.nan)
    cosine[near], sine[near] = _series(size[near])
    far = size > SERIES_UP_TO
    cosine[far], sine[far] = _asymptotic(np.minimum(size[far], 1e6))
    return np.copysign(cosine, v), np.copysign(sine, v)


def _series(v):
    x = np.pi / 2 * v**2
    square = -(x**2)
    cosine, sine = np.zeros_like(v), np.zeros_like(v)
    even = np.ones_like(v)  # (-1)^n x^2n / (2n)!
    for n in range(SERIES_TERMS):
        odd = even * x / (2 * n + 1)
        cosine += even / (4 * n + 1)
        sine += odd / (4 * n + 3)
        even = even * square / ((2 * n + 1) * (2 * n + 2))
    return v * cosine, v * sine


def _asymptotic(v):
    pi_v2 = np.pi * v**2
    square = -1 / pi_v2**2
    f, g = np.zeros_like(v), np.zeros_like(v)
    term = np.ones_like(v)
    for n in range(ASYMPTOTIC_TERMS):
        f += term
        g += term * (4 * n + 1)
        term = term * square * ((4 * n + 1) * (4 * n + 3))
    f, g = f / (np.pi * v), g / (np.pi * v * pi_v2)
    angle = np.pi / 2 * np.mod(v**2, 4)
    sin, cos = np.sin(angle), np.cos(angle)
    return 0.5 + f * sin - g * cos, 0.5 - f * cos - g * sin


def edge_parameter(
    *,
    edge_km: Figure,
    distance1_km: Figure,
    distance2_km: Figure,
    effective1_m: Figure,
    effective2_m: Figure,
    frequency_ghz: Figure,
    radius_km: Figure,
) -> Figure:
    """Fresnel parameter v of a place on the water, seen from the mirror point [-].

    v^2 = 4 (longer path by way of that place than by the mirror) / wavelength, negative before the
    mirror; near it v = sqrt(2) x sin(psi) / (F1 D), the first zone stretched by the flat angle.
    edge_km: from end 1; infinite stays infinite. distance1_km, distance2_km: mirror from the ends.
    effective1_m, effective2_m: antennas above the plane that touches the water at the mirror.
    radius_km: effective earth radius. Source: geometry of the path by way of the surface.
    Valid: distances and frequency_ghz above 0; a negative detour of rounding counts as none.
    >>> print(edge_parameter(edge_km=5.03, distance1_km=5.0, distance2_km=5.0,
    ...     effective1_m=28.5285, effective2_m=28.5285, frequency_ghz=5.8,
    ...     radius_km=8494.667))
    0.0224
    """
    wave_m = wavelength_m(frequency_ghz=frequency_ghz)
    finite = np.isfinite(edge_km)
    aside_m = np.where(finite, edge_km - distance1_km, 0.0) * 1000
    d1, d2 = 1000 * distance1_km, 1000 * distance2_km
    drop_m = aside_m**2 / (2000 * radius_km)
    longer = (
        np.hypot(d1 + aside_m, effective1_m + drop_m)
        - np.hypot(d1, effective1_m)
        + np.hypot(d2 - aside_m, effective2_m + drop_m)
        - np.hypot(d2, effective2_m)
    )
    v = np.sign(aside_m) * 2 * np.sqrt(np.maximum(longer, 0.0) / wave_m)
    return np.where(finite, v, edge_km)


def strip_share(*, begin_v: Figure, end_v: Figure) -> Figure:
    """Complex share of the whole mirror that a strip gives; all broadcast.

    begin_v, end_v: Fresnel parameters of its edges, from the mirror point; infinite: to the end of
    the hop. No width gives 0, everything gives 1.
    Valid: begin_v up to end_v; turned round it gives the negative.
    Source: physical optics, Fresnel integrals along the path.
    >>> print(abs(strip_share(begin_v=-0.1, end_v=0.1)), abs(strip_share(begin_v=0.0,
    ...     end_v=np.inf)))
    0.1414 0.5
    """
    first, second = (fresnel_integrals(v=v) for v in (begin_v, end_v))
    return (second[0] - first[0] - 1j * (second[1] - first[1])) / (1 - 1j)


class Strips:
    """Wet strips of many hops, one after the other; indexed, it gives the strips of those hops.

    Hop i owns `start[i] : start[i] + count[i]` of `begin_km` and `end_km`; a count of -1 stands
    for water all along.
    """

    def __init__(self, begin_km, end_km, start, count):
        self.begin_km, self.end_km = begin_km, end_km
        self.start, self.count = start, count

    def __getitem__(self, index):
        return Strips(self.begin_km, self.end_km, self.start[index], self.count[index])

    @property
    def whole(self):
        """Whether every hop has water all along."""
        return bool((self.count < 0).all())

    def pairs(self):
        """Index of the point and of the strip of every strip of every point (flat)."""
        count = np.maximum(self.count, 0)
        point = np.repeat(np.arange(count.size), count)
        first = np.cumsum(count) - count
        return point, self.start[point] + np.arange(point.size) - first[point]


def water_all_along(hops: Figure) -> Figure:
    """Strips of a number of hops with nothing but water below.

    Valid: 0 hops or more; a negative number raises ValueError.
    Source: by definition.

    >>> water_all_along(3).whole
    True
    """
    return Strips(np.zeros(0), np.zeros(0), np.zeros(hops, dtype=int), np.full(hops, -1))


def wet_strips(*, begin_km: Figure, end_km: Figure, count: Figure, length_km: Figure) -> Figure:
    """Strips from flat columns and their number a hop; -1 for water all along.

    A strip that reaches an end of the hop goes on beyond it: the mirror of a hop that begins on a
    shore is not cut there. Strips that touch are one. Raises ValueError where the numbers do not
    agree.
    count: strips of each hop, in their order along it.
    Valid: counts that add up to the strips, else ValueError; overlapping strips count twice.
    Source: by definition.
    >>> s = wet_strips(begin_km=[0.0, 3.0], end_km=[1.0, 3.06], count=[-1, 2],
    ...     length_km=[9.0, 8.0])
    >>> s.begin_km.tolist(), s.start.tolist()
    ([-inf, 3.0], [0, 0])
    """
    begin, end = (np.array(x, dtype=float) for x in (begin_km, end_km))
    count = np.atleast_1d(np.asarray(count, dtype=int))
    owned = np.maximum(count, 0)
    if owned.sum() != begin.size or begin.size != end.size:
        raise ValueError("strips and their counts do not agree")
    length = np.repeat(np.broadcast_to(length_km, count.shape), owned)
    begin[begin <= 0] = -np.inf
    end[end >= length] = np.inf
    hop = np.repeat(np.arange(count.size), owned)
    parted = (hop[1:] != hop[:-1]) | (begin[1:] != end[:-1])
    first, last = np.ones((2, hop.size), dtype=bool)
    first[1:], last[:-1] = parted, parted
    begin, end, hop = begin[first], end[last], hop[last]
    owned = np.bincount(hop, minlength=count.size)
    return Strips(begin, end, np.cumsum(owned) - owned, np.where(count < 0, count, owned))


def fewer_strips(*, begin_km: Figure, end_km: Figure, length_km: Figure) -> Figure:
    """The strips of one hop, those that are shorter than its 2,000th part gathered in such parts.

    Where there are no more strips than that they stay as they are, and so do the first and the
    last. Strips of one part become one of their width about their middle.
    begin_km, end_km: from end 1, rising, not overlapping.
    Valid: where the phase of the reflection hardly turns within a part, so not at the feet of the
    antennas, where it turns within metres: the edges of strips so fine are noise there either way.
    Source: physical optics, the strip as the first term of its series about its middle.
    >>> begin = np.arange(4000) / 4000
    >>> first, last = fewer_strips(begin_km=begin, end_km=begin + 1 / 8000, length_km=1.0)
    >>> print(len(first), (last - first).sum())
    2002 0.5000
    """
    begin, end = np.asarray(begin_km, dtype=float), np.asarray(end_km, dtype=float)
    if begin.size <= MOST_STRIPS:
        return begin, end
    part_km, width, middle = length_km / MOST_STRIPS, end - begin, (begin + end) / 2
    place = np.floor(middle / part_km)
    alone = width >= part_km
    alone[[0, -1]] = True
    is_new = np.append(True, (place[1:] != place[:-1]) | alone[1:] | alone[:-1])
    group = np.cumsum(is_new) - 1
    wide = np.bincount(group, weights=width)
    middle = np.bincount(group, weights=width * middle) / wide
    single = np.bincount(group) == 1
    first = np.flatnonzero(is_new)
    return (
        np.where(single, begin[first], middle - wide / 2),
        np.where(single, end[first], middle + wide / 2),
    )


def wet_share(
    *,
    strips: Figure,
    distance1_km: Figure,
    distance2_km: Figure,
    effective1_m: Figure,
    effective2_m: Figure,
    frequency_ghz: Figure,
    radius_km: Figure,
    seen: Figure = None,
) -> Figure:
    """Complex share of the mirror that is water, at each point of a sweep (flat arrays); at most 1.

    strips: of the points, indexed as they are; one that holds the whole first zone gives 1. seen: called with (index of the point, km) it says
    where both antennas see the water; a strip counts by its place nearest to the mirror. Others as
    in `edge_parameter`. Points that are NaN give NaN.
    Valid: strips of as many points as the sweep has, else numpy raises; figures as in
    `edge_parameter`.
    Source: physical optics along the path, Fresnel integrals.
    >>> s = wet_strips(begin_km=[4.97], end_km=[5.03], count=[1], length_km=[10.0])
    >>> five, high = np.array([5.0]), np.array([28.5285])
    >>> print(abs(wet_share(strips=s, distance1_km=five, distance2_km=five, effective1_m=high,
    ...     effective2_m=high, frequency_ghz=5.8, radius_km=8494.667))[0])
    0.0316
    """
    share = np.where(strips.count < 0, 1.0 + 0j, 0.0)
    if seen is not None:
        everywhere = np.flatnonzero(strips.count < 0)
        share[everywhere] *= seen(everywhere, distance1_km[everywhere])
    for own in _in_parts(np.maximum(strips.count, 0)):
        share[own] += _of_strips(
            strips[own],
            distance1_km=distance1_km[own],
            distance2_km=distance2_km[own],
            effective1_m=effective1_m[own],
            effective2_m=effective2_m[own],
            frequency_ghz=np.broadcast_to(frequency_ghz, share.shape)[own],
            radius_km=np.broadcast_to(radius_km, share.shape)[own],
            seen=None if seen is None else _counted_from(seen, own.start),
        )
    share = share * (1 / np.fmax(np.abs(share), 1.0))
    return np.where(np.isnan(distance1_km), np.nan, share)


def _in_parts(counts):
    """Points in turn, of at most so many strips together, or one alone."""
    if not counts.any():
        return
    number = np.cumsum(counts) // PAIRS_AT_ONCE
    edges = [0, *(np.flatnonzero(np.diff(number)) + 1).tolist(), counts.size]
    yield from (slice(*pair) for pair in pairwise(edges))


def _counted_from(seen, first):
    return lambda point, km: seen(point + first, km)


def _of_strips(strips, *, seen, **columns):
    """Share that the strips give at each point; water all along gives none here."""
    point, strip = strips.pairs()
    geometry = {name: column[point] for name, column in columns.items()}
    begin, end = strips.begin_km[strip], strips.end_km[strip]
    begin_v, end_v = (edge_parameter(edge_km=edge, **geometry) for edge in (begin, end))
    holds_zone = (begin_v <= -FIRST_ZONE_V) & (end_v >= FIRST_ZONE_V)
    part = np.where(holds_zone, 1.0, strip_share(begin_v=begin_v, end_v=end_v))
    if seen is not None:
        part = part * seen(point, np.clip(geometry["distance1_km"], begin, end))
    return sum(
        kind * np.bincount(point, weights=values, minlength=strips.count.size)
        for kind, values in ((1.0, part.real), (1j, part.imag))
    )
