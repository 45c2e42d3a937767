"""Checks: budgets and chain become findings. To add one: a function, and its name in CHECKS."""

from collections.abc import Callable, Iterable

from backhaul.checks.accepted import with_accepted
from backhaul.checks.airtime import airtime, time_shares
from backhaul.checks.antennas import flooded_sites, second_antennas
from backhaul.checks.backup import backup_shared
from backhaul.checks.bands import radio_band
from backhaul.checks.causes import with_causes
from backhaul.checks.chain import alike, chain, one_run, reading_notes, readings_taken
from backhaul.checks.channels import radio_channel, radio_interference
from backhaul.checks.class_figures import class_thresholds
from backhaul.checks.clearance import radio_clearance, terrain_heights
from backhaul.checks.context import Context
from backhaul.checks.copper import copper_ports, copper_rate, copper_reach
from backhaul.checks.dark import with_what_is_fed
from backhaul.checks.explosive import explosive_area
from backhaul.checks.feed_protection import feed_protection, protective_earth
from backhaul.checks.feeds import (
    feed_current,
    feed_drop,
    feed_power,
    plugged_in_on_site,
    supply_type,
)
from backhaul.checks.fiber import conditioning_cord, connectors, strand_label
from backhaul.checks.fiber_modes import fiber_mode, joint_mode
from backhaul.checks.filters import filter_channels
from backhaul.checks.hop_notes import hop_assumptions, hop_heights, hop_ranges, hop_unknowns
from backhaul.checks.hub_elevation import elevation_pointing
from backhaul.checks.hubs import hub_channel, hub_notes, hub_pointing
from backhaul.checks.mast import mast
from backhaul.checks.measured_loss import measured_loss
from backhaul.checks.once import once
from backhaul.checks.one_light import one_light
from backhaul.checks.optical_levels import (
    optical_margin,
    receiver_overload,
    receiver_unknown,
)
from backhaul.checks.optical_reach import (
    attenuation_range,
    dispersion_unknown,
    fiber_dispersion,
    fiber_reach,
    statistics_range,
)
from backhaul.checks.optical_safety import laser_class, light_in_explosive_air
from backhaul.checks.optics import (
    optics_port,
    optics_speed,
    optics_wavelength,
    strand_count,
    strands_taken,
)
from backhaul.checks.paths import demand_twice, path_availability, path_rate
from backhaul.checks.power import poe_budget, poe_bundles, poe_power, poe_type
from backhaul.checks.radio import (
    hop_length,
    radio_availability,
    radio_margin,
    radio_overload,
    radio_pointing,
)
from backhaul.checks.radio_pairs import radio_pair
from backhaul.checks.reflection import radio_reflection
from backhaul.checks.runs import fiber_joints, run_length
from backhaul.checks.safety import explosive_air, safety
from backhaul.checks.stops import dead_links, stopped_paths
from backhaul.checks.supplies import source_breaker, supply_energy, supply_limit
from backhaul.checks.surroundings import (
    corrosion,
    earth_potentials,
    environment,
    not_judged,
    surge,
    temperature,
)
from backhaul.checks.terrain_files import ground_from_files, terrain_accuracy
from backhaul.checks.unused import unused
from backhaul.checks.voltages import dangerous_dc, over_voltage, protector_rating
from backhaul.findings import Finding

CHECKS = (
    reading_notes,
    readings_taken,
    unused,
    chain,
    one_run,
    alike,
    optics_speed,
    optics_port,
    optics_wavelength,
    filter_channels,
    one_light,
    strand_count,
    strands_taken,
    strand_label,
    fiber_mode,
    joint_mode,
    fiber_reach,
    conditioning_cord,
    connectors,
    fiber_dispersion,
    dispersion_unknown,
    optical_margin,
    receiver_overload,
    receiver_unknown,
    measured_loss,
    attenuation_range,
    statistics_range,
    fiber_joints,
    radio_pair,
    hub_channel,
    hub_pointing,
    elevation_pointing,
    hub_notes,
    radio_band,
    radio_margin,
    radio_overload,
    radio_pointing,
    radio_clearance,
    second_antennas,
    terrain_heights,
    flooded_sites,
    terrain_accuracy,
    ground_from_files,
    radio_reflection,
    radio_availability,
    radio_channel,
    radio_interference,
    hop_length,
    hop_assumptions,
    hop_heights,
    hop_unknowns,
    class_thresholds,
    hop_ranges,
    copper_rate,
    copper_reach,
    copper_ports,
    poe_type,
    poe_power,
    poe_budget,
    poe_bundles,
    supply_type,
    feed_power,
    supply_limit,
    supply_energy,
    over_voltage,
    protector_rating,
    feed_current,
    source_breaker,
    feed_drop,
    feed_protection,
    protective_earth,
    plugged_in_on_site,
    temperature,
    corrosion,
    environment,
    explosive_area,
    surge,
    earth_potentials,
    not_judged,
    run_length,
    path_rate,
    path_availability,
    airtime,
    time_shares,
    demand_twice,
    backup_shared,
    explosive_air,
    safety,
    laser_class,
    light_in_explosive_air,
    dangerous_dc,
    mast,
)


#: They ask what the others found: paths that are dark, broken or unfed have no rate.
OF_PATHS = (path_rate, path_availability, airtime, time_shares, demand_twice, backup_shared)


def run_checks(context: Context) -> tuple[Context, tuple[Finding, ...]]:
    """The context with no rate on stopped paths, and all findings of a design.

    The worst first, in the order of paths and steps within, each once, with its cause.
    """
    found = _found(context, (check for check in CHECKS if check not in OF_PATHS))
    found = with_what_is_fed(context, found)
    stops = stopped_paths(context, found)
    served = context.performance.stopped(stops, dead_links(context, found))
    context = context._replace(performance=served, stops=stops)
    found = once([*found, *_found(context, OF_PATHS)], context.sites_of)
    mates = _mates(context)
    if mates:
        found = [_for_all_rows(finding, mates) for finding in found]
    order = {path: place for place, path in enumerate(context.network.chains)}
    found.sort(
        key=lambda f: (f.rank, order.get(f.path, -1), f.step if f.step is not None else -1.0)
    )
    found = with_causes(context, named(found), stops)
    return context, tuple(with_accepted(context, found))


def _found(context: Context, checks: Iterable[Callable]) -> list[Finding]:
    """What checks find; the same of the same cell once."""
    found: dict[tuple, Finding] = {}
    for check in checks:
        for finding in check(context):
            found.setdefault(
                (finding.check, finding.severity, finding.where, finding.message), finding
            )
    return list(found.values())


def named(findings: list[Finding]) -> list[Finding]:
    """Each finding with an id of its own: check and place, numbered where several share them.

    >>> [f.id for f in named([Finding("surge", "thin", "x", path="P", step=3)] * 2)]
    ['surge:P:3', 'surge:P:3:2']
    """
    counts: dict[str, int] = {}
    found = []
    for finding in findings:
        step = None if finding.step is None else f"{finding.step:g}"
        name = ":".join(word for word in (finding.check, finding.path, step) if word)
        counts[name] = counts.get(name, 0) + 1
        number = counts[name]
        found.append(finding._replace(id=name if number == 1 else f"{name}:{number}"))
    return found


def _mates(context: Context) -> dict[int, dict[str, list[int]]]:
    """Of every row that shares its label: the rows of the label by path."""
    mates = {}
    for rows in context.network.mates.values():
        by_path: dict[str, list[int]] = {}
        for row in rows:
            mates[row.id] = by_path
            for path in row.path:
                by_path.setdefault(path, []).append(row.id)
    return mates


def _for_all_rows(finding: Finding, mates: dict[int, dict[str, list[int]]]) -> Finding:
    """The finding with the rows of the same label in the paths that it names."""
    labels = {id(mates[row]): mates[row] for row in finding.rows if row in mates}
    if not labels:
        return finding
    rows = dict.fromkeys(finding.rows)
    for by_path in labels.values():
        for path in finding.paths or by_path:
            rows.update(dict.fromkeys(by_path.get(path, ())))
    return finding._replace(rows=tuple(rows))
