"""The water's mirror: deepest fade over levels and refraction, and how often it takes a margin."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hops import Hops
from backhaul.budgets.shores import Shores
from backhaul.budgets.water_entries import Entries, entries_of, unknown_waters, waters_under
from backhaul.physics import water_hops, water_levels
from backhaul.physics.mirror_outage import deepest_fade_with_two, reflection_outage_percent

CURVE_POINTS = 121


class WaterReflection(NamedTuple):
    """Arrays over hops. The loss is 0 where a known profile has no mirror, NaN where not known."""

    #: worst of both directions
    loss_db: np.ndarray
    at_water_m: np.ndarray
    at_k: np.ndarray
    #: the same place with the stated waves
    waves_loss_db: np.ndarray
    #: point of reflection from the first end, and how flat the ray meets it
    at_km: np.ndarray
    grazing_deg: np.ndarray
    #: move of the far antenna from null to null
    null_spacing_m: np.ndarray
    #: True where the sweep holds a mirror; the body of water that takes most, as it is numbered
    mirrored: np.ndarray
    body: np.ndarray
    #: why a hop over water has no figure, "" where it has one
    unknown: np.ndarray
    #: by direction, with the second antenna of the end that hears
    way_loss_db: np.ndarray
    #: what was swept; the place of the one that gave a hop's figures, -1 without
    swept: Entries | None
    chosen: np.ndarray
    shores: Shores | None
    #: levels by water level, by direction; swept where they are asked for (`water_bands`)
    bands: dict[int, Any]


def water_reflection(hops: Hops, worst_k: np.ndarray) -> WaterReflection:
    """Sweep the two rays of every hop over its waters, at the worse polarization.

    The water is taken as calm; `waves_loss_db` is the loss at the same place with the waves.
    """
    count = len(hops.links)
    figures = {name: np.full(count, np.nan) for name in WaterReflection._fields[:7]}
    over = waters_under(hops)
    unknown, over = unknown_waters(hops, over)
    dry = np.isin(np.arange(count), hops.ground.profiled) & (unknown == "")
    dry &= ~hops.ground.assumed
    figures["loss_db"][dry] = figures["waves_loss_db"][dry] = 0.0
    mirrored, body = np.zeros(count, dtype=bool), np.full(count, -1)
    way_loss = np.repeat(figures["loss_db"], 2)
    chosen = np.full(count, -1)
    if not over:
        flags = mirrored, body, unknown, way_loss
        return WaterReflection(*figures.values(), *flags, None, chosen, None, {})
    shores = Shores(hops.ground)
    entries = entries_of(hops, over, worst_k)
    reflects = shores.reflects(
        entries.hop, entries.body, entries.rays.height1_m, entries.rays.height2_m
    )
    deep = water_levels.deepest_fade(entries.rays, reflects=reflects)
    fade = np.where(deep.mirrored, deep.fade_db, 0.0)
    two = np.flatnonzero((entries.spacing1_m != 0) | (entries.spacing2_m != 0))
    if len(two):
        fade[two] = np.nan_to_num(with_second_antenna(entries.at(two), shores))
    best = _deepest_of_each(fade, entries.hop)
    hop = entries.hop[best]
    chosen[hop] = best
    for name, values in (
        ("loss_db", fade),
        ("at_water_m", deep.water_m),
        ("at_k", deep.k_factor),
        ("at_km", deep.distance1_km),
        ("grazing_deg", deep.grazing_deg),
        ("null_spacing_m", deep.null_spacing2_m),
    ):
        figures[name][hop] = values[best]
    figures["waves_loss_db"][hop] = _with_waves(entries.at(best), deep, best, fade[best])
    mirrored[hop], body[hop] = deep.mirrored[best], entries.body[best]
    direction, own = entries.by_direction()
    way_loss[direction] = 0.0
    np.fmax.at(way_loss, direction, fade[own])
    flags = mirrored, body, unknown, way_loss
    return WaterReflection(*figures.values(), *flags, entries, chosen, shores, {})


def with_second_antenna(entries: Entries, shores: Shores) -> np.ndarray:
    """Deepest fade of entries with the second antenna of the end that hears [dB]."""
    rays = entries.rays
    return deepest_fade_with_two(
        rays,
        spacing1_m=entries.spacing1_m,
        spacing2_m=entries.spacing2_m,
        reflects=shores.reflects(entries.hop, entries.body, rays.height1_m, rays.height2_m),
    )


def _deepest_of_each(fade_db: np.ndarray, hop: np.ndarray) -> np.ndarray:
    """Index of the entry with the deepest fade of each hop."""
    order = np.lexsort((-np.where(np.isnan(fade_db), -1.0, fade_db), hop))
    return order[np.unique(hop[order], return_index=True)[1]]


def _with_waves(own: Entries, deep, best, fade_db) -> np.ndarray:
    """Loss where the calm water takes most, with the stated waves [dB]."""
    flat = deep.mirrored[best]
    level = np.where(flat, deep.water_m[best], own.rays.water_high_m)
    rough = own.rays._replace(deviation_m=own.deviation_m)
    k = np.where(flat, deep.k_factor[best], 1.0)
    rays = water_levels.rays_at(rough, owner=np.arange(len(best)), k_factor=k, level_m=level)
    loss = np.maximum(-np.nan_to_num(rays.level_db), 0.0)
    return np.where(flat, np.minimum(loss, fade_db), 0.0)


def reflection_outage(
    reflection: WaterReflection, clear_margin_db: np.ndarray, mode_start: np.ndarray
) -> np.ndarray:
    """Share of levels and k in which the mirror takes more than each mode's margin [%].

    clear_margin_db: of all modes, flat, before the mirror is taken off; modes of direction d stand
    at mode_start[d] : mode_start[d + 1]. Several waters under a hop add.
    """
    outage = np.zeros(len(clear_margin_db))
    if reflection.swept is None:
        return outage
    direction, entry = reflection.swept.by_direction()
    width = int(np.diff(mode_start).max(initial=0))
    place = mode_start[direction][:, None] + np.arange(width)
    inside = place < mode_start[direction + 1][:, None]
    place = np.where(inside, place, 0)
    margin = np.where(inside, np.nan_to_num(clear_margin_db[place], nan=-1.0), -1.0)
    loss = reflection.way_loss_db[direction][:, None]
    rows = np.flatnonzero(((margin >= 0) & (margin < loss)).any(axis=1))
    if not len(rows):
        return outage
    own = reflection.swept.at(entry[rows])
    share = reflection_outage_percent(
        own.rays,
        margin_db=margin[rows],
        spacing1_m=own.spacing1_m,
        spacing2_m=own.spacing2_m,
        reflects=reflection.shores.reflects(
            own.hop, own.body, own.rays.height1_m, own.rays.height2_m
        ),
    )
    # the worse polarization of each water
    kind = np.unique(np.column_stack([direction[rows], own.body]), axis=0, return_inverse=True)
    worst = np.zeros((len(kind[0]), width))
    np.maximum.at(worst, kind[1].ravel(), share)
    for (way, _), shares in zip(kind[0].tolist(), worst, strict=True):
        modes = slice(int(mode_start[way]), int(mode_start[way + 1]))
        outage[modes] = np.minimum(outage[modes] + shares[: modes.stop - modes.start], 100.0)
    return outage


class ReflectionCurve(NamedTuple):
    """Level against free space [dB] by k and by water level, for a chart. NaN: no sight."""

    water_m: np.ndarray
    k_factor: np.ndarray
    #: calm water, [k, level]
    level_db: np.ndarray
    #: with the stated waves, [k, level]
    waves_level_db: np.ndarray
    has_waves: bool


def reflection_curve(budget, index: int, *, points: int = CURVE_POINTS) -> ReflectionCurve | None:
    """The sweep of one hop; `budget` is an evaluation or its radio budget. None without a mirror.

    The level of the deepest fade is one of the points, so that the chart shows it. Where the
    reflection is screened or falls on land the level is 0 dB.
    """
    reflection = getattr(budget, "radio", budget).reflection
    if reflection.swept is None or not reflection.mirrored[index]:
        return None
    own = reflection.swept.at(reflection.chosen[[index]])
    low, high = float(own.rays.water_low_m[0]), float(own.rays.water_high_m[0])
    water = np.unique(
        np.append(np.linspace(low, high, points if high > low else 1), reflection.at_water_m[index])
    )
    k = np.array([own.rays.worst_k_factor[0], *water_hops.OTHER_K_FACTORS])
    wide_k, wide_level = (
        np.broadcast_to(a, (k.size, water.size)).ravel() for a in (k[:, None], water)
    )
    reflects = reflection.shores.reflects(own.hop, own.body, own.rays.height1_m, own.rays.height2_m)
    owner = np.zeros(wide_k.size, dtype=int)
    shown = [
        water_levels.rays_at(
            own.rays._replace(deviation_m=deviation),
            owner=owner,
            k_factor=wide_k,
            level_m=wide_level,
            reflects=reflects,
        ).level_db.reshape(k.size, water.size)
        for deviation in (np.zeros(1), own.deviation_m)
    ]
    return ReflectionCurve(water, k, *shown, bool(own.deviation_m[0] > 0))
