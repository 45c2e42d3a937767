"""How often clear-air multipath fades a hop: every depth, in the worst month and in the year.

The laws of ITU-R P.530 sec. 2.3.2 and 2.3.4; how often it happens at all is `multipath`.
"""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("multipath, all percentages", "ITU-R P.530", "17 (12/2017) sec. 2.3.2"),
    Method("worst month to year", "ITU-R P.530", "18 (09/2021) sec. 2.3.4, limit the smaller"),
)
RANGES = {
    "fade_db": (0.0, 100.0),  # a level above the mean is no fade: P.530 sec. 2.3.3 is not used
    "occurrence_percent": (0.0, 2000.0),  # beyond it the printed law rises with the fade
    "year_gain_db": (0.0, 10.8),
    "latitude_deg": (-90.0, 90.0),
}

CELL_FORMULAS = (
    "deep_fading_percent",
    "transition_db",
    "transition_percent",
    "transition_q",
    "shallow_q",
    "shallow_fading_percent",
    "year_gain_db",
    "year_percent",
    "year_fading_percent",
)

SMALLEST_PERCENT = 1e-12  # keeps logarithms finite
LARGEST_TRANSITION_PERCENT = 99.0  # a transition above it (p0 over 1e5) has no meaning


def deep_fading_percent(*, occurrence_percent: Figure, fade_db: Figure) -> Figure:
    """Time in which a deep fade is exceeded [% of the worst month]. Source: P.530-17 sec. 2.3.1.

    Valid: fade_db from the transition (some 25 to 29 dB) up; below it the law goes on and says too
    much, held at 100 %.

    >>> print(deep_fading_percent(occurrence_percent=10.4491, fade_db=30))
    0.0104491
    """
    return np.minimum(occurrence_percent * 10 ** (-fade_db / 10), 100)


def transition_db(*, occurrence_percent: Figure) -> Figure:
    """Fade at which the deep law takes over [dB]. Source: P.530-17 sec. 2.3.2.

    Valid: occurrence 0 to 2000 % (RANGES); 0 counts as 1e-12, which keeps the logarithm finite.

    >>> print(transition_db(occurrence_percent=10.4491))
    26.223
    """
    return 25 + 1.2 * np.log10(np.maximum(occurrence_percent, SMALLEST_PERCENT))


def transition_percent(*, occurrence_percent: Figure, transition_db: Figure) -> Figure:
    """Time in which the transition fade is exceeded [%]. Source: P.530-17 sec. 2.3.2.

    Valid: occurrence 0 to 2000 % (RANGES); held at 99 %.

    >>> print(transition_percent(occurrence_percent=10.4491, transition_db=26.2229))
    0.02494
    """
    at = np.maximum(occurrence_percent, SMALLEST_PERCENT) * 10 ** (-transition_db / 10)
    return np.minimum(at, LARGEST_TRANSITION_PERCENT)


def transition_q(*, transition_db: Figure, transition_percent: Figure) -> Figure:
    """q_t of the shallow law [-]. Source: P.530-17 sec. 2.3.2.

    Valid: transition_db above 0, transition_percent above 0 to 99; 0 gives infinity with numpy's
    warning.

    >>> print(transition_q(transition_db=26.2229, transition_percent=0.02494))
    1.58614
    """
    x = transition_percent / 100
    share = np.where(x < 1e-5, x + x**2 / 2, -np.log(1 - x))
    q_at = -20 * np.log10(share) / transition_db
    amplitude = 10 ** (-transition_db / 20)
    return (q_at - 2) / ((1 + 0.3 * amplitude) * 10 ** (-0.016 * transition_db)) - 4.3 * (
        amplitude + transition_db / 800
    )


def shallow_q(*, transition_q: Figure, fade_db: Figure) -> Figure:
    """q_a of the shallow law [-]. Source: P.530-17 sec. 2.3.2.

    transition_q: `transition_q`.
    Valid: fade_db 0 up to the transition; beyond it the law goes on, away from the deep one.

    >>> print(shallow_q(transition_q=1.58614, fade_db=10))
    4.27
    """
    amplitude = 10 ** (-fade_db / 20)
    return 2 + (1 + 0.3 * amplitude) * 10 ** (-0.016 * fade_db) * (
        transition_q + 4.3 * (amplitude + fade_db / 800)
    )


def shallow_fading_percent(*, shallow_q: Figure, fade_db: Figure) -> Figure:
    """Time in which a shallow fade is exceeded [% of the worst month]. Source: P.530-17 sec. 2.3.2.

    shallow_q: `shallow_q` at this fade.
    Valid: fade_db 0 up to the transition; at 0 dB 63.2 %, beyond the transition use
    `deep_fading_percent`.

    >>> print(shallow_fading_percent(shallow_q=4.27, fade_db=10))
    0.730
    """
    x = 10 ** (-shallow_q * fade_db / 20)
    return 100 * np.where(x < 1e-5, x - x**2 / 2, 1 - np.exp(-x))


def year_gain_db(*, latitude_deg: Figure, distance_km: Figure, inclination_mrad: Figure) -> Figure:
    """Logarithmic ratio of the worst month to the year [dB], at most 10.8.

    The limit is read as the smaller ("dG <= 10.8 dB"). Source: P.530-17 sec. 2.3.4.
    Valid: latitude -90 to 90, distance_km above 0, inclination 0 or more; held at 10.8 dB, 0 km
    divides by zero.
    >>> print(year_gain_db(latitude_deg=45, distance_km=50, inclination_mrad=2))
    6.4921
    """
    swing = np.abs(np.cos(np.radians(2 * latitude_deg))) ** 0.7
    inner = np.where(np.abs(latitude_deg) <= 45, 1.1 + swing, 1.1 - swing)
    gain = (
        10.5
        - 5.6 * np.log10(inner)
        - 2.7 * np.log10(distance_km)
        + 1.7 * np.log10(1 + inclination_mrad)
    )
    return np.minimum(gain, 10.8)


def year_percent(*, worst_month_percent: Figure, year_gain_db: Figure) -> Figure:
    """Percentage of the year from that of the worst month [%]. Source: P.530-17 sec. 2.3.4.

    Valid: year_gain_db 0 to 10.8 (RANGES); outside it goes on.

    >>> print(year_percent(worst_month_percent=0.0104491, year_gain_db=6.6571))
    0.0022561
    """
    return worst_month_percent * 10 ** (-year_gain_db / 10)


def year_fading_percent(
    *, occurrence_percent: Figure, fade_db: Figure, year_gain_db: Figure
) -> Figure:
    """Time in which a fade is exceeded [% of the average year], deep or shallow.

    Step 4 of the clause: the time at the transition is brought to the year first, and the shallow
    law is formed anew through it. So a fade of 0 dB is exceeded in 63 % of the year as of the
    month, which a division of the month's time would not give.
    occurrence_percent: p0 of the worst month, 0 or more; 0 gives 0. fade_db: below 0 counts as 0.
    year_gain_db: 0 gives the worst month. Source: ITU-R P.530-18 sec. 2.3.4.
    Valid: occurrence 0 to 2000 %, fade_db 0 to 100, year_gain_db 0 to 10.8 (RANGES); beyond 2000 %
    the printed law rises with the fade.
    >>> print(year_fading_percent(occurrence_percent=10, fade_db=10, year_gain_db=7))
    0.2117
    """
    fade = np.maximum(fade_db, 0)
    edge = transition_db(occurrence_percent=occurrence_percent)
    month = transition_percent(occurrence_percent=occurrence_percent, transition_db=edge)
    q_t = transition_q(
        transition_db=edge,
        transition_percent=year_percent(worst_month_percent=month, year_gain_db=year_gain_db),
    )
    under = np.minimum(fade, edge)
    shallow = shallow_fading_percent(
        shallow_q=shallow_q(transition_q=q_t, fade_db=under), fade_db=under
    )
    deep = year_percent(
        worst_month_percent=deep_fading_percent(
            occurrence_percent=occurrence_percent, fade_db=fade
        ),
        year_gain_db=year_gain_db,
    )
    return np.where(occurrence_percent <= 0, 0.0, np.where(fade >= edge, deep, shallow))
