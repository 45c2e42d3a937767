"""The lines of one mode in one direction of a hop, from power to availability."""

import numpy as np

from backhaul.figures.terms import ROW, Input, Term
from backhaul.path.ends import MODES, RADIOS, ModeOfDirection, Place
from backhaul.physics import availability, free_space, multipath, rain

_P530_RAIN = "ITU-R P.530-18 sec. 2.4.1"
_P530_FADING = "ITU-R P.530-17 sec. 2.3"


def _mode_margin_db(
    *,
    received_dbm,
    mode_power_dbm,
    tx_power_dbm,
    sensitivity_dbm,
    reflection_loss_db,
    noise_rise_db,
):
    return free_space.margin_db(
        received_dbm=received_dbm + (mode_power_dbm - tx_power_dbm),
        sensitivity_dbm=sensitivity_dbm,
        reflection_loss_db=reflection_loss_db,
        noise_rise_db=noise_rise_db,
    )


def _rain_outage_percent(*, margin_db, rain_0_01_db, frequency_exponent):
    within = rain.outage_percent(
        margin_db=margin_db, exceeded_0_01_db=rain_0_01_db, frequency_exponent=frequency_exponent
    )
    return np.where(margin_db < 0, 100, np.where(rain_0_01_db <= 0, 0, within))


def _shallow_q(*, transition_q, fade_db, transition_db):
    return multipath.shallow_q(
        transition_q=transition_q, fade_db=np.minimum(fade_db, transition_db)
    )


def _fade_db(*, margin_db):
    return np.maximum(margin_db, 0)


def _multipath_month_percent(*, occurrence_percent, fade_db, transition_db, shallow_q):
    shallow = multipath.shallow_fading_percent(
        shallow_q=shallow_q, fade_db=np.minimum(fade_db, transition_db)
    )
    deep = multipath.deep_fading_percent(occurrence_percent=occurrence_percent, fade_db=fade_db)
    law = np.where(fade_db >= transition_db, deep, shallow)
    return np.where(occurrence_percent > 0, law, 0)


def _multipath_outage_percent(*, margin_db, multipath_month_percent, year_gain_db):
    year = multipath.year_percent(
        worst_month_percent=multipath_month_percent, year_gain_db=year_gain_db
    )
    return np.where(margin_db < 0, 0, year)


def _availability_percent(*, rain_outage_percent, multipath_outage_percent):
    return np.maximum(100 - rain_outage_percent - multipath_outage_percent, 0)


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
MODE_TERMS = (
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
    Term("margin_db", "Margin", "dB", _mode_margin_db),
    Term(
        "rain_outage_percent", "Rain outage", "%", _rain_outage_percent, source=_P530_RAIN, digits=5
    ),
    Term("fade_db", "Fade that it stands", "dB", _fade_db),
    Term("shallow_q", "q of the mode", "", _shallow_q, source=_P530_FADING, digits=4),
    Term(
        "multipath_month_percent",
        "Multipath, worst month",
        "%",
        _multipath_month_percent,
        source=_P530_FADING,
        digits=5,
    ),
    Term(
        "multipath_outage_percent",
        "Multipath outage",
        "%",
        _multipath_outage_percent,
        source="ITU-R P.530-17 sec. 2.3.4",
        digits=5,
    ),
    Term("availability_percent", "Availability", "%", _availability_percent, digits=4),
    Term("outage_minutes", "Outage a year", "min", _minutes, digits=1),
)
