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
    block_km, block_m, on_water, length_km = blocks
    known = ~np.isnan(place_km)
    place, level = np.where(known, place_km, length_km / 2)[:, None], level_m[:, None]
    first = block_km < place
    near_km = np.where(first, block_km, length_km - block_km)
    leg_km = np.where(first, place, length_km - place)
    antenna_m = np.where(first, *ends_m)
    bulge_m = 500 * near_km * (leg_km - near_km) / (EARTH_RADIUS_KM * k_factor[:, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        ray_m = antenna_m + (level - antenna_m) * near_km / leg_km - bulge_m
    top_m = block_m + np.where(on_water, level, 0.0)
    hidden = (top_m >= ray_m) & (np.abs(block_km - place) > BESIDE_KM)
    return known & ~hidden.any(axis=1)
