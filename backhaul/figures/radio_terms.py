"""The lines of one direction of a hop, from transmit power to the law of its fading."""

from backhaul.figures import radio_formulas as formulas
from backhaul.figures.terms import ROW, Input, Term, to_tenths
from backhaul.path.ends import PROJECT as PROJECT_FAMILY
from backhaul.path.ends import HopDirection, HopEnd, Place
from backhaul.physics import (
    antennas,
    interference,
    multipath_time,
    rain,
)

_P525 = "ITU-R P.525-5"
_P530_RAIN = "ITU-R P.530-18 sec. 2.4.1"
_P530_FADING = "ITU-R P.530-18 sec. 2.3"
#: Frequencies are given to a kilohertz.
_GHZ_DIGITS = 6
#: Variants of a line: with both heights known or not, with sway typed or not, with another sender
#: of the design in the channel or not.
HEIGHTS, LEVEL = "heights", "level"
STILL, SWAYS = "still", "sways"
ALONE, HEARD = "alone", "heard"


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


def _of_hop_else_project(name: str, setting: str):
    """A figure of the hop's row, where it is blank that of the project."""

    def place(way: HopDirection) -> Place:
        if getattr(way.row, name) is not None:
            return Place(way.row, name)
        return Place(way.project, setting, PROJECT_FAMILY)

    return place


def _beam_of_gain_deg(end: HopEnd) -> float | None:
    """Beam of a round aperture of the same gain, where no beamwidth is stated."""
    gain = end.antenna_figure("gain_dbi")
    if gain is None:
        return None
    diameter = antennas.aperture_m(gain_dbi=gain, frequency_ghz=1.0)
    return float(antennas.dish_beamwidth_deg(diameter_m=diameter, frequency_ghz=1.0))


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
DIRECTION_TERMS = to_tenths(
    (
        Term("distance_km", "Distance", "km", digits=3),
        Term(
            "slant_km",
            "Slant range",
            "km",
            {HEIGHTS: formulas.slant_km, LEVEL: lambda *, distance_km: distance_km + 0},
            by="slant_basis",
            digits=3,
        ),
        FREQUENCY,
        Term("tx_power_dbm", "Transmit power, strongest mode", "dBm"),
        Input(
            "tx_gain_dbi",
            "Antenna, transmitting",
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
        Term("eirp_dbm", "EIRP", "dBm", formulas.eirp_dbm),
        Term("free_space_loss_db", "Free space", "dB", formulas.free_space_loss_db, source=_P525),
        Term("gas_db_per_km", "Gas", "dB/km", source="ITU-R P.676-13 Annex 1", digits=5),
        Term("gas_loss_db", "Gas", "dB", formulas.gas_loss_db, source="ITU-R P.676-13 Annex 1"),
        Term(
            "diffraction_loss_db", "Diffraction, median k", "dB", source="ITU-R P.526-15 sec. 4.5.2"
        ),
        Term("path_loss_db", "Loss on the path", "dB", formulas.path_loss_db),
        Term("off_axis_deg", "Far end beside the hub's axis", "°", digits=1),
        Term(
            "off_axis_loss_db",
            "Loss beside the hub's axis",
            "dB",
            formulas.OFF_AXIS_DB,
            by="hub_basis",
            source="ITU-R F.1336 rec. 3.1",
        ),
        Term(
            "received_dbm",
            "Received, all chains",
            "dBm",
            formulas.RECEIVED_DBM,
            by="hub_basis",
        ),
        Input(
            "chains",
            "Chains",
            "",
            lambda way: way.sender.radio_place("chains"),
            blank=1,
            digits=0,
            cell_label="chains that share the power",
        ),
        Term("received_chain_dbm", "Received, a chain", "dBm", formulas.received_chain_dbm),
        Input(
            "sway_deg",
            "Sway, transmitting end",
            "°",
            lambda way: way.sender.site_place("sway_deg"),
            blank=0.0,
            cell_label="sway of the mast",
        ),
        Input(
            "to_sway_deg",
            "Sway, receiving end",
            "°",
            lambda way: way.receiver.site_place("sway_deg"),
            blank=0.0,
            cell_label="sway of the mast",
        ),
        Input(
            "beam_deg",
            "Beamwidth, transmitting",
            "°",
            lambda way: way.sender.antenna_place("beamwidth_deg"),
            blank=lambda way: _beam_of_gain_deg(way.sender),
            cell_label="beamwidth",
        ),
        Input(
            "to_beam_deg",
            "Beamwidth, receiving",
            "°",
            lambda way: way.receiver.antenna_place("beamwidth_deg"),
            blank=lambda way: _beam_of_gain_deg(way.receiver),
            cell_label="beamwidth",
        ),
        Term(
            "pointing_loss_db",
            "Loss by sway, both ends",
            "dB",
            {STILL: formulas.no_pointing_loss_db, SWAYS: formulas.pointing_loss_db},
            by="sway_basis",
            source="main lobe: common practice; beyond it ITU-R F.699",
        ),
        Term(
            "reflection_loss_db", "Deepest fade over water", "dB", source="two rays, P.530 sec. 6.1"
        ),
        Term("channel_mhz", "Channel", "MHz"),
        Input(
            "noise_figure_db",
            "Noise figure",
            "dB",
            lambda way: way.receiver.radio_place("noise_figure_db"),
            blank=interference.NOISE_FIGURE_DB,
            digits=1,
        ),
        Term("noise_dbm", "Noise in the channel", "dBm", formulas.noise_dbm, source="k T B F"),
        Term(
            "interference_dbm",
            "Other transmitters of the design",
            "dBm",
            source="free space, patterns of ITU-R F.699",
        ),
        Input(
            "typed_noise_rise_db",
            "Noise rise, typed",
            "dB",
            _of_hop_else_project("noise_rise_db", "noise_rise_db"),
            cell_label="noise rise at every receiver",
        ),
        Term(
            "noise_rise_db",
            "Noise rise",
            "dB",
            {ALONE: formulas.typed_rise_db, HEARD: formulas.noise_rise_db},
            by="noise_basis",
        ),
        Term("rain_rate_mm_h", "Rain rate, 0.01 % of the year", "mm/h", digits=1),
        Term("rain_k", "k", source="ITU-R P.838-3", digits=6),
        Term("rain_alpha", "alpha", source="ITU-R P.838-3", digits=5),
        Term(
            "rain_db_per_km",
            "Rain",
            "dB/km",
            formulas.rain_db_per_km,
            source="ITU-R P.838-3",
            digits=3,
        ),
        Term(
            "distance_factor",
            "Share of the path in rain",
            "",
            formulas.distance_factor,
            source=_P530_RAIN,
            digits=4,
        ),
        Term(
            "rain_0_01_db",
            "Rain, 0.01 % of the year",
            "dB",
            formulas.rain_0_01_db,
            source=_P530_RAIN,
        ),
        Term(
            "frequency_exponent",
            "C0 (P.530 2.4.1)",
            "",
            rain.frequency_exponent,
            source=_P530_RAIN,
            digits=4,
        ),
        Term(
            "rain_0_001_db",
            "Rain, 0.001 % of the year",
            "dB",
            formulas.rain_0_001_db,
            source=_P530_RAIN,
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
            formulas.transition_db,
            source=_P530_FADING,
        ),
        Term(
            "transition_percent",
            "Time with that fade, worst month",
            "%",
            multipath_time.transition_percent,
            source=_P530_FADING,
            digits=5,
        ),
        Term("latitude_deg", "Latitude, middle of the path", "°"),
        Term("diversity_m", "Second antenna at the receiver, above the first", "m"),
        Term(
            "inclination_mrad",
            "Inclination of the path",
            "mrad",
            {HEIGHTS: formulas.inclination_mrad, LEVEL: lambda *, distance_km: distance_km * 0},
            by="height_basis",
            digits=3,
        ),
        Term(
            "year_gain_db",
            "Worst month to year",
            "dB",
            multipath_time.year_gain_db,
            source=f"{_P530_FADING}.4",
        ),
        Term(
            "year_transition_percent",
            "Time with that fade, year",
            "%",
            formulas.year_transition_percent,
            source=f"{_P530_FADING}.4",
            digits=5,
        ),
        Term(
            "transition_q",
            "q of the shallow law",
            "",
            formulas.transition_q,
            source=_P530_FADING,
            digits=4,
        ),
    )
)

#: What limits a direction; the same subject.
LIMITS = to_tenths(
    (
        Input(
            "max_input_dbm",
            "Highest input level",
            "dBm",
            lambda way: way.receiver.radio_place("max_input_dbm"),
            none="no limit",
        ),
        Input("eirp_limit_dbm", "EIRP allowed", "dBm", ROW),
        Input(
            "healthy_margin_db",
            "Healthy margin of a hop",
            "dB",
            _of_hop_else_project("radio_margin_db", "radio_margin_db"),
        ),
        Input(
            "mac_efficiency",
            "Share of the rate on air for user data",
            "",
            lambda way: way.sender.radio_place("mac_efficiency"),
            blank=1.0,
        ),
        Input("up_share_percent", "Share of the airtime for up", "%", ROW),
    )
)
LIMIT = {given.key: given for given in LIMITS}
