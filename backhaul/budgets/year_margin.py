"""What a hop lacks for the year that its path wants."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hop_rates import RATE_TOLERANCE
from backhaul.budgets.performance import Performance
from backhaul.budgets.radio import RadioBudget
from backhaul.path.links import Link
from backhaul.physics import availability
from backhaul.units import PERCENT

#: Keys of the fading of a direction, in the order of `availability.Fading`.
FADING_KEYS = ("rain_0_01_db", "frequency_exponent", "occurrence_percent", "year_gain_db")


class Lack(NamedTuple):
    """What a hop lacks: the mode that carries the load, and how much margin it is short of.

    mode None: none is fast enough, `rate_mbps` is that of the fastest. short_db None: no margin
    reaches the target.
    """

    mode: str | None
    short_db: float | None
    rate_mbps: float


def needed_margin_db(radio: RadioBudget, directions: np.ndarray, target_percent: np.ndarray):
    """Margin at which directions of hops reach a share of the year [dB]; NaN where none does."""
    fading = availability.Fading(*(radio.values[key][directions] for key in FADING_KEYS))
    return availability.needed_margin_db(target_percent=target_percent, fading=fading)


def short_of_target(
    radio: RadioBudget,
    performance: Performance,
    link: Link,
    path_percent: float,
    target_percent: float,
) -> Lack:
    """What the worse direction of a hop lacks, if the other hops of the path stay as they are."""
    hops = performance.hops
    way = min((2 * link.index, 2 * link.index + 1), key=lambda each: hops.carried_percent[each])
    start, stop = radio.mode_start[way : way + 2].tolist()
    load = performance.traffic.on(link)[way % 2]
    rates = hops.mode_user_rate_mbps[start:stop]
    if not len(rates) or (load > 0 and rates.max() < load - RATE_TOLERANCE):
        return Lack(None, None, float(rates.max()) if len(rates) else 0.0)
    margins = np.where(
        (rates >= load - RATE_TOLERANCE) | (load <= 0), radio.modes["margin_db"][start:stop], np.nan
    )
    if np.isnan(margins).all():
        return Lack(None, None, float(rates.max()))
    best = int(np.nanargmax(margins))
    carried = float(hops.carried_percent[way])
    others = path_percent / carried if carried > 0 else 1.0
    target = min(target_percent / max(others, target_percent / PERCENT), PERCENT)
    needed = float(needed_margin_db(radio, np.array([way]), np.array([target]))[0])
    short = needed - float(margins[best])
    name = str(radio.modes["name"][start + best])
    return Lack(name, short if short == short else None, float(rates[best]))
