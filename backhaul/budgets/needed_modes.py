"""The mode that each direction of a hop needs, and the margin that it needs there."""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.mode_terms import MODE_TERMS
from backhaul.figures.terms import compute
from backhaul.units import PERCENT

#: Fade margins between which the one that an availability needs is sought [dB], and steps.
_LEAST_MARGIN_DB, _MOST_MARGIN_DB, _STEPS = 0.0, 120.0, 60
#: Shares of the year are compared to this [%].
_SAME_PERCENT = 1e-9


class Needed(NamedTuple):
    """The mode that one direction of a hop needs, and the margin that it needs there."""

    direction: int
    mode: int
    margin_db: float
    #: smallest margin with which everything that is asked of the direction holds [dB]
    needed_db: float
    #: figures of parts that move the margin: power, sensitivity, and the gain of either antenna
    sharers: int

    @property
    def slack_db(self) -> float:
        return self.margin_db - self.needed_db

    @property
    def share_db(self) -> float:
        """What each of these figures may take, all of them at once [dB]."""
        return self.slack_db / self.sharers


def needed_mode(evaluation: Any, direction: int) -> Needed | None:
    """The slowest mode that carries the load with its headroom; without a load the one in use."""
    return _needed_modes(evaluation)[direction]


@lru_cache(maxsize=4)
def _needed_modes(evaluation: Any) -> list[Needed | None]:
    """The needed mode of every direction, None where it has none or its margin is not known."""
    radio = evaluation.radio
    modes = np.array([_mode(evaluation, d) for d in range(2 * len(radio.links))], dtype=int)
    known = np.flatnonzero(modes >= 0)
    known = known[~np.isnan(radio.modes["margin_db"][modes[known]])] if known.size else known
    found: list[Needed | None] = [None] * len(modes)
    if not known.size:
        return found
    needed = _needed_margin_db(evaluation, known, modes[known])
    for place, direction in enumerate(known.tolist()):
        mode = int(modes[direction])
        margin = float(radio.modes["margin_db"][mode])
        way = radio.hops.directions[direction]
        antennas = sum(end.antenna is not None for end in (way.sender, way.receiver))
        found[direction] = Needed(direction, mode, margin, float(needed[place]), 2 + antennas)
    return found


def _mode(evaluation: Any, direction: int) -> int:
    radio, hops = evaluation.radio, evaluation.performance.hops
    start, end = (int(radio.mode_start[direction + n]) for n in (0, 1))
    way = radio.hops.directions[direction]
    load = evaluation.performance.load.get(way.link.key)
    carried = 0.0 if load is None else load[way.sender.number]
    if carried > 0:
        kept = 1 - evaluation.design.project.rate_headroom_percent / PERCENT
        enough = np.flatnonzero(hops.mode_user_rate_mbps[start:end] * kept >= carried)
        if enough.size:
            return start + int(enough[0])
    return int(hops.mode[direction]) if end > start else -1


def _needed_margin_db(evaluation: Any, directions: np.ndarray, modes: np.ndarray) -> np.ndarray:
    """Healthy margin, or more where the availability of the hop asks for more [dB]."""
    healthy = evaluation.radio.values["healthy_margin_db"][directions]
    target = evaluation.performance.hops.target_percent[directions]
    below = np.full(len(directions), _LEAST_MARGIN_DB)
    above = np.full(len(directions), _MOST_MARGIN_DB)
    reached = _availability(evaluation, directions, modes, above) >= target - _SAME_PERCENT
    for _ in range(_STEPS):
        middle = (below + above) / 2
        enough = _availability(evaluation, directions, modes, middle) >= target - _SAME_PERCENT
        below, above = np.where(enough, below, middle), np.where(enough, middle, above)
    return np.where(reached, np.maximum(healthy, above), healthy)


def _availability(evaluation: Any, directions, modes, margin_db: np.ndarray) -> np.ndarray:
    """Availability of a mode with another margin, by the lines of the budget below the margin."""
    radio = evaluation.radio
    names = [term.key for term in MODE_TERMS]
    after = MODE_TERMS[names.index("margin_db") + 1 :]
    count = len(radio.mode_start) - 1
    inputs = {
        key: np.asarray(column)[directions]
        for key, column in radio.values.items()
        if np.shape(column) == (count,)
    }
    inputs |= {key: radio.modes[key][modes] for key in _OF_MODE}
    clear = margin_db + inputs["reflection_loss_db"]
    given = {**inputs, "margin_db": margin_db, "clear_margin_db": clear}
    return np.asarray(compute(after, given)["availability_percent"])


#: Figures of a mode that stay as they are when its margin is another.
_OF_MODE = (
    "rate_mbps",
    "mode_power_dbm",
    "sensitivity_dbm",
    "snow_factor",
    "reflection_outage_percent",
)
