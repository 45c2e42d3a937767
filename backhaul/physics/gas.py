"""Attenuation by oxygen and water vapour: ITU-R P.676-13 Annex 1, line by line.

The Recommendation counts the pressure of dry air apart from that of the vapour, a barometer reads
both together: `dry_pressure_hpa` turns the one into the other, and every name says which is meant.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Method
from backhaul.physics.gas_lines import OXYGEN_LINES, WATER_VAPOUR_LINES

METHODS = (Method("gas attenuation", "ITU-R P.676", "13 (08/2022) Annex 1, line by line"),)
RANGES = {"frequency_ghz": (1.0, 1000.0)}  # P.676-13 scope; below 1 GHz the sum stays tiny

CELL_FORMULAS = ("vapour_pressure_hpa", "dry_pressure_hpa", "gas_loss_db")

HOPS_AT_ONCE = 2048  # keeps the hops-by-lines matrices within the processor's cache


class Attenuation(NamedTuple):
    """Specific attenuation [dB/km], arrays over hops."""

    oxygen_db_per_km: np.ndarray
    water_vapour_db_per_km: np.ndarray

    @property
    def total_db_per_km(self):
        """Both together [dB/km]."""
        return self.oxygen_db_per_km + self.water_vapour_db_per_km


def vapour_pressure_hpa(*, vapour_density_g_m3, temperature_k):
    """Partial pressure of water vapour [hPa]. Source: ITU-R P.676-13 eq. (4).

    >>> print(vapour_pressure_hpa(vapour_density_g_m3=7.5, temperature_k=288.15))
    9.973
    """
    return vapour_density_g_m3 * temperature_k / 216.7


def dry_pressure_hpa(*, total_pressure_hpa, vapour_density_g_m3, temperature_k):
    """Pressure of dry air [hPa] from the barometric (total) pressure.

    >>> print(dry_pressure_hpa(total_pressure_hpa=1013.25, vapour_density_g_m3=7.5,
    ...     temperature_k=288.15))
    1003.277
    """
    return total_pressure_hpa - vapour_density_g_m3 * temperature_k / 216.7


def gas_loss_db(*, distance_km, gas_db_per_km):
    """Loss by gas on a hop [dB], at the mean height of the hop. Source: P.676-13 Annex 1.

    >>> print(gas_loss_db(distance_km=12, gas_db_per_km=0.0093))
    0.1116
    """
    return distance_km * gas_db_per_km


def specific_attenuation(
    *, frequency_ghz, dry_pressure_hpa, vapour_density_g_m3, temperature_k
):
    """Specific attenuation by oxygen and by water vapour [dB/km] of each hop.

    dry_pressure_hpa: without the vapour's share. Source: ITU-R P.676-13 Annex 1 eqs. (1)-(9).
    >>> a = specific_attenuation(frequency_ghz=[5.8, 60.48], dry_pressure_hpa=1013.25,
    ...     vapour_density_g_m3=7.5, temperature_k=288.15)
    >>> print(a.oxygen_db_per_km[1], a.water_vapour_db_per_km[1])
    14.96160 0.15722
    """
    inputs = np.broadcast_arrays(*(
        np.atleast_1d(np.asarray(x, dtype=float))
        for x in (frequency_ghz, dry_pressure_hpa, vapour_density_g_m3, temperature_k)
    ))
    shape = inputs[0].shape
    f, p, rho, t = (x.ravel() for x in inputs)
    e = vapour_pressure_hpa(vapour_density_g_m3=rho, temperature_k=t)
    oxygen, water = np.empty(f.size), np.empty(f.size)
    for begin in range(0, f.size, HOPS_AT_ONCE):
        part = slice(begin, begin + HOPS_AT_ONCE)
        oxygen[part], water[part] = _line_sums(f[part], p[part], e[part], 300 / t[part])
    return Attenuation(
        (0.1820 * f * oxygen).reshape(shape), (0.1820 * f * water).reshape(shape)
    )


def _line_sums(f, p, e, theta):
    """Imaginary refractivity N'' of oxygen and of water vapour [N-units]; P.676-13 eqs. (2)-(9)."""
    f0, a1, a2, a3, a4, a5, a6 = np.array(OXYGEN_LINES).T
    col_f, col_p, col_e, col_t = (x[:, None] for x in (f, p, e, theta))
    strength = a1 * np.exp(a2 * (1 - col_t)) * (1e-7 * col_p * col_t**3)          # eq. (3)
    width = a3 * 1e-4 * (col_p * col_t ** (0.8 - a4) + 1.1 * col_e * col_t)       # eq. (6a)
    width = np.sqrt(width**2 + 2.25e-6)                                           # eq. (6b), Zeeman
    delta = (a5 + a6 * col_t) * (1e-4 * (col_p + col_e) * col_t**0.8)             # eq. (7)
    oxygen = (strength * _line_shape(col_f, f0, width, delta)).sum(axis=1)
    d = 5.6e-4 * (p + e) * theta**0.8                                             # eq. (9)
    oxygen += f * p * theta**2 * (                                                # eq. (8)
        6.14e-5 / (d * (1 + (f / d) ** 2)) + 1.4e-12 * p * theta**1.5 / (1 + 1.9e-5 * f**1.5)
    )

    f0, b1, b2, b3, b4, b5, b6 = np.array(WATER_VAPOUR_LINES).T
    log_t = np.log(col_t)
    strength = b1 * np.exp(b2 * (1 - col_t)) * (0.1 * col_e * col_t**3.5)
    width = b3 * 1e-4 * (col_p * np.exp(b4 * log_t) + b5 * col_e * np.exp(b6 * log_t))
    width = 0.535 * width + np.sqrt(0.217 * width**2 + 2.1316e-12 * f0**2 / col_t)  # Doppler
    water = (strength * _line_shape(col_f, f0, width, 0.0)).sum(axis=1)
    return oxygen, water


def _line_shape(f, f0, width, delta):
    """Line shape factor; P.676-13 eq. (5)."""
    below, above, square = f0 - f, f0 + f, width**2
    return f / f0 * (
        (width - delta * below) / (below**2 + square)
        + (width - delta * above) / (above**2 + square)
    )


def hop_attenuation(
    *, frequency_ghz, total_pressure_hpa, vapour_density_g_m3, temperature_c, channel_mhz=0.0
):
    """Specific attenuation [dB/km] from what a weather station gives.

    total_pressure_hpa: barometric. channel_mhz: the worst of the channel's middle and edges
    counts, which matters between 50 and 70 GHz.
    >>> a = hop_attenuation(frequency_ghz=[5.8], total_pressure_hpa=1013.25,
    ...     vapour_density_g_m3=7.5, temperature_c=15)
    >>> print(a.total_db_per_km[0])
    0.00914
    """
    f, total, rho, celsius, width = np.broadcast_arrays(*np.atleast_1d(
        frequency_ghz, total_pressure_hpa, vapour_density_g_m3, temperature_c, channel_mhz
    ))
    kelvin = celsius + 273.15
    dry = dry_pressure_hpa(total_pressure_hpa=total, vapour_density_g_m3=rho, temperature_k=kelvin)
    offsets = (0.0, -0.5, 0.5) if np.any(width) else (0.0,)
    spots = [
        specific_attenuation(
            frequency_ghz=f + offset * width * 1e-3, dry_pressure_hpa=dry,
            vapour_density_g_m3=rho, temperature_k=kelvin,
        )
        for offset in offsets
    ]
    worst = np.argmax([spot.total_db_per_km for spot in spots], axis=0)
    return Attenuation(*(np.choose(worst, part) for part in zip(*spots)))
