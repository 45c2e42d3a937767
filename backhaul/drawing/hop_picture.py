"""A hop over its ground and water, in scale: both antennas, the ray, its Fresnel zone."""

from typing import NamedTuple

import numpy as np

from backhaul.checks.results import Results
from backhaul.drawing.looks import (
    COVER,
    GROUND,
    GROUND_EDGE,
    NAME,
    PALE,
    RAY,
    SMALL,
    WATER,
    WATER_EDGE,
    ZONE,
)
from backhaul.drawing.page import INK, WHITE, Page
from backhaul.path.links import LinkUse
from backhaul.path.waters import NO_WATER
from backhaul.physics import geometry
from backhaul.physics.sampling import part_of, sampled
from backhaul.spreadsheet.axis_scale import tidy_step

#: Room for the axis beside and below the picture, and above it [mm].
_BESIDE, _BELOW, _ABOVE = 9.0, 7.0, 7.5
#: Steps of an axis.
_STEPS_X, _STEPS_Y = 6, 5
_ZONE_POINTS = 81


class _Scale(NamedTuple):
    """From km and metres to the page."""

    x: float
    y: float
    width: float
    height: float
    whole_km: float
    low_m: float
    high_m: float

    def at(self, km, m) -> np.ndarray:
        """Points on the page, a row each."""
        across = self.x + np.asarray(km) / self.whole_km * self.width
        share = (np.asarray(m) - self.low_m) / (self.high_m - self.low_m)
        return np.column_stack((across, self.y + self.height * (1 - share)))


class _Hop(NamedTuple):
    """What is drawn, from the path's first end on."""

    km: np.ndarray
    surface_m: np.ndarray
    ground_m: np.ndarray
    body: np.ndarray
    water_m: np.ndarray
    heights_m: tuple[float, float]
    sites_m: tuple[float, float]
    frequency_ghz: float


class Space(NamedTuple):
    """Where a picture stands: its upper left corner and its size [mm]."""

    x: float
    y: float
    width: float
    height: float


def draw_hop(
    page: Page, evaluation: Results, use: LinkUse, space: Space, *, judged: bool = True
) -> None:
    """The picture of a hop; `judged` with how much of its Fresnel zone is clear."""
    x, y, width, height = space
    page.box(x, y, width, height, face=WHITE, edge="C5CFD4", pt=0.5)
    hop = _hop(evaluation, use)
    row = use.link.rows[0]
    names = (row.site or "", row.to_site or "")
    parts = (row.part, row.to_part or row.part)
    if use.is_reversed:
        names, parts = names[::-1], parts[::-1]
    for name, part, at, align in (
        (names[0], parts[0], x + 1.5, "left"),
        (names[1], parts[1], x + width - 1.5, "right"),
    ):
        name = page.letters.shortened(name, width / 2 - 3.0, NAME, bold=True)
        page.text(at, y + 2.2, name, NAME, bold=True, align=align)
        page.text(at, y + 4.6, part, SMALL, colour=PALE, align=align)
    if hop is None:
        why = evaluation.radio.hops.ground.reasons.get(use.link.index, "its heights are not known")
        page.text(x + width / 2, y + height / 2, f"not in scale: {why}", SMALL, align="center")
        middle = y + height * 0.4
        page.line([(x + 4, middle), (x + width - 4, middle)], RAY, dash=(2, 2))
        return
    scale = _scale(hop, x, y, width, height)
    _axes(page, scale, names[0])
    _ground(page, scale, hop, assumed=bool(evaluation.radio.clearance.assumed[use.link.index]))
    _ray(page, scale, hop)
    _masts(page, scale, hop)
    _tightest(page, scale, hop, evaluation, use, judged=judged)


def _hop(evaluation: Results, use: LinkUse) -> _Hop | None:
    hops, index = evaluation.radio.hops, use.link.index
    ground = hops.ground
    rows = ground.rows_of(index)
    heights = [float(h) for h in hops.height_m[index]]
    sites = [float(h) for h in hops.ground_m[index]]
    frequency = float(hops.frequency_ghz[index].min())
    if rows is None or np.isnan([*heights, *sites, frequency]).any():
        return None
    place = int(np.searchsorted(ground.profiled, index))
    own = part_of(ground.profile, hops=slice(place, place + 1))
    water = ground.water_m[rows]
    fine = sampled(profile=own, water_m=water)
    km = fine.profile.distance_km
    row = np.clip(np.searchsorted(own.distance_km, km, side="right") - 1, 0, own.count[0] - 2)
    body = ground.body[rows][row]
    bed = np.interp(km, own.distance_km, own.ground_m)
    surface = np.where(body == NO_WATER, fine.profile.surface_m, water[row])
    made = (km, surface, bed, body, np.where(body == NO_WATER, np.nan, water[row]))
    if use.is_reversed:
        made = (km[-1] - km[::-1], *(values[::-1] for values in made[1:]))
        heights, sites = heights[::-1], sites[::-1]
    return _Hop(*made, (heights[0], heights[1]), (sites[0], sites[1]), frequency)


def _scale(hop: _Hop, x: float, y: float, width: float, height: float) -> _Scale:
    """Metres from below the ground to above the antennas; even steps, with room."""
    low = min(np.nanmin(hop.surface_m), np.nanmin(hop.ground_m), *hop.sites_m)
    low = max(low, min(np.nanmin(hop.surface_m), *hop.sites_m) - 15)  # of a deep bed not all
    high = max(*hop.heights_m, np.nanmax(hop.surface_m))
    reach = max(high - low, 5.0)
    return _Scale(
        x + _BESIDE,
        y + _ABOVE,
        width - _BESIDE - 3.0,
        height - _ABOVE - _BELOW,
        float(hop.km[-1]),
        float(low - 0.08 * reach),
        float(high + 0.12 * reach),
    )


def _axes(page: Page, scale: _Scale, first: str) -> None:
    along, up = page.letters.along, page.letters.up
    metre, km = (unit.factor if unit else 1.0 for unit in (up, along))
    low, high = scale.low_m / metre, scale.high_m / metre
    step = tidy_step(high - low, _STEPS_Y)
    for level in np.arange(np.ceil(low / step) * step, high, step):
        _, at = scale.at(0, level * metre)[0]
        page.line([(scale.x - 0.8, at), (scale.x + scale.width, at)], "E4E9EB", pt=0.35, order=1.5)
        page.text(scale.x - 1.2, at, f"{level:g}", SMALL, colour=PALE, align="right")
    floor = scale.y + scale.height
    whole = scale.whole_km / km
    step = tidy_step(whole, _STEPS_X)
    for place in np.arange(0, whole + step / 1e3, step):
        at = scale.at(place * km, 0)[0][0]
        page.line([(at, floor), (at, floor + 0.8)], PALE, pt=0.4)
        page.text(
            at, floor + 2.3, f"{round(float(place), 6):g}", SMALL, colour=PALE, align="center"
        )
    stretch = (scale.height / (scale.high_m - scale.low_m)) / (
        scale.width / (scale.whole_km * 1000)
    )
    told = (
        f"{along.name if along else 'km'} from {first}; {up.name if up else 'm'} above the datum, "
        f"heights {stretch:.0f} times the lengths"
    )
    page.text(scale.x + scale.width, floor + 5.0, told, SMALL, colour=PALE, align="right")


def _bounded(scale: _Scale, levels: np.ndarray) -> np.ndarray:
    return np.clip(levels, scale.low_m, scale.high_m)


def _ground(page: Page, scale: _Scale, hop: _Hop, *, assumed: bool) -> None:
    """Ground with its cover, and water on its bed."""
    floor = [(scale.x + scale.width, scale.y + scale.height), (scale.x, scale.y + scale.height)]
    dry = hop.body == NO_WATER
    top = scale.at(hop.km, _bounded(scale, np.where(dry, hop.surface_m, hop.ground_m)))
    covered = dry & (hop.surface_m > hop.ground_m + 0.05)
    if covered.any():
        page.area([*top, *floor], COVER, order=2.0)
        top = scale.at(hop.km, _bounded(scale, hop.ground_m))
    page.area([*top, *floor], GROUND, order=2.1)
    page.line(top, GROUND_EDGE, pt=0.7, order=2.3, dash=(3, 2) if assumed else None)
    for first, last in _stretches(~dry):
        stop = min(last + 1, len(hop.km) - 1)
        own = slice(first, stop + 1)
        level = hop.water_m[first]
        over = scale.at(hop.km[own], np.full(stop + 1 - first, level))
        under = scale.at(hop.km[own], np.minimum(_bounded(scale, hop.ground_m[own]), level))
        under[:, 1] = np.where(hop.ground_m[own] >= level, scale.y + scale.height, under[:, 1])
        page.area([*over, *under[::-1]], WATER, order=2.2)
        page.line(over, WATER_EDGE, pt=0.9, order=2.4)
        _, at = scale.at(0, level)[0]
        if over[-1][0] - over[0][0] > 24:
            middle = over[0][0] + 0.78 * (over[-1][0] - over[0][0])
            page.text(
                middle,
                at + 2.0,
                page.letters.words(f"water {level:.1f} m"),
                SMALL,
                colour=WATER_EDGE,
                align="center",
            )


def _stretches(is_so: np.ndarray) -> list[tuple[int, int]]:
    """First and last place of every stretch that holds."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], is_so, [False])).astype(int)))
    return list(zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True))


def _ray(page: Page, scale: _Scale, hop: _Hop) -> None:
    """The ray and its first Fresnel zone over the flat picture, bent by k = 4/3."""
    km = np.linspace(0, scale.whole_km, _ZONE_POINTS)
    one, two = km, scale.whole_km - km
    ray = geometry.ray_height_m(
        distance1_km=one, distance2_km=two, height1_m=hop.heights_m[0], height2_m=hop.heights_m[1]
    ) - geometry.earth_bulge_m(
        distance1_km=one, distance2_km=two, k_factor=geometry.MEDIAN_K_FACTOR
    )
    zone = geometry.fresnel_radius_m(
        distance1_km=one, distance2_km=two, frequency_ghz=hop.frequency_ghz
    )
    edges = (_bounded(scale, ray + zone), _bounded(scale, ray - zone))
    outline = [*scale.at(km, edges[0]), *scale.at(km, edges[1])[::-1]]
    page.area(outline, ZONE, alpha=0.30, order=2.6)
    page.line(scale.at(km, ray), RAY, pt=1.0, order=3)


def _masts(page: Page, scale: _Scale, hop: _Hop) -> None:
    """Each antenna above the level that its height counts from."""
    for km, top, foot, align, by in (
        (0.0, hop.heights_m[0], hop.sites_m[0], "left", 1.4),
        (scale.whole_km, hop.heights_m[1], hop.sites_m[1], "right", -1.4),
    ):
        (across, high), (_, low) = scale.at([km, km], [top, foot])
        page.line([(across, low), (across, high)], INK, pt=1.5, order=3.5)
        page.box(across - 0.7, high - 0.9, 1.4, 1.8, face=INK, order=3.6)
        told = page.letters.words(f"{top - foot:g} m")
        page.text(across + by, high - 2.2, told, SMALL, bold=True, align=align)


def _tightest(
    page: Page, scale: _Scale, hop: _Hop, evaluation: Results, use: LinkUse, *, judged: bool
) -> None:
    """Where the least of the zone is clear, at the median k."""
    median, index = evaluation.radio.clearance.median, use.link.index
    at_km, ratio = float(median.at_km[index]), float(median.ratio[index])
    if at_km != at_km or ratio != ratio:
        return
    km = scale.whole_km - at_km if use.is_reversed else at_km
    ((across, at),) = scale.at([km], [_bounded(scale, np.array([float(median.top_m[index])]))[0]])
    page.area([(across, at), (across - 1.1, at + 2.0), (across + 1.1, at + 2.0)], RAY, order=4)
    told = f"tightest here: {ratio:.2f} F1 clear" if judged else "tightest here"
    is_left = across < scale.x + scale.width / 2
    align = "left" if is_left else "right"
    below = min(at + 3.4, scale.y + scale.height - 1.2)
    page.text(
        across + (0.4 if is_left else -0.4), below, told, SMALL, colour=RAY, bold=True, align=align
    )
