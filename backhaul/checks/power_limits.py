"""In words what would settle a line of power."""

import numpy as np

from backhaul.budgets.conductors import poe_pairs
from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_remedies import (
    breaker_for_feed,
    feed_for_breaker,
    feed_for_current,
    longest_copper_m,
    thicker_feed,
)
from backhaul.checks.context import Context
from backhaul.figures.power_guard_terms import STIFF
from backhaul.figures.power_judgements import ALLOWANCE_W
from backhaul.path.ports import PASSIVE
from backhaul.physics.poe import POE_CLASSES
from backhaul.physics.protection import CONDUCTOR_LIMIT_C
from backhaul.units import DECIMALS

#: Pairs of a twisted-pair cable: ISO/IEC 11801-1.
MOST_PAIRS = 4
NONE_SUFFICES = (
    "a higher voltage, or a supply nearer to the load: no thicker feed of the catalogue suffices"
)
ELECTRICIAN = "protection is chosen by a licensed electrician under local codes"


def stronger(line: PowerLine) -> str:
    """The class of source that settles it: no less than the load's own."""
    need_w = line.values["source_w"]
    own = POE_CLASSES.get(line.load.port.poe_class)
    least_w = max(need_w, own.source_w if own else 0.0)
    if line.source.port.poe_class != PASSIVE and poe_pairs(line.source, line.load) > 1:
        for name, poe_class in POE_CLASSES.items():
            if name and not is_above(least_w, poe_class.source_w):  # 0 names no class
                power_w = poe_class.source_w
                return f"use a port or injector of class {name} ({power_w:g} W) or higher"
    return f"use a source of {np.ceil(need_w):g} W or more, or shorten the copper"


def shorter(context: Context, line: PowerLine) -> str:
    """The length of copper that settles it, and the other ways."""
    length_m = longest_copper_m(line, context.catalog)
    pairs = poe_pairs(line.source, line.load)
    more_pairs = 1 < pairs < MOST_PAIRS  # a cable of one pair has no more
    ways = "four pairs or a higher voltage" if more_pairs else "a higher voltage"
    if length_m < 1:
        return f"no length of this copper will do: {ways}"
    return f"at most {length_m:g} m of this copper, thicker conductors, {ways}"


def thicker(context: Context, line: PowerLine) -> str:
    """The feed of the catalogue that settles it, and the other ways."""
    found = thicker_feed(line, context.network, context.catalog, context.design)
    if found is None:
        return NONE_SUFFICES
    return (
        f"use {found.part} or thicker ({found.values['drop_percent']:.1f} % lost), a higher "
        "voltage, or a supply nearer to the load"
    )


def carrying(context: Context, line: PowerLine) -> str:
    """The feed of the catalogue that carries the current."""
    found = feed_for_current(line, context.network, context.catalog, context.design)
    if line.values["capacity_a"] <= 0:
        return (
            f"it is too warm for a conductor of {CONDUCTOR_LIMIT_C:g} °C: cable of a higher "
            "temperature class, or a cooler route"
        )
    if found is None:
        return "spread the load over several feeds: no feed of the catalogue carries it"
    return f"use {found.part} or thicker (carries {found.values['capacity_a']:.1f} A there)"


def protected(context: Context, line: PowerLine, *, by_residual_current: bool) -> str:
    """The feed or the breaker with which the conductors are protected.

    by_residual_current: a residual-current device helps too, as against a fault but not overload.
    """
    found = feed_for_breaker(line, context.network, context.catalog, context.design)
    rating = breaker_for_feed(line)
    is_mains = line.current == "AC"
    ways = [f"{found.part} or thicker"] if found is not None else []
    if rating is not None:
        ways.append(f"a {'breaker' if is_mains else 'fuse'} of {rating:g} A at the most")
    if by_residual_current and is_mains:
        ways.append("a residual-current device")
        if line.limit_basis != STIFF:
            ways.append(f"what its maker says that {line.source.equipment.name} does in a short")
    return f"{', or '.join(ways) or 'a smaller fuse'}; {ELECTRICIAN}"


def is_above(watts: float, limit_w: float) -> bool:
    return round(watts - limit_w, DECIMALS) > ALLOWANCE_W
