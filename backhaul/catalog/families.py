"""The families of parts: one declaration each, from which its records are made.

A record is a named tuple whose fields are the columns, in order, blank ones None
(`for` is `for_`). `max_db_km_1310` and its like are gathered: `fiber.max_db_km[1310]`.
"""

from collections import namedtuple
from functools import cached_property
from typing import Any

from backhaul.catalog.columns import (
    POLISHES,
    cable_end,
    category,
    choice,
    flag,
    integer,
    ip_code,
    name,
    names,
    number,
    numbers,
    plug,
    poe_class,
    text,
)
from backhaul.tables.column import CORROSIVITY, Column

#: What nobody has looked up.
UNSURE = "from memory"
BASES = ("standard", "computed", "common practice", UNSURE, "demo", "data sheet")
#: gathered per wavelength in nm; the first stands for what the others leave blank (see reading)
SPECTRA = ("max_db_km", "typical_db_km", "min_db_km")

_HEAD = (name("part", required=True), text("description"))
#: a piece or a metre, in the currency of the project
_PRICE = (number("price", "", 0, 1e9),)
_TAIL = (
    text("note"),
    text("source", required=True),
    choice("basis", *BASES, required=True, aliases={"datasheet": "data sheet"}),
)
_MODES = {"sm": "single", "single mode": "single", "mm": "multi", "multi mode": "multi"}


class Family:
    """One catalogue file: its columns, what makes a row unique, which columns must rise."""

    def __init__(
        self,
        name: str,
        file: str,
        record: str,
        *columns: Column,
        key: tuple[str, ...] = ("part",),
        rising: tuple[tuple[str, ...], ...] = (),
        spectra: bool = False,
    ):
        self.name, self.file, self.record_name = name, file, record
        self.key, self.rising, self.spectra = key, rising, spectra
        self.columns = (*_HEAD, *columns, *(_PRICE if self.single else ()), *_TAIL)

    @property
    def single(self) -> bool:
        """One row a part."""
        return self.key == ("part",)

    @cached_property
    def record(self) -> Any:
        """The named tuple of a row; every field but `part` may be left out."""
        fields = [column.attribute for column in self.columns]
        defaults: list[Any] = [column.default for column in self.columns[1:]]
        if self.spectra:
            fields += SPECTRA
            defaults += [{} for _ in SPECTRA]
        return namedtuple(self.record_name, fields, defaults=defaults)


def _temperatures() -> tuple[Column, Column]:
    return number("temp_min_c", "°C", -60, 60), number("temp_max_c", "°C", -20, 150)


def _protection() -> tuple[Column, Column]:
    return ip_code("ip_code"), choice("corrosivity", *CORROSIVITY)


_TEMPERATURE_RISE = ("temp_min_c", "temp_max_c")

# fmt: off
FIBERS = Family(
    "fibers", "fibers.csv", "Fiber",
    choice("mode", "single", "multi", required=True, aliases=_MODES),
    name("fiber_class", required=True),
    # classes in whose place this one does all that they do, and more
    names("replaces_classes"),
    # class whose reach rows hold for an optic that has none on this one
    name("reach_as"),
    number("core_um", "µm", 1, 1000),
    number("sigma_db_km", "dB/km", 0, 10),
    number("zero_dispersion_min_nm", "nm", 1200, 1700),
    number("zero_dispersion_max_nm", "nm", 1200, 1700),
    number("dispersion_slope_ps_nm2_km", "ps/(nm² km)", 0, 1),
    number("group_index", "", 1, 2),
    integer("strands", "", 1, 10_000),
    cable_end("end_a"),
    cable_end("end_b"),
    flag("outdoor"),
    # how it may lie, of the routes of a run; blank where the maker does not say
    names("routes"),
    numbers("order_lengths_m", "m", 0.1, 100_000),
    *_temperatures(),
    rising=(("zero_dispersion_min_nm", "zero_dispersion_max_nm"), _TEMPERATURE_RISE),
    spectra=True,
)
JOINTS = Family(
    "joints", "joints.csv", "Joint",
    choice("kind", "connector", "splice", "attenuator", "splitter", "filter", required=True),
    plug("family"),
    choice("polish", *POLISHES),
    choice("mode", "single", "multi", aliases=_MODES),
    number("max_db", "dB", 0, 60, required=True),
    number("min_db", "dB", 0, 60),
    number("typical_db", "dB", 0, 60),
    number("sigma_db", "dB", 0, 10),
    *(number(each, "nm", 600, 1700) for each in ("pass_min_nm", "pass_max_nm")),
    number("channel_nm", "nm", 0.1, 500),
    rising=(("min_db", "typical_db", "max_db"), ("pass_min_nm", "pass_max_nm")),
)
OPTICS = Family(
    "optics", "optics.csv", "Optic",
    text("standard"),
    number("rate_mbps", "Mbit/s", 1, 1e7, required=True),
    text("form"),
    plug("receptacle"),
    choice("polish", *POLISHES),
    integer("strands", "", 1, 2, default=2),
    choice("fiber_mode", "single", "multi", required=True, aliases=_MODES),
    *(number(each, "nm", 600, 1700) for each in (
        "tx_min_nm", "tx_nominal_nm", "tx_max_nm", "rx_min_nm", "rx_max_nm")),
    *(number(each, "dBm", -60, 30) for each in (
        "launch_min_dbm", "launch_max_dbm", "sensitivity_dbm", "overload_dbm", "damage_dbm")),
    number("penalty_db", "dB", 0, 20),
    choice("budget_form", "P", "C", default="P"),
    number("max_dispersion_ps_nm", "ps/nm", 0, 100_000),
    choice("dispersion_basis", "stated", "reach", default="stated"),
    *_temperatures(),
    text("laser_class"),
    number("watts", "W", 0, 50),
    rising=(("tx_min_nm", "tx_nominal_nm", "tx_max_nm"), ("rx_min_nm", "rx_max_nm"),
            ("launch_min_dbm", "launch_max_dbm"), ("sensitivity_dbm", "overload_dbm"),
            _TEMPERATURE_RISE),
)
OPTIC_REACH = Family(
    "optic_reach", "optic_reach.csv", "OpticReach",
    name("fiber_class", required=True),
    number("reach_m", "m", 0, 1e6),
    number("channel_loss_max_db", "dB", 0, 60),
    flag("conditioning_cord"),
    # where the standard gives this fiber its own; blank = the optic's
    number("launch_min_dbm", "dBm", -60, 30),
    number("penalty_db", "dB", 0, 20),
    key=("part", "fiber_class"),
)
DEVICES = Family(
    "devices", "devices.csv", "Device",
    choice("supply", "AC", "DC", "PoE", "none", default="none"),
    number("supply_volts", "V", 1, 1000),
    number("supply_min_volts", "V", 1, 1000),
    number("supply_max_volts", "V", 1, 1000),
    number("watts", "W", 0, 100_000),
    number("efficiency", "", 0.01, 1),
    number("power_factor", "", 0.01, 1),
    choice("output", "AC", "DC", "none", default="none"),
    number("output_volts", "V", 1, 1000),
    number("output_min_volts", "V", 1, 1000),
    # without load, or while a battery is on charge
    number("output_max_volts", "V", 1, 1000),
    number("output_w", "W", 0, 1e6),
    number("breaker_a", "A", 0.1, 10_000),
    # into a short at its terminals, where the source itself limits it
    number("short_circuit_a", "A", 0.1, 100_000),
    number("charge_w", "W", 0, 1e6),
    number("battery_wh", "Wh", 0, 1e9),
    number("battery_use_percent", "%", 1, 100),
    # energy lost for every kelvin below 25 degC; blank where the depth that is used counts the cold
    number("battery_cold_percent_k", "%/K", 0, 5),
    number("solar_w", "W", 0, 1e7),
    number("poe_budget_w", "W", 0, 10_000),
    *_temperatures(),
    *_protection(),
    text("ex_marking"),
    rising=(("supply_min_volts", "supply_volts", "supply_max_volts"),
            ("output_min_volts", "output_volts", "output_max_volts"), _TEMPERATURE_RISE),
)
PORTS = Family(
    "ports", "ports.csv", "Port",
    name("port", required=True),
    text("form"),
    numbers("rates_mbps", "Mbit/s", 1, 1e7),
    choice("poe", "none", "source", "load", default="none"),
    poe_class("poe_class"),
    integer("poe_pairs", "", 1, 4),
    number("volts", "V", 1, 100),
    number("watts", "W", 0, 200),
    number("min_volts", "V", 1, 100),
    number("max_volts", "V", 1, 100),
    key=("part", "port"),
    rising=(("volts", "max_volts"), ("min_volts", "max_volts")),
)
_GHZ = (0.1, 300)
RADIOS = Family(
    "radios", "radios.csv", "Radio",
    *(number(each, "GHz", *_GHZ) for each in (
        "frequency_min_ghz", "frequency_max_ghz", "tx_min_ghz", "tx_max_ghz",
        "rx_min_ghz", "rx_max_ghz")),
    number("tx_power_dbm", "dBm", -30, 60),
    integer("chains", "", 1, 64, default=1),
    # connectors for antennas; blank is one a chain, of a single chain two
    integer("antenna_ports", "", 1, 64),
    number("antenna_dbi", "dBi", -10, 70),
    number("beamwidth_deg", "deg", 0.01, 360),
    number("max_input_dbm", "dBm", -80, 20),
    number("mac_efficiency", "", 0.01, 1),
    choice("duplex", "TDD", "FDD", default="TDD"),
    # yes: made for bands under licence; blank is yes for FDD, no for TDD
    flag("licensed"),
    number("latency_us", "µs", 0, 1e6),
    number("noise_figure_db", "dB", 0, 30),
    number("watts", "W", 0, 1000),
    choice("supply", "AC", "DC", "PoE", "none", default="PoE"),
    number("supply_volts", "V", 1, 1000),
    number("supply_min_volts", "V", 1, 1000),
    number("supply_max_volts", "V", 1, 1000),
    number("power_factor", "", 0.01, 1),
    *_protection(),
    text("ex_marking"),
    *_temperatures(),
    rising=(("frequency_min_ghz", "frequency_max_ghz"), ("tx_min_ghz", "tx_max_ghz"),
            ("rx_min_ghz", "rx_max_ghz"),
            ("supply_min_volts", "supply_volts", "supply_max_volts"), _TEMPERATURE_RISE),
)
RADIO_MODES = Family(
    "radio_modes", "radio_modes.csv", "RadioMode",
    number("channel_mhz", "MHz", 0.01, 10_000, required=True),
    text("mode", required=True),
    number("rate_mbps", "Mbit/s", 0.001, 1e6, required=True),
    number("sensitivity_dbm", "dBm", -130, 0, required=True),
    number("tx_power_dbm", "dBm", -30, 60),
    key=("part", "channel_mhz", "mode"),
)
ANTENNAS = Family(
    "antennas", "antennas.csv", "Antenna",
    number("gain_dbi", "dBi", -10, 70, required=True),
    number("beamwidth_deg", "deg", 0.01, 360),
    number("diameter_m", "m", 0.01, 20),
    number("frequency_min_ghz", "GHz", *_GHZ),
    number("frequency_max_ghz", "GHz", *_GHZ),
    # how the gain of a dish was computed
    number("reference_ghz", "GHz", *_GHZ),
    number("aperture_efficiency", "", 0.1, 1),
    rising=(("frequency_min_ghz", "reference_ghz", "frequency_max_ghz"),),
)
COPPERS = Family(
    "coppers", "copper.csv", "Copper",
    category("category", required=True),
    integer("pairs", "", 1, 8, default=4),
    number("ohm_per_km", "ohm/km", 0.01, 1000),
    flag("screened"),
    flag("outdoor"),
    numbers("order_lengths_m", "m", 0.1, 100_000),
)
COPPER_REACH = Family(
    "copper_reach", "copper_reach.csv", "CopperReach",
    number("rate_mbps", "Mbit/s", 1, 1e6, required=True),
    category("category", required=True),
    number("reach_m", "m", 0, 10_000, required=True),
    # among cables of the same kind, whose alien crosstalk nobody measured; blank: the reach
    number("assured_m", "m", 0, 10_000),
    key=("part", "rate_mbps", "category"),
)
FEEDS = Family(
    "feeds", "feeds.csv", "Feed",
    number("area_mm2", "mm²", 0.05, 1000),
    number("ohm_per_km", "ohm/km", 0.001, 1000, required=True),
    number("reactance_ohm_per_km", "ohm/km", 0, 10),
    # 3 with the protective earth
    integer("conductors", "", 1, 10),
    number("ampacity_a", "A", 0.1, 10_000),
    text("voltage_grade"),
    flag("outdoor"),
    numbers("order_lengths_m", "m", 0.1, 100_000),
)
PROTECTORS = Family(
    "protectors", "protectors.csv", "Protector",
    choice("for", "copper", "feed", required=True),
    numbers("rates_mbps", "Mbit/s", 1, 1e6),
    # of a drop that it passes; blank: four
    integer("pairs", "", 1, 4, default=4),
    number("ohm", "ohm", 0, 100),
    choice("supply", "AC", "DC"),
    number("max_volts", "V", 1, 1000),
    *_protection(),
    *_temperatures(),
    rising=(_TEMPERATURE_RISE,),
)
#: what is ordered and fitted but computed nowhere: a row of the extras names it
HARDWARE = Family(
    "hardware", "hardware.csv", "Hardware",
    text("kind", required=True),
    text("unit", required=True),
    number("rating_a", "A", 0.1, 10_000),
    # of a copper module or an attached cable
    number("reach_m", "m", 0, 10_000),
    *_protection(),
    *_temperatures(),
    rising=(_TEMPERATURE_RISE,),
)
BANDS = Family(
    "bands", "bands.csv", "Band",
    name("region", required=True),
    number("frequency_min_ghz", "GHz", *_GHZ, required=True),
    number("frequency_max_ghz", "GHz", *_GHZ, required=True),
    number("eirp_max_dbm", "dBm", -60, 120),
    number("conducted_max_dbm", "dBm", -60, 80),
    number("gain_free_dbi", "dBi", -10, 80),
    # of the conducted limit, above gain_free_dbi; below zero the limit rises with the gain
    number("back_off_db_per_db", "dB/dB", -2, 2),
    # of the conducted power where the row limits that, else of the EIRP
    number("psd_max_dbm_mhz", "dBm/MHz", -100, 80),
    number("gain_min_dbi", "dBi", -10, 80),
    # yes: the row holds only for a hop whose licence gives eirp_limit_dbm; blank is no
    flag("licensed"),
    # yes: the row is for fixed point to point, not for a terminal that serves several
    flag("one_far_end"),
    text("rule", required=True),
    rising=(("frequency_min_ghz", "frequency_max_ghz"),),
)
FAMILIES = (
    FIBERS, JOINTS, OPTICS, OPTIC_REACH, DEVICES, PORTS, RADIOS, RADIO_MODES, ANTENNAS,
    COPPERS, COPPER_REACH, FEEDS, PROTECTORS, BANDS, HARDWARE,
)
