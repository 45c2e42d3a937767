"""The lines of a hop's budget, from transmit power to availability."""

import numpy as np

from backhaul.figures.terms import Term
from backhaul.physics import availability, free_space, gas, geometry, multipath_time, rain

_P525 = "ITU-R P.525-5"
_P530_RAIN = "ITU-R P.530-18 sec. 2.4.1"
_P530_FADING = "ITU-R P.530-17 sec. 2.3"


def _eirp_dbm(*, tx_power_dbm, tx_gain_dbi):
    return free_space.eirp_dbm(power_dbm=tx_power_dbm, gain_dbi=tx_gain_dbi, loss_db=0)


def _path_loss_db(*, free_space_loss_db, gas_loss_db, diffraction_loss_db):
    return free_space_loss_db + gas_loss_db + diffraction_loss_db


def _received_dbm(*, eirp_dbm, path_loss_db, rx_gain_dbi, extra_loss_db):
    return free_space.received_dbm(
        eirp_dbm=eirp_dbm, path_loss_db=path_loss_db, gain_dbi=rx_gain_dbi, loss_db=extra_loss_db
    )


def _rain_db_per_km(*, rain_k, rain_alpha, rain_rate_mm_h):
    return rain.specific_attenuation_db_per_km(
        k=rain_k, alpha=rain_alpha, rain_mm_per_h=rain_rate_mm_h
    )


def _distance_factor(*, distance_km, frequency_ghz, rain_alpha, rain_rate_mm_h):
    return rain.distance_factor(
        distance_km=distance_km,
        frequency_ghz=frequency_ghz,
        alpha=rain_alpha,
        rain_mm_per_h=rain_rate_mm_h,
    )


def _rain_0_01_db(*, rain_db_per_km, distance_km, distance_factor):
    return rain.exceeded_0_01_db(
        rain_db_per_km=rain_db_per_km, distance_km=distance_km, distance_factor=distance_factor
    )


def _transition_db(*, occurrence_percent):
    return multipath_time.transition_db(occurrence_percent=occurrence_percent)


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
    return multipath_time.shallow_q(
        transition_q=transition_q, fade_db=np.minimum(fade_db, transition_db)
    )


def _fade_db(*, margin_db):
    return np.maximum(margin_db, 0)


def _multipath_month_percent(*, occurrence_percent, fade_db, transition_db, shallow_q):
    shallow = multipath_time.shallow_fading_percent(
        shallow_q=shallow_q, fade_db=np.minimum(fade_db, transition_db)
    )
    deep = multipath_time.deep_fading_percent(
        occurrence_percent=occurrence_percent, fade_db=fade_db
    )
    law = np.where(fade_db >= transition_db, deep, shallow)
    return np.where(occurrence_percent > 0, law, 0)


def _multipath_outage_percent(*, margin_db, fade_db, occurrence_percent, year_gain_db):
    year = multipath_time.year_fading_percent(
        occurrence_percent=occurrence_percent, fade_db=fade_db, year_gain_db=year_gain_db
    )
    return np.where(margin_db < 0, 0, year)


def _availability_percent(*, rain_outage_percent, multipath_outage_percent):
    return np.maximum(100 - rain_outage_percent - multipath_outage_percent, 0)


def _minutes(*, availability_percent):
    return availability.minutes_per_year(outage_percent=100 - availability_percent)


#: One direction of a hop.
DIRECTION_TERMS = (
    Term("distance_km", "Distance", "km", digits=3),
    Term("frequency_ghz", "Frequency", "GHz", digits=4),
    Term("tx_power_dbm", "Transmit power, strongest mode", "dBm"),
    Term("tx_gain_dbi", "Antenna, sending", "dBi"),
    Term("rx_gain_dbi", "Antenna, receiving", "dBi"),
    Term("extra_loss_db", "Further loss, both ends", "dB"),
    Term("eirp_dbm", "EIRP", "dBm", _eirp_dbm),
    Term("free_space_loss_db", "Free space", "dB", free_space.free_space_loss_db, source=_P525),
    Term("gas_db_per_km", "Gas", "dB/km", source="ITU-R P.676-13 Annex 1", digits=5),
    Term("gas_loss_db", "Gas", "dB", gas.gas_loss_db, source="ITU-R P.676-13 Annex 1"),
    Term("diffraction_loss_db", "Diffraction, median k", "dB", source="ITU-R P.526-15 sec. 4.5.2"),
    Term("path_loss_db", "Loss on the path", "dB", _path_loss_db),
    Term("received_dbm", "Received", "dBm", _received_dbm),
    Term("reflection_loss_db", "Deepest fade over water", "dB", source="two rays, P.530 sec. 6.1"),
    Term("noise_rise_db", "Noise rise", "dB"),
    Term("rain_rate_mm_h", "Rain rate, 0.01 % of the year", "mm/h", digits=1),
    Term("rain_k", "k", source="ITU-R P.838-3", digits=6),
    Term("rain_alpha", "alpha", source="ITU-R P.838-3", digits=5),
    Term("rain_db_per_km", "Rain", "dB/km", _rain_db_per_km, source="ITU-R P.838-3", digits=3),
    Term(
        "distance_factor",
        "Share of the path in rain",
        "",
        _distance_factor,
        source=_P530_RAIN,
        digits=4,
    ),
    Term("rain_0_01_db", "Rain, 0.01 % of the year", "dB", _rain_0_01_db, source=_P530_RAIN),
    Term(
        "frequency_exponent",
        "C0 (P.530 2.4.1)",
        "",
        rain.frequency_exponent,
        source=_P530_RAIN,
        digits=4,
    ),
    Term(
        "occurrence_percent",
        "Multipath occurrence, worst month",
        "%",
        source=_P530_FADING,
        digits=4,
    ),
    Term(
        "transition_db",
        "Transition fade A_t (P.530 2.3.2)",
        "dB",
        _transition_db,
        source=_P530_FADING,
    ),
    Term(
        "transition_percent",
        "Time of that fade",
        "%",
        multipath_time.transition_percent,
        source=_P530_FADING,
        digits=5,
    ),
    Term(
        "transition_q",
        "q of the shallow law",
        "",
        multipath_time.transition_q,
        source=_P530_FADING,
        digits=4,
    ),
    Term("latitude_deg", "Latitude, middle of the path", "degrees"),
    Term("inclination_mrad", "Inclination of the path", "mrad", digits=3),
    Term(
        "year_gain_db",
        "Worst month to year",
        "dB",
        multipath_time.year_gain_db,
        source="ITU-R P.530-17 sec. 2.3.4",
    ),
)

#: One mode in one direction; terms of the direction stand beside it.
MODE_TERMS = (
    Term("rate_mbps", "Rate on the air", "Mb/s", digits=1),
    Term("mode_power_dbm", "Power", "dBm"),
    Term("sensitivity_dbm", "Sensitivity", "dBm"),
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
        source="ITU-R P.530-18 sec. 2.3.4",
        digits=5,
    ),
    Term("availability_percent", "Availability", "%", _availability_percent, digits=4),
    Term("outage_minutes", "Outage a year", "min", _minutes, digits=1),
)

#: Geometry in the middle of a hop.
HOP_TERMS = (
    Term("distance_km", "Distance", "km", digits=3),
    Term("frequency_ghz", "Frequency", "GHz", digits=4),
    Term("height_m", "Antenna, first end", "m", digits=1),
    Term("far_height_m", "Antenna, far end", "m", digits=1),
    Term("half_km", "Half way", "km", lambda *, distance_km: distance_km / 2, digits=3),
    Term(
        "earth_bulge_mid_m",
        "Earth bulge half way, k = 4/3",
        "m",
        lambda *, half_km: geometry.earth_bulge_m(
            distance1_km=half_km, distance2_km=half_km, k_factor=geometry.MEDIAN_K_FACTOR
        ),
    ),
    Term(
        "fresnel_mid_m",
        "First Fresnel radius half way",
        "m",
        lambda *, half_km, frequency_ghz: geometry.fresnel_radius_m(
            distance1_km=half_km, distance2_km=half_km, frequency_ghz=frequency_ghz
        ),
        source="ITU-R P.526 sec. 2.1",
    ),
    Term("tilt_deg", "Tilt, first end", "degrees", geometry.tilt_deg, digits=3),
    Term(
        "to_tilt_deg",
        "Tilt, far end",
        "degrees",
        lambda *, distance_km, height_m, far_height_m: geometry.tilt_deg(
            distance_km=distance_km, height_m=far_height_m, far_height_m=height_m
        ),
        digits=3,
    ),
)
