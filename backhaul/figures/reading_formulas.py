"""What is read on site: the figure expected, the lowest and the highest that are accepted."""

import numpy as np

from backhaul.figures.power_judgements import TRIP_MULTIPLE
from backhaul.physics import optics

#: Uncertainty of a loss measured with reference-grade cords [dB]: IEC 61280-4-2:2014, Annex
#: (0.2 to 0.3), IEC 61280-4-1:2019, Annexes (0.2 to 0.4); from memory, the upper ends.
LOSS_UNCERTAINTY_DB = {"single": 0.3, "multi": 0.4}
LOSS_UNCERTAINTY_SOURCE = {
    "single": "IEC 61280-4-2:2014, annex: 0.2 to 0.3 dB (to be confirmed)",
    "multi": "IEC 61280-4-1:2019, annexes: 0.2 to 0.4 dB (to be confirmed)",
}
#: Mated pairs at the test cords, one at each end; the reading holds them with one reference cord.
END_PAIRS = 2
#: Levels read at a terminal agree with the budget within this [dB]: common practice, from memory.
LEVEL_TOLERANCE_DB = 3.0
#: Two rays in phase against one [dB].
IN_PHASE_DB = 20 * np.log10(2.0)
#: Chains of one terminal agree with each other within this [dB]: common practice, from memory.
CHAIN_TOLERANCE_DB = 3.0
#: An antenna may point off by a quarter of its beamwidth, 0.75 dB: common practice, from memory.
AIM_SHARE = 0.25
#: Height of an antenna as mounted against the design [m]: common practice, from memory.
HEIGHT_TOLERANCE_M = 0.3
FULL_TURN_DEG = 360


def least_length_m(*, length_m, straight_m):
    """Lowest credible length of a run [m]: the straight line, or what is designed if that is less.

    straight_m: between its two sites, less the rounding of their coordinates.

    >>> print(least_length_m(length_m=1620.0, straight_m=1459.5))
    1459.5
    """
    return np.minimum(length_m, straight_m)


def loss_limit_db(*, runs_db, pairs, splices, attenuators_db, end_pair_db):
    """Greatest loss that may be measured between the plugs of the two optics [dB].

    runs_db: highest loss of the glass. pairs: mated pairs between the optics; those at the two
    test cords are added here. Source: TIA-568.3-D; ISO/IEC 14763-3.

    >>> print(loss_limit_db(runs_db=0.8, pairs=2, splices=2, attenuators_db=0, end_pair_db=0.5))
    3.9
    """
    channel = optics.acceptance_limit_db(
        length_km=1,
        attenuation_db_per_km=runs_db,
        pairs=pairs + END_PAIRS,
        splices=splices,
        end_pair_db=end_pair_db,
    )
    return channel + attenuators_db


def least_loss_db(*, loss_min_db, uncertainty_db):
    """Lowest credible reading of a loss [dB]: below it the reference or the fiber is wrong.

    >>> print(least_loss_db(loss_min_db=1.0, uncertainty_db=0.3))
    0.7
    """
    return loss_min_db - uncertainty_db


def greatest_loss_db(*, limit_db, loss_max_db, margin_db):
    """The acceptance limit, or what the budget bears, whichever is less [dB].

    >>> print(greatest_loss_db(limit_db=3.9, loss_max_db=2.5, margin_db=1.0))
    3.5
    """
    return np.minimum(limit_db, loss_max_db + margin_db)


def expected_level_dbm(*, launch_min_dbm, launch_max_dbm, mean_db):
    """Middle of the launch range less the mean loss [dBm].

    >>> print(expected_level_dbm(launch_min_dbm=-9.0, launch_max_dbm=-3.0, mean_db=2.0))
    -8.0
    """
    return (launch_min_dbm + launch_max_dbm) / 2 - mean_db


def least_level_dbm(*, received_min_dbm, sensitivity_dbm, penalty_db):
    """Lowest level of the budget, and no less than the receiver needs [dBm].

    >>> print(least_level_dbm(received_min_dbm=-12.0, sensitivity_dbm=-19.0, penalty_db=3.0))
    -12.0
    """
    return np.maximum(received_min_dbm, sensitivity_dbm + penalty_db)


def greatest_level_dbm(*, received_max_dbm, overload_dbm):
    """Highest level of the budget, and no more than the receiver stands [dBm].

    >>> print(greatest_level_dbm(received_max_dbm=-2.0, overload_dbm=-3.0))
    -3.0
    """
    return np.minimum(received_max_dbm, overload_dbm)


def least_received_dbm(*, received_dbm, tolerance_db, reflection_loss_db):
    """Lowest acceptable level [dBm]: with the tolerance, and the deepest fade over water.

    >>> print(least_received_dbm(received_dbm=-60.0, tolerance_db=3.0, reflection_loss_db=4.0))
    -67.0
    """
    return received_dbm - tolerance_db - reflection_loss_db


def least_heard_dbm(*, received_dbm, tolerance_db, reflection_loss_db, slowest_dbm, split_db):
    """The same, and no less than the slowest mode needs [dBm]: below it nothing is heard.

    slowest_dbm: its sensitivity, all chains together; split_db: of what is read, below all chains.

    >>> print(
    ...     least_heard_dbm(
    ...         received_dbm=-60.0,
    ...         tolerance_db=3.0,
    ...         reflection_loss_db=45.0,
    ...         slowest_dbm=-92.0,
    ...         split_db=0.0,
    ...     )
    ... )
    -92.0
    """
    least = least_received_dbm(
        received_dbm=received_dbm, tolerance_db=tolerance_db, reflection_loss_db=reflection_loss_db
    )
    return np.maximum(least, slowest_dbm - split_db)


def greatest_received_dbm(*, received_dbm, tolerance_db):
    """Highest acceptable level [dBm].

    >>> print(greatest_received_dbm(received_dbm=-60.0, tolerance_db=3.0))
    -57.0
    """
    return received_dbm + tolerance_db


def greatest_mirrored_dbm(*, received_dbm, tolerance_db):
    """Highest acceptable level over water, where the two rays may add up [dBm].

    >>> print(greatest_mirrored_dbm(received_dbm=-60.0, tolerance_db=3.0))
    -50.97
    """
    return received_dbm + tolerance_db + IN_PHASE_DB


def greatest_below_damage_dbm(*, received_dbm, tolerance_db, max_input_dbm):
    """Highest acceptable level, and no more than the receiver stands [dBm].

    >>> print(greatest_below_damage_dbm(received_dbm=-28.0, tolerance_db=3.0, max_input_dbm=-30.0))
    -30.0
    """
    return np.minimum(
        greatest_received_dbm(received_dbm=received_dbm, tolerance_db=tolerance_db), max_input_dbm
    )


def greatest_mirrored_below_damage_dbm(*, received_dbm, tolerance_db, max_input_dbm):
    """The same over water [dBm].

    >>> print(
    ...     greatest_mirrored_below_damage_dbm(
    ...         received_dbm=-60.0, tolerance_db=3.0, max_input_dbm=-30.0
    ...     )
    ... )
    -50.97
    """
    return np.minimum(
        greatest_mirrored_dbm(received_dbm=received_dbm, tolerance_db=tolerance_db), max_input_dbm
    )


def aim_low_deg(*, angle_deg, beamwidth_deg):
    """Lowest acceptable tilt [degrees].

    >>> print(aim_low_deg(angle_deg=0.2, beamwidth_deg=8.0))
    -1.8
    """
    return angle_deg - AIM_SHARE * beamwidth_deg


def aim_high_deg(*, angle_deg, beamwidth_deg):
    """Highest acceptable tilt [degrees].

    >>> print(aim_high_deg(angle_deg=0.2, beamwidth_deg=8.0))
    2.2
    """
    return angle_deg + AIM_SHARE * beamwidth_deg


def bearing_low_deg(*, angle_deg, beamwidth_deg):
    """Acceptable azimuth, anticlockwise end [degrees].

    >>> print(bearing_low_deg(angle_deg=1.0, beamwidth_deg=8.0))
    359.0
    """
    return turned_deg(angle_deg=angle_deg - AIM_SHARE * beamwidth_deg)


def bearing_high_deg(*, angle_deg, beamwidth_deg):
    """Acceptable azimuth, clockwise end [degrees].

    >>> print(bearing_high_deg(angle_deg=359.0, beamwidth_deg=8.0))
    1.0
    """
    return turned_deg(angle_deg=angle_deg + AIM_SHARE * beamwidth_deg)


def turned_deg(*, angle_deg):
    """An angle between 0 and 360 [degrees].

    >>> print(turned_deg(angle_deg=-1.5))
    358.5
    """
    return angle_deg - FULL_TURN_DEG * np.floor(angle_deg / FULL_TURN_DEG)


def height_low_m(*, height_m, tolerance_m):
    """Lowest acceptable height of an antenna above the site's ground [m].

    >>> print(height_low_m(height_m=7.0, tolerance_m=0.3))
    6.7
    """
    return height_m - tolerance_m


def height_high_m(*, height_m, tolerance_m):
    """Highest acceptable height of an antenna above the site's ground [m].

    >>> print(height_high_m(height_m=7.0, tolerance_m=0.3))
    7.3
    """
    return height_m + tolerance_m


def breaker_high_a(*, rated_a, short_circuit_a, breaker_a):
    """Highest acceptable rating of a breaker [A]: the run carries it, a short trips it at once.

    Where the designed one is not tripped at once, somebody answers for it and it is accepted.

    >>> print(breaker_high_a(rated_a=45.2, short_circuit_a=113.0, breaker_a=16.0))
    22.6
    """
    trips_a = short_circuit_a / TRIP_MULTIPLE
    return np.minimum(rated_a, np.maximum(trips_a, breaker_a))


def most_volts(*, highest_v, stands_v):
    """Highest acceptable voltage [V]: what the source gives at most, and no more than the load stands.

    >>> print(most_volts(highest_v=57.6, stands_v=57.0))
    57.0
    """
    return np.minimum(highest_v, stands_v)


def least_volts(*, load_v, least_v):
    """Lowest acceptable voltage [V]: as computed, and no less than the load starts at.

    >>> print(least_volts(load_v=47.2, least_v=42.5))
    47.2
    """
    return np.maximum(load_v, least_v)
