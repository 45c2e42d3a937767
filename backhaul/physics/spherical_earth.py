"""Diffraction over the smooth spherical earth: ITU-R P.526 sec. 3.2."""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import wavelength_m

METHODS = (Method("diffraction, smooth earth", "ITU-R P.526", "15 sec. 3.2, first term"),)
RANGES = {"distance_km": (0.05, 1000.0)}
CELL_FORMULAS = ("marginal_distance_km",)

# Relative permittivity and conductivity [S/m], ITU-R P.526 and P.452.
LAND = (22.0, 0.003)
SEA = (80.0, 5.0)
LOWEST_ANTENNA_M = 0.001  # keeps the logarithms of an antenna on the surface finite


def _first_term_db(distance_km, height1_m, height2_m, frequency_ghz, vertical, radius_km, ground):
    """Loss by the first term of the residue series [dB]; P.526-15 sec. 3.1.1."""
    permittivity, conductivity = ground
    loss_term = 18 * conductivity / frequency_ghz
    k_h = (
        0.036
        * (radius_km * frequency_ghz) ** (-1 / 3)
        * ((permittivity - 1) ** 2 + loss_term**2) ** -0.25
    )
    k = np.where(vertical, k_h * np.sqrt(permittivity**2 + loss_term**2), k_h)
    beta = (1 + 1.6 * k**2 + 0.67 * k**4) / (1 + 4.5 * k**2 + 1.53 * k**4)
    x = 21.88 * beta * (frequency_ghz / radius_km**2) ** (1 / 3) * distance_km
    per_m = 0.9575 * beta * (frequency_ghz**2 / radius_km) ** (1 / 3)
    distance_gain = np.where(
        x >= 1.6, 11 + 10 * np.log10(x) - 17.6 * x, -20 * np.log10(x) - 5.6488 * x**1.425
    )
    loss = -distance_gain
    for height_m in (height1_m, height2_m):
        b = beta * per_m * np.maximum(height_m, LOWEST_ANTENNA_M)
        high = np.maximum(b, 2.0) - 1.1
        gain = np.where(
            b > 2,
            17.6 * np.sqrt(high) - 5 * np.log10(high) - 8,
            20 * np.log10(b + 0.1 * b**3),
        )
        loss = loss - np.maximum(gain, 2 + 20 * np.log10(k))
    return loss


def first_term_loss_db(
    *,
    distance_km: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    vertical: Figure,
    sea_share: Figure,
    radius_km: Figure,
) -> Figure:
    """Loss by the first term [dB], land and sea in proportion; may be negative.

    Source: ITU-R P.526-15 sec. 3.1.1; the mix of surfaces as in P.452.
    vertical: polarization. sea_share: 0 all land to 1 all sea.
    Valid: beyond the horizon; within it goes on and may be negative. 0 km and 0 GHz divide by zero.
    >>> print(first_term_loss_db(distance_km=30.0, height1_m=5.0, height2_m=5.0, frequency_ghz=5.8,
    ...     vertical=False, sea_share=1.0, radius_km=8500.0))
    38.18
    """
    given = (distance_km, height1_m, height2_m, frequency_ghz, vertical, radius_km)
    return (1 - sea_share) * _first_term_db(*given, LAND) + sea_share * _first_term_db(*given, SEA)


def marginal_distance_km(*, height1_m: Figure, height2_m: Figure, radius_km: Figure) -> Figure:
    """Distance at which the ends are on each other's horizon [km]: beyond it there is no sight.

    height1_m, height2_m: above the smooth surface, 0 or more. Source: P.526-15 sec. 3.2.
    Valid: heights of 0 or more; below 0 NaN with numpy's warning.

    >>> print(marginal_distance_km(height1_m=10, height2_m=10, radius_km=8500))
    26.08
    """
    return np.sqrt(2 * radius_km) * (np.sqrt(0.001 * height1_m) + np.sqrt(0.001 * height2_m))


def tangent_point_km(
    *, distance_km: Figure, height1_m: Figure, height2_m: Figure, radius_km: Figure
) -> Figure:
    """Distance from end 1 to the point of a smooth sphere where both rays rise alike [km].

    Closed solution of the cubic, ITU-R P.526-15 sec. 3.2; also the point of reflection.
    Valid: distance and the sum of the heights above 0: 0 divides by zero. The argument of the arc
    cosine is held at its range.
    Source: ITU-R P.526-15 sec. 3.2.
    >>> print(tangent_point_km(distance_km=20, height1_m=50, height2_m=20,
    ...     radius_km=4 / 3 * 6371))
    13.7443
    """
    total_m = height1_m + height2_m
    c = (height1_m - height2_m) / total_m
    m = 250 * distance_km**2 / (radius_km * total_m)
    inner = np.clip(1.5 * c * np.sqrt(3 * m / (m + 1) ** 3), -1.0, 1.0)
    b = 2 * np.sqrt((m + 1) / (3 * m)) * np.cos(np.pi / 3 + np.arccos(inner) / 3)
    return distance_km / 2 * (1 + b)


def spherical_loss_db(
    *,
    distance_km: Figure,
    height1_m: Figure,
    height2_m: Figure,
    frequency_ghz: Figure,
    vertical: Figure,
    radius_km: Figure,
    sea_share: Figure = 0.0,
) -> Figure:
    """Diffraction loss over the smooth earth [dB], 0 or more.

    height1_m, height2_m: antennas above the surface. vertical: polarization. sea_share: 0 to 1.
    radius_km: effective earth radius. Source: ITU-R P.526-15 sec. 3.2.
    Valid: distance above 0 to 1000 km (RANGES), frequency_ghz and radius_km above 0; antennas lower
    than 1 mm count as that high, 0 km gives NaN.
    >>> print(spherical_loss_db(distance_km=40.0, height1_m=20.0, height2_m=20.0,
    ...     frequency_ghz=5.8, vertical=False, radius_km=8500.0, sea_share=1.0))
    19.64
    """
    h1 = np.maximum(height1_m, LOWEST_ANTENNA_M)
    h2 = np.maximum(height2_m, LOWEST_ANTENNA_M)
    d = distance_km
    given = {
        "distance_km": d,
        "height1_m": h1,
        "height2_m": h2,
        "frequency_ghz": frequency_ghz,
        "vertical": vertical,
        "sea_share": sea_share,
    }
    beyond = d >= marginal_distance_km(height1_m=h1, height2_m=h2, radius_km=radius_km)
    far_loss = first_term_loss_db(radius_km=radius_km, **given)

    d1 = tangent_point_km(distance_km=d, height1_m=h1, height2_m=h2, radius_km=radius_km)
    d2 = d - d1
    clear = ((h1 - 500 * d1**2 / radius_km) * d2 + (h2 - 500 * d2**2 / radius_km) * d1) / d
    wave_m = wavelength_m(frequency_ghz=frequency_ghz)
    needed = 17.456 * np.sqrt(np.maximum(d1 * d2 * wave_m / d, 1e-12))
    fitted_km = 500 * (d / (np.sqrt(h1) + np.sqrt(h2))) ** 2
    grazing_loss = first_term_loss_db(radius_km=fitted_km, **given)
    near_loss = np.maximum(1 - clear / needed, 0.0) * np.maximum(grazing_loss, 0.0)
    return np.where(beyond, np.maximum(far_loss, 0.0), near_loss)
