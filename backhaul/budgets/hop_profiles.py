"""Profiles of hops: terrain as typed, or open water where the project gives its level."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from backhaul.design.model import Design
from backhaul.figures.arrays import number
from backhaul.path.terrain import terrain_of
from backhaul.physics.profiles import Profiles, profiles
from backhaul.physics.water import wave_crest_m
from backhaul.units import M_PER_KM

LAND, SEA, FRESH = "land", "sea", "fresh"
#: Stands for an end whose ground is not known; ends are never obstacles.
LOWEST_GROUND_M = -500.0
#: Points along a hop over water without terrain: step of at most d/200 (common practice).
WATER_POINTS = 201

NO_DISTANCE = "the distance is not known: give coordinates or length_m"
NO_PROFILE = "neither terrain nor a water level is given"
NO_LEVEL = "the terrain has water, but water_high_m is not given"


class HopProfiles(NamedTuple):
    """Profiles of the hops that have one, water at its highest with its waves."""

    #: "sea", "fresh" or "" by hop
    water: np.ndarray
    #: hops that have a profile, by index
    profiled: np.ndarray
    profile: Profiles | None
    #: "land", "sea", "fresh" by point of the profile
    surface: np.ndarray
    #: why a hop has no profile
    reasons: Mapping[int, str]


def hop_profiles(links, rows, design: Design, distance_km: np.ndarray) -> HopProfiles:
    """Profiles of all hops that have one; distances run from 0 to the length of the hop."""
    project = design.project
    crest = None
    if project.water_high_m is not None:
        crest = project.water_high_m + wave_crest_m(wave_height_m=project.wave_height_m)
    water = np.full(len(rows), "", dtype="<U5")
    reasons: dict[int, str] = {}
    profiled, flat = [], []
    for index, (link, row) in enumerate(zip(links, rows, strict=True)):
        terrain = terrain_of(link, row, design)
        if terrain is not None:
            wet = np.asarray(terrain.surface)[np.asarray(terrain.surface) != LAND]
            if len(wet):
                water[index] = wet[0]
        elif crest is not None:
            water[index] = project.water or SEA
        if np.isnan(distance_km[index]):
            reasons[index] = NO_DISTANCE
        elif terrain is None and crest is None:
            reasons[index] = NO_PROFILE
        elif terrain is not None and water[index] and crest is None:
            reasons[index] = NO_LEVEL
        else:
            start_m = number(getattr(design.sites.get(row.site), "ground_m", None))
            profiled.append(index)
            flat.append(
                _open_water(distance_km[index], crest, water[index])
                if terrain is None
                else _terrain(terrain, distance_km[index], crest, start_m)
            )
    if not profiled:
        return HopProfiles(water, np.zeros(0, dtype=int), None, np.zeros(0, dtype="<U5"), reasons)
    km, ground, cover, surface = (np.concatenate(column) for column in zip(*flat, strict=True))
    made = profiles(
        distance_km=km, ground_m=ground, cover_m=cover, count=[len(part[0]) for part in flat]
    )
    return HopProfiles(water, np.array(profiled, dtype=int), made, surface, reasons)


def _open_water(distance_km: float, level_m: float, kind: str):
    km = np.linspace(0.0, distance_km, WATER_POINTS)
    return km, np.full(km.shape, level_m), np.zeros(km.shape), np.full(km.shape, kind)


def _terrain(terrain, distance_km: float, level_m: float | None, start_m: float):
    """Typed points, scaled to the hop, from its first end on; water at its level."""
    typed_km = np.asarray(terrain.distance_m, dtype=float) / M_PER_KM
    km = typed_km * (distance_km / typed_km[-1])
    surface = np.asarray(terrain.surface).astype("<U5")
    ground = np.asarray(terrain.ground_m, dtype=float)
    ground = np.where(surface == LAND, ground, np.nan if level_m is None else level_m)
    cover = np.nan_to_num(np.asarray(terrain.cover_m, dtype=float))
    if km[0] > 0:
        km = np.concatenate([[0.0], km])
        ground = np.concatenate([[start_m], ground])
        cover = np.concatenate([[0.0], cover])
        surface = np.concatenate([[LAND], surface])
    # only an end may lack its ground, and an end is no obstacle
    return km, np.where(np.isnan(ground), LOWEST_GROUND_M, ground), cover, surface
