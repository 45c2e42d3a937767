"""The margin of a direction: the tighter of the power budget and of the channel limit."""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("tighter of power budget and channel limit", "IEEE 802.3 Tables 38-9, 59-11", "2018"),
)

RANGES = {"penalty_db": (0.0, 20.0)}  # above any in IEEE 802.3 and ITU-T G.957


def tighter_margin_db(*, power_margin_db: Figure, channel_margin_db: Figure) -> Figure:
    """The lesser of the two margins [dB]: the form P optics must hold the channel limit besides.

    Source: IEEE 802.3-2018 Tables 38-5 and 59-11 list a channel insertion loss beside the budget.
    Valid: any figures in dB; NaN in either gives NaN, so a budget asks it only where both are
    known.

    >>> print(tighter_margin_db(power_margin_db=2.88, channel_margin_db=0.08))
    0.08
    """
    return np.minimum(power_margin_db, channel_margin_db)


CELL_FORMULAS = ("tighter_margin_db",)
