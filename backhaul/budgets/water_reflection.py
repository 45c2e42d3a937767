"""The water's mirror: the deepest fade over the range of water levels and refraction."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hop_profiles import SEA
from backhaul.budgets.hops import Hops
from backhaul.budgets.shores import Shores
from backhaul.design.model import Project
from backhaul.physics import water_levels
from backhaul.physics.geometry import EARTH_RADIUS_KM
from backhaul.physics.reflection import two_ray
from backhaul.physics.spherical_earth import marginal_distance_km
from backhaul.physics.water import (
    FRESH_SALINITY_G_PER_KG,
    SEA_SALINITY_G_PER_KG,
    WATER_TEMPERATURE_C,
    wave_deviation_m,
)

CURVE_POINTS = 121

DRY, NO_LEVEL, NO_HEIGHT, FLOODED, UNSEEN = (
    "dry",
    "no water level",
    "no height",
    "flooded",
    "beyond the horizon",
)


class WaterReflection(NamedTuple):
    """Arrays over hops. The loss is 0 where a known profile has no mirror, NaN where not known."""

    loss_db: np.ndarray
    at_water_m: np.ndarray
    at_k: np.ndarray
    #: the same place with the stated waves
    waves_loss_db: np.ndarray
    #: point of reflection from the first end, and how flat the ray meets it
    at_km: np.ndarray
    grazing_deg: np.ndarray
    #: move of the far antenna from null to null, and spacing of a second antenna there
    null_spacing_m: np.ndarray
    diversity_spacing_m: np.ndarray
    #: True where the sweep holds a mirror
    mirrored: np.ndarray
    #: why a hop over water has no figure, "" where it has one
    unknown: np.ndarray
    #: the hops of the sweep that gave the figures, and the hop that each belongs to
    swept: water_levels.Hops | None
    hop: np.ndarray
    deviation_m: float
    shores: Shores | None


def water_reflection(
    hops: Hops,
    worst_k: np.ndarray,
    project: Project,
    *,
    only: np.ndarray | None = None,
    shores: Shores | None = None,
) -> WaterReflection:
    """Sweep the two rays of every hop over water, at both frequencies, at the worse polarization.

    The water is taken as calm; `waves_loss_db` is the loss at the same place with the waves.
    only: indices of the hops to sweep, all if None.
    """
    count = len(hops.links)
    figures = {name: np.full(count, np.nan) for name in WaterReflection._fields[:8]}
    unknown = _unknown(hops, project)
    if hops.profile is not None:
        dry = hops.profiled[hops.water[hops.profiled] == ""]
        figures["loss_db"][dry] = figures["waves_loss_db"][dry] = 0.0
    over = np.flatnonzero((hops.water != "") & (unknown == ""))
    over = over if only is None else np.intersect1d(over, only)
    mirrored = np.zeros(count, dtype=bool)
    deviation = wave_deviation_m(wave_height_m=project.wave_height_m)
    if not len(over):
        return WaterReflection(*figures.values(), mirrored, unknown, None, over, deviation, None)
    shores = Shores(hops) if shores is None else shores
    entries, owner = _entries(hops, over, worst_k, project)
    hop = over[owner]
    deep = water_levels.deepest_fade(
        entries, reflects=shores.reflects(hop, entries.height1_m, entries.height2_m)
    )
    best = _deepest_of_each(deep.fade_db, owner, len(over))
    own = entries.at(best)
    with_waves = _with_waves(own, deep, best, deviation)
    flat = deep.mirrored[best]
    for name, values in (
        ("loss_db", deep.fade_db),
        ("at_water_m", deep.water_m),
        ("at_k", deep.k_factor),
        ("at_km", deep.distance1_km),
        ("grazing_deg", deep.grazing_deg),
        ("null_spacing_m", deep.null_spacing2_m),
        ("diversity_spacing_m", deep.diversity_spacing2_m),
    ):
        figures[name][over] = values[best]
    figures["loss_db"][over] = np.where(flat, figures["loss_db"][over], 0.0)
    figures["waves_loss_db"][over] = np.where(flat, with_waves, 0.0)
    mirrored[over] = flat
    return WaterReflection(*figures.values(), mirrored, unknown, own, over, deviation, shores)


def water_range_m(project: Project) -> tuple[float, float] | None:
    """Lowest and highest water, None where no highest is given; a blank lowest is the highest."""
    high = project.water_high_m
    if high is None:
        return None
    return (high if project.water_low_m is None else project.water_low_m), high


def _unknown(hops: Hops, project: Project) -> np.ndarray:
    """Why a hop over water has no figure."""
    why = np.full(len(hops.links), "", dtype="<U20")
    wet = hops.water != ""
    levels = water_range_m(project)
    lowest = hops.height_m.min(axis=1)
    why[wet & np.isnan(lowest)] = NO_HEIGHT
    if levels is None:
        why[wet] = NO_LEVEL
        return why
    known = wet & (why == "")
    flooded = known & ~(np.nan_to_num(lowest) > levels[1])
    why[flooded] = FLOODED
    above = np.where((known & ~flooded)[:, None], hops.height_m - levels[0], 1.0)
    horizon = marginal_distance_km(
        height1_m=above[:, 0],
        height2_m=above[:, 1],
        radius_km=max(water_levels.OTHER_K_FACTORS) * EARTH_RADIUS_KM,
    )
    why[known & ~flooded & (hops.distance_km >= horizon)] = UNSEEN
    why[wet & (np.isnan(hops.distance_km) | np.isnan(hops.frequency_ghz).any(axis=1))] = NO_HEIGHT
    return why


def _entries(hops: Hops, over: np.ndarray, worst_k: np.ndarray, project: Project):
    """What is swept: each hop at its frequencies and, where both stand, both polarizations."""
    places, frequencies, verticals = [], [], []
    for way in (0, 1):
        for vertical in (False, True):
            fits = hops.is_either[over] | (hops.is_vertical[over] == vertical)
            if way:
                fits &= hops.frequency_ghz[over, 0] != hops.frequency_ghz[over, 1]
            chosen = np.flatnonzero(fits)
            places.append(chosen)
            frequencies.append(hops.frequency_ghz[over[chosen], way])
            verticals.append(np.full(len(chosen), vertical))
    owner = np.concatenate(places)
    hop = over[owner]
    low, high = water_range_m(project)
    beam = np.where(np.isnan(hops.beamwidth_deg), np.inf, hops.beamwidth_deg)
    return water_levels.hops_over_water(
        distance_km=hops.distance_km[hop],
        height1_m=hops.height_m[hop, 0],
        height2_m=hops.height_m[hop, 1],
        water_low_m=low,
        water_high_m=high,
        worst_k_factor=worst_k[hop],
        frequency_ghz=np.concatenate(frequencies),
        vertical=np.concatenate(verticals),
        temperature_c=WATER_TEMPERATURE_C,
        salinity_g_per_kg=np.where(
            hops.water[hop] == SEA, SEA_SALINITY_G_PER_KG, FRESH_SALINITY_G_PER_KG
        ),
        beamwidth1_deg=beam[hop, 0],
        beamwidth2_deg=beam[hop, 1],
    ), owner


def _deepest_of_each(fade_db: np.ndarray, owner: np.ndarray, count: int) -> np.ndarray:
    """Index of the entry with the deepest fade of each owner; its first where none is known."""
    order = np.lexsort((-np.where(np.isnan(fade_db), -1.0, fade_db), owner))
    return order[np.searchsorted(owner[order], np.arange(count))]


def _with_waves(own, deep, best, deviation_m: float) -> np.ndarray:
    """Loss where the calm water takes most, with the stated waves [dB]."""
    level = np.where(deep.mirrored[best], deep.water_m[best], own.water_high_m)
    rays = rays_at(own, np.where(deep.mirrored[best], deep.k_factor[best], 1.0), level, deviation_m)
    return np.maximum(-rays.level_db, 0.0)


def rays_at(own, k_factor, level_m, deviation_m: float = 0.0):
    """Two rays of swept hops at given levels; all broadcast."""
    return two_ray(
        distance_km=own.distance_km,
        height1_m=own.height1_m - level_m,
        height2_m=own.height2_m - level_m,
        k_factor=k_factor,
        frequency_ghz=own.frequency_ghz,
        vertical=own.vertical,
        permittivity=own.permittivity,
        deviation_m=deviation_m,
        beamwidth1_deg=own.beamwidth1_deg,
        beamwidth2_deg=own.beamwidth2_deg,
    )


class ReflectionCurve(NamedTuple):
    """Level against free space [dB] by k and by water level, for a chart. NaN: no sight."""

    water_m: np.ndarray
    k_factor: np.ndarray
    #: calm water, [k, level]
    level_db: np.ndarray
    #: with the stated waves, [k, level]
    waves_level_db: np.ndarray


def reflection_curve(budget, index: int, *, points: int = CURVE_POINTS) -> ReflectionCurve | None:
    """The sweep of one hop; `budget` is an evaluation or its radio budget. None without a mirror.

    The level of the deepest fade is one of the points, so that the chart shows it. Where the
    reflection is screened or falls on land the level is 0 dB.
    """
    reflection = getattr(budget, "radio", budget).reflection
    if reflection.swept is None or not reflection.mirrored[index]:
        return None
    place = int(np.searchsorted(reflection.hop, index))
    own = reflection.swept.at(np.array([place]))
    low, high = float(own.water_low_m[0]), float(own.water_high_m[0])
    water = np.unique(
        np.append(np.linspace(low, high, points if high > low else 1), reflection.at_water_m[index])
    )
    k = np.array([own.worst_k_factor[0], *water_levels.OTHER_K_FACTORS])
    shown = []
    for deviation in (0.0, reflection.deviation_m):
        rays = rays_at(own, k[:, None], water[None, :], deviation)
        shown.append(
            np.where(_screened(reflection, index, own, k, water, rays), 0.0, rays.level_db)
        )
    return ReflectionCurve(water, k, *shown)


def _screened(reflection: WaterReflection, index: int, own, k, water, rays) -> np.ndarray:
    reflects = reflection.shores.reflects(np.array([index]), own.height1_m, own.height2_m)
    seen = ~np.isnan(rays.level_db)
    if reflects is None:
        return np.zeros(rays.level_db.shape, dtype=bool)
    flat = [np.broadcast_to(a, seen.shape).ravel() for a in (k[:, None], water[None, :])]
    there = reflects(np.zeros(seen.size, dtype=int), *flat, rays.distance1_km.ravel())
    return seen & ~there.reshape(seen.shape)
