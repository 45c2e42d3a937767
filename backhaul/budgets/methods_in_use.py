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
    if any((basis == LOOKED_UP).any() for basis in evaluation.radio.climate.basis.values()):
        methods.extend(MAP_METHODS)
    return tuple(dict.fromkeys(methods))
