"""Which moves may settle which finding, and what a set of edits costs."""

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from backhaul.checks.context import Context
from backhaul.design.edits import Edit
from backhaul.design.kinds import KINDS
from backhaul.findings import Finding
from backhaul.remedies import cable_moves as cables
from backhaul.remedies import device_moves as devices
from backhaul.remedies import height_moves as masts
from backhaul.remedies import hybrid_moves as hybrids
from backhaul.remedies import joint_moves as joints
from backhaul.remedies import optical_moves as light
from backhaul.remedies import radio_moves as air
from backhaul.remedies import supply_moves as supplies
from backhaul.remedies import terminal_moves as kit
from backhaul.remedies import wired_moves as wired
from backhaul.remedies.moves import Candidate, Move, scene_of

_MORE_LEVEL = (air.more_power, kit.antennas, air.other_channel, masts.raise_by, kit.terminals)
_FEED = (wired.swap_feed, hybrids.other_hybrid, supplies.swap_supply, devices.swap_device)
_POE = (light.other_port, wired.swap_copper, devices.swap_device, supplies.swap_supply)

#: Moves by check, those that the trade finds cheap first.
MOVES: Mapping[str, tuple[Move, ...]] = {
    "chain-broken": (wired.swap_protector,),
    "optics-wavelength": (light.swap_optics,),
    "optics-speed": (light.swap_optics, light.other_port),
    "optics-port": (
        light.other_port,
        light.swap_optics,
        devices.swap_device,
        wired.swap_protector,
        wired.faster_protectors,
    ),
    "fiber-mode": (
        joints.other_mode,
        light.swap_optics,
        cables.one_class,
        joints.less_attenuation,
    ),
    "fiber-reach": (light.swap_optics, cables.one_class),
    "fiber-dispersion": (light.swap_optics,),
    "optical-margin": (
        joints.less_attenuation,
        joints.swap_joint,
        light.swap_optics,
        cables.better_cable,
        cables.less_loss,
    ),
    "receiver-overload": (joints.attenuator, light.swap_optics),
    "conditioning-cord": (light.swap_optics,),
    "connector-family": (joints.swap_cord_or_pair, joints.mated_pair),
    "connector-polish": (joints.swap_cord_or_pair, joints.mated_pair),
    "strand-count": (light.strands, light.swap_optics),
    "strand-label": (light.strands,),
    "fiber-joints": (joints.splices, cables.one_length),
    "temperature": (light.wider_optic, wired.tougher_part),
    "corrosion": (wired.tougher_part,),
    "environment": (wired.tougher_part, wired.in_a_duct),
    "surge": (wired.add_protectors,),
    "run-length": (wired.run_length,),
    "protector-rating": (wired.swap_protector,),
    "over-voltage": (supplies.swap_supply, supplies.other_input, devices.swap_device),
    "supply-type": (supplies.swap_supply, supplies.other_input, devices.swap_device),
    "copper-reach": (wired.swap_copper,),
    "copper-rate": (
        light.other_port,
        wired.swap_protector,
        wired.faster_protectors,
        wired.swap_copper,
        devices.swap_device,
    ),
    "poe-power": _POE,
    "poe-type": (light.other_port, devices.swap_device, kit.terminals_fed),
    "poe-budget": (devices.swap_device,),
    "feed-power": (*_FEED, supplies.other_input),
    "feed-drop": _FEED,
    "feed-current": _FEED,
    "feed-protection": _FEED,
    "supply-reserve": (supplies.more_energy, supplies.swap_supply, devices.swap_device),
    "radio-eirp": (air.power, air.frequency, kit.antennas),
    "explosive-air": (air.power, kit.antennas),
    "radio-overload": (air.power, kit.antennas),
    "radio-band": (air.frequency, kit.antennas),
    "radio-pair": (
        kit.without_connector,
        air.as_in_the_hub,
        air.frequency,
        air.other_channel,
        kit.other_half,
        kit.other_way_round,
        kit.one_terminal,
        kit.antennas,
        kit.terminals,
    ),
    "radio-channel": (kit.other_way_round, air.frequency, air.other_channel),
    "radio-interference": (
        kit.other_way_round,
        air.frequency,
        air.other_channel,
        kit.antennas,
    ),
    "radio-pointing": (kit.antennas, kit.terminals),
    "radio-clearance": (masts.spacing, masts.raise_by),
    "radio-reflection": (masts.heights, masts.second_antenna, kit.antennas),
    "radio-margin": _MORE_LEVEL,
    "radio-availability": _MORE_LEVEL,
    "path-availability": (air.air_time, *_MORE_LEVEL),
    "path-rate": (
        air.air_time,
        *_MORE_LEVEL,
        wired.faster_protectors,
        light.swap_optics,
        *_POE,
    ),
}


@cache
def weights() -> Mapping[str, float]:
    """What the trade finds cheap, by kind of change; see `catalogs/change_costs.csv`."""
    package = Path(__file__).parent.parent
    installed = package / "_catalogs"
    folder = installed if installed.is_dir() else package.parent / "catalogs"
    with (folder / "change_costs.csv").open(newline="", encoding="utf-8") as lines:
        return {row["change"]: float(row["weight"]) for row in csv.DictReader(lines)}


def costs_of(candidate: Candidate, context: Context) -> dict[tuple, float]:
    """What each edit costs: the price of the new part less that of the old where the catalogue has
    both for all of them, else the weight of its kind of change.

    Edits beyond the changes come with them and cost nothing of their own; one edit may stand for
    several changes: a part at both ends of a hop.
    """
    prices = [_price_change(edit, context) for edit in candidate.edits]
    if None in prices:
        prices = [weights()[change] for change in candidate.changes]
    costs = {edit.cell: 0.0 for edit in candidate.edits}
    for number, price in enumerate(prices):
        costs[candidate.edits[min(number, len(candidate.edits) - 1)].cell] += price
    return costs


def cost_of(candidate: Candidate, context: Context) -> float:
    """What all edits of a candidate cost."""
    return sum(costs_of(candidate, context).values())


def _price_change(edit: Edit, context: Context) -> float | None:
    if edit.column not in ("part", "antenna", "to_antenna"):
        return None
    found = []
    for name in (edit.before, edit.to):
        record = _record(name, context)
        price = getattr(record, "price", None)
        if price is None:
            return None
        found.append(float(price))
    return found[1] - found[0]


def _record(name: Any, context: Context) -> Any:
    for kind in KINDS.values():
        for family in kind.families:
            record = getattr(context.catalog, family).get(name)
            if record is not None:
                return record
    return context.catalog.antennas.get(name)


def candidates(
    context: Context, *findings: Finding, may_change_existing: bool = False
) -> list[Candidate]:
    """What may settle a finding, the cheapest first, ties to the part nearest to the old one.

    findings: the finding, then what it only follows from.
    """
    found: dict[tuple, Candidate] = {}
    for finding in findings:
        scene = scene_of(context, finding, may_change_existing=may_change_existing)
        for move in MOVES.get(finding.check, ()) if scene.rows else ():
            for candidate in move(scene):
                key = tuple(
                    (
                        edit.action,
                        tuple(edit.key.items()),
                        edit.column,
                        repr(edit.to),
                        repr(edit.row),
                    )
                    for edit in candidate.edits
                )
                found.setdefault(key, candidate)
    return sorted(found.values(), key=lambda each: (cost_of(each, context), each.distance))
