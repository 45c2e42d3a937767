"""What the checks of hops share: the best mode, words for what is not known."""

import numpy as np


def best_of_modes(radio, key: str) -> np.ndarray:
    """Largest figure over the modes of each direction; NaN where none is known."""
    best = np.full(2 * len(radio.links), np.nan)
    np.fmax.at(best, radio.modes["direction"], radio.modes[key])
    return best


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
