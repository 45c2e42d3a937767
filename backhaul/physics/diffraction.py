"""Diffraction over edges, terrain and the smooth earth: ITU-R P.526, many profiles at once."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import wavelength_m
from backhaul.physics.spherical_earth import spherical_loss_db

METHODS = (
    Method("diffraction", "ITU-R P.526", "15 equations (16 in force, 11/2025), delta-Bullington"),
    Method("knife edge", "ITU-R P.526", "15 sec. 4.1 eq. (31)"),
)
RANGES = {"nu": (-0.78, np.inf)}  # P.526 sec. 4.1: below it the loss is nil

CELL_FORMULAS = ("knife_edge_loss_db",)

# P.526 for "no other information"; 4/3 of the mean radius is 8494.7 km, up to 0.06 dB apart.
EFFECTIVE_RADIUS_KM = 8500.0
LOWEST_NU = -1.0  # any nu below -0.78 gives no loss; keeps profiles without a point finite


def knife_edge_loss_db(*, nu: Figure) -> Figure:
    """Loss over a single knife edge [dB], 0 below nu = -0.78. Source: ITU-R P.526-15 eq. (31).

    Valid: any nu; 0 from -0.78 down, where the clause ends its law.

    >>> print(knife_edge_loss_db(nu=1.0))
    13.9257
    """
    x = nu - 0.1
    return np.where(nu <= -0.78, 0.0, 6.9 + 20 * np.log10(np.sqrt(x**2 + 1) + x))


def bullington_loss_db(
    *,
    profile: Figure,
    surface_m: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    radius_km: Figure,
) -> Figure:
    """Bullington loss of each profile [dB]. Source: ITU-R P.526-15 sec. 4.5.1.

    surface_m: height at each point, cover included. height1_m, height2_m: antennas above the
    same datum. Points at the ends do not count.
    Valid: distances above 0, frequency_ghz and radius_km above 0; a profile without an inner point
    gives 0. At 0 GHz and below the answer means nothing.
    >>> from backhaul.physics.profiles import profiles
    >>> edge = profiles(distance_km=[0, 5, 10], ground_m=[0, 10, 0], count=[3])
    >>> print(bullington_loss_db(profile=edge, surface_m=edge.surface_m, height1_m=np.zeros(1),
    ...     height2_m=np.zeros(1), frequency_ghz=np.array([5.8]), radius_km=np.array([1e9]))[0])
    24.83
    """
    d = profile.distance_km
    length = profile.length_km
    d2 = profile.spread(length) - d
    near = np.where(profile.inside, d, 1.0)  # the ends are masked by `largest`
    far = np.where(profile.inside, d2, 1.0)
    wave = wavelength_m(frequency_ghz=np.asarray(frequency_ghz, dtype=float))
    bulged = surface_m + profile.spread(500.0 / radius_km) * d * d2
    h1, h2 = profile.spread(height1_m), profile.spread(height2_m)

    slope1 = profile.largest((bulged - h1) / near)  # S_tim
    direct = (height2_m - height1_m) / length  # S_tr
    sight = slope1 < direct
    above = bulged - (h1 * d2 + h2 * d) / profile.spread(length)
    nu_sight = profile.largest(
        above * np.sqrt(0.002 * profile.spread(length / wave) / (near * far))
    )

    slope2 = profile.largest((bulged - h2) / far)  # S_rim
    slope1, slope2 = (np.where(sight, 1.0, slope) for slope in (slope1, slope2))
    fold = (height2_m - height1_m + slope2 * length) / (slope1 + slope2)  # d_b
    fold = np.where(sight, length / 2, fold)
    top = height1_m + slope1 * fold - (height1_m * (length - fold) + height2_m * fold) / length
    nu_beyond = top * np.sqrt(0.002 * length / (wave * fold * (length - fold)))

    nu = np.maximum(np.where(sight, nu_sight, nu_beyond), LOWEST_NU)
    edge = knife_edge_loss_db(nu=nu)
    return edge + (1 - np.exp(-edge / 6)) * (10 + 0.02 * length)


def smooth_heights_m(*, profile: Figure, height1_m: Figure, height2_m: Figure) -> Figure:
    """Height of the smooth surface under each antenna [m]. Source: P.526-15 sec. 4.5.2.

    Returns two arrays over hops.
    profile: `profiles.profiles`. height1_m, height2_m: antennas above its datum.
    Valid: two points a hop or more; a profile without an inner point gives the heights of its ends
    at the most.
    >>> from backhaul.physics.profiles import profiles
    >>> flat = profiles(distance_km=[0, 5, 10], ground_m=[7, 7, 7], count=[3])
    >>> smooth_heights_m(profile=flat, height1_m=np.array([20.0]), height2_m=np.array([20.0]))
    (array([7.]), array([7.]))
    """
    d, g, length = profile.distance_km, profile.surface_m, profile.length_km
    step = np.diff(d, prepend=d[0])
    step[profile.start] = 0.0
    d_before, g_before = np.roll(d, 1), np.roll(g, 1)
    v1 = profile.total(step * (g + g_before))
    v2 = profile.total(step * (g * (2 * d + d_before) + g_before * (d + 2 * d_before)))
    smooth1 = (2 * v1 * length - v2) / length**2
    smooth2 = (v2 - v1 * length) / length**2

    d2 = profile.spread(length) - d
    above = g - (profile.spread(height1_m) * d2 + profile.spread(height2_m) * d) / (
        profile.spread(length)
    )
    highest = profile.largest(above)
    angle1 = profile.largest(above / np.where(profile.inside, d, 1.0))
    angle2 = profile.largest(above / np.where(profile.inside, d2, 1.0))
    blocked = highest > 0
    highest, angle1, angle2 = (np.where(blocked, x, 1.0) for x in (highest, angle1, angle2))
    lower1 = np.where(blocked, highest * angle1 / (angle1 + angle2), 0.0)
    lower2 = np.where(blocked, highest * angle2 / (angle1 + angle2), 0.0)
    ends = g[profile.start], g[profile.start + profile.count - 1]
    return np.minimum(smooth1 - lower1, ends[0]), np.minimum(smooth2 - lower2, ends[1])


class Diffraction(NamedTuple):
    """Losses of each hop [dB]."""

    loss_db: np.ndarray
    bullington_db: np.ndarray
    smooth_bullington_db: np.ndarray
    spherical_db: np.ndarray


def delta_bullington(
    *,
    profile: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    vertical: Figure,
    sea_share: Figure = 0.0,
    radius_km: Figure = EFFECTIVE_RADIUS_KM,
) -> Figure:
    """Diffraction loss of each profile [dB]: L = La + max(Lsph - Ls, 0).

    height1_m, height2_m: antennas above the datum of the profile. vertical: polarization.
    sea_share: 0 all land to 1 all sea. radius_km: effective earth radius, one or one per hop.
    Source: ITU-R P.526-15 sec. 4.5.2.
    Valid: frequency_ghz and radius_km above 0, both antennas above the ground; the smooth-earth
    term counts one below the surface as a millimetre above it. 0 GHz and NaN give NaN.
    >>> from backhaul.physics.profiles import profiles
    >>> flat = profiles(distance_km=[0, 10, 20], ground_m=[0, 10, 0], count=[3])
    >>> print(delta_bullington(profile=flat, height1_m=[20], height2_m=[20], frequency_ghz=5.8,
    ...     vertical=True).loss_db[0])
    7.125
    """
    hops = profile.start.shape
    height1_m, height2_m, frequency_ghz, radius_km, sea_share = (
        np.broadcast_to(np.asarray(x, dtype=float), hops)
        for x in (height1_m, height2_m, frequency_ghz, radius_km, sea_share)
    )
    common = {"profile": profile, "frequency_ghz": frequency_ghz, "radius_km": radius_km}
    real = bullington_loss_db(
        surface_m=profile.surface_m, height1_m=height1_m, height2_m=height2_m, **common
    )
    smooth1, smooth2 = smooth_heights_m(profile=profile, height1_m=height1_m, height2_m=height2_m)
    above1, above2 = height1_m - smooth1, height2_m - smooth2
    smooth = bullington_loss_db(
        surface_m=np.zeros_like(profile.ground_m), height1_m=above1, height2_m=above2, **common
    )
    sphere = spherical_loss_db(
        distance_km=profile.length_km,
        height1_m=above1,
        height2_m=above2,
        frequency_ghz=frequency_ghz,
        vertical=vertical,
        sea_share=sea_share,
        radius_km=radius_km,
    )
    return Diffraction(real + np.maximum(sphere - smooth, 0.0), real, smooth, sphere)
