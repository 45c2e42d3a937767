"""Hops over levels from a file: is what they clear more than the file may be wrong?"""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.clearance import Clearances
from backhaul.budgets.hops import Hops
from backhaul.design.model import Design
from backhaul.path.terrain import Origin, origin_of, terrain_of
from backhaul.path.waters import NO_WATER
from backhaul.physics import geometry
from backhaul.units import M_PER_KM

#: So near an end the ground is seen from it: what a file says there decides nothing [m]. Our
#: reading.
SEEN_FROM_END_M = 100.0


class Unsure(NamedTuple):
    """A hop that would not clear its ground if that were higher by the file's error."""

    error_m: float
    origin: Origin
    #: largest radius of the first Fresnel zone on the hop [m]
    largest_f1_m: float
    #: where it is tightest, what is clear there, and what is asked for
    at_km: float
    clear_m: float
    wanted_m: float

    @property
    def spare_m(self) -> float:
        """What is left where the ground is higher by the error [m], negative here."""
        return self.clear_m - self.error_m - self.wanted_m


def unsure_clearances(
    hops: Hops, clear: Clearances, worst_k: np.ndarray, design: Design
) -> dict[int, Unsure]:
    """By hop: where the first Fresnel zone is smaller than the error of the levels below it.

    A wider zone is judged by P.530's own rules, which leave room for such errors.
    """
    found = {}
    for index in hops.ground.profiled[~hops.ground.assumed[hops.ground.profiled]].tolist():
        terrain = terrain_of(hops.links[index], hops.rows[index], design)
        if terrain is None or terrain.error_m is None:
            continue
        unsure = _of_hop(hops, clear, float(worst_k[index]), index, terrain)
        if unsure is not None:
            found[index] = unsure
    return found


def _of_hop(hops: Hops, clear, worst_k: float, index: int, terrain) -> Unsure | None:
    ground, rows = hops.ground, hops.ground.rows_of(index)
    km = ground.profile.distance_km[rows]
    heights = [float(height) for height in hops.height_m[index]]
    frequency = float(hops.frequency_ghz[index].min())
    if np.isnan([*heights, frequency]).any():
        return None
    whole, error_m = float(km[-1]), float(np.nanmax(terrain.error_m))
    largest = float(
        geometry.fresnel_radius_m(
            distance1_km=whole / 2, distance2_km=whole / 2, frequency_ghz=frequency
        )
    )
    error = np.full(len(km), np.nan)
    error[len(km) - len(terrain.error_m) :] = terrain.error_m
    away_km = SEEN_FROM_END_M / M_PER_KM
    judged = (km > away_km) & (km < whole - away_km) & (error > 0)
    judged &= ground.body[rows] == NO_WATER
    if largest >= error_m or not judged.any():
        return None
    one, two = km[judged], whole - km[judged]
    top = (ground.profile.ground_m[rows] + ground.profile.cover_m[rows])[judged]
    ray = geometry.ray_height_m(
        distance1_km=one, distance2_km=two, height1_m=heights[0], height2_m=heights[1]
    )
    radius = geometry.fresnel_radius_m(distance1_km=one, distance2_km=two, frequency_ghz=frequency)
    tightest: Unsure | None = None
    for k, share in (
        (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1),
        (worst_k, float(clear.wanted_worst_f1[index])),
    ):
        free = ray - top - geometry.earth_bulge_m(distance1_km=one, distance2_km=two, k_factor=k)
        left = free - error[judged] - share * radius
        place = int(np.argmin(left))
        here = Unsure(
            float(error[judged][place]),
            origin_of(terrain),
            largest,
            *(float(values[place]) for values in (one, free, share * radius)),
        )
        if left[place] < 0 and (tightest is None or here.spare_m < tightest.spare_m):
            tightest = here
    return tightest
