"""Small parts that the chain implies: plugs of copper runs, sleeves and trays of splices.

What hangs on the place is not counted: the order list says so (`NOT_COUNTED`).
"""

from collections import defaultdict
from collections.abc import Iterator
from math import ceil
from typing import Any

from backhaul.budgets.cable_joints import CableJoint, site_of_joint
from backhaul.budgets.order_lines import FITTINGS, PIECE, SPLICE, AtSite, OrderLine, Place, Run
from backhaul.budgets.orders import is_cord
from backhaul.path.network import Network

#: Parts of hardware.csv that are counted.
PLUG, SCREENED_PLUG, SLEEVE, TRAY = (
    "plug-rj45-cat6",
    "plug-rj45-cat6a-s",
    "sleeve-splice-60mm",
    "tray-splice-12",
)
PLUGS_AN_END, SPLICES_A_TRAY = 1, 12
#: Said on the list, since nobody can count it from the chain: what the place asks for.
NOT_COUNTED = (
    "breakers, fuses and residual-current devices",
    "cabinets, masts, brackets and mounts",
    "cords and plugs between a port and its protector",
    "panels, boxes, pigtail sets and adaptor plates at the ends of cable",
    "ducts, clamps and other fixings of cable",
    "glands and seals",
    "earthing, bonding and air terminals",
    "jumpers between radio and antenna",
    "batteries and solar panels",
    "labels, tools and test sets",
    "civil works, climbing, installation and commissioning",
)


def fittings(
    runs: list[tuple[str, Any, Run]],
    lines: list[OrderLine],
    joints: list[CableJoint],
    network: Network,
    catalog: Any,
) -> Iterator[tuple[str, str, tuple[AtSite, ...], tuple[Place, ...], str]]:
    """Part, provider, counts by site, places and why: a plug at both ends of a run, a sleeve a splice.

    A cord has its plugs. Common practice: two plugs a run, a tray for twelve splices in a closure.
    """
    plugs: dict[tuple[str, str], list[Run]] = defaultdict(list)
    for family, record, run in runs:
        if family == "coppers" and not is_cord(record):
            plugs[SCREENED_PLUG if record.screened else PLUG, run.by].append(run)
    for (part, by), same in plugs.items():
        places = tuple(run.place for run in same)
        at_sites = tuple(
            AtSite(site, PLUGS_AN_END) for run in same for site in network.places[run.row.id]
        )
        yield part, by, at_sites, places, "two a run, or jacks where it ends on them"
    splices: dict[str, list[OrderLine]] = defaultdict(list)
    for line in lines:
        joint = catalog.joints.get(line.part)
        if line.unit == SPLICE and (joint is None or joint.family != "mechanical"):
            splices[line.by].append(line)
    for by, found in splices.items():
        places = tuple(place for line in found for place in line.places)
        sleeves = tuple(at for line in found for at in line.at_sites)
        yield SLEEVE, by, sleeves, places, "one a fusion splice"
    trays: dict[str, list[AtSite]] = defaultdict(list)
    for joint in joints:
        count = joint.count * ceil(joint.strands / SPLICES_A_TRAY)
        if count:
            trays[joint.row.by or ""].append(AtSite(site_of_joint(joint, network), count))
    for by, counts in trays.items():
        yield TRAY, by, tuple(counts), (), "in closures; those of panels and boxes apart"


def fitting_line(found: tuple, catalog: Any) -> dict[str, Any]:
    """The order line of a fitting as keywords."""
    part, by, at_sites, places, note = found
    record = catalog.hardware[part]
    return {
        "section": FITTINGS,
        "family": "",
        "part": part,
        "description": record.description or "",
        "by": by,
        "at_sites": at_sites,
        "unit": PIECE,
        "spared": True,
        "places": places,
        "source": record.source,
        "basis": record.basis,
        "note": note,
    }
