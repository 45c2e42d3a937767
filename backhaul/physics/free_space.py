"""Free-space loss, levels along a hop, noise and limits of power."""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("free-space loss", "ITU-R P.525", "5 (11/2024)"),
    Method("thermal noise", "SI constants", "k = 1.380649e-23 J/K, T0 = 290 K"),
)
# The far field is the validity of the loss; see antennas.far_field_m.
RANGES = {"frequency_ghz": (0.9, 100.0)}

CELL_FORMULAS = (
    "wavelength_m",
    "free_space_loss_db",
    "eirp_dbm",
    "received_dbm",
    "noise_floor_dbm",
    "margin_db",
    "conducted_limit_dbm",
)

SPEED_OF_LIGHT_M_S = 299_792_458.0  # SI definition
BOLTZMANN_J_K = 1.380_649e-23  # SI definition
NOISE_TEMPERATURE_K = 290.0  # IEEE definition of the noise figure


def wavelength_m(*, frequency_ghz: Figure) -> Figure:
    """Wavelength in free space [m].

    Valid: frequency_ghz above 0; 0 divides by zero.
    Source: SI definition of the speed of light.

    >>> print(wavelength_m(frequency_ghz=5.8))
    0.0516884
    """
    return SPEED_OF_LIGHT_M_S / (frequency_ghz * 1e9)


def free_space_loss_db(*, distance_km: Figure, frequency_ghz: Figure) -> Figure:
    """Free-space basic transmission loss [dB].

    Valid: distance_km > 0, in the far field of both antennas.
    Source: ITU-R P.525-5 sec. 2, with the exact speed of light.
    >>> print(free_space_loss_db(distance_km=25, frequency_ghz=5.5))
    135.2138
    """
    return 20 * np.log10(4e12 * distance_km * frequency_ghz * np.pi / SPEED_OF_LIGHT_M_S)


def eirp_dbm(*, power_dbm: Figure, gain_dbi: Figure, loss_db: Figure) -> Figure:
    """Equivalent isotropically radiated power [dBm].

    power_dbm is the sum over all chains at the radio's port, loss_db the feeder at this end.
    Valid: any figures in dB; below 0 loss_db would be a gain.
    Source: ITU-R V.573, definition (from memory); sum of levels.
    >>> eirp_dbm(power_dbm=17, gain_dbi=23, loss_db=0.5)
    39.5
    """
    return power_dbm + gain_dbi - loss_db


def received_dbm(
    *, eirp_dbm: Figure, path_loss_db: Figure, gain_dbi: Figure, loss_db: Figure
) -> Figure:
    """Level at the receiver's port [dBm].

    path_loss_db: free space, gas and diffraction together; loss_db the feeder at this end.
    Valid: any figures in dB, in the far field (`antennas.far_field_m`); inside it the free-space
    loss says too little.
    Source: ITU-R P.530, link budget; sum of levels.
    >>> print(received_dbm(eirp_dbm=39.5, path_loss_db=129.412, gain_dbi=23, loss_db=0.5))
    -67.412
    """
    return eirp_dbm - path_loss_db + gain_dbi - loss_db


def noise_floor_dbm(*, bandwidth_mhz: Figure, noise_figure_db: Figure) -> Figure:
    """Noise of a receiver referred to its port [dBm]: k T0 B F.

    Valid: bandwidth_mhz above 0, noise_figure_db 0 or more; 0 MHz gives -infinity with numpy's
    warning.
    Source: SI constants, T0 = 290 K of the noise figure's definition.

    >>> print(noise_floor_dbm(bandwidth_mhz=40, noise_figure_db=5))
    -92.955
    """
    thermal_mw_mhz = BOLTZMANN_J_K * NOISE_TEMPERATURE_K * 1e6 * 1e3
    return 10 * np.log10(thermal_mw_mhz * bandwidth_mhz) + noise_figure_db


def margin_db(
    *,
    received_dbm: Figure,
    sensitivity_dbm: Figure,
    reflection_loss_db: Figure,
    noise_rise_db: Figure,
) -> Figure:
    """Flat fade margin of a mode [dB].

    Valid: any figures in dB, losses and rise 0 or more; below 0 the mode is not held.
    Source: sum of levels; noise rise as in ITU-R F.758 (from memory).

    >>> margin_db(received_dbm=-60.0, sensitivity_dbm=-77, reflection_loss_db=2, noise_rise_db=1)
    14.0
    """
    return received_dbm - sensitivity_dbm - reflection_loss_db - noise_rise_db


def conducted_limit_dbm(
    *,
    conducted_max_dbm: Figure,
    eirp_max_dbm: Figure,
    psd_max_dbm_mhz: Figure,
    gain_dbi: Figure,
    gain_free_dbi: Figure,
    back_off_db_per_db: Figure,
    channel_mhz: Figure,
) -> Figure:
    """Highest conducted power that a band rule allows with this antenna [dBm].

    gain_free_dbi: gain above which the conducted power falls by back_off_db_per_db; the density
    limit falls with it. A limit that a rule does not state is given as infinity.
    Source: form of 47 CFR 15.247, 15.407 and the CEPT decisions.
    Valid: channel_mhz above 0, back_off 0 or more; infinity for a limit that is not stated, all
    infinite gives infinity. 0 MHz gives -infinity with numpy's warning.
    >>> print(conducted_limit_dbm(conducted_max_dbm=30, eirp_max_dbm=np.inf, psd_max_dbm_mhz=17,
    ...     gain_dbi=34, gain_free_dbi=23, back_off_db_per_db=1, channel_mhz=40))
    19.0
    """
    excess_db = np.maximum(gain_dbi - gain_free_dbi, 0) * back_off_db_per_db
    by_density_dbm = psd_max_dbm_mhz + 10 * np.log10(channel_mhz)
    return np.minimum(
        np.minimum(conducted_max_dbm, by_density_dbm) - excess_db, eirp_max_dbm - gain_dbi
    )
