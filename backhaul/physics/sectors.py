"""Antennas that serve several far ends: the pattern of sectors, and where one is best pointed."""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.antennas import discrimination_db

METHODS = (
    Method(
        "pattern of sector antennas", "ITU-R F.1336 recommends 3.1, from memory", "azimuth only"
    ),
    Method(
        "elevation beam of omnidirectional and sector antennas",
        "ITU-R F.1336 recommends 2.1 and 3.3, from memory",
        "by their gain",
    ),
)
RANGES = {
    "angle_deg": (0.0, 180.0),
    "beamwidth_deg": (1.0, 360.0),
    "gain_dbi": (0.0, 25.0),
}
CELL_FORMULAS = ("sector_loss_db",)

#: Relative minimum gain and azimuth pattern of a typical sector antenna, k_p and k_h of ITU-R
#: F.1336 recommends 3.1 (from memory; 0.7 to 0.8 for both).
K_P, K_H = 0.7, 0.8
#: Gain, azimuth and elevation beam of a sector antenna: 31,000 = G theta phi (F.1336 recommends
#: 3.3, from memory).
BEAM_PRODUCT = 31_000.0
#: Elevation beam of an omnidirectional antenna of 0 dBi [degrees] (F.1336 recommends 2.1, from
#: memory).
OMNI_BEAM = 107.6


def sector_loss_db(*, angle_deg: Figure, beamwidth_deg: Figure, gain_dbi: Figure) -> Figure:
    """How much weaker a sector antenna is angle_deg beside its axis, in azimuth [dB].

    12 (angle / beamwidth)^2 up to half the beam, 3 dB there; flatter beyond, and held at the level
    of its back. An omnidirectional antenna (360 degrees) loses nothing. Elevation is not counted.
    Valid: angle_deg 0 to 180, beamwidth_deg above 0 to 360; 0 divides by zero.
    Source: ITU-R F.1336 recommends 3.1, from memory.

    >>> print(sector_loss_db(angle_deg=45, beamwidth_deg=90, gain_dbi=17),
    ...     sector_loss_db(angle_deg=180, beamwidth_deg=360, gain_dbi=10))
    3.0 0.0
    """
    share = angle_deg / beamwidth_deg
    level = 3 * (1 - 0.5**-K_H)
    beyond = 12 * np.maximum(share, 0.5) ** (2 - K_H) + level
    elevation_deg = sector_elevation_beam_deg(gain_dbi=gain_dbi, beamwidth_deg=beamwidth_deg)
    back = np.maximum(
        12 - 10 * np.log10(1 + 8 * K_P) + 15 * np.log10(np.maximum(180 / elevation_deg, 1)), 3
    )
    loss = np.minimum(np.where(share <= 0.5, 12 * share**2, beyond), back)
    return np.where(beamwidth_deg >= 360, 0.0, loss)


def omni_elevation_beam_deg(*, gain_dbi: Figure) -> Figure:
    """Half-power beamwidth in elevation of an omnidirectional antenna [degrees].

    gain_dbi: towards the horizon.
    Valid: gain_dbi 0 to 25.
    Source: ITU-R F.1336 recommends 2.1, from memory.

    >>> print(omni_elevation_beam_deg(gain_dbi=10.0))
    10.76
    """
    return OMNI_BEAM * 10 ** (-gain_dbi / 10)


def sector_elevation_beam_deg(*, gain_dbi: Figure, beamwidth_deg: Figure) -> Figure:
    """Half-power beamwidth in elevation of a sector antenna [degrees].

    beamwidth_deg: half-power beamwidth in azimuth.
    Valid: gain_dbi 0 to 25, beamwidth_deg above 0 to 360; 0 divides by zero.
    Source: ITU-R F.1336 recommends 3.3, from memory.

    >>> print(round(sector_elevation_beam_deg(gain_dbi=20.0, beamwidth_deg=62.0), 6))
    5.0
    """
    return BEAM_PRODUCT * 10 ** (-gain_dbi / 10) / beamwidth_deg


def pattern_db(*, angle_deg: Figure, gain_dbi: Figure, beam_deg: Figure) -> Figure:
    """How much weaker an antenna is beside its axis [dB]: that of a hub as a sector, else a dish.

    angle_deg: 0 to 180. gain_dbi: on the axis. beam_deg: of a hub's antenna; 0 or NaN of any other.
    Valid: as `sector_loss_db` and `antennas.discrimination_db`; NaN angles stay NaN.
    Source: ITU-R F.1336 and F.699.

    >>> print(pattern_db(angle_deg=45, gain_dbi=17, beam_deg=np.array([90.0, np.nan])).round(1))
    [ 3. 11.]
    """
    dish = discrimination_db(angle_deg=angle_deg, gain_dbi=gain_dbi)
    if not np.any(beam_deg > 0):
        return dish
    beam = np.where(beam_deg > 0, beam_deg, 1.0)
    sector = sector_loss_db(angle_deg=angle_deg, beamwidth_deg=beam, gain_dbi=gain_dbi)
    return np.where(beam_deg > 0, sector, dish)


def middle_azimuth_deg(azimuths_deg: Figure) -> float:
    """Middle of the smallest arc that holds all azimuths [degrees, 0 to 360].

    Pointed there, an antenna has the least angle to the far end that lies most beside it.
    Valid: any azimuths, one or more; NaN for none.
    Source: geometry.

    >>> middle_azimuth_deg([350.0, 20.0, 10.0])
    5.0
    """
    turns = np.unique(np.asarray(azimuths_deg, dtype=float) % 360)
    if not turns.size:
        return float("nan")
    gaps = np.diff(turns, append=turns[0] + 360)
    widest = int(np.argmax(gaps))
    return float((turns[widest] + gaps[widest] + (360 - gaps[widest]) / 2) % 360)


def angle_between_deg(*, azimuth_deg: Figure, other_deg: Figure) -> Figure:
    """Angle between two azimuths [degrees, 0 to 180].

    Valid: any azimuths; NaN stays NaN.
    Source: geometry.

    >>> print(angle_between_deg(azimuth_deg=350.0, other_deg=20.0))
    30.0
    """
    return np.abs((azimuth_deg - other_deg + 180) % 360 - 180)
