"""What readings say of a design that was built: losses that stand for the computed, hops calibrated."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np


class AsBuilt(NamedTuple):
    """Figures from readings; NaN where a direction has none.

    loss_max_db, loss_min_db: of optical directions. fixed_loss_db: of hops, by the id of their row:
    what stands for the typed `extra_loss_db`. designed: the evaluation without readings. taken, off,
    unused: how many readings there are, how many of them are off or could not be used.
    """

    loss_max_db: np.ndarray
    loss_min_db: np.ndarray
    fixed_loss_db: Mapping[int, float]
    designed: Any
    taken: int = 0
    off: int = 0
    unused: int = 0

    @property
    def is_empty(self) -> bool:
        """Whether no figure of the budgets follows from the readings."""
        return bool(np.isnan(self.loss_max_db).all()) and not self.fixed_loss_db


def built_loss_max_db(*, reading_db, expected_db, loss_max_db):
    """Highest loss of a link once it is measured [dB].

    reading_db: with one reference cord, so that both end pairs are in it (ISO/IEC 14763-3): taken as
    it is. Between the expected loss and the computed highest it confirms the budget; above, it stands
    for the highest; below, what it is better by is gained.

    >>> print(
    ...     built_loss_max_db(reading_db=1.5, expected_db=1.2, loss_max_db=2.0),
    ...     built_loss_max_db(reading_db=2.6, expected_db=1.2, loss_max_db=2.0),
    ...     built_loss_max_db(reading_db=1.0, expected_db=1.2, loss_max_db=2.0),
    ... )
    2.0 2.6 1.8
    """
    return np.where(
        reading_db < expected_db,
        loss_max_db - (expected_db - reading_db),
        np.maximum(loss_max_db, reading_db),
    )


def built_loss_min_db(*, reading_db, expected_db, loss_min_db, end_pairs_db):
    """Lowest loss of a link once it is measured [dB].

    end_pairs_db: what the reading may hold beyond the link: both end pairs at their most and its
    uncertainty. Below the computed lowest it stands for it; beyond the expected and that it relieves.

    >>> print(
    ...     built_loss_min_db(reading_db=1.3, expected_db=1.2, loss_min_db=0.6, end_pairs_db=0.7),
    ...     built_loss_min_db(reading_db=0.4, expected_db=1.2, loss_min_db=0.6, end_pairs_db=0.7),
    ...     built_loss_min_db(reading_db=3.9, expected_db=1.2, loss_min_db=0.6, end_pairs_db=0.7),
    ... )
    0.6 0.4 2.6
    """
    more = np.maximum(reading_db - end_pairs_db - expected_db, 0.0)
    return np.where(
        reading_db < expected_db, np.minimum(loss_min_db, reading_db), loss_min_db + more
    )


def with_built(values: dict[str, Any], built: AsBuilt | None) -> None:
    """Add to the figures of light what remains by the readings.

    `remaining_…` is NaN without a reading; `standing_…` is what a verdict rests on: what remains, else
    what was designed.
    """
    nothing = np.full(np.shape(values["margin_db"]), np.nan)
    highest = nothing if built is None else built.loss_max_db
    lowest = nothing if built is None else built.loss_min_db
    values["built_loss_db"], values["built_loss_min_db"] = highest, lowest
    values["remaining_margin_db"] = values["margin_db"] + values["loss_max_db"] - highest
    values["remaining_overload_margin_db"] = (
        values["overload_margin_db"] + lowest - values["loss_min_db"]
    )
    for name in ("margin_db", "overload_margin_db"):
        remains = values[f"remaining_{name}"]
        values[f"standing_{name}"] = np.where(np.isnan(remains), values[name], remains)
