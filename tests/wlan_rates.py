"""Rates and minimum sensitivities of wireless-LAN type radios, to check mode tables.

Sensitivities are what the standard asks at least; good radios are 5 to 10 dB better, so a data
sheet stands before them.
"""

from fractions import Fraction
from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure


class Scheme(NamedTuple):
    """Modulation of one index."""

    modulation: str
    bits: int
    code_rate: Fraction
    sensitivity_dbm: int  # in 20 MHz; +3 dB for each doubling


# IEEE 802.11-2024 tables 19-27, 21-29, 27-86 and their sensitivities; 12 and 13 from memory.
SCHEMES = (
    Scheme("BPSK", 1, Fraction(1, 2), -82),
    Scheme("QPSK", 2, Fraction(1, 2), -79),
    Scheme("QPSK", 2, Fraction(3, 4), -77),
    Scheme("16-QAM", 4, Fraction(1, 2), -74),
    Scheme("16-QAM", 4, Fraction(3, 4), -70),
    Scheme("64-QAM", 6, Fraction(2, 3), -66),
    Scheme("64-QAM", 6, Fraction(3, 4), -65),
    Scheme("64-QAM", 6, Fraction(5, 6), -64),
    Scheme("256-QAM", 8, Fraction(3, 4), -59),
    Scheme("256-QAM", 8, Fraction(5, 6), -57),
    Scheme("1024-QAM", 10, Fraction(3, 4), -54),
    Scheme("1024-QAM", 10, Fraction(5, 6), -52),
    Scheme("4096-QAM", 12, Fraction(3, 4), -49),
    Scheme("4096-QAM", 12, Fraction(5, 6), -46),
)


class Family(NamedTuple):
    """Numerology of an amendment."""

    data_subcarriers: dict
    useful_symbol_us: Fraction
    guard_intervals_us: tuple
    indices: int


_SHORT, _LONG = ("0.8", "0.4"), ("0.8", "1.6", "3.2")
_WIDE = {20: 234, 40: 468, 80: 980, 160: 1960}
FAMILIES = {
    "HT": Family({20: 52, 40: 108}, Fraction("3.2"), _SHORT, 8),
    "VHT": Family({20: 52, 40: 108, 80: 234, 160: 468}, Fraction("3.2"), _SHORT, 10),
    "HE": Family(_WIDE, Fraction("12.8"), _LONG, 12),
    "EHT": Family({**_WIDE, 320: 3920}, Fraction("12.8"), _LONG, 14),
}

# (channel MHz, index): streams for which VHT has no such mode, IEEE 802.11-2024 clause 21.5.
VHT_MISSING = {
    (20, 9): (1, 2, 4, 5, 7, 8),
    (80, 6): (3, 7),
    (80, 9): (6,),
    (160, 9): (3,),
}

# 60 GHz single carrier: index -> bits, code rate, repetition, sensitivity dBm.
# Sensitivities of 1 and 2 looked up, the others from memory.
SINGLE_CARRIER = {
    1: (1, Fraction(1, 2), 2, -68),
    2: (1, Fraction(1, 2), 1, -66),
    3: (1, Fraction(5, 8), 1, -65),
    4: (1, Fraction(3, 4), 1, -64),
    5: (1, Fraction(13, 16), 1, -62),
    6: (2, Fraction(1, 2), 1, -63),
    7: (2, Fraction(5, 8), 1, -62),
    8: (2, Fraction(3, 4), 1, -61),
    9: (2, Fraction(13, 16), 1, -59),
    10: (4, Fraction(1, 2), 1, -55),
    11: (4, Fraction(5, 8), 1, -54),
    12: (4, Fraction(3, 4), 1, -53),
}
SINGLE_CARRIER_CHANNEL_MHZ = 2160
SINGLE_CARRIER_CENTERS_GHZ = (58.32, 60.48, 62.64, 64.80, 66.96, 69.12)  # from memory


def ofdm_rate_mbps(
    *, data_subcarriers: Figure, bits: Figure, code_rate: Figure, streams: Figure, symbol_us: Figure
) -> Figure:
    """PHY rate of an OFDM mode [Mbit/s]: whole data bits of a symbol over its time.

    Source: IEEE 802.11-2024 clauses 19.5, 21.5, 27.5.
    >>> print(ofdm_rate_mbps(data_subcarriers=980, bits=10, code_rate=5 / 6, streams=1,
    ...     symbol_us=13.6))
    600.4
    """
    # 1e-6 of a bit: 5/6 in binary must not push a whole number below itself
    return np.floor(data_subcarriers * bits * streams * code_rate + 1e-6) / symbol_us


def single_carrier_rate_mbps(*, bits: Figure, code_rate: Figure, repetition: Figure = 1) -> Figure:
    """PHY rate of a 60 GHz single-carrier mode [Mbit/s]: 1760 Mchip/s, 448 of 512 carry data.

    >>> single_carrier_rate_mbps(bits=2, code_rate=13 / 16)
    2502.5
    """
    return 1760 * 448 / 512 * bits * code_rate / repetition


def mode_exists(*, family: Figure, channel_mhz: Figure, index: Figure, streams: Figure) -> Figure:
    """Whether the standard has this mode; index counts from 0 for every number of streams.

    >>> mode_exists(family="VHT", channel_mhz=20, index=9, streams=1)
    False
    """
    numbers = FAMILIES[family]
    if channel_mhz not in numbers.data_subcarriers or not 0 <= index < numbers.indices:
        return False
    if not 1 <= streams <= (4 if family == "HT" else 8):
        return False
    missing = VHT_MISSING.get((channel_mhz, index), ()) if family == "VHT" else ()
    return streams not in missing


def mode_rate_mbps(
    *,
    family: Figure,
    channel_mhz: Figure,
    index: Figure,
    streams: Figure,
    guard_interval_us: Figure,
) -> Figure:
    """Printed PHY rate of a mode [Mbit/s], rounded half up to a tenth as the standard does.

    index: of the scheme (an HT index above 7 is 8 x (streams - 1) + index).
    >>> mode_rate_mbps(family="VHT", channel_mhz=80, index=9, streams=1, guard_interval_us=0.4)
    433.3
    """
    numbers, scheme = FAMILIES[family], SCHEMES[index]
    coded = numbers.data_subcarriers[channel_mhz] * scheme.bits * streams * scheme.code_rate
    symbol_us = numbers.useful_symbol_us + Fraction(str(guard_interval_us))
    return float((coded.__floor__() / symbol_us * 10 + Fraction(1, 2)).__floor__()) / 10


def sensitivity_dbm(*, index: Figure, channel_mhz: Figure) -> Figure:
    """Minimum sensitivity of a receiver chain [dBm], 10 % packet errors.

    Source: IEEE 802.11-2024 clauses 19.3.19, 21.3.18, 27.3.20; indices 12 and 13 from memory.
    >>> sensitivity_dbm(index=7, channel_mhz=80)
    -58
    """
    return SCHEMES[index].sensitivity_dbm + 3 * (channel_mhz // 20).bit_length() - 3
