"""Water as a mirror: its permittivity, its reflection coefficient, its waves."""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("permittivity of water", "ITU-R P.527", "6 (09/2021) sec. 5; sea terms from memory"),
    Method("roughness of water", "Rayleigh criterion, Ament 1953", "from memory"),
)
RANGES = {
    "temperature_c": (-4.0, 40.0),  # P.527-6, from memory
    "salinity_g_per_kg": (0.0, 40.0),
    "frequency_ghz": (0.0, 1000.0),
}

CELL_FORMULAS = (
    "roughness_parameter",
    "rough_factor",
    "wave_deviation_m",
    "wave_crest_m",
)

SEA_SALINITY_G_PER_KG = 35.0  # mean ocean; ITU-R P.527 uses it for sea water
FRESH_SALINITY_G_PER_KG = 0.0
WATER_TEMPERATURE_C = 20.0  # reference of ITU-R P.527


def conductivity_s_m(*, temperature_c: Figure, salinity_g_per_kg: Figure) -> Figure:
    """Conductivity of sea water [S/m]. Source: ITU-R P.527-6 sec. 5 (from memory).

    Valid: -4 to 40 C, 0 to 40 g/kg (RANGES); outside the fit goes on unbacked.

    >>> print(conductivity_s_m(temperature_c=20.0, salinity_g_per_kg=35.0))
    4.7913
    """
    t, s = temperature_c, salinity_g_per_kg
    at_35 = 2.903602 + 8.607e-2 * t + 4.738817e-4 * t**2 - 2.991e-6 * t**3 + 4.3047e-9 * t**4
    at_15 = s * (37.5109 + 5.45216 * s + 1.4409e-2 * s**2) / (1004.75 + 182.283 * s + s**2)
    a0 = (6.9431 + 3.2841 * s - 9.9486e-2 * s**2) / (84.850 + 69.024 * s + s**2)
    a1 = 49.843 - 0.2276 * s + 0.198e-2 * s**2
    return at_35 * at_15 * (1 + a0 * (t - 15) / (a1 + t))


def permittivity(
    *,
    frequency_ghz: Figure,
    temperature_c: Figure = WATER_TEMPERATURE_C,
    salinity_g_per_kg: Figure = 0.0,
) -> Figure:
    """Relative complex permittivity of water, eps' - j eps''.

    The cubic temperature term of the first relaxation frequency of sea water is printed with
    either sign; the model's authors hold the minus for right, which stands here. The choice moves
    the reflection of vertical polarization by less than 0.004 up to 2 degrees at 5.8 GHz.
    Source: ITU-R P.527-6 sec. 5.
    Valid: -4 to 40 C, 0 to 40 g/kg, above 0 to 1000 GHz (RANGES); outside it goes on, 0 GHz divides
    by zero.
    >>> print(permittivity(frequency_ghz=5.8, temperature_c=20.0))
    (72.245-22.898j)
    """
    t, s = temperature_c, salinity_g_per_kg
    theta = 300 / (t + 273.15) - 1
    static = 77.66 + 103.3 * theta
    middle = 0.0671 * static
    far = 3.52 - 7.52 * theta
    f1 = 20.20 - 146.4 * theta + 316 * theta**2
    f2 = 39.8 * f1
    static = static * np.exp(-3.33330e-3 * s + 4.74868e-6 * s**2)
    middle = middle * np.exp(-6.28908e-3 * s + 1.76032e-4 * s**2 - 9.22144e-5 * t * s)
    far = far * (1 + s * (-2.04265e-3 + 1.57883e-4 * t))
    f1 = f1 * (
        1 + s * (2.3232e-3 - 7.9208e-5 * t + 3.6764e-6 * t**2 - 3.5594e-7 * t**3 + 8.9795e-9 * t**4)
    )
    f2 = f2 * (1 + s * (-1.99723e-2 + 1.81176e-4 * t))
    x1, x2 = frequency_ghz / f1, frequency_ghz / f2
    real = (static - middle) / (1 + x1**2) + (middle - far) / (1 + x2**2) + far
    loss = x1 * (static - middle) / (1 + x1**2) + x2 * (middle - far) / (1 + x2**2)
    loss = loss + 18 * conductivity_s_m(temperature_c=t, salinity_g_per_kg=s) / frequency_ghz
    return real - 1j * loss


def reflection_coefficient(
    *, grazing_deg: Figure, permittivity: Figure, vertical: Figure
) -> Figure:
    """Complex Fresnel coefficient of a plane surface [-], time factor exp(+j w t).

    grazing_deg: 0 to 90. permittivity: eps' - j eps''. vertical: polarization.
    Source: Fresnel, as in ITU-R P.527 and P.2040.
    Valid: 0 to 90 degrees, real part of the permittivity above 1; 0 degrees give -1 for both
    polarizations, a real permittivity below 1 NaN with numpy's warning.
    >>> rho = reflection_coefficient(grazing_deg=1.0, permittivity=65.0232-34.8741j, vertical=True)
    >>> print(abs(rho))
    0.7449
    """
    sine = np.sin(np.radians(grazing_deg))
    root = np.sqrt(permittivity - 1 + sine**2)
    first = np.where(vertical, permittivity, 1.0) * sine
    return (first - root) / (first + root)


def roughness_parameter(
    *, deviation_m: Figure, grazing_deg: Figure, wavelength_m: Figure
) -> Figure:
    """Phase spread g of a rough surface [rad]: 4 pi sigma sin(psi) / wavelength.

    deviation_m: standard deviation of the height. Source: Ament 1953.
    Valid: deviation 0 or more, wavelength above 0: 0 divides by zero.
    >>> print(roughness_parameter(deviation_m=0.5, grazing_deg=0.2, wavelength_m=0.0516884))
    0.4243
    """
    return 4 * deviation_m * np.pi * np.sin(np.radians(grazing_deg)) / wavelength_m


def rough_factor(*, roughness_parameter: Figure) -> Figure:
    """Share of the mirror-like reflection that waves leave [-]: exp(-g^2 / 2), Ament 1953.

    roughness_parameter: `roughness_parameter` [rad].
    Valid: any g; from some 4 on what is left is no mirror and the factor is nil.
    Source: W. S. Ament 1953, from memory.

    >>> print(rough_factor(roughness_parameter=0.4243))
    0.9139
    """
    return np.exp(-(roughness_parameter**2) / 2)


def wave_deviation_m(*, wave_height_m: Figure) -> Figure:
    """Standard deviation of the water's surface [m]: a quarter of the significant wave height.

    Valid: wave_height_m 0 or more; below 0 it would be negative.
    Source: common practice, Rayleigh statistics of waves.
    >>> wave_deviation_m(wave_height_m=2.0)
    0.5
    """
    return wave_height_m / 4


def wave_crest_m(*, wave_height_m: Figure) -> Figure:
    """Highest crest in about 1000 waves over still water [m]: 0.93 significant wave heights.

    Valid: wave_height_m 0 or more, deep water; waves near breaking crest higher.
    Source: common practice, Rayleigh statistics of 1000 waves.
    >>> wave_crest_m(wave_height_m=2.0)
    1.86
    """
    return 0.93 * wave_height_m
