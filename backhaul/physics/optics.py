"""Light: loss, margins, overload, attenuators and acceptance of a fiber link.

Power is in dBm, loss and margin in dB, never the other way round. Two forms of published optics
table exist and are not interchangeable. Form P (IEEE 802.3 Clauses 38 and 59, ITU-T G.957) gives
a sensitivity on a clean signal, from which a penalty is taken. Form C (Clauses 52, 87, 88, 112,
114) gives a channel limit that already holds the penalty.
"""

import math

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("optical loss of a link", "ITU-T G.652 Appendix I", "11/2016"),
    Method("optical margin, form P", "IEEE 802.3 Clauses 38, 59; ITU-T G.957", "2018; 03/2006"),
    Method("optical margin, form C", "IEEE 802.3 Clauses 52, 87, 88, 112, 114", "2018"),
    Method(
        "optical loss, statistical", "ITU-T G.957 clause 8.3; G.Sup39 clause 10", "03/2006; 2016"
    ),
    Method("acceptance limit of a fiber link", "TIA-568.3; ISO/IEC 14763-3", "D (2016), as quoted"),
)

RANGES = {
    # With fewer joints, a mean and a few sigmas say little (common practice).
    "statistical_joints": (8, math.inf),
}

#: Sigmas over the mean, 99.87 % of links (ITU-T G.957 clause 8.3; figure from memory).
STATISTICAL_SIGMAS = 3.0
#: Greatest loss of a mated pair and of a splice [dB] (TIA-568.3-D; the splice from memory).
PAIR_MAX_DB = 0.75
SPLICE_MAX_DB = 0.30
#: First and last pair under test, against a reference cord [dB] (ISO/IEC 14763-3, TIA-568.3-D).
#: TIA-568.3-E allows 0.50 on multimode too; the tighter stands here.
REFERENCE_PAIR_MAX_DB = {"single": 0.50, "multi": 0.30}
#: What `window_overlap` answers.
OVERLAP_NONE, OVERLAP_PARTIAL, OVERLAP_FULL = 0, 1, 2
#: Decimals at which levels are compared, so that 0.3 - 0.1 - 0.2 is 0 here and in a spreadsheet.
_DECIMALS = 6


def run_loss_db(*, length_km: Figure, attenuation_db_per_km: Figure) -> Figure:
    """Loss of a fiber run [dB].

    length_km: 0 or more. Source: ITU-T G.652 (11/2016) Appendix I.
    Valid: length and attenuation 0 or more; below 0 it would be a gain.

    >>> run_loss_db(length_km=8, attenuation_db_per_km=0.5)
    4.0
    """
    return length_km * attenuation_db_per_km


def joints_loss_db(*, count: Figure, each_db: Figure) -> Figure:
    """Loss of like joints [dB]: mated pairs (not plugs), splices or attenuators.

    Source: ITU-T G.652 (11/2016) Appendix I, without the connectors of the equipment.
    count: number of joints.
    Valid: count and loss 0 or more; below 0 it would be a gain.

    >>> joints_loss_db(count=7, each_db=0.5)
    3.5
    """
    return count * each_db


def received_dbm(*, launch_dbm: Figure, loss_db: Figure) -> Figure:
    """Power at the receiver [dBm].

    Valid: any level, loss 0 or more.
    Source: sum of levels.

    >>> received_dbm(launch_dbm=-3.0, loss_db=6.5)
    -9.5
    """
    return launch_dbm - loss_db


def power_margin_db(
    *,
    launch_min_dbm: Figure,
    sensitivity_dbm: Figure,
    penalty_db: Figure,
    loss_max_db: Figure,
    repair_allowance_db: Figure,
) -> Figure:
    """Margin of form P [dB]: launch, sensitivity and penalty of the optics against the loss.

    Source: IEEE 802.3-2018 Tables 38-5 and 59-11; ITU-T G.957 (03/2006) clause 8.2.
    Valid: any figures in dB, penalty and allowance 0 or more; below 0 the link is not held.

    >>> power_margin_db(launch_min_dbm=-9.0, sensitivity_dbm=-19.5, penalty_db=3.3,
    ...                 loss_max_db=4.7, repair_allowance_db=1.0)
    1.5
    """
    return launch_min_dbm - sensitivity_dbm - penalty_db - loss_max_db - repair_allowance_db


def channel_margin_db(
    *, channel_limit_db: Figure, loss_max_db: Figure, repair_allowance_db: Figure
) -> Figure:
    """Margin of form C [dB]: the channel limit of optic and fiber, nothing else taken off.

    Source: IEEE 802.3-2018 Clauses 52, 87, 88, 112, 114: the penalty is inside the limit.
    Valid: any figures in dB, allowance 0 or more; below 0 the loss passes the limit.

    >>> channel_margin_db(channel_limit_db=6.2, loss_max_db=4.7, repair_allowance_db=1.0)
    0.5
    """
    return channel_limit_db - loss_max_db - repair_allowance_db


def overload_margin_db(
    *, overload_dbm: Figure, launch_max_dbm: Figure, loss_min_db: Figure
) -> Figure:
    """Room below the overload of the receiver [dB]; a separate check from the margin.

    loss_min_db: the lowest credible loss of the link, never its worst case.
    Valid: any levels, loss 0 or more; below 0 the receiver is overloaded.
    Source: IEEE 802.3-2018 Clause 52 and ITU-T G.957 clause 8, receiver overload.

    >>> overload_margin_db(overload_dbm=-3.0, launch_max_dbm=4.0, loss_min_db=0.0)
    -7.0
    """
    return overload_dbm - (launch_max_dbm - loss_min_db)


def attenuation_needed_db(
    *, overload_margin_db: Figure, wanted_overload_margin_db: Figure
) -> Figure:
    """Loss to be added so that the receiver has the wanted room [dB]; 0 if none.

    Valid: any figures in dB, taken to 1e-6; held at 0 where there is room.
    Source: definition.

    >>> print(attenuation_needed_db(overload_margin_db=-7.0, wanted_overload_margin_db=0.5))
    7.5
    """
    return np.maximum(np.round(wanted_overload_margin_db - overload_margin_db, _DECIMALS), 0)


def statistical_loss_db(*, mean_db: Figure, variance_db2: Figure) -> Figure:
    """Loss that 99.87 % of links like this one stay below [dB]: mean plus 3 sigma.

    mean_db, variance_db2: sums over runs and joints. Beside the worst case, never in its stead.
    Source: ITU-T G.957 (03/2006) clause 8.3; ITU-T G.Sup39 (2016) clause 10.
    Valid: variance 0 or more: below 0 NaN with numpy's warning. From 8 joints up (RANGES); with
    fewer use the worst case.

    >>> print(statistical_loss_db(mean_db=5.0, variance_db2=0.04))
    5.6
    """
    return mean_db + STATISTICAL_SIGMAS * np.sqrt(variance_db2)


def bounded_statistical_loss_db(*, statistical_loss_db: Figure, loss_max_db: Figure) -> Figure:
    """Statistical loss that is reported [dB]: never above the worst case.

    With few joints mean plus 3 sigma may pass the sum of the limits, which no link exceeds.
    Valid: any figures in dB; NaN in either gives NaN.
    Source: the worst case bounds every link; ITU-T G.957 (03/2006) clause 8.3 for the other.

    >>> print(bounded_statistical_loss_db(statistical_loss_db=1.32, loss_max_db=1.20))
    1.2
    """
    return np.minimum(statistical_loss_db, loss_max_db)


def is_credible_reading(
    *, measured_db: Figure, length_km: Figure, least_db_per_km: Figure
) -> Figure:
    """Whether a measured loss is at least what the glass alone must lose.

    least_db_per_km: of good cable at the wavelength that was measured; a blank reading is not
    credible. Source: common practice; an OTDR trace or a reading lower than the glass has the
    wrong strand, length or reference.
    Valid: length and attenuation 0 or more, compared to 1e-6 dB; NaN is not credible.

    >>> bool(is_credible_reading(measured_db=0.0, length_km=9, least_db_per_km=0.18))
    False
    """
    least_db = run_loss_db(length_km=length_km, attenuation_db_per_km=least_db_per_km)
    return np.round(measured_db - least_db, _DECIMALS) >= 0


def joints_variance_db2(*, count: Figure, sigma_db: Figure) -> Figure:
    """Variance of like joints, independent of one another [dB^2].

    count: number of joints.
    Valid: count 0 or more, sigma 0 or more and independent from joint to joint; a common cause adds
    up faster.
    Source: sum of independent variances.

    >>> joints_variance_db2(count=4, sigma_db=0.5)
    1.0
    """
    return count * sigma_db**2


def cable_sections(*, splices: Figure) -> Figure:
    """Sections of cable in a link: its splices and one more.

    splices: between two lengths of cable; a splice to a pigtail or connector is a termination.
    Valid: splices 0 or more.
    Source: geometry of a cable.

    >>> cable_sections(splices=3)
    4
    """
    return splices + 1


def run_variance_db2(
    *, length_km: Figure, sigma_db_per_km: Figure, glass_km: Figure, sections: Figure
) -> Figure:
    """Variance of a run that is part of a link of like, independent sections of cable [dB^2].

    sigma_db_per_km: of one section. glass_km, sections: of the whole link, 1 section or more; they
    are taken as equally long, so that the standard deviation of the link is sigma x length /
    sqrt(sections) in however many runs it is written. Source: ITU-T G.Sup39 (2016) clause 10.
    Valid: length up to glass_km, one section or more: 0 divides by zero.

    >>> run_variance_db2(length_km=10, sigma_db_per_km=0.02, glass_km=10, sections=4)
    0.01
    """
    return sigma_db_per_km**2 * length_km * glass_km / sections


def window_overlap(
    *, tx_min_nm: Figure, tx_max_nm: Figure, rx_min_nm: Figure, rx_max_nm: Figure
) -> Figure:
    """How a transmit range lies in a receive range [-]: 2 inside, 1 partly, 0 not at all.

    A blank limit is no limit. Source: the wavelength ranges in the tables of
    IEEE 802.3-2018 and ITU-T G.957, compared in both directions.
    Valid: minimum up to maximum in each range; a NaN limit is no limit, four of them overlap fully.

    >>> print(window_overlap(tx_min_nm=1260, tx_max_nm=1360, rx_min_nm=1270, rx_max_nm=1355))
    1
    """
    is_apart = np.logical_or(tx_max_nm < rx_min_nm, tx_min_nm > rx_max_nm)
    sticks_out = np.logical_or(tx_min_nm < rx_min_nm, tx_max_nm > rx_max_nm)
    return np.where(is_apart, OVERLAP_NONE, np.where(sticks_out, OVERLAP_PARTIAL, OVERLAP_FULL))


def acceptance_limit_db(
    *,
    length_km: Figure,
    attenuation_db_per_km: Figure,
    pairs: Figure,
    splices: Figure,
    end_pair_db: Figure,
) -> Figure:
    """Greatest loss that may be measured on an installed link [dB], uncertainty included.

    pairs: mated pairs, those at both ends too. end_pair_db: of the first and the last, which
    meet a reference cord (REFERENCE_PAIR_MAX_DB). Source: TIA-568.3-D; ISO/IEC 14763-3.
    splices: number of splices.
    Valid: length, pairs and splices 0 or more; fewer than two pairs count as they are.

    >>> print(acceptance_limit_db(length_km=2, attenuation_db_per_km=0.4, pairs=4, splices=2,
    ...                           end_pair_db=0.5))
    3.9
    """
    return (
        length_km * attenuation_db_per_km
        + np.minimum(pairs, 2) * end_pair_db
        + np.maximum(pairs - 2, 0) * PAIR_MAX_DB
        + splices * SPLICE_MAX_DB
    )


CELL_FORMULAS = (
    "run_loss_db",
    "joints_loss_db",
    "received_dbm",
    "power_margin_db",
    "channel_margin_db",
    "overload_margin_db",
    "bounded_statistical_loss_db",
    "is_credible_reading",
    "attenuation_needed_db",
    "statistical_loss_db",
    "joints_variance_db2",
    "cable_sections",
    "run_variance_db2",
    "window_overlap",
    "acceptance_limit_db",
)
