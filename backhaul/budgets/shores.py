"""Where a hop's reflection comes from: water that both antennas see, or no mirror there."""

import numpy as np

from backhaul.budgets.hop_profiles import LAND
from backhaul.budgets.hops import Hops
from backhaul.figures.arrays import distinct
from backhaul.physics.geometry import EARTH_RADIUS_KM


class Shores:
    """Hops whose mirror may be broken by land or cover, by index."""

    def __init__(self, hops: Hops):
        self._strips: dict[int, tuple] = {}
        if hops.profile is None:
            return
        profile = hops.profile
        land = hops.surface == LAND
        broken = np.logical_or.reduceat(land | (profile.cover_m > 0), profile.start)
        for place in np.flatnonzero(broken & (hops.water[hops.profiled] != "")):
            points = slice(profile.start[place], profile.start[place] + profile.count[place])
            km, inside = profile.distance_km[points], profile.inside[points]
            wet, cover = ~land[points], profile.cover_m[points]
            blocks = inside & (~wet | (cover > 0))
            self._strips[int(hops.profiled[place])] = (
                (km[1:] + km[:-1]) / 2,
                wet,
                km[blocks],
                wet[blocks],
                np.where(wet, cover, profile.surface_m[points])[blocks],
                km[-1],
            )

    def __len__(self) -> int:
        return len(self._strips)

    def reflects(self, hop, height1_m, height2_m):
        """A function for the sweep, over entries that each belong to a hop and have two heights.

        It says where the point of reflection is water (the nearest point of the terrain is) and
        both legs of the ray pass over land and cover.
        """
        hop = np.asarray(hop)
        if not any(int(index) in self._strips for index in hop):
            return None

        def reflects(entry, k_factor, level_m, distance1_km):
            result = np.ones(len(entry), dtype=bool)
            order = np.argsort(entry, kind="stable")
            edges = np.searchsorted(entry[order], np.arange(len(hop) + 1))
            for own in distinct(entry):
                strip = self._strips.get(int(hop[own]))
                if strip is not None:
                    at = order[edges[own] : edges[own + 1]]
                    result[at] = _is_mirror(
                        strip,
                        height1_m[own],
                        height2_m[own],
                        k_factor[at],
                        level_m[at],
                        distance1_km[at],
                    )
            return result

        return reflects


def _is_mirror(strip, height1_m, height2_m, k_factor, level_m, mirror_km):
    borders, wet, block_km, on_water, block_m, length_km = strip
    known = ~np.isnan(mirror_km)
    mirror_km = np.where(known, mirror_km, length_km / 2)
    is_water = wet[np.searchsorted(borders, mirror_km)]
    reflection, level = mirror_km[:, None], level_m[:, None]
    first = block_km < reflection
    near_km = np.where(first, block_km, length_km - block_km)
    leg_km = np.where(first, reflection, length_km - reflection)
    antenna_m = np.where(first, height1_m, height2_m)
    bulge_m = 500 * near_km * (leg_km - near_km) / (EARTH_RADIUS_KM * k_factor[:, None])
    ray_m = antenna_m + (level - antenna_m) * near_km / leg_km - bulge_m
    top_m = np.where(on_water, level, 0.0) + block_m
    return known & is_water & ~(top_m >= ray_m).any(axis=1)
