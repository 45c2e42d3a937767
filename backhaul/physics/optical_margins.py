"""The margin of a direction: the tighter of the power budget and of the channel limit."""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.optics import channel_margin_db, power_margin_db

METHODS = (
    Method("tighter of power budget and channel limit", "IEEE 802.3 Tables 38-9, 59-11", "2018"),
)

RANGES = {"penalty_db": (0.0, 20.0)}  # above any in IEEE 802.3 and ITU-T G.957

#: Which limit a margin comes from.
BASIS_POWER, BASIS_CHANNEL = "power", "channel"


def tighter_margin_db(*, power_margin_db: Figure, channel_margin_db: Figure) -> Figure:
    """The lesser of the two margins [dB]: the form P optics must hold the channel limit besides.

    Source: IEEE 802.3-2018 Tables 38-5 and 59-11 list a channel insertion loss beside the budget.
    Valid: any figures in dB; NaN in either gives NaN, so a budget asks it only where both are
    known.

    >>> print(tighter_margin_db(power_margin_db=2.88, channel_margin_db=0.08))
    0.08
    """
    return np.minimum(power_margin_db, channel_margin_db)


class Margin(NamedTuple):
    """A margin [dB] and which of the two limits it comes from: BASIS_POWER or BASIS_CHANNEL."""

    margin_db: np.ndarray
    basis: np.ndarray


def link_margin(
    *,
    launch_min_dbm: Figure,
    sensitivity_dbm: Figure,
    penalty_db: Figure,
    channel_limit_db: Figure,
    is_form_p: Figure,
    is_same_class: Figure,
    loss_max_db: Figure,
    repair_allowance_db: Figure,
) -> Margin:
    """Margin of one direction, the tighter of what is known, and its basis; array code.

    launch_min_dbm: of the sender. sensitivity_dbm, penalty_db, is_form_p: of the receiver.
    channel_limit_db: published for this optic and fiber, NaN where there is none. is_same_class:
    both ends are one class, or the two ends of one bidirectional pair; a channel limit holds for
    such a link only. Form C with a limit has that alone. A blank penalty is none. NaN where
    neither limit is known. Source: IEEE 802.3-2018 Clauses 38, 52, 59; ITU-T G.957 clause 8.2.

    >>> link_margin(launch_min_dbm=-9.0, sensitivity_dbm=-19.5, penalty_db=3.3,
    ...             channel_limit_db=6.0, is_form_p=True, is_same_class=[True, False],
    ...             loss_max_db=4.7, repair_allowance_db=0)
    Margin(margin_db=array([1.3, 2.5]), basis=array(['channel', 'power'], dtype='<U7'))
    """
    taken_off_db = np.where(is_form_p, np.nan_to_num(penalty_db), 0.0)
    power_db = power_margin_db(
        launch_min_dbm=launch_min_dbm,
        sensitivity_dbm=sensitivity_dbm,
        penalty_db=taken_off_db,
        loss_max_db=loss_max_db,
        repair_allowance_db=repair_allowance_db,
    )
    channel_db = channel_margin_db(
        channel_limit_db=channel_limit_db,
        loss_max_db=loss_max_db,
        repair_allowance_db=repair_allowance_db,
    )
    has_channel = np.logical_and(is_same_class, np.isfinite(channel_limit_db))
    without_power = np.logical_or(np.logical_not(is_form_p), np.isnan(power_db))
    by_channel = np.logical_and(has_channel, np.logical_or(without_power, channel_db <= power_db))
    margin_db: Figure = np.where(by_channel, channel_db, power_db)
    return Margin(
        margin_db,
        np.where(by_channel, BASIS_CHANNEL, BASIS_POWER),
    )


CELL_FORMULAS = ("tighter_margin_db",)
