"""The lines of one direction of a hop, from transmit power to the law of its fading."""

from backhaul.figures.terms import PROJECT, ROW, Input, Term
from backhaul.path.ends import HopDirection, Place
from backhaul.physics import free_space, gas, multipath, rain

_P525 = "ITU-R P.525-5"
_P530_RAIN = "ITU-R P.530-18 sec. 2.4.1"
_P530_FADING = "ITU-R P.530-17 sec. 2.3"
#: Frequencies are given to a kilohertz.
_GHZ_DIGITS = 6


def middle_of_range_ghz(radio) -> float | None:
    """Middle of the range that a radio sends in, None where the range is not known."""
    low = radio.tx_min_ghz if radio.tx_min_ghz is not None else radio.frequency_min_ghz
    high = radio.tx_max_ghz if radio.tx_max_ghz is not None else radio.frequency_max_ghz
    return None if low is None or high is None else round((low + high) / 2, _GHZ_DIGITS)


def _frequency_place(way: HopDirection) -> Place:
    return Place(way.row, way.frequency_column)


def _assumed_frequency(way: HopDirection) -> float | None:
    own = way.frequency_column == way.sender.column("frequency_ghz")
    return middle_of_range_ghz((way.sender if own else way.near).radio)


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
    return multipath.transition_db(occurrence_percent=occurrence_percent)


#: Of a `HopDirection`.
FREQUENCY = Input(
    "frequency_ghz",
    "Frequency",
    "GHz",
    _frequency_place,
    blank=_assumed_frequency,
    at=lambda way: f"sent from {way.end_of(way.frequency_column).name}",
    digits=4,
    source="middle of the radio's range",
)

#: One direction of a hop; its subject is a `HopDirection`.
DIRECTION_TERMS = (
    Term("distance_km", "Distance", "km", digits=3),
    FREQUENCY,
    Term("tx_power_dbm", "Transmit power, strongest mode", "dBm"),
    Input(
        "tx_gain_dbi",
        "Antenna, sending",
        "dBi",
        lambda way: way.sender.antenna_place("gain_dbi"),
        cell_label="gain",
    ),
    Input(
        "rx_gain_dbi",
        "Antenna, receiving",
        "dBi",
        lambda way: way.receiver.antenna_place("gain_dbi"),
        cell_label="gain",
    ),
    Input(
        "extra_loss_db",
        "Further loss, both ends",
        "dB",
        ROW,
        blank=0.0,
        cell_label="further loss, both ends together",
    ),
    Term("eirp_dbm", "EIRP", "dBm", _eirp_dbm),
    Term("free_space_loss_db", "Free space", "dB", free_space.free_space_loss_db, source=_P525),
    Term("gas_db_per_km", "Gas", "dB/km", source="ITU-R P.676-13 Annex 1", digits=5),
    Term("gas_loss_db", "Gas", "dB", gas.gas_loss_db, source="ITU-R P.676-13 Annex 1"),
    Term("diffraction_loss_db", "Diffraction, median k", "dB", source="ITU-R P.526-15 sec. 4.5.2"),
    Term("path_loss_db", "Loss on the path", "dB", _path_loss_db),
    Term("received_dbm", "Received", "dBm", _received_dbm),
    Term("reflection_loss_db", "Deepest fade over water", "dB", source="two rays, P.530 sec. 6.1"),
    Input("noise_rise_db", "Noise rise", "dB", PROJECT, cell_label="noise rise at every receiver"),
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
        "C0 of the time law",
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
        "transition_db", "Fade where the deep law begins", "dB", _transition_db, source=_P530_FADING
    ),
    Term(
        "transition_percent",
        "Time of that fade",
        "%",
        multipath.transition_percent,
        source=_P530_FADING,
        digits=5,
    ),
    Term(
        "transition_q",
        "q of the shallow law",
        "",
        multipath.transition_q,
        source=_P530_FADING,
        digits=4,
    ),
    Term("latitude_deg", "Latitude, middle of the path", "degrees"),
    Term("inclination_mrad", "Inclination of the path", "mrad", digits=3),
    Term(
        "year_gain_db",
        "Worst month to year",
        "dB",
        multipath.year_gain_db,
        source="ITU-R P.530-17 sec. 2.3.4",
    ),
)


#: What limits a direction; the same subject.
LIMITS = (
    Input(
        "max_input_dbm",
        "Level that it stands",
        "dBm",
        lambda way: way.receiver.radio_place("max_input_dbm"),
        none="no limit",
    ),
    Input("eirp_limit_dbm", "EIRP allowed", "dBm", ROW),
    Input("healthy_margin_db", "Healthy margin of a hop", "dB", PROJECT, "radio_margin_db"),
    Input(
        "mac_efficiency",
        "Share of the rate on air left for users",
        "",
        lambda way: way.sender.radio_place("mac_efficiency"),
        blank=1.0,
    ),
    Input("up_share_percent", "Share of the time that runs up", "%", ROW),
)
LIMIT = {given.key: given for given in LIMITS}
