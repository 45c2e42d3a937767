"""What the checks of hops share: directions, the best mode, words for what is not known."""

from collections.abc import Iterator

import numpy as np


def directions(radio) -> Iterator[tuple]:
    """Direction, row and link of both ways of every hop."""
    for index, link in enumerate(radio.links):
        for way in (0, 1):
            yield 2 * index + way, link.rows[0], link


def best_of_modes(radio, key: str) -> np.ndarray:
    """Largest figure over the modes of each direction; NaN where none is known."""
    best = np.full(2 * len(radio.links), np.nan)
    np.fmax.at(best, radio.modes["direction"], radio.modes[key])
    return best


def from_site(row, direction: int) -> str:
    """The sending end, in words."""
    site = row.site if direction % 2 == 0 else row.to_site
    return f", sent from {site}" if site else ""


def unknown_level(radio, direction: int) -> str:
    """Why a level or a margin cannot be had."""
    for key, what in (
        ("distance_km", "the distance is not known: give coordinates or length_m"),
        ("frequency_ghz", "the frequency is not known"),
        ("tx_power_dbm", "the transmit power is not known"),
        ("tx_gain_dbi", "the antenna at the sending end is not known"),
        ("rx_gain_dbi", "the antenna at the receiving end is not known"),
    ):
        if np.isnan(radio.values[key][direction]):
            return what
    return "the sensitivity is not known"
