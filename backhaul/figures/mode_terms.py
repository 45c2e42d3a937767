"""The lines of one mode in one direction of a hop, from power to availability."""

import numpy as np

from backhaul.figures.influences import Influence
from backhaul.figures.terms import ROW, Input, Term, to_tenths
from backhaul.path.ends import MODES, RADIOS, ModeOfDirection, Place
from backhaul.physics import availability, diversity, free_space, multipath_time, rain

_P530_RAIN = "ITU-R P.530-18 sec. 2.4.1"
_P530_YEAR = "ITU-R P.530-18 sec. 2.3.4"
#: Variants of the multipath outage: one antenna at the end that hears, or two.
ONE, TWO = "one antenna", "two antennas"


def _clear_margin_db(
    *,
    received_chain_dbm,
    mode_power_dbm,
    tx_power_dbm,
    sensitivity_dbm,
    pointing_loss_db,
    noise_rise_db,
):
    return free_space.margin_db(
        received_dbm=received_chain_dbm + (mode_power_dbm - tx_power_dbm),
        sensitivity_dbm=sensitivity_dbm,
        reflection_loss_db=pointing_loss_db,
        noise_rise_db=noise_rise_db,
    )


def _margin_db(*, clear_margin_db, reflection_loss_db):
    return clear_margin_db - reflection_loss_db


def _rain_outage_percent(
    *, clear_margin_db, snow_factor, rain_0_01_db, rain_0_001_db, frequency_exponent
):
    """A margin beyond the last fade that the law tells is not out by rain at all."""
    within = rain.outage_percent(
        margin_db=clear_margin_db / snow_factor,
        exceeded_0_01_db=rain_0_01_db,
        frequency_exponent=frequency_exponent,
    )
    none = np.logical_or(rain_0_01_db <= 0, clear_margin_db / snow_factor >= rain_0_001_db)
    return np.where(np.logical_or(clear_margin_db < 0, none), 0, within)


def _multipath_percent(
    *, clear_margin_db, occurrence_percent, transition_db, transition_q, year_gain_db
):
    """The law of the year, formed anew through the time of its transition (step 4)."""
    fade = np.maximum(clear_margin_db, 0)
    under = np.minimum(fade, transition_db)
    shallow = multipath_time.shallow_fading_percent(
        shallow_q=multipath_time.shallow_q(transition_q=transition_q, fade_db=under), fade_db=under
    )
    deep = multipath_time.year_percent(
        worst_month_percent=multipath_time.deep_fading_percent(
            occurrence_percent=occurrence_percent, fade_db=fade
        ),
        year_gain_db=year_gain_db,
    )
    none = np.logical_or(occurrence_percent <= 0, clear_margin_db < 0)
    return np.where(none, 0, np.where(fade >= transition_db, deep, shallow))


def _diversity_percent(
    *,
    clear_margin_db,
    occurrence_percent,
    transition_db,
    transition_q,
    year_gain_db,
    diversity_m,
    frequency_ghz,
    distance_km,
):
    one = _multipath_percent(
        clear_margin_db=clear_margin_db,
        occurrence_percent=occurrence_percent,
        transition_db=transition_db,
        transition_q=transition_q,
        year_gain_db=year_gain_db,
    )
    improvement = diversity.improvement_factor(
        spacing_m=diversity_m,
        frequency_ghz=frequency_ghz,
        distance_km=distance_km,
        occurrence_percent=occurrence_percent,
        fade_db=np.maximum(clear_margin_db, 0),
        gain_difference_db=0,
    )
    return diversity.diversity_outage_percent(outage_percent=one, improvement=improvement)


def _availability_percent(
    *,
    clear_margin_db,
    rain_outage_percent,
    multipath_outage_percent,
    reflection_outage_percent,
):
    """Below its sensitivity in clear air a mode never holds."""
    left = 100 - rain_outage_percent - multipath_outage_percent - reflection_outage_percent
    return np.where(clear_margin_db < 0, 0, np.maximum(left, 0))


def _minutes(*, availability_percent):
    return availability.minutes_per_year(outage_percent=100 - availability_percent)


def _part_power(mode: ModeOfDirection) -> Place:
    """Power of the mode, else of its radio."""
    if mode.sent.tx_power_dbm is not None:
        return Place(mode.sent, "tx_power_dbm", MODES)
    return Place(mode.sender, "tx_power_dbm", RADIOS)


def _name(mode: ModeOfDirection) -> str:
    return f"{mode.sent.mode}, {mode.sent.channel_mhz:g} MHz"


#: Power that the row allows, both ends.
TYPED_POWER = Input("tx_power_dbm", "Power, at most, both ends", "dBm", ROW)
#: Power of a mode by the part.
PART_POWER = Input("part_power_dbm", "Power", "dBm", _part_power, at=_name)

#: One mode in one direction, its subject a `ModeOfDirection`; terms of the direction stand beside.
MODE_TERMS = to_tenths(
    (
        Input(
            "rate_mbps",
            "Rate on the air",
            "Mb/s",
            lambda mode: Place(mode.sent, "rate_mbps", MODES),
            at=_name,
            digits=1,
        ),
        Term("mode_power_dbm", "Power", "dBm"),
        Input(
            "sensitivity_dbm",
            "Sensitivity",
            "dBm",
            lambda mode: Place(mode.heard, "sensitivity_dbm", MODES),
            at=_name,
        ),
        Term("clear_margin_db", "Margin before reflection", "dB", _clear_margin_db),
        Term("margin_db", "Margin", "dB", _margin_db),
        Term(
            "snow_factor",
            "Wet snow, times rain",
            "",
            source="ITU-R P.530-18 sec. 2.4.2",
            digits=3,
        ),
        Term(
            "rain_outage_percent",
            "Rain outage",
            "%",
            _rain_outage_percent,
            source=_P530_RAIN,
            digits=5,
        ),
        Term(
            "multipath_outage_percent",
            "Multipath outage",
            "%",
            {ONE: _multipath_percent, TWO: _diversity_percent},
            by="diversity_basis",
            source=_P530_YEAR,
            digits=5,
        ),
        Term(
            "reflection_outage_percent",
            "Reflection outage",
            "%",
            source="two rays; mean over levels and k",
            digits=4,
        ),
        Term("availability_percent", "Availability", "%", _availability_percent, digits=4),
        Term("outage_minutes", "Outage per year", "min", _minutes, digits=1),
    )
)

_NEEDED = ("margin_db", "needed_db")
#: What moves the margin of the mode that a direction needs: the radio that hears, the one that
#: sends, and the antennas of both ends. `needed_db` is of `budgets.needed_modes`.
SENSITIVITY = Influence("sensitivity_dbm", _NEEDED[0], -1, _NEEDED[1])
MODE_POWER = Influence("mode_power_dbm", _NEEDED[0], +1, _NEEDED[1])
GAIN = Influence("gain_dbi", _NEEDED[0], +1, _NEEDED[1])
#: What else a part moves in the margin of a mode: the loss by sway, the level of each chain.
SWAY_LOSS = Influence("pointing_loss_db", _NEEDED[0], -1)
CHAIN_LEVEL = Influence("received_chain_dbm", _NEEDED[0], +1)
#: What moves the level at the far end, and the EIRP that a rule of the band limits.
LEVEL_BY = {name: Influence(name, "received_dbm", +1) for name in ("gain_dbi", "tx_power_dbm")}
EIRP_BY = {name: Influence(name, "eirp_dbm", +1) for name in ("gain_dbi", "tx_power_dbm")}
