"""Level of a hop by the water level of the day: what is expected in each slice, and how far it moves."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.water_entries import Entries
from backhaul.physics import water_levels
from backhaul.units import DECIMALS

#: Refraction of a day on which readings are taken; the worst k stands in 0.1 % of the time at most.
_K_OF_A_DAY = (1.0, 1.15, 4 / 3, 2.0, 3.0)
_K_EXPECTED = _K_OF_A_DAY.index(4 / 3)
#: A water level is read to this on site, waves and gauge counted [m]: common practice, from memory.
WATER_TOLERANCE_M = 0.1
#: Height of a slice [m], and slices at most.
SLICE_M, MOST_SLICES = 0.1, 240
#: Levels that are tried in each slice, so that no null slips through.
_TRIED = 5


class WaterBand(NamedTuple):
    """Slices of one water, from the lowest upward; levels against the hop without its mirror [dB].

    Slice i reaches from `from_m[i]` to the next; the last ends at `high_m`.
    """

    water: str
    from_m: np.ndarray
    high_m: float
    expected_db: np.ndarray
    lowest_db: np.ndarray
    highest_db: np.ndarray

    @property
    def low_m(self) -> float:
        return float(self.from_m[0])

    def slice_at(self, level_m: float) -> int | None:
        """Slice of a water level, None outside the range that was swept."""
        if not self.low_m - WATER_TOLERANCE_M <= level_m <= self.high_m + WATER_TOLERANCE_M:
            return None
        place = int(np.searchsorted(self.from_m, round(level_m, DECIMALS), side="right"))
        return max(place - 1, 0)


def water_band(radio: Any, direction: int) -> WaterBand | None:
    """The band of what one direction of a hop receives; None without one mirror alone.

    Two waters under a hop, or a second antenna at the end that hears, are not told apart by one level.
    """
    bands = radio.reflection.bands
    if direction not in bands:
        bands[direction] = _band(radio, direction)
    return bands[direction]


def _band(radio: Any, direction: int) -> WaterBand | None:
    reflection = radio.reflection
    hop = direction // 2
    if reflection.swept is None or not reflection.mirrored[hop]:
        return None
    directions, entries = reflection.swept.by_direction()
    own = reflection.swept.at(entries[directions == direction])
    spacing = own.spacing1_m if direction % 2 else own.spacing2_m
    if len(set(own.body.tolist())) != 1 or np.any(spacing != 0):
        return None
    low, high = float(own.rays.water_low_m.min()), float(own.rays.water_high_m.max())
    count = int(np.clip(np.ceil(round((high - low) / SLICE_M, 6)), 1, MOST_SLICES))
    edges = np.round(np.linspace(low, high, count + 1), DECIMALS)
    expected, lowest, highest = _swept(own, reflection.shores, edges)
    body = radio.hops.ground.bodies[int(own.body[0])]
    return WaterBand(body.title, edges[:-1], high, expected, lowest, highest)


def _swept(own: Entries, shores: Any, edges: np.ndarray):
    """Expected, least and greatest level of each slice, over all entries [dB]."""
    shares = np.linspace(0.0, 1.0, _TRIED)
    lower = np.maximum(edges[:-1] - WATER_TOLERANCE_M, edges[0])
    upper = np.minimum(edges[1:] + WATER_TOLERANCE_M, edges[-1])
    tried = lower[:, None] + (upper - lower)[:, None] * shares
    middle = (edges[:-1] + edges[1:])[:, None] / 2
    level = np.concatenate([tried, middle], axis=1)
    slices, each = level.shape
    shape = (len(own.hop), 2, len(_K_OF_A_DAY), slices, each)
    entry = np.broadcast_to(np.arange(shape[0])[:, None, None, None], (shape[0], *shape[2:]))
    k = np.broadcast_to(np.array(_K_OF_A_DAY)[:, None, None], (shape[0], *shape[2:]))
    levels = np.broadcast_to(level, (shape[0], *shape[2:]))
    reflects = shores.reflects(own.hop, own.body, own.rays.height1_m, own.rays.height2_m)
    found = np.empty(shape)
    for waves, deviation in enumerate((np.zeros(shape[0]), own.deviation_m)):
        rays = water_levels.rays_at(
            own.rays._replace(deviation_m=deviation),
            owner=entry.ravel(),
            k_factor=k.ravel(),
            level_m=levels.ravel(),
            reflects=reflects,
        )
        found[:, waves] = np.nan_to_num(rays.level_db).reshape(shape[0], *shape[2:])
    expected = found[:, 0, _K_EXPECTED, :, -1].mean(axis=0)
    around = found[..., :-1]
    return expected, around.min(axis=(0, 1, 2, 4)), around.max(axis=(0, 1, 2, 4))
