"""What a second antenna is worth against multipath: vertical space diversity."""

from typing import Any

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (Method("space diversity", "ITU-R P.530", "18 (09/2021) sec. 6.2.1, from memory"),)
RANGES = {
    "distance_km": (43.0, 240.0),
    "frequency_ghz": (2.0, 11.0),
    "spacing_m": (3.0, 23.0),
}
CELL_FORMULAS = ("improvement_law", "improvement_factor", "diversity_outage_percent")


def improvement_law(
    *,
    spacing_m: Figure,
    frequency_ghz: Figure,
    distance_km: Figure,
    occurrence_percent: Figure,
    fade_db: Figure,
    gain_difference_db: Figure,
) -> Figure:
    """Improvement by space diversity [-] as the law has it, whatever the range.

    occurrence_percent: p0 of the worst month [%], above 0. gain_difference_db: of the two
    antennas, 0 or more. Source: ITU-R P.530-18 sec. 6.2.1, from memory.
    Valid: RANGES: 43 to 240 km, 2 to 11 GHz, 3 to 23 m; outside it goes on unbacked, a negative
    distance or frequency gives a complex number or NaN.
    >>> print(improvement_law(spacing_m=10, frequency_ghz=6.7, distance_km=45,
    ...     occurrence_percent=20, fade_db=35, gain_difference_db=0))
    199.23
    """
    exponent = (
        -0.04
        * np.abs(spacing_m) ** 0.87
        * frequency_ghz**-0.12
        * distance_km**0.48
        * np.maximum(occurrence_percent, 1e-9) ** -1.04
    )
    return (1 - np.exp(exponent)) * 10 ** ((fade_db - gain_difference_db) / 10)


def improvement_factor(
    *,
    spacing_m: Figure,
    frequency_ghz: Figure,
    distance_km: Figure,
    occurrence_percent: Figure,
    fade_db: Figure,
    gain_difference_db: Figure,
) -> Figure:
    """Improvement that may be counted [-]: 1, none, outside the range of the law (RANGES).

    Never below 1. Arguments as in `improvement_law`; a spacing below the first antenna counts by
    its size.
    Valid: any figures; outside RANGES, and where the law gives less, 1: no improvement counted.
    Source: ITU-R P.530-18 sec. 6.2.1, from memory.
    >>> print(improvement_factor(spacing_m=5, frequency_ghz=11, distance_km=30,
    ...     occurrence_percent=5, fade_db=30, gain_difference_db=0))
    1.0
    """
    law = improvement_law(
        spacing_m=spacing_m,
        frequency_ghz=frequency_ghz,
        distance_km=distance_km,
        occurrence_percent=occurrence_percent,
        fade_db=fade_db,
        gain_difference_db=gain_difference_db,
    )
    inside: Any = 1.0
    for name, value in (
        ("distance_km", distance_km),
        ("frequency_ghz", frequency_ghz),
        ("spacing_m", np.abs(spacing_m)),
    ):
        low, high = RANGES[name]
        inside = np.where(value < low, 0.0, np.where(value > high, 0.0, inside))
    return np.where(inside > 0, np.maximum(law, 1), 0 * law + 1)


def diversity_outage_percent(*, outage_percent: Figure, improvement: Figure) -> Figure:
    """Multipath outage with a second antenna [%]; improvement 1 or more.

    Source: ITU-R P.530 sec. 6.2.1, from memory: p divided by the improvement.
    Valid: improvement 1 or more; 0 divides by zero.
    >>> diversity_outage_percent(outage_percent=0.02, improvement=200.0)
    0.0001
    """
    return outage_percent / improvement
