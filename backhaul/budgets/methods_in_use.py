"""The published methods that an evaluation rests on, each with its edition."""

from typing import Any

from backhaul.budgets.climate import LOOKED_UP, MAP_METHODS
from backhaul.methods import Method
from backhaul.physics import (
    antennas,
    attenuators,
    copper,
    diffraction,
    energy,
    environment,
    exposure,
    fiber,
    free_space,
    gas,
    geometry,
    latency,
    multipath,
    multipath_time,
    optical_margins,
    optics,
    poe,
    protection,
    rain,
    reflection,
    sectors,
    supply,
    voltages,
)

_LIGHT = (optics, optical_margins, attenuators, fiber, latency)
_AIR = (
    geometry,
    free_space,
    gas,
    rain,
    multipath,
    multipath_time,
    diffraction,
    reflection,
    antennas,
    exposure,
)
_WIRED = (copper, poe, supply, voltages, protection, energy)


def methods_in_use(evaluation: Any) -> tuple[Method, ...]:
    """Methods of the media that a design has, in the order light, air, copper, surroundings."""
    links = evaluation.network.links
    modules = [
        *(_LIGHT if links["optical"] else ()),
        *(_AIR if links["radio"] else ()),
        *(_WIRED if links["copper"] or links["feed"] else ()),
        environment,
    ]
    if evaluation.radio.hops.hubs.all:
        modules.append(sectors)
    methods = [method for module in modules for method in module.METHODS]
    unused = _multipath_not_in_use(evaluation)
    methods = [method for method in methods if method not in unused]
    if any((basis == LOOKED_UP).any() for basis in evaluation.radio.climate.basis.values()):
        methods.extend(MAP_METHODS)
    return tuple(dict.fromkeys(methods))


def _multipath_not_in_use(evaluation: Any) -> set[Method]:
    """Of the two ways to the multipath occurrence, the one that no hop takes."""
    default, by_log_k = multipath.METHODS[:2]
    taken = {multipath.METHOD_NAMES[int(place)] for place in evaluation.radio.multipath_method}
    has_log_k = _BY_LOG_K in taken
    return ({default} if taken == {_BY_LOG_K} else set()) | (set() if has_log_k else {by_log_k})


def why_several_editions(evaluation: Any) -> str:
    """Why methods of one recommendation stand in several editions; "" where they do not."""
    editions = {
        method.edition.split(" ")[0]
        for method in methods_in_use(evaluation)
        if method.document == _PATHS_OF_SIGHT
    }
    if len(editions) < 2:
        return ""
    return (
        f"{_PATHS_OF_SIGHT} stands here in the editions {', '.join(sorted(editions))}: a method bears "
        "that in which its clause was read. Multipath is that of 17 where sites give dN1 and roughness, "
        "since 19 asks for log K and dN75; where sites give those, it is that of 19."
    )


#: Propagation on terrestrial line-of-sight paths.
_PATHS_OF_SIGHT = "ITU-R P.530"
_BY_LOG_K = multipath.METHOD_NAMES[3]
