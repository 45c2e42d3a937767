"""What the checks of hops share: the best mode, words for what is not known."""

import numpy as np

from backhaul.path.links import Link
from backhaul.physics import availability
from backhaul.wording import along_text


def from_first(link: Link, at_km: float) -> str:
    """A place on a hop by its distance from the site at which its row begins."""
    return f"{along_text(at_km)} from {link.rows[0].site or 'the first end'}"


def best_of_modes(radio, key: str) -> np.ndarray:
    """Largest figure over the modes of each direction; NaN where none is known."""
    best = np.full(2 * len(radio.links), np.nan)
    np.fmax.at(best, radio.modes["direction"], radio.modes[key])
    return best


def fading_of(radio, places) -> availability.Fading:
    """What fades these directions."""
    keys = ("rain_0_01_db", "frequency_exponent", "occurrence_percent", "year_gain_db")
    return availability.Fading(*(radio.values[key][places] for key in keys))


def unknown_level(radio, direction: int) -> str:
    """Why a level or a margin cannot be had."""
    for key, what in (
        ("distance_km", "the distance is not known: give coordinates or length_m"),
        ("frequency_ghz", "the frequency is not known"),
        ("tx_power_dbm", "the transmit power is not known"),
    ):
        if np.isnan(radio.values[key][direction]):
            return what
    end = end_without_antenna(radio, direction)
    if end is not None:
        column = "antenna" if end.row.antenna is None else end.column("antenna")
        return (
            f"{end.radio.part} has no antenna of its own and none is named at {end.name}: name one "
            f"in {column}, or fit a radio with a built-in antenna"
        )
    return "the sensitivity is not known"


def end_without_antenna(radio, direction: int):
    """The end of a hop whose antenna is not known, None where both are."""
    way = radio.hops.directions[direction]
    for key, end in (("tx_gain_dbi", way.sender), ("rx_gain_dbi", way.receiver)):
        if np.isnan(radio.values[key][direction]):
            return end
    return None
