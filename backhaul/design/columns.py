"""The tables of a design and their columns, declared once.

The reader parses by them, the blank design is drawn from them, messages quote their units.
Names are fixed by the project's contract.
"""

from typing import NamedTuple

NUMBER, INTEGER, TEXT, NAME, LIST, YES_NO, CHOICE, DATE = (
    "number",
    "integer",
    "text",
    "name",
    "list",
    "yes/no",
    "choice",
    "date",
)


class Column(NamedTuple):
    """One column: how a cell of it is read and what may stand in it."""

    name: str
    type: str
    help: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    required: bool = False
    default: float | str | bool | None = None


CORROSIVITY = ("C1", "C2", "C3", "C4", "C5", "CX")  # ISO 12944-2:2017
POLARIZATIONS = ("V", "H", "VH")
PROVIDERS = ("existing", "client", "later")
ROUTES = ("indoor", "duct", "buried", "aerial", "surface")
SURFACES = ("land", "sea", "fresh")
WATERS = ("sea", "fresh")

#: Settings of the `project` table; a default of None means that it depends on the link.
SETTINGS = (
    Column("title", TEXT, "title of the design"),
    Column("client", TEXT, "for whom"),
    Column("document", TEXT, "document number"),
    Column("revision", TEXT, "revision"),
    Column("date", DATE, "date of the design"),
    Column("prepared_by", TEXT, "name"),
    Column("checked_by", TEXT, "name"),
    Column("approved_by", TEXT, "name"),
    Column("status", TEXT, "status of the document"),
    Column("region", NAME, "rules of the band: US, CEPT or a key of the user's bands.csv"),
    Column("currency", TEXT, "currency of the order list"),
    Column(
        "optical_margin_db",
        NUMBER,
        "smallest healthy optical margin; blank = 2 for budget form P, 0.5 for form C",
        "dB",
        0,
        30,
    ),
    Column(
        "overload_margin_db",
        NUMBER,
        "smallest healthy distance to overload",
        "dB",
        0,
        20,
        default=0.0,
    ),
    Column(
        "repair_allowance_db",
        NUMBER,
        "held back for later repairs; blank = 1 on a link with a "
        "single-mode run over 300 m, else 0",
        "dB",
        0,
        20,
    ),
    Column("radio_margin_db", NUMBER, "smallest healthy fade margin", "dB", 0, 60, default=10.0),
    Column(
        "noise_rise_db",
        NUMBER,
        "taken off every radio margin for interference",
        "dB",
        0,
        40,
        default=0.0,
    ),
    Column(
        "availability_percent",
        NUMBER,
        "target of a path; write 99.9, not 0.999",
        "%",
        50,
        100,
        default=99.9,
    ),
    Column(
        "rate_headroom_percent", NUMBER, "share of the rate kept free", "%", 0, 95, default=30.0
    ),
    Column(
        "feed_drop_percent",
        NUMBER,
        "largest healthy voltage drop of a feed",
        "%",
        0,
        50,
        default=5.0,
    ),
    Column("spare_percent", NUMBER, "spares ordered on whole pieces", "%", 0, 200, default=10.0),
    Column("cable_slack_percent", NUMBER, "added to a run for ordering", "%", 0, 100, default=5.0),
    Column(
        "loop_m",
        NUMBER,
        "slack loop at each end of an outdoor fiber run",
        "m",
        0,
        200,
        default=10.0,
    ),
    Column(
        "supply_reserve_percent",
        NUMBER,
        "share of a supply's output kept free",
        "%",
        0,
        90,
        default=20.0,
    ),
    Column(
        "sun_rise_c",
        NUMBER,
        "of a cable outdoors in the sun above the air; not of buried and duct",
        "K",
        0,
        60,
        default=20.0,
    ),
    Column(
        "autonomy_days",
        NUMBER,
        "days without sun that a battery must carry its load",
        "d",
        0,
        60,
        default=3.0,
    ),
    Column(
        "worst_k_factor",
        NUMBER,
        "smallest effective earth radius factor; blank = by ITU-R P.530",
        "",
        0.2,
        4,
    ),
    Column("water_low_m", NUMBER, "lowest water level, same datum as ground_m", "m", -500, 9000),
    Column("water_high_m", NUMBER, "highest water level, same datum as ground_m", "m", -500, 9000),
    Column("wave_height_m", NUMBER, "significant wave height", "m", 0, 30, default=0.0),
    Column("water", CHOICE, "kind of water under hops without terrain", choices=WATERS),
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
        "inside the enclosure above ambient; blank = 15 outdoors, 0 indoors",
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
        "equivalent hours of full sun a day in the worst month, on the panel's plane",
        "h",
        0,
        14,
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
    Column("strand", LIST, "strand of the cable: 1, or 1/2 for two"),
    Column("height_m", NUMBER, "antenna above the site's ground_m, first end", "m", -100, 2000),
    Column("to_height_m", NUMBER, "antenna above the site's ground_m, far end", "m", -100, 2000),
    Column("antenna", NAME, "antenna at the first end; blank = the part's own"),
    Column("to_antenna", NAME, "antenna at the far end; blank = as at the first"),
    Column("frequency_ghz", NUMBER, "sent by the first end, channel centre", "GHz", 0.4, 100),
    Column("to_frequency_ghz", NUMBER, "sent by the far end; blank = the same", "GHz", 0.4, 100),
    Column("channel_mhz", NUMBER, "channel width", "MHz", 0.1, 5000),
    Column("tx_power_dbm", NUMBER, "transmit power, all chains together", "dBm", -60, 60),
    Column("polarization", CHOICE, "V, H or VH (the worse of the two)", choices=POLARIZATIONS),
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
    Column(
        "cable_temperature_c",
        NUMBER,
        "blank = the warmer site's ambient_max_c, else 20, and sun_rise_c",
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

TERRAIN = (
    Column("path", NAME, "path of the hop"),
    Column("step", NUMBER, "step of the hop", "", 0, 1e6),
    Column("label", NAME, "label of the hop, in place of path and step"),
    Column("distance_m", NUMBER, "from the hop's first end", "m", 0, 1e6, required=True),
    Column("ground_m", NUMBER, "level of the ground", "m", -500, 9000),
    Column("cover_m", NUMBER, "trees, buildings, vessels above it", "m", 0, 1000),
    Column("surface", CHOICE, "land, sea or fresh", choices=SURFACES),
)

DEMAND = (
    Column("path", NAME, "path that carries it", required=True),
    Column("what", TEXT, "what sends or needs it"),
    Column("count", NUMBER, "how many; blank = 1", "", 0, 1e6),
    Column("up_mbps", NUMBER, "each, from the last site to the first", "Mb/s", 0, 1e6),
    Column("down_mbps", NUMBER, "each, from the first site to the last", "Mb/s", 0, 1e6),
    Column("note", TEXT, "a remark"),
)

EXTRAS = (
    Column("site", NAME, "where it goes"),
    Column("part", TEXT, "what is ordered"),
    Column("description", TEXT, "what it is"),
    Column("count", NUMBER, "how many; blank = 1", "", 0, 1e6),
    Column("unit", TEXT, "piece, metre, set"),
    Column("by", CHOICE, "blank = to be ordered", choices=PROVIDERS),
    Column("note", TEXT, "a remark"),
)

TABLES = {
    "sites": SITES,
    "segments": SEGMENTS,
    "paths": PATHS,
    "terrain": TERRAIN,
    "demand": DEMAND,
    "extras": EXTRAS,
}
