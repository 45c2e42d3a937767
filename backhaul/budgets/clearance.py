"""Clearance of hops over ground, cover and the highest water, and what would mend it."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hops import Hops
from backhaul.path.waters import NO_WATER, SEA
from backhaul.physics import geometry
from backhaul.physics.diffraction import delta_bullington
from backhaul.physics.profiles import highest_obstacle, needed_raise
from backhaul.physics.sampling import Sampled, Tightest, in_batches, tightest_clearance
from backhaul.units import DECIMALS

#: Between the tropics P.530 asks for more (sec. 2.2.2.1, from memory).
TROPIC_DEG = 23.5
TROPICAL_HOP_KM = 30.0
#: An obstacle is isolated where what is about as high covers no more of the hop than this, and
#: is no water. P.530 gives no figure: our reading.
ISOLATED_SHARE = 0.1
ISOLATED, EXTENDED, TROPICAL = geometry.WORST_K_CLEARANCE_F1
CASES = tuple(geometry.WORST_K_CLEARANCE_F1)


class Clearances(NamedTuple):
    """Arrays over hops, NaN without a profile. With two frequencies the lower one counts.

    Where only the smooth earth between the sites was judged and is clear, the clearance is not
    known: NaN, and `assumed` says so.
    """

    median: Tightest
    worst: Tightest
    #: raise of both antennas alike, of the far or of the first one alone, that settles the rules
    raise_both_m: np.ndarray
    raise_far_m: np.ndarray
    raise_first_m: np.ndarray
    wanted_worst_f1: np.ndarray
    #: which of P.530's cases holds at the worst k
    case: np.ndarray
    diffraction_db: np.ndarray
    #: mean height of ground and water along the hop
    mean_terrain_m: np.ndarray
    assumed: np.ndarray

    def reported(self, worst_k: np.ndarray) -> dict[str, np.ndarray]:
        """The clearance that comes nearer to its limit: 0.6 F1 at median k, grazing at worst k."""
        median, worst = self.median, self.worst
        at_worst = worst.ratio < median.ratio - geometry.FREE_SPACE_CLEARANCE_F1
        known = ~np.isnan(median.ratio)
        return {
            "clearance_ratio": np.where(at_worst, worst.ratio, median.ratio),
            "clearance_at_km": np.where(at_worst, worst.at_km, median.at_km),
            "clearance_k": np.where(
                known, np.where(at_worst, worst_k, geometry.MEDIAN_K_FACTOR), np.nan
            ),
        }


class _Found(NamedTuple):
    """What the samples of a batch of hops give."""

    median: np.ndarray
    worst: np.ndarray
    raises: np.ndarray
    case: np.ndarray
    diffraction_db: np.ndarray
    mean_terrain_m: np.ndarray


def hop_clearances(hops: Hops, worst_k: np.ndarray) -> Clearances:
    """Clearances of all hops at the median and at the worst k, and diffraction at the median."""
    ground, count = hops.ground, len(hops.links)
    mean = hops.ground_m.mean(axis=1)
    case = np.full(count, "", dtype="<U40")
    columns = np.full((2 * len(Tightest._fields) + 4, count), np.nan)
    if ground.profile is None:
        return _made(columns, case, np.full(count, np.nan), mean, ground.assumed)
    index = ground.profiled
    known = ~(np.isnan(hops.height_m[index]) | np.isnan(hops.frequency_ghz[index])).any(axis=1)

    def work(samples: Sampled, own: slice) -> _Found:
        return _of_samples(hops, index[own], worst_k[index[own]], samples, known[own])

    found = in_batches(work, profile=ground.profile, water_m=ground.water_m)
    diffraction = np.full(count, np.nan)
    diffraction[index] = np.where(known, found.diffraction_db, np.nan)
    mean[index] = found.mean_terrain_m
    case[index] = np.array(CASES)[found.case]
    wanted = np.array([geometry.WORST_K_CLEARANCE_F1[name] for name in CASES])[found.case]
    tightest = np.concatenate([found.median.T, found.worst.T, found.raises.T, wanted[None]])
    columns[:, index] = np.where(known, tightest, np.nan)
    return _made(columns, case, diffraction, mean, ground.assumed)


def _made(columns, case, diffraction, mean, assumed) -> Clearances:
    """Arrays over hops; clear over nothing but the smooth earth is not known to be clear."""
    size = len(Tightest._fields)
    median, worst = Tightest(*columns[:size]), Tightest(*columns[size : 2 * size])
    free = (np.round(median.ratio, DECIMALS) >= geometry.FREE_SPACE_CLEARANCE_F1) & (
        np.round(worst.ratio, DECIMALS) >= 0
    )
    columns[:, assumed & free] = np.nan
    return Clearances(median, worst, *columns[2 * size :], case, diffraction, mean, assumed)


def _of_samples(hops: Hops, index, worst_k, samples: Sampled, known) -> _Found:
    heights = np.nan_to_num(hops.height_m[index])
    frequency = np.nan_to_num(hops.frequency_ghz[index], nan=1.0)
    ray = {
        "height1_m": heights[:, 0],
        "height2_m": heights[:, 1],
        "frequency_ghz": frequency.min(axis=1),
    }
    profile, median_k = samples.profile, geometry.MEDIAN_K_FACTOR
    median = tightest_clearance(samples=samples, k_factor=median_k, **ray)
    worst = tightest_clearance(samples=samples, k_factor=worst_k, **ray)
    case = _case(hops, index, worst_k, samples, ray)
    wanted = np.array([geometry.WORST_K_CLEARANCE_F1[name] for name in CASES])[case]
    # one end alone tilts the ray, and another case may hold then: the stricter stands
    stricter = np.maximum(wanted, geometry.WORST_K_CLEARANCE_F1[EXTENDED])
    by_median, by_worst, by_one = (
        needed_raise(profile=profile, k_factor=k, fraction_f1=share, **ray)
        for k, share in (
            (median_k, geometry.MEDIAN_CLEARANCE_F1),
            (worst_k, wanted),
            (worst_k, stricter),
        )
    )
    raises = (
        np.maximum(by_median.both_m, by_worst.both_m),
        np.maximum(by_median.second_m, by_one.second_m),
        np.maximum(by_median.first_m, by_one.first_m),
    )
    step = np.diff(profile.distance_km, prepend=0.0)
    step[profile.start] = 0.0
    before = np.roll(profile.ground_m, 1)
    area = profile.total(step * (profile.ground_m + before) / 2)
    return _Found(
        np.column_stack(median),
        np.column_stack(worst),
        np.column_stack(raises),
        case,
        _diffraction(hops, index, samples, heights, frequency),
        area / profile.length_km,
    )


def _case(hops: Hops, index, worst_k, samples: Sampled, ray) -> np.ndarray:
    """The case of P.530 that fits each profile: one isolated obstacle, extended, or tropical."""
    tropical = (np.abs(hops.middle_latitude[index]) < TROPIC_DEG) & (
        hops.distance_km[index] > TROPICAL_HOP_KM
    )
    highest = highest_obstacle(
        profile=samples.profile,
        k_factor=worst_k,
        fraction_f1=geometry.WORST_K_CLEARANCE_F1[EXTENDED],
        **ray,
    )
    short = highest.stretch_km <= ISOLATED_SHARE * hops.distance_km[index]
    isolated = short & ~samples.wet[highest.point]
    names = np.where(tropical, TROPICAL, np.where(isolated, ISOLATED, EXTENDED))
    return np.array([CASES.index(name) for name in names], dtype=int)


def _diffraction(hops: Hops, index, samples: Sampled, heights, frequency) -> np.ndarray:
    """Diffraction loss at the median k [dB].

    Horizontal polarization loses as much as vertical or more, so it stands for both; with two
    frequencies the worse counts.
    """
    ways = (0, 1) if (frequency[:, 0] != frequency[:, 1]).any() else (0,)
    found = [
        delta_bullington(
            profile=samples.profile,
            height1_m=heights[:, 0],
            height2_m=heights[:, 1],
            frequency_ghz=frequency[:, way],
            vertical=hops.is_vertical[index],
            sea_share=_sea_share(hops, index),
            radius_km=geometry.MEDIAN_K_FACTOR * geometry.EARTH_RADIUS_KM,
        ).loss_db
        for way in ways
    ]
    return np.max(found, axis=0)


def _sea_share(hops: Hops, index) -> np.ndarray:
    """Share of each hop that is sea [0 to 1]."""
    ground = hops.ground
    is_sea = np.array([body.kind == SEA for body in ground.bodies])
    profile = ground.profile
    at_sea = (ground.body != NO_WATER) & is_sea[ground.body]
    width = np.diff(profile.distance_km, append=0.0)
    width[profile.start + profile.count - 1] = 0.0
    share = profile.total(np.where(at_sea, width, 0.0)) / profile.length_km
    return share[np.searchsorted(ground.profiled, index)]
