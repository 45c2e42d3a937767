"""Attenuation by oxygen and water vapour: ITU-R P.676-13 Annex 1, line by line.

The Recommendation counts the pressure of dry air apart from that of the vapour, a barometer reads
both together: `dry_pressure_hpa` turns the one into the other, and every name says which is meant.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.gas_lines import OXYGEN_LINES, WATER_VAPOUR_LINES

METHODS = (Method("gas attenuation", "ITU-R P.676", "13 (08/2022) Annex 1, line by line"),)
RANGES = {
    "frequency_ghz": (1.0, 1000.0),  # P.676-13 scope; below 1 GHz the sum stays tiny
    "channel_mhz": (0.0, 4320.0),  # two bonded channels at 60 GHz; wider ones lose digits
}

CELL_FORMULAS = ("vapour_pressure_hpa", "dry_pressure_hpa", "gas_loss_db")

# Where the lines of oxygen make a channel's edges differ from its middle [GHz].
OXYGEN_BANDS_GHZ = ((48.0, 72.0), (115.0, 123.0))
_CHANNEL_NODES, _CHANNEL_SHARES = np.polynomial.legendre.leggauss(7)  # to 0.005 dB/km at 4.3 GHz
_CHANNEL_SHARES = _CHANNEL_SHARES / 2  # of a width of 2
SHORTEST_KM = 0.001  # the plain mean to 1e-5 dB/km
HOPS_AT_ONCE = 256  # keeps the hops-by-lines matrices within the processor's cache

# a4 is 0 in every row of table 1: the power of theta is common to all lines.
_OXYGEN = np.array([(*row[:4], *row[5:]) for row in OXYGEN_LINES]).T[:, :, None]
_WATER = np.array(WATER_VAPOUR_LINES).T[:, :, None]


class Attenuation(NamedTuple):
    """Specific attenuation [dB/km], arrays over hops."""

    oxygen_db_per_km: np.ndarray
    water_vapour_db_per_km: np.ndarray

    @property
    def total_db_per_km(self):
        """Both together [dB/km]."""
        return self.oxygen_db_per_km + self.water_vapour_db_per_km


def vapour_pressure_hpa(*, vapour_density_g_m3: Figure, temperature_k: Figure) -> Figure:
    """Partial pressure of water vapour [hPa]. Source: ITU-R P.676-13 eq. (4).

    Valid: density 0 or more, temperature_k above 0; the density that air can hold is
    `saturation_vapour_g_m3`, above it goes on.

    >>> print(vapour_pressure_hpa(vapour_density_g_m3=7.5, temperature_k=288.15))
    9.973
    """
    return vapour_density_g_m3 * temperature_k / 216.7


def dry_pressure_hpa(
    *, total_pressure_hpa: Figure, vapour_density_g_m3: Figure, temperature_k: Figure
) -> Figure:
    """Pressure of dry air [hPa] from the barometric (total) pressure.

    Valid: total pressure above that of the vapour; below, the answer is negative and means nothing.
    Source: ITU-R P.676-13 Annex 1, barometric pressure less eq. (4).

    >>> print(dry_pressure_hpa(total_pressure_hpa=1013.25, vapour_density_g_m3=7.5,
    ...     temperature_k=288.15))
    1003.277
    """
    return total_pressure_hpa - vapour_density_g_m3 * temperature_k / 216.7


def saturation_vapour_g_m3(*, temperature_c: Figure) -> Figure:
    """Water vapour in saturated air over water [g/m3]: no air holds more.

    Valid: -40 to 50 C. Source: ITU-R P.453-14 saturation pressure over water (from memory).
    >>> print(saturation_vapour_g_m3(temperature_c=20.0))
    17.29
    """
    pressure_hpa = 6.1121 * np.exp(
        (18.678 - temperature_c / 234.5) * temperature_c / (temperature_c + 257.14)
    )
    return pressure_hpa * 216.7 / (temperature_c + 273.15)


def gas_loss_db(*, distance_km: Figure, gas_db_per_km: Figure) -> Figure:
    """Loss by gas on a hop [dB], at the mean height of the hop. Source: P.676-13 Annex 1.

    Valid: distance and attenuation 0 or more; on a steep hop the mean height stands for the column
    of air.

    >>> print(gas_loss_db(distance_km=12, gas_db_per_km=0.0093))
    0.1116
    """
    return distance_km * gas_db_per_km


def specific_attenuation(
    *,
    frequency_ghz: Figure,
    dry_pressure_hpa: Figure,
    vapour_density_g_m3: Figure,
    temperature_k: Figure,
) -> Figure:
    """Specific attenuation by oxygen and by water vapour [dB/km] of each hop.

    dry_pressure_hpa: without the vapour's share. Source: ITU-R P.676-13 Annex 1 eqs. (1)-(9).
    Valid: 1 to 1000 GHz (RANGES), above 0 K; below 1 GHz the sum goes on and stays tiny, 0 K and
    NaN give NaN.
    >>> a = specific_attenuation(frequency_ghz=[5.8, 60.48], dry_pressure_hpa=1013.25,
    ...     vapour_density_g_m3=7.5, temperature_k=288.15)
    >>> print(a.oxygen_db_per_km[1], a.water_vapour_db_per_km[1])
    14.96160 0.15722
    """
    inputs = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(x, dtype=float))
            for x in (frequency_ghz, dry_pressure_hpa, vapour_density_g_m3, temperature_k)
        )
    )
    shape = inputs[0].shape
    f, p, rho, t = (x.ravel() for x in inputs)
    e = vapour_pressure_hpa(vapour_density_g_m3=rho, temperature_k=t)
    oxygen, water = np.empty(f.size), np.empty(f.size)
    for begin in range(0, f.size, HOPS_AT_ONCE):
        part = slice(begin, begin + HOPS_AT_ONCE)
        oxygen[part], water[part] = _line_sums(f[part], p[part], e[part], 300 / t[part])
    return Attenuation((0.1820 * f * oxygen).reshape(shape), (0.1820 * f * water).reshape(shape))


def _line_sums(f, p, e, theta):
    """Imaginary refractivity N'' of oxygen and of water vapour [N-units]; P.676-13 eqs. (2)-(9).

    Lines stand in columns, so that arrays are lines by hops.
    """
    f0, a1, a2, a3, a5, a6 = _OXYGEN
    strength = np.exp(a2 * (1 - theta)) * (a1 / f0)  # eq. (3)
    width2 = a3**2 * (1e-4 * (p * theta**0.8 + 1.1 * e * theta)) ** 2  # eq. (6a)
    width2 += 2.25e-6  # eq. (6b), Zeeman
    delta = a5 + a6 * theta  # eq. (7)
    delta *= 1e-4 * (p + e) * theta**0.8
    oxygen = 1e-7 * p * theta**3 * _sum_of_shapes(f, f0, strength, width2, delta)
    d = 5.6e-4 * (p + e) * theta**0.8  # eq. (9)
    oxygen += (
        f
        * p
        * theta**2
        * (  # eq. (8)
            6.14e-5 / (d * (1 + (f / d) ** 2)) + 1.4e-12 * p * theta**1.5 / (1 + 1.9e-5 * f**1.5)
        )
    )

    f0, b1, b2, b3, b4, b5, b6 = _WATER
    log_t = np.log(theta)
    strength = np.exp(b2 * (1 - theta)) * (b1 / f0)
    width = np.exp(b4 * log_t)
    width *= p
    width += np.exp(b6 * log_t) * (b5 * e)
    width *= 1e-4 * b3
    doppler2 = 2.1316e-12 * f0**2 / theta
    width = 0.535 * width + np.sqrt(0.217 * width**2 + doppler2)
    water = 0.1 * e * theta**3.5 * _sum_of_shapes(f, f0, strength, width**2, None)
    return oxygen, water


def _sum_of_shapes(f, f0, strength, width2, delta):
    """Sum over the lines of strength times shape factor; P.676-13 eq. (5); strength is per f0.

    With A, B the two denominators and B = A + 4 f f0, the two fractions of the shape share one
    division: (w (A + B) - delta ((f0 - f) B + (f0 + f) A)) / (A B).
    """
    below = f0 - f
    first = below**2
    first += width2
    second = first + 4 * f0 * f
    shape = np.sqrt(width2)
    shape *= first + second
    if delta is not None:
        shape -= delta * (below * second + (2 * f0 - below) * first)
    first *= second
    shape /= first
    return f * np.einsum("ij,ij->j", shape, strength)


def hop_attenuation(
    *,
    frequency_ghz: Figure,
    total_pressure_hpa: Figure,
    vapour_density_g_m3: Figure,
    temperature_c: Figure,
    channel_mhz: Figure = 0.0,
    distance_km: Figure = 0.0,
) -> Figure:
    """Specific attenuation [dB/km] from what a weather station gives, over a whole channel.

    A receiver hears the power of the channel: times distance_km the figure is the loss of that
    power, spread evenly over the channel. On a long hop the clear side of the channel carries it.
    distance_km: slant range; 0 gives the plain mean of the dB. total_pressure_hpa: barometric.
    channel_mhz: counts in the oxygen bands (`OXYGEN_BANDS_GHZ`); elsewhere the middle of the
    channel differs from its mean by less than 0.002 dB/km up to 2 GHz of width.
    Source: ITU-R P.676-13 Annex 1 over the channel, Gauss-Legendre sum.
    Valid: 1 to 1000 GHz, channels up to 4320 MHz (RANGES), temperature_c above -273.15; wider
    channels lose digits. NaN gives NaN.
    >>> air = {"total_pressure_hpa": 1013.25, "vapour_density_g_m3": 7.5, "temperature_c": 15}
    >>> print(hop_attenuation(frequency_ghz=[5.8], **air).total_db_per_km[0])
    0.00914
    >>> print(hop_attenuation(frequency_ghz=64.8, channel_mhz=2160, distance_km=3,
    ...     **air).total_db_per_km[0])
    3.910
    """
    f, total, rho, celsius, width, length = np.broadcast_arrays(
        *np.atleast_1d(
            frequency_ghz,
            total_pressure_hpa,
            vapour_density_g_m3,
            temperature_c,
            channel_mhz,
            distance_km,
        )
    )
    kelvin = celsius + 273.15
    dry = dry_pressure_hpa(total_pressure_hpa=total, vapour_density_g_m3=rho, temperature_k=kelvin)
    oxygen, water = specific_attenuation(
        frequency_ghz=f, dry_pressure_hpa=dry, vapour_density_g_m3=rho, temperature_k=kelvin
    )
    wide = _changes_within(f, width)
    if wide.any():
        spread = _CHANNEL_NODES[:, None] * (width[wide] * 0.5e-3)
        spots = specific_attenuation(
            frequency_ghz=f[wide] + spread,
            dry_pressure_hpa=dry[wide],
            vapour_density_g_m3=rho[wide],
            temperature_k=kelvin[wide],
        )
        oxygen[wide], water[wide] = _power_mean(spots, length[wide])
    return Attenuation(oxygen, water)


def _changes_within(frequency_ghz, width_mhz):
    """Whether gas differs over the channel."""
    half = width_mhz * 0.5e-3
    inside = [
        (frequency_ghz + half > low) & (frequency_ghz - half < high)
        for low, high in OXYGEN_BANDS_GHZ
    ]
    return (width_mhz > 0) & np.logical_or.reduce(inside)


def _power_mean(spots, distance_km):
    """Oxygen and water vapour [dB/km] that take what the channel loses; spots in rows."""
    share = _CHANNEL_SHARES[:, None]
    mean = [(part * share).sum(axis=0) for part in spots]
    plain = mean[0] + mean[1]
    length = np.maximum(distance_km, SHORTEST_KM)
    # counted from the clearest spot, so that no power of ten underflows on a long hop
    excess_db = (spots.total_db_per_km - plain) * length
    least = excess_db.min(axis=0)
    power = (10 ** ((least - excess_db) / 10) * share).sum(axis=0)
    total = plain + (least - 10 * np.log10(power)) / length
    return [part * (total / plain) for part in mean]
