"""What lies under hops: terrain as typed, the water that a surface names, or the smooth earth."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.design.columns import LAND
from backhaul.design.model import Design
from backhaul.figures.arrays import distinct, numbers
from backhaul.path.terrain import terrain_of
from backhaul.path.waters import NO_WATER, Body, bodies_of
from backhaul.physics.profiles import Profiles, profiles
from backhaul.physics.sampling import GAP_SHARE, LARGEST_GAP_KM
from backhaul.units import M_PER_KM

NO_DISTANCE = "the distance is not known: give coordinates or length_m"
NO_GROUND = "neither terrain nor ground_m of both sites is given"
NO_LEVEL = "{} lies under the hop, and its highest level is not given"


class HopProfiles(NamedTuple):
    """Rows under the hops; each row holds to the next, ground runs straight between two."""

    #: bodies of water of the design, as `body` numbers them
    bodies: tuple[Body, ...]
    #: hops that have a profile, by index
    profiled: np.ndarray
    #: their rows, None without any; in water the bed
    profile: Profiles | None
    #: by row: body of water, `NO_WATER` on land; its highest level with waves, NaN on land
    body: np.ndarray
    water_m: np.ndarray
    #: by hop: nothing tells what lies under it, and the smooth earth between its sites stands in
    assumed: np.ndarray
    #: why a hop has no profile
    reasons: Mapping[int, str]
    #: bodies of water under each hop, whether or not it has a profile
    under: tuple[tuple[int, ...], ...]

    def reached_by(self, hop: int, body: int) -> tuple[bool, bool]:
        """Whether a body of water under a hop comes to its ends at its highest.

        It does where it lies at the end, and where nothing between stands above its level.
        """
        rows, high_m = self.rows_of(hop), self.bodies[body].high_m
        if rows is None or high_m is None:
            return False, False
        wet = np.flatnonzero(self.body[rows][:-1] == body)
        dry_m = self.profile.ground_m[rows]
        before, after = dry_m[: wet[0]], dry_m[wet[-1] + 1 :]
        if len(after) == 1:
            after = after[:0]  # water up to the end
        return bool((before < high_m).all()), bool((after < high_m).all())

    def end_level_m(self, hop: int, end: int) -> float:
        """Ground or highest water at an end of a hop that has a profile [m]."""
        row = list(range(*self.rows_of(hop).indices(len(self.body))))[-end]
        water_m = float(self.water_m[row])
        return float(self.profile.ground_m[row]) if np.isnan(water_m) else water_m

    def rows_of(self, hop: int) -> slice | None:
        """The rows of one hop, None where it has no profile."""
        place = int(np.searchsorted(self.profiled, hop))
        if self.profile is None or place == len(self.profiled) or self.profiled[place] != hop:
            return None
        start = int(self.profile.start[place])
        return slice(start, start + int(self.profile.count[place]))


class _Rows(NamedTuple):
    """Rows under one hop."""

    km: np.ndarray
    level_m: np.ndarray
    cover_m: np.ndarray
    body: np.ndarray


def hop_profiles(links, rows, design: Design, distance_km, ground_m) -> HopProfiles:
    """Rows under all hops; distances run from 0 to the length of the hop.

    ground_m: of the two sites, a column an end.
    """
    named = bodies_of(design)
    bodies = tuple(dict.fromkeys(named.values()))
    number = {name: bodies.index(body) for name, body in named.items()} | {LAND: NO_WATER}
    crest = numbers(body.crest_m for body in bodies)
    assumed = np.zeros(len(rows), dtype=bool)
    reasons: dict[int, str] = {}
    profiled, found, under = [], [], []
    for index, (link, row) in enumerate(zip(links, rows, strict=True)):
        terrain, length = terrain_of(link, row, design), distance_km[index]
        if terrain is not None:
            made = _typed(terrain, length, ground_m[index], number, crest)
        else:
            made = _even(number[row.surface or LAND], length, ground_m[index])
        wet = tuple(int(body) for body in distinct(made.body[:-1]) if body != NO_WATER)
        under.append(wet)
        unknown = [body for body in wet if np.isnan(crest[body])]
        if np.isnan(length):
            reasons[index] = NO_DISTANCE
        elif unknown:
            reasons[index] = NO_LEVEL.format(bodies[unknown[0]].title)
        elif np.isnan(made.level_m).any():
            reasons[index] = NO_GROUND
        else:
            assumed[index] = terrain is None and not wet
            profiled.append(index)
            found.append(made)
    own = np.array(profiled, dtype=int)
    if not found:
        none = np.zeros(0, dtype=int), np.zeros(0)
        return HopProfiles(bodies, own, None, *none, assumed, reasons, tuple(under))
    km, level, cover, body = (np.concatenate(column) for column in zip(*found, strict=True))
    made = profiles(
        distance_km=km, ground_m=level, cover_m=cover, count=[len(one.km) for one in found]
    )
    water = np.where(body == NO_WATER, np.nan, crest[body])
    return HopProfiles(bodies, own, made, body, water, assumed, reasons, tuple(under))


def _even(body: int, length_km: float, ground_m) -> _Rows:
    """One surface from end to end: water, or the smooth earth through both sites."""
    level = np.array(ground_m, dtype=float) if body == NO_WATER else np.zeros(2)
    return _Rows(np.array([0.0, length_km]), level, np.zeros(2), np.full(2, body))


def _typed(terrain: Any, length_km: float, ground_m, number, crest) -> _Rows:
    """Typed rows, scaled to the hop, from its first end on.

    An end whose ground is blank stands at its site's level, else as the row beside it. A blank bed
    is as the water's level.
    """
    typed_km = np.asarray(terrain.distance_m, dtype=float) / M_PER_KM
    km = typed_km * (length_km / typed_km[-1])
    body = np.array([number[name] for name in terrain.surface])
    level = np.array(terrain.ground_m, dtype=float)
    cover = np.nan_to_num(np.asarray(terrain.cover_m, dtype=float))
    if typed_km[0] > 0:
        km, level = np.append(0.0, km), np.append(ground_m[0], level)
        cover, body = np.append(0.0, cover), np.append(NO_WATER, body)
    blank = (body != NO_WATER) & np.isnan(level)
    level[blank] = np.nan_to_num(crest[body[blank]])
    for end, beside in ((0, 1), (-1, -2)):
        if np.isnan(level[end]):
            site_m = ground_m[end]
            level[end] = level[beside] if np.isnan(site_m) else site_m
    return _Rows(km, level, cover, body)


class Gap(NamedTuple):
    """The widest stretch of land between two rows of one hop [km], and what is fine."""

    width_km: float
    from_km: float
    allowed_km: float


def widest_gap(made: HopProfiles, hop: int) -> Gap | None:
    """The widest gap of one hop, None without typed rows: over water none is a guess."""
    rows = made.rows_of(hop)
    if rows is None or made.assumed[hop]:
        return None
    km = made.profile.distance_km[rows]
    width = np.where(made.body[rows][:-1] == NO_WATER, np.diff(km), 0.0)
    widest = int(np.argmax(width))
    allowed = min(LARGEST_GAP_KM, float(km[-1]) / GAP_SHARE)
    return Gap(float(width[widest]), float(km[widest]), allowed)
