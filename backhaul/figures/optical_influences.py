"""How the parts of an optical link move its margins."""

from backhaul.figures.influences import Influence

_LIMITS = ("power_margin_db", "channel_margin_db")
_HEALTHY = "healthy_margin_db"
_ROOM = ("overload_margin_db", "wanted_overload_margin_db")
#: What an optic moves in the direction in which it sends, and in the one in which it hears.
SENDS = (
    Influence("launch_min_dbm", "power_margin_db", +1, _HEALTHY),
    Influence("channel_limit_db", "channel_margin_db", +1, _HEALTHY),
    Influence("launch_max_dbm", _ROOM[0], -1, _ROOM[1]),
)
HEARS = (
    Influence("sensitivity_dbm", "power_margin_db", -1, _HEALTHY),
    Influence("overload_dbm", _ROOM[0], +1, _ROOM[1]),
)
PENALTY = Influence("penalty_db", "power_margin_db", -1, _HEALTHY)
#: What a run of cable and what joints move, by the length or the count of all alike on the link.
RUN_INFLUENCES = (
    *(Influence("attenuation_max_db_per_km", on, -1, _HEALTHY, "length_km") for on in _LIMITS),
    Influence("attenuation_min_db_per_km", _ROOM[0], +1, _ROOM[1], "length_km"),
)
JOINT_INFLUENCES = (
    *(Influence("each_max_db", on, -1, _HEALTHY, "count") for on in _LIMITS),
    Influence("each_min_db", _ROOM[0], +1, _ROOM[1], "count"),
)
