"""What a site gives to equipment that no row feeds."""

from typing import Any

#: Mains of a region where it is not that of the classes, nominal, least and most [V]: ANSI C84.1
#: range A, service voltage (from memory).
MAINS_V = {"US": (120.0, 114.0, 126.0)}


def site_volts(record: Any, region: str | None) -> float | None:
    """Voltage at which equipment is plugged in on site [V]: of AC that of the region's mains."""
    if getattr(record, "supply", None) == "AC" and region in MAINS_V:
        return MAINS_V[region][0]
    return getattr(record, "supply_volts", None)


def takes_volts(part: Any, volts: float | None) -> bool:
    """Whether a part takes a voltage, as far as that and its limits are known."""
    least, most = (getattr(part, f"supply_{end}_volts", None) for end in ("min", "max"))
    if volts is None or volts != volts:
        return True
    return (least is None or least <= volts) and (most is None or volts <= most)


def takes_site_volts(record: Any, region: str | None) -> bool:
    """Whether equipment works on the mains of the region, from their least to their most."""
    if record.supply != "AC" or region not in MAINS_V:
        return True
    return all(takes_volts(record, volts) for volts in MAINS_V[region])
