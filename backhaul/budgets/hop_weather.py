"""Rain along the hops, and the wet snow that stands in for it where it is colder."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from backhaul.budgets.climate import Climate
from backhaul.budgets.hops import Hops
from backhaul.physics import rain, wet_snow

#: Snow that changes the fade of 0.01 % of the year by less is not worth a word: rules of the
#: project. Rain that takes less than this leaves no room for snow [dB].
SNOW_SHARE, RAIN_OF_NOTE_DB = 0.02, 0.5
#: Keeps a margin that is just the last fade of the law on its safe side of rounding.
_SAME = 1e-9


class Rain(NamedTuple):
    """k and alpha of each direction, and whether they are those of vertical polarization."""

    k: np.ndarray
    alpha: np.ndarray
    is_vertical: np.ndarray


def hop_rain(hops: Hops, climate: Climate) -> Rain:
    """Rain of all directions.

    Horizontal rain loss is the larger but for a drizzle at 10 to 40 GHz; where either
    polarization may be used the larger counts.
    """
    frequency = np.nan_to_num(hops.frequency_ghz.reshape(-1), nan=1.0)
    distance = np.nan_to_num(np.repeat(hops.distance_km, 2), nan=1.0)
    rate = np.repeat(climate.values["rain_rate_mm_h"], 2)
    losses, found = [], []
    for tilt in (rain.HORIZONTAL_DEG, rain.VERTICAL_DEG):
        k, alpha = rain.coefficients(frequency_ghz=frequency, tilt_deg=tilt)
        found.append((k, alpha))
        factor = rain.distance_factor(
            distance_km=distance, frequency_ghz=frequency, alpha=alpha, rain_mm_per_h=rate
        )
        per_km = rain.specific_attenuation_db_per_km(k=k, alpha=alpha, rain_mm_per_h=rate)
        losses.append(
            rain.exceeded_0_01_db(
                rain_db_per_km=per_km, distance_km=distance, distance_factor=factor
            )
        )
    either, vertical = np.repeat(hops.is_either, 2), np.repeat(hops.is_vertical, 2)
    vertical = np.where(either, losses[1] > losses[0], vertical).astype(bool)
    k, alpha = (np.where(vertical, v, h) for h, v in zip(*found, strict=True))
    return Rain(k, alpha, vertical)


def snow_factors(
    hops: Hops, values: Mapping[str, np.ndarray], clear_margin_db, direction
) -> tuple[np.ndarray, np.ndarray]:
    """How many times rain's fade each mode stands, snow counted; and the fade of each hop.

    A mode is out by rain and snow as long as by rain alone with its margin divided by the factor:
    1 where snow adds nothing. clear_margin_db, direction: of all modes, flat.
    """
    factor, fade = np.ones(len(clear_margin_db)), np.full(len(hops.links), np.nan)
    common = _where_it_snows(hops, values)
    if common is None:
        return factor, fade
    way, given = common
    with_snow = wet_snow.combined_exceeded_db(percent=0.01, **given)
    alone = rain.exceeded_db(
        exceeded_0_01_db=given["exceeded_0_01_db"],
        frequency_exponent=given["frequency_exponent"],
        percent=0.01,
    )
    adds = np.abs(with_snow - alone) >= SNOW_SHARE * alone
    if not adds.any():
        return factor, fade
    way, given = way[adds], {key: column[adds] for key, column in given.items()}
    np.fmax.at(fade, way // 2, with_snow[adds])
    place = np.full(len(values["rain_0_01_db"]), -1)
    place[way] = np.arange(len(way))
    own = place[direction]
    margin = np.asarray(clear_margin_db)
    snowed = np.flatnonzero((own >= 0) & (margin > 0))
    columns = {key: column[own[snowed]] for key, column in given.items()}
    outage = wet_snow.combined_outage_percent(margin_db=margin[snowed], **columns)
    stands = rain.exceeded_db(
        exceeded_0_01_db=columns["exceeded_0_01_db"],
        frequency_exponent=columns["frequency_exponent"],
        percent=outage,
    )
    factor[snowed] = margin[snowed] / stands * (1 - _SAME)
    return factor, fade


def _where_it_snows(hops: Hops, values):
    """Directions on which snow may fall, and what its method asks for; None without any."""
    latitude, heights = hops.middle_latitude, hops.height_m
    height = rain.rain_height_m(latitude_deg=np.nan_to_num(latitude))
    possible = rain.wet_snow_possible(
        height1_m=heights[:, 0], height2_m=heights[:, 1], rain_height_m=height
    )
    known = np.repeat(possible & ~np.isnan(latitude) & ~np.isnan(heights).any(axis=1), 2)
    way = np.flatnonzero(known & (np.nan_to_num(values["rain_0_01_db"]) > RAIN_OF_NOTE_DB))
    if not len(way):
        return None
    hop = way // 2
    return way, {
        "exceeded_0_01_db": values["rain_0_01_db"][way],
        "frequency_exponent": values["frequency_exponent"][way],
        "height1_m": heights[hop, 0],
        "height2_m": heights[hop, 1],
        "rain_height_m": height[hop],
    }
