"""Which water both antennas of a hop see: land and cover stand between, other water too."""

import numpy as np

from backhaul.budgets.hop_profiles import HopProfiles
from backhaul.figures.arrays import distinct
from backhaul.path.waters import NO_WATER
from backhaul.physics.geometry import EARTH_RADIUS_KM
from backhaul.physics.sampling import part_of, sampled

#: What lies closer to the place of reflection than this does not hide it [km].
BESIDE_KM = 0.001
#: Beside the typed rows every so many samples are looked at.
EVERY = 5
#: Blocks, times levels and k, that are looked at together.
LOOKED_AT_ONCE = 1_000_000


class Shores:
    """What may hide the water under hops, by index; a hop over nothing but water has nothing."""

    def __init__(self, ground: HopProfiles):
        self._ground = ground
        self._blocks: dict[int, tuple] = {}
        if ground.profile is None:
            return
        solid = (ground.body == NO_WATER) | (ground.profile.cover_m > 0)
        last = ground.profile.start + ground.profile.count - 1
        solid[last] = False  # nothing begins at the far end
        self._broken = set(
            ground.profiled[np.logical_or.reduceat(solid, ground.profile.start)].tolist()
        )

    def _of(self, hop: int) -> tuple:
        """Places, tops, cover and water of what stands under a hop, and its length."""
        if hop not in self._blocks:
            place = int(np.searchsorted(self._ground.profiled, hop))
            own = part_of(self._ground.profile, hops=slice(place, place + 1))
            rows = self._ground.rows_of(hop)
            found = sampled(profile=own, water_m=self._ground.water_m[rows])
            fine, typed = found.profile, own.distance_km
            km = fine.distance_km
            kept = np.isin(km, typed) | (np.arange(km.size) % EVERY == 0)
            kept &= fine.inside
            row = np.clip(np.searchsorted(typed, km, side="right") - 1, 0, typed.size - 1)
            body = np.where(found.wet, self._ground.body[rows][row], NO_WATER)
            columns = (km, fine.surface_m, fine.cover_m, body)
            self._blocks[hop] = *(column[kept] for column in columns), float(km[-1])
        return self._blocks[hop]

    def _against(self, hop: int, body: int) -> tuple:
        """What may hide a body of water: land, cover, other water; and what floats on it.

        Tops count from the datum, on the water itself from its level.
        """
        km, top, cover, wet, length = self._of(hop)
        own = wet == body
        kept = ~own | (cover > 0)
        return km[kept], np.where(own, cover, top)[kept], own[kept], length

    def reflects(self, hop, body, height1_m, height2_m):
        """A function for the sweep, over entries: each a hop over a body, with two heights.

        It says whether both legs of the ray to a place on the water pass over what stands there.
        None where nothing stands under any of the hops.
        """
        hop = np.asarray(hop)
        if not any(int(index) in self._broken for index in distinct(hop)):
            return None

        def reflects(entry, k_factor, level_m, place_km):
            result = np.ones(len(entry), dtype=bool)
            order = np.argsort(entry, kind="stable")
            edges = np.searchsorted(entry[order], np.arange(len(hop) + 1))
            for own in distinct(entry):
                if int(hop[own]) in self._broken:
                    at = order[edges[own] : edges[own + 1]]
                    ends = height1_m[own], height2_m[own]
                    ray = k_factor[at], level_m[at], place_km[at]
                    blocks = self._against(int(hop[own]), int(body[own]))
                    result[at] = _is_seen(blocks, ends, *ray)
            return result

        return reflects


def _is_seen(blocks, ends_m, k_factor, level_m, place_km):
    """Whether both legs pass over all blocks.

    What floats moves with the level, what stands is looked at once for each k.
    """
    block_km, block_m, on_water, length_km = blocks
    seen = ~np.isnan(place_km)
    for floats, base_m in ((False, np.zeros(len(level_m))), (True, level_m)):
        kept = on_water == floats
        if kept.any():
            own = block_km[kept], block_m[kept], length_km
            at = np.flatnonzero(seen)
            ray = k_factor[at], base_m[at], level_m[at], place_km[at]
            seen[at] = _is_over(own, ends_m, *ray)
    return seen


def _is_over(blocks, ends_m, k_factor, base_m, level_m, place_km):
    """Whether both legs pass over blocks that stand on `base_m`; places of one k and base at once."""
    block_km, block_m, length_km = blocks
    over = np.zeros(len(level_m), dtype=bool)
    _, first, case = np.unique(
        np.column_stack([k_factor, base_m]), axis=0, return_index=True, return_inverse=True
    )
    case = case.ravel()
    order = np.argsort(case, kind="stable")
    edges = np.searchsorted(case[order], np.arange(len(first) + 1))
    step = max(1, LOOKED_AT_ONCE // block_km.size)
    for begin in range(0, len(first), step):
        own = first[begin : begin + step]
        at = order[edges[begin] : edges[begin + len(own)]]
        tops = block_m + base_m[own, None]
        curve = 500 / (EARTH_RADIUS_KM * k_factor[own])
        ray = curve, case[at] - begin, level_m[at]
        near = _passes(block_km, tops, ends_m[0], *ray, place_km[at])
        back = (length_km - block_km)[::-1], tops[:, ::-1], ends_m[1]
        over[at] = near & _passes(*back, *ray, length_km - place_km[at])
    return over


def _passes(block_km, tops_m, antenna_m, curve, case, level_m, place_km):
    """Whether rays from an antenna pass over all blocks short of their place on the water.

    block_km: rising; tops_m: case by case, block by block; curve: of the earth, m by km squared.
    As seen from the antenna, a block hides what lies behind it and not steeper above it.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        rise = (tops_m - antenna_m - curve[:, None] * block_km**2) / block_km
        ray = (level_m - antenna_m - curve[case] * place_km**2) / place_km
    rise = np.where(block_km > 0, rise, np.where(tops_m >= antenna_m, np.inf, -np.inf))
    highest = np.maximum.accumulate(rise, axis=1)
    before = np.searchsorted(block_km, place_km - BESIDE_KM, side="left")
    return (before == 0) | (highest[case, before - 1] < ray)
