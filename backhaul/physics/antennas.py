"""Dishes: gain, beam, pattern envelope, pointing, wind force and polarization."""

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import wavelength_m

METHODS = (
    Method("antenna pattern", "ITU-R F.699", "7, in an open spectrum library: envelope, 1-70 GHz"),
    Method("pointing loss", "common practice", "12 (angle / 3 dB beamwidth)^2 in the main lobe"),
    Method("wind force", "drag equation", "air 1.25 kg/m3 as in EN 1991-1-4, from memory"),
)
RANGES = {
    "offset_per_beamwidth": (0.0, 1 / 1.2),  # main lobe; beyond it the aim is lost, not weaker
    "gain_dbi": (18.0, 55.0),  # dishes and panels that the envelope describes; practice
    "frequency_ghz": (1.0, 70.0),  # ITU-R F.699 scope, from memory
}

CELL_FORMULAS = (
    "dish_beamwidth_deg",
    "far_field_m",
    "pointing_loss_db",
    "main_lobe_discrimination_db",
    "discrimination_db",
    "wind_force_n",
    "polarization_loss_db",
    "aim_loss_db",
    "outside_main_lobe",
    "aperture_m",
)

APERTURE_EFFICIENCY = 0.55  # common practice: 0.5 to 0.65
AIR_DENSITY_KG_M3 = 1.25  # EN 1991-1-4 sec. 4.5 (from memory); 1.225 at 15 degC, sea level
DRAG_COEFFICIENT = 1.4  # dish face on, 1.2 to 1.6; common practice, from memory
LARGEST_SWAY_PER_BEAMWIDTH = 0.25  # 0.75 dB at each end; common practice


def dish_beamwidth_deg(*, diameter_m: Figure, frequency_ghz: Figure) -> Figure:
    """Width of the beam of a dish between its 3 dB points [degree]: 70 wavelengths / diameter.

    Valid: diameter_m and frequency_ghz above 0, dishes of several wavelengths; smaller ones give a
    wide beam that means nothing, 0 divides by zero.
    Source: common practice, 70 wavelengths over the diameter.
    >>> print(dish_beamwidth_deg(diameter_m=0.6, frequency_ghz=80))
    0.437
    """
    return 70 * wavelength_m(frequency_ghz=frequency_ghz) / diameter_m


def far_field_m(*, diameter_m: Figure, frequency_ghz: Figure) -> Figure:
    """Distance from which the free-space loss holds [m]: 2 D^2 / wavelength.

    Valid: diameter_m of 0 or more, frequency_ghz above 0; 0 GHz divides by zero, a blank diameter
    gives NaN.
    Source: common practice, the usual Rayleigh distance.

    >>> print(far_field_m(diameter_m=0.6, frequency_ghz=80))
    192.1
    """
    return 2 * diameter_m**2 / wavelength_m(frequency_ghz=frequency_ghz)


def aperture_m(
    *, gain_dbi: Figure, frequency_ghz: Figure, efficiency: Figure = APERTURE_EFFICIENCY
) -> Figure:
    """Diameter of the round aperture that has a gain [m], where no diameter is stated.

    For the far field of a panel: `far_field_m` of it.
    efficiency: share of the aperture that counts, 0.5 to 0.65 as a rule.
    Valid: frequency_ghz above 0, efficiency above 0 to 1; any gain_dbi, though below 18 dBi an
    antenna is seldom a round aperture (RANGES).
    Source: geometry of the aperture; efficiency 0.55 common practice.
    >>> print(aperture_m(gain_dbi=28.642, frequency_ghz=5.8))
    0.600
    """
    wave = wavelength_m(frequency_ghz=frequency_ghz)
    return wave / np.pi * np.sqrt(10 ** (gain_dbi / 10) / efficiency)


def pointing_loss_db(*, offset_deg: Figure, beamwidth_deg: Figure) -> Figure:
    """Loss by aiming beside the far antenna [dB], within the main lobe only (see RANGES).

    Valid: offset_deg up to beamwidth_deg / 1.2 (RANGES); beyond, the parabola goes on and says too
    much: use `aim_loss_db`. beamwidth_deg above 0; 0 divides by zero.
    Source: common practice.

    >>> pointing_loss_db(offset_deg=3.0, beamwidth_deg=6.0)
    3.0
    """
    return 12 * (offset_deg / beamwidth_deg) ** 2


def main_lobe_discrimination_db(*, angle_deg: Figure, beamwidth_deg: Figure) -> Figure:
    """How much weaker the antenna is at angle_deg than on its axis [dB], near the main lobe.

    Ends at the level of the first side lobe, Gmax - G1 of ITU-R F.699 (from memory) with
    D/wavelength = 70 / beamwidth.
    Valid: beamwidth_deg above 0 to 180, any angle_deg; held at the level of the first side lobe,
    which says too little further out.
    Source: ITU-R F.699 (from memory) with common practice for the parabola.
    >>> print(main_lobe_discrimination_db(angle_deg=3.0, beamwidth_deg=6.0))
    3.0
    """
    lobe = pointing_loss_db(offset_deg=angle_deg, beamwidth_deg=beamwidth_deg)
    return np.minimum(lobe, 5.7 + 5 * np.log10(70 / beamwidth_deg))


def discrimination_db(*, angle_deg: Figure, gain_dbi: Figure) -> Figure:
    """How much weaker a dish is at angle_deg (0 to 180) than on its axis [dB], by envelope.

    Source: ITU-R F.699 (from memory), with D/wavelength from Gmax = 7.7 + 20 log10(D/wavelength).
    A real antenna's own envelope is better; use it where there is one.
    Valid: angle_deg 0 to 180, gain_dbi 18 to 55, 1 to 70 GHz (RANGES); beyond, the same law goes
    on, below about 8 dBi without meaning. Never below 0.
    >>> print(discrimination_db(angle_deg=90, gain_dbi=30))
    31.15
    """
    log_d = (gain_dbi - 7.7) / 20
    d_per_wavelength = 10**log_d
    first_side_lobe = 2 + 15 * log_d
    main = gain_dbi - 2.5e-3 * (d_per_wavelength * angle_deg) ** 2
    log_angle = np.log10(np.maximum(angle_deg, 0.01))
    small = np.where(angle_deg < 48, 52 - 10 * log_d - 25 * log_angle, 10 - 10 * log_d)
    large = np.where(angle_deg < 48, 32 - 25 * log_angle, -10)
    side = np.minimum(np.where(log_d > 2, large, small), first_side_lobe)
    return gain_dbi - np.minimum(np.maximum(main, side), gain_dbi)


def outside_main_lobe(*, angle_deg: Figure, beamwidth_deg: Figure) -> Figure:
    """Whether an antenna aims so far off that its main lobe misses the far end (RANGES).

    Valid: beamwidth_deg above 0, any angle_deg; the edge itself is inside. NaN gives False, as no
    aim is known.
    Source: common practice, 12 (1 / 1.2)^2 = 8.3 dB.

    >>> print(outside_main_lobe(angle_deg=np.array([4.9, 5.1]), beamwidth_deg=6.0))
    [False True]
    """
    return np.abs(angle_deg) * 1.2 > beamwidth_deg


def aim_loss_db(*, angle_deg: Figure, beamwidth_deg: Figure, gain_dbi: Figure) -> Figure:
    """Loss of one end that aims angle_deg beside the far end [dB], any angle up to 180.

    Within the main lobe the parabola; outside it the envelope of the side lobes, and no less than
    at the edge of the lobe. A hop must not be run there: `outside_main_lobe` says so.
    Source: common practice; ITU-R F.699.
    Valid: angle_deg -180 to 180, beamwidth_deg above 0, gain_dbi as in `discrimination_db`; held at
    8.3 dB at least outside the lobe, so that it does not step down.
    >>> print(aim_loss_db(angle_deg=3.0, beamwidth_deg=6.0, gain_dbi=28.0),
    ...     aim_loss_db(angle_deg=40.0, beamwidth_deg=6.0, gain_dbi=28.0))
    3.0 26.2
    """
    lobe = pointing_loss_db(offset_deg=np.abs(angle_deg), beamwidth_deg=beamwidth_deg)
    edge = 12 / 1.2**2
    side = discrimination_db(angle_deg=np.abs(angle_deg), gain_dbi=gain_dbi)
    outside = outside_main_lobe(angle_deg=angle_deg, beamwidth_deg=beamwidth_deg)
    return np.where(outside, np.maximum(side, edge), lobe)


def wind_force_n(
    *,
    wind_m_s: Figure,
    diameter_m: Figure,
    drag_coefficient: Figure = DRAG_COEFFICIENT,
    air_kg_m3: Figure = AIR_DENSITY_KG_M3,
) -> Figure:
    """Force of the wind on a dish, face on [N]; ice and side force come on top.

    wind_m_s: gust speed at the height of the dish. Drag equation; no structural design.
    drag_coefficient: 1.2 to 1.6 face on.
    Valid: figures of 0 or more; a negative wind counts by its size, a negative diameter too.
    Source: drag equation; drag 1.4 common practice, air 1.25 kg/m3 EN 1991-1-4 clause 4.5, from
    memory.
    >>> print(wind_force_n(wind_m_s=45, diameter_m=0.6, air_kg_m3=1.225))
    491.0
    """
    area_m2 = np.pi * diameter_m**2 / 4
    return 0.5 * air_kg_m3 * wind_m_s**2 * drag_coefficient * area_m2


def polarization_loss_db(*, angle_deg: Figure, discrimination_limit_db: Figure = 25.0) -> Figure:
    """Loss by antennas turned against each other [dB]; the antennas' cross-polar
    discrimination (25 to 35 dB, common practice) is the most that it can be.

    Valid: any angle_deg, 90 is crossed; held at discrimination_limit_db, which must be 0 or more.
    Source: Malus' law of the field; the limit is common practice.

    >>> print(polarization_loss_db(angle_deg=45))
    3.010
    """
    match = np.abs(np.cos(np.radians(angle_deg)))
    return np.minimum(-20 * np.log10(np.maximum(match, 1e-9)), discrimination_limit_db)
