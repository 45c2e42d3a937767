"""What a supply has left, and the energy balance of batteries and panels.

Steps of IEEE 1013 and IEEE 1562 for lead-acid batteries that panels alone charge: load of a day,
days without sun, panels for the darkest month.
"""

import math

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.units import PERCENT

METHODS = (
    Method("energy of batteries and panels", "IEEE 1013; IEEE 1562", "2007; 2007"),
    Method("reserve of a supply", "common practice", ""),
)

RANGES = {
    "latitude_deg": (-90.0, 90.0),
    "use_percent": (1.0, 80.0),  # lead-acid, the most: public textbook worksheet
    "sun_hours": (0.1, 8.0),  # equivalent hours of full sun, worst month; beyond: not on earth
    "array_to_load": (1.0, math.inf),  # at 1 a battery once empty is never refilled (IEEE 1013)
}

HOURS_PER_DAY = 24.0
#: Stands for a load that is never on, of which there are no shares [%].
_LEAST_DUTY_PERCENT = 0.001
#: Declination of the sun at the solstice [degrees]: the obliquity of the ecliptic (textbook).
SOLSTICE_DEG = 23.44
#: Temperature at which the energy of a battery is rated [°C] (IEEE 485 and 1013: 25 °C, 77 °F).
REFERENCE_C = 25.0
#: What comes out of a battery again: 0.80 to 0.85, the lower (public textbook worksheet).
ROUND_TRIP = 0.80
#: What heat, dust, mismatch and wiring leave of a panel (the check example of our reading; common
#: practice 0.75 to 0.85).
PANEL_DERATE = 0.80
#: Panels over what the day takes, so that an empty battery fills again (IEEE 1013:2000 clause 3
#: names the ratio; 1.1 to 1.3 common practice).
ARRAY_TO_LOAD = 1.2


def day_energy_wh(*, load_w: Figure) -> Figure:
    """Energy that a battery gives in a day [Wh]. load_w: steady, at the battery.

    Valid: load_w 0 or more; a negative load would charge.
    Source: definition, 24 h.

    >>> print(round(day_energy_wh(load_w=10 / 0.90), 6))
    266.666667
    """
    return load_w * HOURS_PER_DAY


def mean_load_w(*, load_w: Figure, duty_percent: Figure) -> Figure:
    """Mean over the day of a load that does not draw its power all the time [W].

    duty_percent: share of the day in which it does, of several loads weighted by their watts.
    Valid: load_w 0 or more, duty_percent 0 to 100. Losses in lines are taken in the same share,
    though they fall with the square: a little too much.
    Source: IEEE 1013:2007 clause 5, loads by their hours a day; definition.

    >>> print(mean_load_w(load_w=60.0, duty_percent=25.0))
    15.0
    """
    return load_w * duty_percent / PERCENT


def longest_night_h(*, latitude_deg: Figure) -> Figure:
    """Hours from sunset to sunrise in the longest night of the year [h].

    Valid: latitude_deg -90 to 90; 24 beyond the polar circles. Refraction and the breadth of the
    sun, which shorten it by some 10 min, are left out.
    Source: sunset hour angle, cos w = -tan(latitude) tan(declination), textbooks of solar energy.

    >>> print(round(longest_night_h(latitude_deg=51.5), 2))
    16.4
    """
    steep = np.tan(np.radians(np.abs(latitude_deg))) * np.tan(np.radians(SOLSTICE_DEG))
    day_h = HOURS_PER_DAY * np.arccos(np.minimum(steep, 1.0)) / math.pi
    return HOURS_PER_DAY - day_h


def least_night_percent(*, duty_percent: Figure, dark_percent: Figure) -> Figure:
    """Share of a load's energy that falls into the dark at the least [%], however it is timed.

    duty_percent: share of the day in which it draws its power. dark_percent: share of the day that
    is dark. What is on for longer than the daylight lasts is on in the dark for the rest.
    Valid: both 0 to 100; a load that is never on takes nothing. Source: definition.

    >>> print(least_night_percent(duty_percent=80.0, dark_percent=60.0))
    50.0
    >>> print(least_night_percent(duty_percent=30.0, dark_percent=60.0))
    0.0
    """
    longer = np.maximum(duty_percent - (PERCENT - dark_percent), 0)
    return PERCENT * longer / np.maximum(duty_percent, _LEAST_DUTY_PERCENT)


def night_share_percent(
    *, night_percent: Figure, duty_percent: Figure, dark_percent: Figure
) -> Figure:
    """Share of a load's energy that is taken in the dark [%]: as typed, but what it must be.

    Valid: 0 to 100 each. Source: definition.

    >>> print(night_share_percent(night_percent=20.0, duty_percent=100.0, dark_percent=68.0))
    68.0
    """
    least = least_night_percent(duty_percent=duty_percent, dark_percent=dark_percent)
    return np.maximum(night_percent, least)


def night_days(*, night_percent: Figure) -> Figure:
    """What a battery must carry at the least [days]: what is drawn in one night.

    night_percent: share of the energy of a day that is drawn in the dark.
    Valid: 0 to 100. Source: definition; IEEE 1013:2007 clause 5 asks for loads by day and night.

    >>> print(night_days(night_percent=70.0))
    0.7
    """
    return night_percent / PERCENT


def use_in_cold_percent(
    *, use_percent: Figure, cold_percent_k: Figure, battery_c: Figure
) -> Figure:
    """Depth to which a cold battery is used, of its energy at 25 °C [%].

    cold_percent_k: what it loses for every kelvin below; lead-acid at the rate of days about 0.4
    (0.90 at 0 °C, the check example of our reading; the maker's own curve decides).
    Valid: battery_c from -40 on, warmer than 25 counts as 25; never below 0.
    Source: IEEE 1013:2007 clause 6.3 asks for the correction; a straight line is common practice.

    >>> print(use_in_cold_percent(use_percent=80.0, cold_percent_k=0.4, battery_c=0.0))
    72.0
    """
    lost = cold_percent_k * np.maximum(REFERENCE_C - battery_c, 0)
    return use_percent * np.maximum(1 - lost / PERCENT, 0)


def day_depth_percent(*, day_wh: Figure, battery_wh: Figure) -> Figure:
    """How deep a day without sun goes into a battery [%] of its rated energy.

    Valid: battery_wh above 0; 0 divides by zero.
    Source: definition.

    >>> print(round(day_depth_percent(day_wh=266.7, battery_wh=2316), 1))
    11.5
    """
    return PERCENT * day_wh / battery_wh


def autonomy_days(*, battery_wh: Figure, use_percent: Figure, day_wh: Figure) -> Figure:
    """Time without sun that a battery carries its load [days].

    use_percent: depth that is used, with cold and age inside: 0.80 x 0.90 x 0.80 are 57.6 %.
    Source: IEEE 1013:2007 clause 6.
    Valid: battery_wh and use_percent 0 or more, use up to 80 (RANGES) for lead-acid; day_wh above
    0: 0 divides by zero, and a load of nothing lasts for ever.

    >>> print(round(autonomy_days(battery_wh=2316, use_percent=57.6, day_wh=266.7), 2))
    5.0
    """
    return battery_wh * (use_percent / PERCENT) / day_wh


def battery_needed_wh(*, days: Figure, use_percent: Figure, day_wh: Figure) -> Figure:
    """Battery that carries its load for so many days without sun [Wh].

    Source: as autonomy_days.
    Valid: use_percent above 0 to 80 (RANGES); 0 divides by zero. days and day_wh 0 or more.

    >>> print(round(battery_needed_wh(days=5, use_percent=57.6, day_wh=266.7) / 24, 1))
    96.5
    """
    return days * day_wh / (use_percent / PERCENT)


def panel_needed_w(*, day_wh: Figure, sun_hours: Figure, array_to_load: Figure) -> Figure:
    """Panels that the worst month asks for [W at full sun].

    sun_hours: equivalent hours of full sun a day on the panel, above 0. array_to_load: 1 meets
    the day and never refills the battery; ARRAY_TO_LOAD as a rule. Source: IEEE 1562:2007.
    Valid: sun_hours 0.1 to 8, array_to_load 1 and more (RANGES); 0 hours divide by zero, a ratio
    below 1 does not carry the day.

    >>> print(round(panel_needed_w(day_wh=266.7, sun_hours=3.0, array_to_load=1.0), 1))
    138.9
    """
    return array_to_load * day_wh / (sun_hours * ROUND_TRIP * PANEL_DERATE)


CELL_FORMULAS = (
    "day_energy_wh",
    "mean_load_w",
    "least_night_percent",
    "night_share_percent",
    "night_days",
    "use_in_cold_percent",
    "day_depth_percent",
    "autonomy_days",
    "battery_needed_wh",
    "panel_needed_w",
)
