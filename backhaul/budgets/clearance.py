"""Clearance of hops over ground, cover and the highest water, and what would mend it."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hop_profiles import LAND
from backhaul.budgets.hops import Hops
from backhaul.physics import geometry
from backhaul.physics.profiles import highest_obstacle, needed_raise, worst_clearance

#: Between the tropics P.530 asks for more (sec. 2.2.2.1, from memory).
TROPIC_DEG = 23.5
TROPICAL_HOP_KM = 30.0
#: An obstacle is isolated where what is about as high covers no more of the hop than this, and
#: is no water. P.530 gives no figure: our reading.
ISOLATED_SHARE = 0.1
ISOLATED, EXTENDED, TROPICAL = geometry.WORST_K_CLEARANCE_F1


class Clearances(NamedTuple):
    """Clearance of each hop as a share of the first Fresnel radius, NaN without a profile.

    With two frequencies the lower one counts: its zone is the wider.
    """

    median: np.ndarray
    median_at_km: np.ndarray
    worst: np.ndarray
    worst_at_km: np.ndarray
    #: raise of both antennas alike, of the far or of the first one alone, that settles the rules
    raise_both_m: np.ndarray
    raise_far_m: np.ndarray
    raise_first_m: np.ndarray
    wanted_worst_f1: np.ndarray
    #: which of P.530's cases holds at the worst k
    case: np.ndarray

    def reported(self, worst_k: np.ndarray) -> dict[str, np.ndarray]:
        """The clearance that comes nearer to its limit: 0.6 F1 at median k, grazing at worst k."""
        at_worst = self.worst < self.median - geometry.FREE_SPACE_CLEARANCE_F1
        known = ~np.isnan(self.median)
        return {
            "clearance_ratio": np.where(at_worst, self.worst, self.median),
            "clearance_at_km": np.where(at_worst, self.worst_at_km, self.median_at_km),
            "clearance_k": np.where(
                known, np.where(at_worst, worst_k, geometry.MEDIAN_K_FACTOR), np.nan
            ),
        }


def hop_clearances(hops: Hops, worst_k: np.ndarray) -> Clearances:
    """Clearances of all hops at the median and at the worst k."""
    columns = [np.full(len(hops.links), np.nan) for _ in Clearances._fields[:-1]]
    case = np.full(len(hops.links), "", dtype="<U40")
    if hops.profile is None:
        return Clearances(*columns, case)
    index = hops.profiled
    heights = {
        "profile": hops.profile,
        "height1_m": hops.height_m[index, 0],
        "height2_m": hops.height_m[index, 1],
        "frequency_ghz": hops.frequency_ghz[index].min(axis=1),
    }
    median = worst_clearance(k_factor=geometry.MEDIAN_K_FACTOR, **heights)
    worst = worst_clearance(k_factor=worst_k[index], **heights)
    case[index] = _case(hops, worst_k[index], heights)
    wanted = np.array([geometry.WORST_K_CLEARANCE_F1[name] for name in case[index]])
    # one end alone tilts the ray, and another case may hold then: the stricter stands
    stricter = np.maximum(wanted, geometry.WORST_K_CLEARANCE_F1[EXTENDED])
    median_raise, worst_raise, one_raise = (
        needed_raise(k_factor=k, fraction_f1=share, **heights)
        for k, share in (
            (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1),
            (worst_k[index], wanted),
            (worst_k[index], stricter),
        )
    )
    found = (
        median.ratio,
        median.at_km,
        worst.ratio,
        worst.at_km,
        np.maximum(median_raise.both_m, worst_raise.both_m),
        np.maximum(median_raise.second_m, one_raise.second_m),
        np.maximum(median_raise.first_m, one_raise.first_m),
        wanted,
    )
    for column, values in zip(columns, found, strict=True):
        column[index] = values
    return Clearances(*columns, case)


def _case(hops: Hops, worst_k: np.ndarray, heights) -> np.ndarray:
    """The case of P.530 that fits each profile: tropical, one isolated obstacle, or extended."""
    index = hops.profiled
    tropical = (np.abs(hops.middle_latitude[index]) < TROPIC_DEG) & (
        hops.distance_km[index] > TROPICAL_HOP_KM
    )
    highest = highest_obstacle(
        k_factor=worst_k, fraction_f1=geometry.WORST_K_CLEARANCE_F1[EXTENDED], **heights
    )
    isolated = (highest.stretch_km <= ISOLATED_SHARE * hops.distance_km[index]) & (
        hops.surface[highest.point] == LAND
    )
    return np.where(tropical, TROPICAL, np.where(isolated, ISOLATED, EXTENDED))
