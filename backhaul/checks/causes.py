"""The cause first: which findings only follow from another."""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

import numpy as np

from backhaul.checks.clearance import HEIGHTS_AGREE_M, off_datum_m
from backhaul.checks.context import Context
from backhaul.checks.radio_pairs import outside
from backhaul.checks.results import PATH_CHECKS
from backhaul.checks.stops import Stop
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, GUARDS, THIN, Finding
from backhaul.path.links import COPPER, RADIO, Link
from backhaul.physics.poe import POE_CLASSES

_UNLIKE = ("optics-wavelength", "optics-speed")
#: What of one link follows from what of the same link: the first that is there is the cause.
FOLLOWS: Mapping[str, tuple[str, ...]] = {
    "radio-clearance": ("terrain-heights",),
    "radio-margin": ("radio-pair", "radio-clearance", "radio-reflection", "radio-interference"),
    "radio-availability": (
        "radio-pair",
        "radio-margin",
        "radio-interference",
        "radio-reflection",
        "radio-clearance",
    ),
    "radio-channel": ("radio-interference",),
    "radio-overload": ("radio-pair",),
    "radio-eirp": ("radio-pair",),
    "optics-wavelength": ("optics-speed", "fiber-mode"),
    "strand-count": ("optics-wavelength", "optics-speed"),
    "optical-margin": (*_UNLIKE, "fiber-mode", "fiber-reach", "measured-loss"),
    "receiver-overload": ("optics-wavelength", "optics-speed", "fiber-mode"),
    "fiber-dispersion": ("optics-wavelength", "fiber-mode", "fiber-reach"),
    "fiber-reach": ("optics-wavelength", "optics-speed", "fiber-mode"),
    "connector-polish": ("connector-family",),
    "conditioning-cord": ("fiber-mode",),
    "copper-rate": ("copper-reach",),
    "feed-power": ("supply-type",),
    "feed-drop": ("supply-type", "feed-power"),
    "feed-current": ("supply-type", "feed-power"),
    "feed-protection": ("feed-power",),
    "over-voltage": ("supply-type", "poe-type"),
    "protector-rating": ("supply-type",),
    "poe-power": ("poe-type", "poe-power"),
    "poe-budget": ("poe-power",),
    "surge": ("chain-broken",),
}
#: Unit of a finding on the time of a hub, which no one hop causes.
HUB_UNIT = "%"
#: What a hop's path misses because the hop does.
OF_HOPS = (
    "radio-pair",
    "radio-margin",
    "radio-interference",
    "radio-reflection",
    "radio-clearance",
    "radio-availability",
)
#: What an obstacle or the water takes, by the check that says so.
_TAKES = {"radio-clearance": "diffraction_loss_db", "radio-reflection": "reflection_loss_db"}
#: Less than this is not why a margin is short [dB]: as `radio-reflection` has it.
_LEAST_LOSS_DB = 3.0


def with_causes(
    context: Context, findings: Iterable[Finding], stops: Mapping[str, Stop]
) -> list[Finding]:
    """The findings, each that only follows from another with the id of its first cause."""
    found = list(findings)
    by_row: dict[int, list[Finding]] = {}
    for finding in found:
        if finding.severity in (FAIL, THIN):
            for row in finding.rows:
                by_row.setdefault(row, []).append(finding)
    along = _rows_along(context)
    cause = {
        finding.id: source.id
        for finding in found
        if finding.severity in (FAIL, THIN)
        and (source := _cause(context, finding, by_row, stops, along)) is not None
        and source.id != finding.id
    }

    def first(name: str) -> str:
        seen = {name}
        while name in cause and cause[name] not in seen:
            name = cause[name]
            seen.add(name)
        return name

    return [
        finding._replace(cause=first(finding.id)) if finding.id in cause else finding
        for finding in found
    ]


def _rows_along(context: Context) -> dict[int, dict[int, None]]:
    """Of every row of a link all rows of its links, and the protector beside it."""
    along: dict[int, dict[int, None]] = {}
    for links in context.network.links.values():
        for link in links:
            rows = dict.fromkeys(link.row_ids)
            for row in rows:
                along.setdefault(row, {}).update(rows)
    for chain in context.network.chains.values():
        for first, second in pairwise(chain.rows):
            if KINDS[first.kind].protects or KINDS[second.kind].protects:
                along.setdefault(first.id, {})[second.id] = None
                along.setdefault(second.id, {})[first.id] = None
    return along


def _cause(
    context: Context,
    finding: Finding,
    by_row: Mapping[int, list[Finding]],
    stops: Mapping[str, Stop],
    along: Mapping[int, Mapping[int, None]],
) -> Finding | None:
    if finding.unit in GUARDS:
        return None
    if finding.check in PATH_CHECKS:
        return _cause_of_path(context, finding, by_row, stops)
    if (feed := _starved_by(context, finding, by_row)) is not None:
        return feed
    near = dict.fromkeys(finding.rows)
    for row in finding.rows:
        near.update(along.get(row, {}))
    for check in FOLLOWS.get(finding.check, ()):
        for row in near:
            for other in by_row.get(row, ()):
                if other.check == check and _explains(context, other, finding):
                    return other
    return None


def _starved_by(
    context: Context, finding: Finding, by_row: Mapping[int, list[Finding]]
) -> Finding | None:
    """The feed whose voltage is why a source of PoE grants less than is asked for.

    Only where the port is of the class that is asked for, and would grant it at the voltage which
    the feed is to bring.
    """
    asked = finding.limit
    if (finding.check, finding.unit) != ("poe-power", "class") or not isinstance(
        asked, int | float
    ):
        return None
    needed_v = POE_CLASSES[int(asked)].source_min_v
    rows = set(finding.rows)
    for line in context.power.lines:
        offered = line.source.port.poe_class if line.run.id in rows and line.is_poe else None
        if not isinstance(offered, int) or offered < asked:
            continue
        for feed in context.power.to_load.get(line.source.equipment.key, ()):
            for other in (other for row in feed.link.row_ids for other in by_row.get(row, ())):
                brought = other.limit if other.unit == "V" else None
                if other.check != "feed-power" or not isinstance(brought, int | float):
                    continue
                if brought >= needed_v:
                    return other
    return None


#: A reach is thin where the margin holds; of windows that overlap in part nothing else follows.
_OF_REACH = ("optical-margin", "fiber-reach")


def _explains(context: Context, other: Finding, finding: Finding) -> bool:
    """Whether the one is why the other stands, not beside it.

    A hop's margin is short by no more than what the obstacle or the water takes; a budget is
    broken by no more than what one port gives too little.
    """
    if finding.check == "surge":
        return any(
            KINDS[row.kind].protects for row in context.design.segments if row.id in other.rows
        )
    if (finding.check, other.check) == ("optics-wavelength", "fiber-mode"):
        return _are_of_two_modes(context, other)  # the fiber tells which of them is wrong
    if finding.check == "radio-eirp":  # of an antenna for another band the gain says nothing
        return _has_other_band(context, finding)
    if other.check == "optics-wavelength" or (finding.check, other.check) == _OF_REACH:
        return other.severity == FAIL
    if other.check == "feed-power":
        return other.unit != "W"  # a supply that is too small loses no volts on the way
    if other.check == "connector-family":
        return not set(finding.rows).isdisjoint(other.rows)  # the same joint
    if finding.check == "poe-budget":
        drops = [
            link.row_ids
            for link in context.network.links[COPPER]
            if not set(finding.rows).isdisjoint(link.row_ids)
        ]
        alone = len(drops) == 1 and other.severity == FAIL
        return alone or (other.unit == finding.unit and _excess(finding) <= _excess(other))
    if other.check == "terrain-heights":
        link = _hop(context, finding)
        # a profile that stands above its sites on another datum: the ground that blocks is a guess
        return (
            link is not None
            and other.limit == HEIGHTS_AGREE_M
            and off_datum_m(context.radio.hops, link.index).max() > HEIGHTS_AGREE_M
        )
    if other.check in _TAKES and finding.check == "radio-margin":
        return _takes_enough(context, other, finding)
    return True


def _takes_enough(context: Context, other: Finding, finding: Finding) -> bool:
    """Whether an obstacle or the water takes what the margin of a hop lacks."""
    link = _hop(context, finding)
    if link is None or not isinstance(finding.value, int | float):
        return False
    short_db = context.design.project.radio_margin_db - finding.value
    return _lost_db(context, other, link) >= min(short_db, _LEAST_LOSS_DB)


def _lost_db(context: Context, finding: Finding, link: Link) -> float:
    """What the obstacle or the water of a finding takes from its hop [dB]; 0 where not known."""
    both = slice(2 * link.index, 2 * link.index + 2)
    return float(np.nan_to_num(context.radio.values[_TAKES[finding.check]][both]).max())


def _loses_all(_context: Context, other: Finding, finding: Finding) -> bool:
    """Whether the margin would hold its limit without what a cable loses too much."""
    return _excess(other) >= -_excess(finding)


def _is_of_volts(_context: Context, other: Finding, _finding: Finding) -> bool:
    """A supply that is too small loses no volts on the way."""
    return other.unit != "W"


def _is_of_the_joint(_context: Context, other: Finding, finding: Finding) -> bool:
    return not set(finding.rows).isdisjoint(other.rows)


#: Causes that explain only what they ask for themselves.
_BY_ITS_OWN = {
    "measured-loss": _loses_all,
    "feed-power": _is_of_volts,
    "connector-family": _is_of_the_joint,
}


def _are_of_two_modes(context: Context, finding: Finding) -> bool:
    """Whether the optics of the link on which a finding stands are for two kinds of fiber."""
    rows = set(finding.rows)
    link = next((each for each in context.optical.links if rows & set(each.row_ids)), None)
    if link is None:
        return False
    optics = context.catalog.optics
    return optics[link.rows[0].part].fiber_mode != optics[link.rows[-1].part].fiber_mode


def _has_other_band(context: Context, finding: Finding) -> bool:
    """Whether the hop of a finding has an antenna that is for another band."""
    link = _hop(context, finding)
    if link is None:
        return False
    hops = context.radio.hops
    parts = [end.antenna for end in hops.ends[link.index] if end.antenna is not None]
    return any(
        outside(ghz, part.frequency_min_ghz, part.frequency_max_ghz) is not None
        for part in parts
        for ghz in hops.frequency_ghz[link.index].tolist()
    )


def _excess(finding: Finding) -> float:
    """How far a figure is above its limit."""
    figures = (finding.value, finding.limit)
    if not all(isinstance(figure, int | float) for figure in figures):
        return float("-inf")
    return float(finding.value) - float(finding.limit)


def _hop(context: Context, finding: Finding) -> Link | None:
    rows = set(finding.rows)
    return next((link for link in context.radio.links if rows & set(link.row_ids)), None)


def _cause_of_path(
    context: Context,
    finding: Finding,
    by_row: Mapping[int, list[Finding]],
    stops: Mapping[str, Stop],
) -> Finding | None:
    """A path follows from what stops it, else from what its hops miss."""
    path = finding.path or ""
    is_of_rate = finding.check == "path-rate"
    if path in stops and not (is_of_rate and isinstance(finding.value, int | float)):
        return next(
            (
                other
                for row in stops[path].finding.rows
                for other in by_row.get(row, ())
                if other.check == stops[path].finding.check and other.severity == FAIL
            ),
            None,
        )
    uses = context.branches.uses_to_root(path, context.network)
    rows = set(finding.rows)
    hops = [use.link for use in uses if use.link.kind == RADIO]
    if is_of_rate and finding.unit == HUB_UNIT:
        return None  # the time of a hub, not one hop of it
    if is_of_rate:
        hops = [link for link in hops if rows & set(link.row_ids) and _is_held_back(context, link)]
    elif finding.check != "path-availability":
        return None
    carried = context.performance.hops.carried_percent
    hops.sort(key=lambda link: float(carried[2 * link.index : 2 * link.index + 2].min()))
    for link in hops:
        found: dict[str, Finding] = {}
        for row in link.row_ids:
            for other in by_row.get(row, ()):
                found.setdefault(other.check, other)
        for check in OF_HOPS:
            # a clearance that is not known, or takes nothing, stands beside what lacks
            if check in found and (
                check not in _TAKES or _lost_db(context, found[check], link) > 0
            ):
                return found[check]
        if finding.check == "path-availability" and link.rows[0].hub and "path-rate" in found:
            return found["path-rate"]  # the time of the hub is taken
        if finding.check == "path-rate" and finding.limit == 0 and "path-availability" in found:
            return found["path-availability"]  # no mode of the hop holds it
    return None


def _is_held_back(context: Context, link: Link) -> bool:
    """Whether a faster mode would carry the load, so that margin or availability is what lacks."""
    hops, start = context.performance.hops, context.radio.mode_start
    share = 1 - context.design.project.rate_headroom_percent / 100
    load: Any = context.performance.traffic.on(link)
    for direction in (0, 1):
        way = 2 * link.index + direction
        rates = hops.mode_user_rate_mbps[start[way] : start[way + 1]]
        if len(rates) and load[direction] > rates.max() * share:
            return False
    return True
