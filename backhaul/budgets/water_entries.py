"""What is swept of hops over water: each hop over each body, at its frequencies and polarizations."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from backhaul.budgets.hops import Hops
from backhaul.figures.arrays import number
from backhaul.path.waters import SEA, Body
from backhaul.physics import water_hops
from backhaul.physics.geometry import EARTH_RADIUS_KM
from backhaul.physics.spherical_earth import marginal_distance_km
from backhaul.physics.water import (
    FRESH_SALINITY_G_PER_KG,
    SEA_SALINITY_G_PER_KG,
    WATER_TEMPERATURE_C,
    wave_deviation_m,
)
from backhaul.physics.water_strips import fewer_strips, wet_strips

NO_LEVEL, NO_HEIGHT, FLOODED, UNSEEN = (
    "no water level",
    "no height",
    "flooded",
    "beyond the horizon",
)


class Entries(NamedTuple):
    """Arrays over what is swept."""

    rays: water_hops.Hops
    hop: np.ndarray
    #: the end that sends: 0 near, 1 far; whether it stands for the other way too
    way: np.ndarray
    is_shared: np.ndarray
    body: np.ndarray
    #: of the waves, a quarter of their significant height
    deviation_m: np.ndarray
    #: of the second antenna above the first at either end, 0 without; only the hearing end counts
    spacing1_m: np.ndarray
    spacing2_m: np.ndarray

    def at(self, index) -> "Entries":
        rays, *rest = self
        return Entries(rays.at(index), *(part[index] for part in rest))

    def by_direction(self) -> tuple[np.ndarray, np.ndarray]:
        """Directions, and the entry that counts for each; several may count for one."""
        own, shared = 2 * self.hop + self.way, np.flatnonzero(self.is_shared)
        return (
            np.append(own, 2 * self.hop[shared] + 1 - self.way[shared]),
            np.append(np.arange(len(own)), shared),
        )


class Over(NamedTuple):
    """A body of water under a hop: its stretches [km]; whether it comes to the ends at its highest."""

    hop: int
    body: int
    strips: tuple[tuple[float, float], ...]
    reaches: tuple[bool, bool]


def waters_under(hops: Hops) -> list[Over]:
    """Every body of water under every hop that has a profile."""
    ground, found = hops.ground, []
    if ground.profile is None:
        return found
    for hop in ground.profiled.tolist():
        if not ground.under[hop]:
            continue
        rows = ground.rows_of(hop)
        km, body = ground.profile.distance_km[rows], ground.body[rows]
        for own in ground.under[hop]:
            wet = np.flatnonzero(body[:-1] == own)
            begins = wet[np.append(True, np.diff(wet) > 1)]  # strips that touch are one
            ends = wet[np.append(np.diff(wet) > 1, True)] + 1
            strips = fewer_strips(begin_km=km[begins], end_km=km[ends], length_km=float(km[-1]))
            pairs = zip(*(edge.tolist() for edge in strips), strict=True)
            found.append(Over(hop, own, tuple(pairs), ground.reached_by(hop, own)))
    return found


def unknown_waters(hops: Hops, over: Sequence[Over]) -> tuple[np.ndarray, list[Over]]:
    """Why a hop over water has no figure, by hop; and the waters that are left to sweep.

    Water above an antenna that it does not reach to is no mirror.
    """
    why = np.full(len(hops.links), "", dtype="<U20")
    ground = hops.ground
    figures = np.column_stack([hops.height_m, hops.frequency_ghz, hops.distance_km])
    missing = np.isnan(figures).any(axis=1)
    for hop, under in enumerate(ground.under):
        if under and any(ground.bodies[body].high_m is None for body in under):
            why[hop] = NO_LEVEL
        elif under and missing[hop]:
            why[hop] = NO_HEIGHT
    left = []
    for water in over:
        if why[water.hop]:
            continue
        body: Body = ground.bodies[water.body]
        above = hops.height_m[water.hop] - body.high_m
        drowned = above <= 0
        if drowned.any():
            if (drowned & np.array(water.reaches)).any():
                why[water.hop] = FLOODED
            continue
        lowest = hops.height_m[water.hop] - body.lowest_m
        horizon = marginal_distance_km(
            height1_m=lowest[0],
            height2_m=lowest[1],
            radius_km=max(water_hops.OTHER_K_FACTORS) * EARTH_RADIUS_KM,
        )
        if hops.distance_km[water.hop] >= horizon:
            why[water.hop] = UNSEEN
            continue
        left.append(water)
    return why, [water for water in left if not why[water.hop]]


def entries_of(hops: Hops, over: Sequence[Over], worst_k: np.ndarray) -> Entries:
    """Each water at both frequencies and, where either may stand, both polarizations.

    Both ways are one entry where they have one frequency and no second antenna.
    """
    spacing = diversity_m(hops)
    chosen = [
        (place, way, vertical)
        for place, water in enumerate(over)
        for way in (0, 1)
        if not way or _differ(hops, water.hop, spacing)
        for vertical in (False, True)
        if hops.is_either[water.hop] or hops.is_vertical[water.hop] == vertical
    ]
    place, way, vertical = (np.array(part) for part in zip(*chosen, strict=True))
    waters = [over[n] for n in place]
    hop, body = np.array([w.hop for w in waters]), np.array([w.body for w in waters])
    bodies = [hops.ground.bodies[n] for n in body]
    beam = np.where(np.isnan(hops.beamwidth_deg), np.inf, hops.beamwidth_deg)
    rays = water_hops.hops_over_water(
        distance_km=hops.distance_km[hop],
        height1_m=hops.height_m[hop, 0],
        height2_m=hops.height_m[hop, 1],
        water_low_m=[b.lowest_m for b in bodies],
        water_high_m=[b.high_m for b in bodies],
        worst_k_factor=worst_k[hop],
        frequency_ghz=hops.frequency_ghz[hop, way],
        vertical=vertical.astype(bool),
        temperature_c=WATER_TEMPERATURE_C,
        salinity_g_per_kg=[
            SEA_SALINITY_G_PER_KG if b.kind == SEA else FRESH_SALINITY_G_PER_KG for b in bodies
        ],
        beamwidth1_deg=beam[hop, 0],
        beamwidth2_deg=beam[hop, 1],
        strips=_strips(waters, hops.distance_km[hop]),
    )
    waves = np.array([wave_deviation_m(wave_height_m=b.wave_height_m) for b in bodies])
    heard = 1 - way
    return Entries(
        rays,
        hop,
        way,
        np.array([not _differ(hops, n, spacing) for n in hop], dtype=bool),
        body,
        waves,
        np.where(heard == 0, spacing[hop, 0], 0.0),
        np.where(heard == 1, spacing[hop, 1], 0.0),
    )


def _differ(hops: Hops, hop: int, spacing) -> bool:
    sent = hops.frequency_ghz[hop]
    return bool(sent[0] != sent[1] or spacing[hop].any())


def diversity_m(hops: Hops) -> np.ndarray:
    """Second antenna above the first at both ends [m], 0 without or where the radio takes none."""
    figures = [
        [number(end.typed("diversity_m")) if end.takes_second_antenna else 0.0 for end in pair]
        for pair in hops.ends
    ]
    return np.nan_to_num(np.array(figures, dtype=float).reshape(-1, 2))


def _strips(waters: Sequence[Over], length_km: np.ndarray):
    """Strips of every entry; water from end to end counts as all along."""
    whole = [
        w.strips[0][0] <= 0 and w.strips[0][1] >= length
        for w, length in zip(waters, length_km.tolist(), strict=True)
    ]
    parts = [w.strips for w, all_along in zip(waters, whole, strict=True) if not all_along]
    flat = [strip for strips in parts for strip in strips]
    return wet_strips(
        begin_km=[begin for begin, _ in flat],
        end_km=[end for _, end in flat],
        count=[-1 if a else len(w.strips) for w, a in zip(waters, whole, strict=True)],
        length_km=length_km,
    )
