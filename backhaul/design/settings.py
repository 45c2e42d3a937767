"""Settings of a design, declared once: what each means, its limits, what a blank stands for.

Names are fixed by the project's contract. A value typed in holds for every link.
"""

from backhaul.tables.column import CHOICE, DATE, NAME, NUMBER, TEXT, YES_NO, Column

#: Smallest healthy optical margin by budget form [dB]: rules of the project.
HEALTHY_MARGIN_DB = {"P": 2.0, "C": 0.5}
#: Held back where cable can be dug up, on a link with a longer single-mode run [dB]: common
#: practice, one lump of 1 dB.
REPAIR_ALLOWANCE_DB = 1.0
REPAIR_RUN_M = 300.0
WATERS = ("sea", "fresh")
METRIC, US = "metric", "US"
UNITS = (METRIC, US)
UNIT_WORDS = {"SI": METRIC, "m": METRIC, "US customary": US, "imperial": US, "feet": US, "ft": US}
WATER_WORDS = {"seawater": "sea", "freshwater": "fresh"}

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
        "units",
        CHOICE,
        "what figures are shown in: metric, or US (feet, miles, °F, AWG); blank = metric",
        choices=UNITS,
        aliases=UNIT_WORDS,
        default=METRIC,
    ),
    Column(
        "optical_margin_db",
        NUMBER,
        f"smallest healthy optical margin; blank = {HEALTHY_MARGIN_DB['P']:g} for budget form P, "
        f"{HEALTHY_MARGIN_DB['C']:g} for form C",
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
        f"allowance for later repairs; blank = {REPAIR_ALLOWANCE_DB:g} on a link with a "
        f"single-mode run over {REPAIR_RUN_M:g} m, else 0",
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
        "tdd_in_step",
        YES_NO,
        "one clock holds all time-division radios in step, so that those of one site send at the "
        "same time; blank = no",
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
    Column("loop_m", NUMBER, "slack loop at each end of an outdoor run", "m", 0, 200, default=10.0),
    Column(
        "cage_rise_c",
        NUMBER,
        "an optic's case above the air around its device",
        "K",
        0,
        60,
        default=15.0,
    ),
    Column(
        "supply_reserve_percent",
        NUMBER,
        "share of a supply's output kept free",
        "%",
        0,
        95,
        default=20.0,
    ),
    Column(
        "sun_rise_c",
        NUMBER,
        "a cable outdoors in the sun above the air, not buried or in a duct",
        "K",
        0,
        60,
        default=20.0,
    ),
    Column(
        "autonomy_days",
        NUMBER,
        "days without sun that a battery carries",
        "days",
        0,
        365,
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
    Column(
        "water",
        CHOICE,
        "what a hop's surface of 'water' is: sea or fresh",
        choices=WATERS,
        aliases=WATER_WORDS,
    ),
)
