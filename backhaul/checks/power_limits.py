"""What a line of power may give and must keep, and in words what would settle it."""

import numpy as np

from backhaul.budgets.conductors import poe_pairs
from backhaul.budgets.power import Line
from backhaul.budgets.power_remedies import longest_copper_m, thicker_feed
from backhaul.checks.context import Context
from backhaul.path.ports import PASSIVE
from backhaul.physics.supply import POE_CLASSES
from backhaul.units import DECIMALS

#: Comparisons of power allow this much [W]: rules of the project.
ALLOWANCE_W = 0.1
#: Pairs of a twisted-pair cable: ISO/IEC 11801-1.
MOST_PAIRS = 4


def source_limit_w(line: Line) -> float | None:
    """What a source port gives [W]: its own limit, else its class; None for no limit."""
    port = line.source_port
    if port.watts is not None:
        return port.watts
    poe_class = POE_CLASSES.get(port.poe_class)
    return poe_class.source_w if poe_class else None


def load_min_v(line: Line) -> float | None:
    """Lowest voltage that a load starts at [V]: its own, else of its class or supply."""
    port = line.load_port
    if port.min_volts is not None:
        return port.min_volts
    poe_class = POE_CLASSES.get(port.poe_class)
    return poe_class.load_min_v if poe_class else line.loads[0].record.supply_min_volts


def stronger(line: Line) -> str:
    """The class of source that settles it."""
    need_w = line.values["source_w"]
    if line.source_port.poe_class != PASSIVE:
        for name, poe_class in POE_CLASSES.items():
            if name and not is_above(need_w, poe_class.source_w):  # 0: a load that names no class
                power_w = poe_class.source_w
                return f"use a port or injector of class {name} ({power_w:g} W) or higher"
    return f"use a source of {np.ceil(need_w):g} W or more, or shorten the copper"


def shorter(context: Context, line: Line) -> str:
    """The length of copper that settles it, and the other ways."""
    length_m = longest_copper_m(
        line, least_v=load_min_v(line), limit_w=source_limit_w(line), catalog=context.catalog
    )
    ways = "four pairs or a higher voltage" if poe_pairs(line) < MOST_PAIRS else "a higher voltage"
    if length_m < 1:
        return f"no length of this copper will do: {ways}"
    return f"at most {length_m:g} m of this copper, thicker conductors, {ways}"


def thicker(context: Context, line: Line) -> str:
    """The feed of the catalogue that settles it, and the other ways."""
    found = thicker_feed(line, context.network, context.catalog, context.design)
    if found is None:
        return (
            "a higher voltage, or a supply nearer to the load: no thicker feed of the catalogue "
            "suffices"
        )
    return (
        f"use {found.part} or thicker ({found.drop_percent:.1f} % lost), a higher voltage, or a "
        "supply nearer to the load"
    )


def is_above(watts: float, limit_w: float) -> bool:
    return round(watts - limit_w, DECIMALS) > ALLOWANCE_W


def is_below(volts: float, least_v: float) -> bool:
    return round(volts, DECIMALS) < round(least_v, DECIMALS)
