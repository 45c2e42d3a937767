"""Checks: budgets and chain become findings. To add one: a function, and its name in CHECKS."""

from backhaul.checks.backup import backup_shared
from backhaul.checks.bands import radio_band
from backhaul.checks.chain import alike, chain, reading_notes
from backhaul.checks.channels import radio_channel
from backhaul.checks.clearance import radio_clearance, radio_reflection
from backhaul.checks.context import Context
from backhaul.checks.copper import copper_ports, copper_rate, copper_reach
from backhaul.checks.feeds import (
    feed_current,
    feed_drop,
    feed_power,
    feed_protection,
    plugged_in_on_site,
    protective_earth,
    supply_type,
)
from backhaul.checks.fiber import (
    conditioning_cord,
    connectors,
    fiber_mode,
    joint_mode,
    strand_label,
)
from backhaul.checks.hop_notes import hop_assumptions, hop_ranges, hop_unknowns
from backhaul.checks.mast import mast
from backhaul.checks.optical_levels import (
    measured_loss,
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
from backhaul.checks.paths import path_availability, path_rate
from backhaul.checks.power import poe_budget, poe_bundles, poe_power, poe_type
from backhaul.checks.radio import (
    hop_length,
    radio_availability,
    radio_margin,
    radio_overload,
    radio_pair,
)
from backhaul.checks.safety import safety
from backhaul.checks.supplies import supply_energy, supply_limit
from backhaul.checks.surroundings import (
    corrosion,
    earth_potentials,
    environment,
    fiber_joints,
    not_judged,
    run_length,
    surge,
    temperature,
)
from backhaul.checks.voltages import dangerous_dc, over_voltage, protector_rating
from backhaul.findings import Finding

CHECKS = (
    reading_notes,
    chain,
    alike,
    optics_speed,
    optics_port,
    optics_wavelength,
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
    radio_band,
    radio_margin,
    radio_overload,
    radio_clearance,
    radio_reflection,
    radio_availability,
    radio_channel,
    hop_length,
    hop_assumptions,
    hop_unknowns,
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
    feed_drop,
    feed_protection,
    protective_earth,
    plugged_in_on_site,
    temperature,
    corrosion,
    environment,
    surge,
    earth_potentials,
    not_judged,
    run_length,
    path_rate,
    path_availability,
    backup_shared,
    safety,
    laser_class,
    light_in_explosive_air,
    dangerous_dc,
    mast,
)


def run_checks(context: Context) -> tuple[Finding, ...]:
    """All findings of a design, the worst first, in the order of paths and steps within."""
    order = {path: place for place, path in enumerate(context.network.chains)}
    found: dict[tuple, Finding] = {}
    for check in CHECKS:
        for finding in check(context):
            found.setdefault(
                (finding.check, finding.severity, finding.where, finding.message), finding
            )
    mates = {row.id: mates for mates in context.network.mates.values() for row in mates}
    return tuple(
        sorted(
            (_for_all_rows(finding, mates) for finding in found.values())
            if mates
            else found.values(),
            key=lambda f: (f.rank, order.get(f.path, -1), f.step if f.step is not None else -1.0),
        )
    )


def _for_all_rows(finding: Finding, mates: dict) -> Finding:
    """The finding with the rows of the same label; it counts in the paths that it names."""
    if not any(row in mates for row in finding.rows):
        return finding
    rows = dict.fromkeys(finding.rows)
    for row in finding.rows:
        rows.update(dict.fromkeys(mate.id for mate in mates.get(row, ())))
    return finding._replace(rows=tuple(rows))
