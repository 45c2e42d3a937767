"""The tables of a design and their columns, declared once.

The reader parses by them, records are made from them, the blank design is drawn from them,
messages quote their units. Names are fixed by the project's contract.
"""

from backhaul.design.settings import WATER_WORDS, WATERS
from backhaul.tables.column import (
    CHOICE,
    CORROSIVITY,
    DATE,
    INTEGER,
    LIST,
    NAME,
    NUMBER,
    TEXT,
    YES_NO,
    Column,
)
from backhaul.tables.values import RAW

#: Temperature inside an enclosure outdoors above ambient [K]: rules of the project, for a
#: sun-loaded cabinet (common practice 15 to 20 K).
OUTDOOR_RISE_C = 15.0
#: Where neither the row nor its sites tell the temperature of a cable [°C]: rules of the project.
DEFAULT_CABLE_C = 20.0
POLARIZATIONS = ("V", "H", "VH")
POLARIZATION_WORDS = {"hv": "VH", "v/h": "VH", "vertical": "V", "horizontal": "H"}
PROVIDERS = ("existing", "client", "later")
ROUTES = ("indoor", "duct", "buried", "aerial", "surface")
LAND, WATER = "land", "water"
#: what lies under a hop, besides the names of `waters`
SURFACES = (LAND, *WATERS)
SURFACE_WORDS = {"ground": LAND, **WATER_WORDS}

#: The `project` table: a setting a row.
PROJECT = (
    Column("setting", NAME, "name of the setting", required=True),
    Column("value", RAW, "its value"),
    Column("unit", TEXT, "unit of the value, for the reader's eye"),
    Column("help", TEXT, "what the setting means, for the reader's eye"),
)

SITES = (
    Column("site", NAME, "name of the site", required=True),
    Column("latitude", NUMBER, "north positive, WGS 84", "degrees", -90, 90),
    Column("longitude", NUMBER, "east positive, WGS 84", "degrees", -180, 180),
    Column(
        "ground_m",
        NUMBER,
        "level that heights are measured from: ground, deck, roof",
        "m",
        -500,
        9000,
    ),
    Column("ambient_min_c", NUMBER, "lowest ambient temperature", "°C", -90, 70),
    Column("ambient_max_c", NUMBER, "highest ambient temperature", "°C", -90, 90),
    Column(
        "enclosure_rise_c",
        NUMBER,
        f"inside the enclosure above ambient; blank = {OUTDOOR_RISE_C:g} outdoors, 0 indoors",
        "K",
        0,
        60,
    ),
    Column("corrosivity", CHOICE, "category of ISO 12944-2", choices=CORROSIVITY),
    Column("outdoor", YES_NO, "yes or no"),
    Column("hazardous_area", TEXT, "zone and gas group, blank if none"),
    Column("rain_rate_mm_h", NUMBER, "rain rate exceeded 0.01 % of the year", "mm/h", 0, 300),
    Column(
        "dn1",
        NUMBER,
        "refractivity gradient, lowest 65 m, 1 % of the year (ITU-R P.453)",
        "N/km",
        -2000,
        100,
    ),
    Column(
        "roughness_m",
        NUMBER,
        "terrain roughness s_a of ITU-R P.530; blank = quick method",
        "m",
        0,
        5000,
    ),
    Column("log_k", NUMBER, "geoclimatic factor of ITU-R P.530-18/-19", "", -12, 0),
    Column("dn75", NUMBER, "refractivity statistic of ITU-R P.530-18/-19", "N-units", 0, 200),
    Column("vapour_g_m3", NUMBER, "water vapour density", "g/m3", 0, 60),
    Column("temperature_c", NUMBER, "mean temperature", "°C", -60, 60),
    Column("pressure_hpa", NUMBER, "barometric pressure, total", "hPa", 300, 1100),
    Column("wind_m_s", NUMBER, "design wind speed", "m/s", 0, 120),
    Column("sway_deg", NUMBER, "sway of the mast", "degrees", 0, 20),
    Column("declination_deg", NUMBER, "magnetic declination, east positive", "degrees", -180, 180),
    Column(
        "sun_hours",
        NUMBER,
        "equivalent hours of full sun a day, worst month, on the panel's plane",
        "h",
        0,
        24,
    ),
)

SEGMENTS = (
    Column("path", LIST, "path or paths that the row stands in", required=True),
    Column("step", NUMBER, "rises along the path", required=True, low=0, high=1e6),
    Column("kind", CHOICE, "what the row is", required=True),
    Column("site", NAME, "where it is or begins"),
    Column("to_site", NAME, "where it ends"),
    Column("part", NAME, "part of the catalogues", required=True),
    Column("to_part", NAME, "radio at the far end; blank = the same"),
    Column("port", NAME, "port at the first end; blank = the free one that fits"),
    Column("to_port", NAME, "port at the far end"),
    Column("length_m", NUMBER, "length of the run", "m", 0, 1e6),
    Column(
        "count",
        INTEGER,
        "mated pairs, splices, attenuators in the light's way; blank = 1",
        "",
        0,
        1000,
    ),
    Column("strand", LIST, "strand of the cable: 1, or 1/2 for two", default=()),
    Column("height_m", NUMBER, "antenna above the site's ground_m, first end", "m", -100, 2000),
    Column("to_height_m", NUMBER, "antenna above the site's ground_m, far end", "m", -100, 2000),
    Column("antenna", NAME, "antenna at the first end; blank = the part's own"),
    Column("to_antenna", NAME, "antenna at the far end; blank = its own, else as at the first"),
    Column(
        "diversity_m",
        NUMBER,
        "second antenna of the same kind above the first, first end; below is negative",
        "m",
        -100,
        100,
    ),
    Column("to_diversity_m", NUMBER, "second antenna above the first, far end", "m", -100, 100),
    Column("frequency_ghz", NUMBER, "sent by the first end, channel centre", "GHz", 0.4, 100),
    Column("to_frequency_ghz", NUMBER, "sent by the far end; blank = the same", "GHz", 0.4, 100),
    Column("channel_mhz", NUMBER, "channel width", "MHz", 0.1, 5000),
    Column("tx_power_dbm", NUMBER, "transmit power, all chains together", "dBm", -60, 60),
    Column(
        "polarization",
        CHOICE,
        "V, H or VH (the worse of the two)",
        choices=POLARIZATIONS,
        aliases=POLARIZATION_WORDS,
    ),
    Column(
        "eirp_limit_dbm",
        NUMBER,
        "limit of a licence, stands before the band's rule",
        "dBm",
        -60,
        120,
    ),
    Column("up_share_percent", NUMBER, "share of a time-division radio that runs up", "%", 0, 100),
    Column("extra_loss_db", NUMBER, "further loss; of a hop: both ends together", "dB", 0, 200),
    Column(
        "measured_db",
        NUMBER,
        "measured loss of the fiber, in place of length × attenuation",
        "dB",
        0,
        200,
    ),
    Column("measured_nm", NUMBER, "wavelength that the loss was measured at", "nm", 600, 1700),
    Column(
        "cable_temperature_c",
        NUMBER,
        f"blank = the warmer site's ambient_max_c, else {DEFAULT_CABLE_C:g}, and sun_rise_c",
        "°C",
        -60,
        90,
    ),
    Column(
        "route",
        CHOICE,
        "how a run lies; blank = duct between two sites, else by its site",
        choices=ROUTES,
    ),
    Column(
        "surface", NAME, "under a hop without terrain: land, sea, fresh, water or one of waters"
    ),
    Column("noise_rise_db", NUMBER, "noise rise of this hop alone", "dB", 0, 40),
    Column("radio_margin_db", NUMBER, "smallest healthy fade margin of this hop", "dB", 0, 60),
    Column("hub", NAME, "label of a terminal at the first end that several hops share"),
    Column(
        "hub_azimuth_deg",
        NUMBER,
        "where the hub's antenna points, from geographic north; blank = the middle of its far ends",
        "degrees",
        0,
        360,
    ),
    Column(
        "duty_percent",
        NUMBER,
        "share of the day in which it draws its power: a heater, a lamp at night; blank = all of it",
        "%",
        0,
        100,
    ),
    Column(
        "night_percent",
        NUMBER,
        "share of what it takes in a day that it takes in the dark: a lamp 100; blank = evenly",
        "%",
        0,
        100,
    ),
    Column("by", CHOICE, "blank = to be ordered", choices=PROVIDERS),
    Column("label", NAME, "names one physical thing; rows with one label are one thing"),
    Column("note", TEXT, "a remark, carried along"),
)

PATHS = (
    Column("path", NAME, "name of the path", required=True),
    Column("title", TEXT, "what it is for"),
    Column(
        "availability_percent", NUMBER, "target of this path; write 99.9, not 0.999", "%", 50, 100
    ),
    Column("backs_up", NAME, "the path that this one stands in for"),
    Column("note", TEXT, "a remark"),
)

WATER_BODIES = (
    Column("water", NAME, "name of the water", required=True),
    Column("kind", CHOICE, "sea or fresh", choices=WATERS, aliases=WATER_WORDS, required=True),
    Column("low_m", NUMBER, "lowest level, same datum as ground_m", "m", -500, 9000),
    Column("high_m", NUMBER, "highest level, same datum as ground_m", "m", -500, 9000),
    Column("wave_height_m", NUMBER, "significant wave height", "m", 0, 30, default=0.0),
)

TERRAIN = (
    Column("path", NAME, "path of the hop"),
    Column("step", NUMBER, "step of the hop", "", 0, 1e6),
    Column("label", NAME, "label of the hop, in place of path and step"),
    Column("distance_m", NUMBER, "from the hop's first end", "m", 0, 1e6, required=True),
    Column("ground_m", NUMBER, "level of the ground", "m", -500, 9000),
    Column("cover_m", NUMBER, "trees, buildings, vessels above it", "m", 0, 1000),
    Column("surface", NAME, "from here to the next row: land, sea, fresh or one of waters"),
    Column("source", TEXT, "file that the level is from; blank = surveyed or typed"),
    Column("error_m", NUMBER, "vertical error of that file, 90 %", "m", 0, 500),
)

ACCEPTED = (
    Column("check", NAME, "name of the check whose finding is accepted", required=True),
    Column("path", NAME, "path of the finding"),
    Column("step", NUMBER, "step of the finding", "", 0, 1e6),
    Column("label", NAME, "label of the thing, in place of path and step"),
    Column("value", NUMBER, "figure of the finding when it was accepted"),
    Column("unit", TEXT, "unit of that figure, where several findings of the check stand there"),
    Column("by", TEXT, "who answers for it", required=True),
    Column("date", DATE, "when"),
    Column("reason", TEXT, "why", required=True),
)

READINGS = (
    Column("site", NAME, "site whose card was filled in", required=True),
    Column("reading", NAME, "key that the site card prints beside it", required=True),
    Column("value", NUMBER, "what was measured"),
    Column("unit", TEXT, "its unit"),
    Column("water_level_m", NUMBER, "water level at that time", "m", -500, 9000),
    Column("by", TEXT, "who measured"),
    Column("date", DATE, "when"),
    Column("remark", TEXT, "a remark"),
)

DEMAND = (
    Column("path", NAME, "path that carries it", required=True),
    Column("what", TEXT, "what sends or needs it"),
    Column("count", NUMBER, "how many", "", 0, 1e6, default=1.0),
    Column("up_mbps", NUMBER, "each, from the last site to the first", "Mb/s", 0, 1e6, default=0.0),
    Column(
        "down_mbps", NUMBER, "each, from the first site to the last", "Mb/s", 0, 1e6, default=0.0
    ),
    Column("note", TEXT, "a remark"),
)

EXTRAS = (
    Column("site", NAME, "where it goes"),
    Column("part", TEXT, "what is ordered"),
    Column("description", TEXT, "what it is"),
    Column("count", NUMBER, "how many", "", 0, 1e6, default=1.0),
    Column("unit", TEXT, "piece, metre, set"),
    Column("by", CHOICE, "blank = to be ordered", choices=PROVIDERS),
    Column("note", TEXT, "a remark"),
)

#: Every table but `project`, whose rows are settings.
TABLES = {
    "sites": SITES,
    "segments": SEGMENTS,
    "paths": PATHS,
    "waters": WATER_BODIES,
    "terrain": TERRAIN,
    "accepted": ACCEPTED,
    "readings": READINGS,
    "demand": DEMAND,
    "extras": EXTRAS,
}
ALL_TABLES = {"project": PROJECT, **TABLES}
