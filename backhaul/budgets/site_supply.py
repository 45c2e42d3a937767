"""What a site gives to equipment that no row feeds."""

from typing import Any

#: Mains of a region where it is not that of the classes, nominal, least and most [V]: ANSI C84.1
#: range A, service voltage (from memory).
MAINS_V = {"US": (120.0, 114.0, 126.0)}


def site_volts(record: Any, region: str | None) -> float | None:
    """Voltage at which equipment is plugged in on site [V]: of AC that of the region's mains."""
    if record.supply == "AC" and region in MAINS_V:
        return MAINS_V[region][0]
    return getattr(record, "supply_volts", None)


def takes_site_volts(record: Any, region: str | None) -> bool:
    """Whether equipment works on the mains of the region, as far as its limits are known."""
    if record.supply != "AC" or region not in MAINS_V:
        return True
    _, least, most = MAINS_V[region]
    low, high = (getattr(record, f"supply_{end}_volts", None) for end in ("min", "max"))
    return (low is None or low <= least) and (high is None or high >= most)
