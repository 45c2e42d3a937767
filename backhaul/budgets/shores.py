"""Which water both antennas of a hop see: land and cover stand between, other water too."""

import numpy as np

from backhaul.budgets.hop_profiles import HopProfiles
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
        """Places and tops of what stands under a hop, and its length."""
        if hop not in self._blocks:
            place = int(np.searchsorted(self._ground.profiled, hop))
            own = part_of(self._ground.profile, slice(place, place + 1))
            rows = self._ground.rows_of(hop)
            fine = sampled(profile=own, water_m=self._ground.water_m[rows]).profile
            km, typed = fine.distance_km, own.distance_km
            kept = np.isin(km, typed) | (np.arange(km.size) % EVERY == 0)
            kept &= fine.inside
            self._blocks[hop] = km[kept], fine.surface_m[kept], float(km[-1])
        return self._blocks[hop]

    def reflects(self, hop, height1_m, height2_m):
        """A function for the sweep, over entries that each belong to a hop and have two heights.

        It says whether both legs of the ray to a place on the water pass over what stands there.
        None where nothing stands under any of the hops.
        """
        hop = np.asarray(hop)
        if not any(int(index) in self._broken for index in np.unique(hop)):
            return None

        def reflects(entry, k_factor, level_m, place_km):
            result = np.ones(len(entry), dtype=bool)
            order = np.argsort(entry, kind="stable")
            edges = np.searchsorted(entry[order], np.arange(len(hop) + 1))
            for own in np.unique(entry):
                if int(hop[own]) in self._broken:
                    at = order[edges[own] : edges[own + 1]]
                    ends = height1_m[own], height2_m[own]
                    ray = k_factor[at], level_m[at], place_km[at]
                    result[at] = _is_seen(self._of(int(hop[own])), ends, *ray)
            return result

        return reflects


def _is_seen(blocks, ends_m, k_factor, level_m, place_km):
    block_km, block_m, length_km = blocks
    known = ~np.isnan(place_km)
    place, level = np.where(known, place_km, length_km / 2)[:, None], level_m[:, None]
    first = block_km < place
    near_km = np.where(first, block_km, length_km - block_km)
    leg_km = np.where(first, place, length_km - place)
    antenna_m = np.where(first, *ends_m)
    bulge_m = 500 * near_km * (leg_km - near_km) / (EARTH_RADIUS_KM * k_factor[:, None])
    with np.errstate(divide="ignore", invalid="ignore"):
        ray_m = antenna_m + (level - antenna_m) * near_km / leg_km - bulge_m
    hidden = (block_m >= ray_m) & (np.abs(block_km - place) > BESIDE_KM)
    return known & ~hidden.any(axis=1)
