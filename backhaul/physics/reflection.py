"""A hop over water as two rays, the direct one and the one from the mirror.

Geometry on the curved earth: closed solution of the cubic of ITU-R P.526 sec. 3.2. Between the
antennas' horizon and free sight the sum of two rays gives way to diffraction, which is counted on
its own; points that the antennas do not both see give NaN here.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics import water
from backhaul.physics.antennas import main_lobe_discrimination_db
from backhaul.physics.free_space import wavelength_m
from backhaul.physics.geometry import EARTH_RADIUS_KM
from backhaul.physics.spherical_earth import marginal_distance_km, tangent_point_km

METHODS = (
    Method("reflection from water", "ITU-R P.530", "19 (09/2025) sec. 6.1, two rays"),
    Method("point of reflection", "ITU-R P.526", "15 sec. 3.2, closed cubic"),
)
RANGES = {"grazing_deg": (0.0, 10.0)}  # long flat paths; steeper ones see rough water, not this

CELL_FORMULAS = (
    "path_difference_m",
    "grazing_deg",
    "divergence",
    "null_spacing_m",
    "diversity_spacing_m",
    "reflected_angle_deg",
)


def path_difference_m(*, effective1_m: Figure, effective2_m: Figure, distance_km: Figure) -> Figure:
    """How much longer the reflected ray is [m].

    effective1_m, effective2_m: antennas above the plane that touches the water at the point of
    reflection. Source: ITU-R P.530 sec. 6.1.
    Valid: effective heights of 0 or more, small against distance_km, which is above 0: 0 divides by
    zero.
    >>> print(path_difference_m(effective1_m=28.5285, effective2_m=28.5285, distance_km=10))
    0.16277
    """
    return 2 * effective1_m * effective2_m / (1000 * distance_km)


def grazing_deg(
    *, effective1_m: Figure, effective2_m: Figure, distance1_km: Figure, distance2_km: Figure
) -> Figure:
    """Angle between ray and water at the point of reflection [degree].

    Valid: up to 10 degrees (RANGES), small angles; distances above 0, 0 divides by zero.
    Source: geometry of two rays.

    >>> print(grazing_deg(effective1_m=28.5285, effective2_m=28.5285, distance1_km=5,
    ...     distance2_km=5))
    0.32691
    """
    return np.degrees((effective1_m / distance1_km + effective2_m / distance2_km) / 2000)


def divergence(
    *, distance1_km: Figure, distance2_km: Figure, radius_km: Figure, grazing_deg: Figure
) -> Figure:
    """Weakening of the reflection by the roundness of the earth [-].

    radius_km: effective earth radius; grazing_deg above 0. Source: ITU-R P.530 sec. 6.1.
    Valid: grazing_deg above 0: towards 0 the reflection spreads to nothing; distances and radius
    above 0.
    >>> print(divergence(distance1_km=5, distance2_km=5, radius_km=8494.667, grazing_deg=0.326912))
    0.95210
    """
    spread = (
        2
        * distance1_km
        * distance2_km
        / (radius_km * (distance1_km + distance2_km) * np.sin(np.radians(grazing_deg)))
    )
    return 1 / np.sqrt(1 + spread)


def null_spacing_m(
    *, distance_km: Figure, frequency_ghz: Figure, far_effective_m: Figure
) -> Figure:
    """Move of this antenna from one null to the next [m].

    far_effective_m: effective height of the other antenna. Source: geometry of two rays.
    Valid: far_effective_m above 0: 0 divides by zero, and an antenna on the water has no null.
    >>> print(null_spacing_m(distance_km=10, frequency_ghz=5.8, far_effective_m=28.5285))
    9.059
    """
    return 1000 * distance_km * wavelength_m(frequency_ghz=frequency_ghz) / (2 * far_effective_m)


def diversity_spacing_m(
    *, distance_km: Figure, frequency_ghz: Figure, far_effective_m: Figure
) -> Figure:
    """Vertical spacing at which a second antenna stands on the peak while this one is in the
    null [m]: half the null spacing. Source: ITU-R P.530 sec. 6.1 (from memory).

    Valid: far_effective_m above 0: 0 divides by zero.

    >>> print(diversity_spacing_m(distance_km=10, frequency_ghz=5.8, far_effective_m=28.5285))
    4.530
    """
    wave_m = wavelength_m(frequency_ghz=frequency_ghz)
    return 1000 * distance_km * wave_m / (4 * far_effective_m)


def reflected_angle_deg(*, far_effective_m: Figure, distance_km: Figure) -> Figure:
    """Angle between direct and reflected ray at this antenna [degree].

    Valid: small angles, distance_km above 0: 0 divides by zero.
    Source: geometry of two rays.

    >>> print(reflected_angle_deg(far_effective_m=14.28, distance_km=12))
    0.1364
    """
    return np.degrees(2 * far_effective_m / (1000 * distance_km))


class TwoRay(NamedTuple):
    """Two rays at each place of a sweep; NaN where the antennas do not see each other."""

    level_db: np.ndarray  # relative to free space, positive where the rays add
    phase_rad: np.ndarray  # lag of the reflected ray; odd multiples of pi are nulls
    amplitude: np.ndarray  # of the reflected ray, relative to the direct one
    grazing_deg: np.ndarray
    path_difference_wavelengths: np.ndarray
    effective1_m: np.ndarray
    effective2_m: np.ndarray
    distance1_km: np.ndarray


def two_ray(
    *,
    distance_km: Figure,
    height1_m: Figure,
    height2_m: Figure,
    k_factor: Figure,
    frequency_ghz: Figure,
    vertical: Figure,
    permittivity: Figure,
    deviation_m: Figure = 0.0,
    beamwidth1_deg: Figure = np.inf,
    beamwidth2_deg: Figure = np.inf,
) -> Figure:
    """Field of a hop over water relative to free space [dB], and where the ray is reflected.

    height1_m, height2_m: antennas above the water at that moment. deviation_m: of the surface
    (a quarter of the significant wave height), 0 for a mirror. permittivity: `water.permittivity`.
    beamwidth: infinite for an antenna that does not tell the rays apart. All broadcast.
    k_factor: of the effective earth radius. vertical: polarization.
    Valid: both antennas above the water and within each other's horizon, up to 10 degrees of
    grazing (RANGES); NaN where they do not see each other, which diffraction describes.
    Source: ITU-R P.530-19 sec. 6.1, P.526-15 sec. 3.2, P.527-6.
    >>> t = two_ray(distance_km=12.0, height1_m=22.0, height2_m=18.0, k_factor=4 / 3,
    ...     frequency_ghz=5.8, vertical=False, permittivity=65.0232-34.8741j)
    >>> print(t.level_db, t.path_difference_wavelengths)
    -15.99 1.0205
    """
    radius_km = EARTH_RADIUS_KM * np.asarray(k_factor, dtype=float)
    h1, h2 = np.asarray(height1_m, dtype=float), np.asarray(height2_m, dtype=float)
    distance_km = np.asarray(distance_km, dtype=float)
    above = (h1 > 0) & (h2 > 0)
    safe1, safe2 = np.where(above, h1, 1.0), np.where(above, h2, 1.0)
    horizon = marginal_distance_km(height1_m=safe1, height2_m=safe2, radius_km=radius_km)
    seen = above & (distance_km < horizon)
    # where they do not see each other, any finite geometry; masked below
    h1, h2 = (np.where(seen, h, 1e4) for h in (h1, h2))
    d1 = tangent_point_km(distance_km=distance_km, height1_m=h1, height2_m=h2, radius_km=radius_km)
    d2 = distance_km - d1
    effective1 = h1 - 500 * d1**2 / radius_km
    effective2 = h2 - 500 * d2**2 / radius_km
    psi = np.maximum(
        grazing_deg(
            effective1_m=effective1, effective2_m=effective2, distance1_km=d1, distance2_km=d2
        ),
        1e-9,
    )
    wave_m = wavelength_m(frequency_ghz=np.asarray(frequency_ghz, dtype=float))
    delta = (
        path_difference_m(effective1_m=effective1, effective2_m=effective2, distance_km=distance_km)
        / wave_m
    )
    rho = water.reflection_coefficient(
        grazing_deg=psi, permittivity=permittivity, vertical=vertical
    )
    rough = water.rough_factor(
        roughness_parameter=water.roughness_parameter(
            deviation_m=deviation_m, grazing_deg=psi, wavelength_m=wave_m
        )
    )
    aside_db = _aside_db(effective2, distance_km, beamwidth1_deg) + _aside_db(
        effective1, distance_km, beamwidth2_deg
    )
    amplitude = (
        np.abs(rho)
        * rough
        * 10 ** (-aside_db / 20)
        * divergence(distance1_km=d1, distance2_km=d2, radius_km=radius_km, grazing_deg=psi)
    )
    # arg rho is near pi for both polarizations: counted from 0 to 2 pi it does not jump
    phase = 2 * np.pi * delta - np.angle(rho) % (2 * np.pi)
    parts = (_level_db(amplitude, phase), phase, amplitude, psi, delta, effective1, effective2, d1)
    return TwoRay(*(np.where(seen, part, np.nan) for part in parts))


def _level_db(amplitude, phase_rad):
    """Sum of the two rays against the direct one [dB], at least -120."""
    power = 1 + amplitude**2 + 2 * amplitude * np.cos(phase_rad)
    return 10 * np.log10(np.maximum(power, 1e-12))


def with_share(rays: Figure, *, share: Figure) -> Figure:
    """The same rays where only a complex share of the mirror reflects (`water_strips.wet_share`).

    0 leaves the direct ray alone: 0 dB.
    Valid: any complex share that `water_strips.wet_share` gives; NaN gives NaN.
    Source: physical optics, as `water_strips.wet_share`.
    >>> t = two_ray(distance_km=12.0, height1_m=22.0, height2_m=18.0, k_factor=4 / 3,
    ...     frequency_ghz=5.8, vertical=False, permittivity=65.0232-34.8741j)
    >>> print(with_share(t, share=1.0).level_db, with_share(t, share=0.0).level_db)
    -15.99 0.0
    """
    amplitude = rays.amplitude * np.abs(share)
    phase = rays.phase_rad - np.angle(share)
    return rays._replace(level_db=_level_db(amplitude, phase), phase_rad=phase, amplitude=amplitude)


def _aside_db(far_effective_m, distance_km, beamwidth_deg):
    """Discrimination of an antenna that looks at the other one [dB]."""
    angle = reflected_angle_deg(far_effective_m=far_effective_m, distance_km=distance_km)
    wide = np.isinf(beamwidth_deg)
    beam = np.where(wide, 360.0, beamwidth_deg)
    return np.where(wide, 0.0, main_lobe_discrimination_db(angle_deg=angle, beamwidth_deg=beam))
