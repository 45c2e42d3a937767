"""Budget of the air: every hop of a design in one pass, all modes in both directions."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.clearance import Clearances, hop_clearances
from backhaul.budgets.climate import Climate, hop_climate
from backhaul.budgets.hop_interference import Interference, hop_interference
from backhaul.budgets.hop_modes import flat_modes, with_outages
from backhaul.budgets.hop_weather import Rain, hop_rain
from backhaul.budgets.hops import Hops, gather_hops
from backhaul.budgets.reflection_remedies import ReflectionRemedies, reflection_remedies
from backhaul.budgets.water_entries import diversity_m
from backhaul.budgets.water_reflection import (
    WaterReflection,
    water_reflection,
)
from backhaul.design.model import Design
from backhaul.figures.hop_terms import HOP_TERMS
from backhaul.figures.mode_terms import ONE, TWO
from backhaul.figures.radio_formulas import FROM_HUB, NO_HUB, TO_HUB
from backhaul.figures.radio_terms import (
    ALONE,
    DIRECTION_TERMS,
    HEARD,
    HEIGHTS,
    LEVEL,
    LIMITS,
    STILL,
    SWAYS,
)
from backhaul.figures.terms import compute, gather
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.physics import gas, geometry, multipath


class RadioBudget(NamedTuple):
    """Arrays over hops, over directions (2i near to far, 2i + 1 back) and over modes."""

    links: tuple[Link, ...]
    hops: Hops
    climate: Climate
    hop_values: Mapping[str, np.ndarray]
    values: Mapping[str, np.ndarray]
    modes: Mapping[str, Any]
    #: modes of direction d stand at mode_start[d] : mode_start[d + 1]
    mode_start: np.ndarray
    clearance: Clearances
    reflection: WaterReflection
    worst_k: np.ndarray
    #: index into `multipath.METHOD_NAMES`
    multipath_method: np.ndarray
    #: rain is counted for vertical polarization, by direction
    rain_vertical: np.ndarray
    interference: Interference
    remedies: ReflectionRemedies
    #: fade by rain and wet snow in 0.01 % of the year, NaN where snow adds nothing [dB], by hop
    snow_0_01_db: np.ndarray


def radio_budget(
    network: Network, catalog: Any, design: Design, *, seek_remedies: bool = True
) -> RadioBudget:
    """Compute the budget of all hops of a design."""
    links = network.links[RADIO]
    hops = gather_hops(links, catalog, design)
    climate = hop_climate(hops.site_pairs)
    worst_k = _worst_k(hops, design)
    clearance = hop_clearances(hops, worst_k)
    reflection = water_reflection(hops, worst_k)
    hop_values = compute(
        HOP_TERMS,
        {
            "distance_km": hops.distance_km,
            "frequency_ghz": hops.frequency_ghz[:, 0],
            "height_m": hops.height_m[:, 0],
            "far_height_m": hops.height_m[:, 1],
        },
    )
    hop_values["diffraction_loss_db"] = clearance.diffraction_db
    flat = flat_modes(hops, catalog)
    hop_rains = hop_rain(hops, climate)
    occurrence = _occurrence(hops, climate, clearance)
    heard = hop_interference(hops, flat.strongest_dbm)
    inputs = {
        **_inputs(hops, climate, hop_rains, occurrence),
        "tx_power_dbm": flat.strongest_dbm,
        "diffraction_loss_db": _both(np.nan_to_num(clearance.diffraction_db)),
        "reflection_loss_db": np.nan_to_num(reflection.way_loss_db),
        "interference_dbm": heard.interference_dbm,
        "noise_basis": np.where(np.isnan(heard.interference_dbm), ALONE, HEARD),
    }
    values = _with_gas(inputs, climate)
    modes, snow = with_outages(hops, values, flat, reflection)
    return RadioBudget(
        links,
        hops,
        climate,
        hop_values,
        values,
        modes,
        flat.start,
        clearance,
        reflection,
        worst_k,
        occurrence.method[::2],
        hop_rains.is_vertical,
        heard,
        reflection_remedies(hops, reflection, worst_k, seek=seek_remedies),
        snow,
    )


def with_remedies(budget: RadioBudget) -> RadioBudget:
    """A budget with what was not sought of its hops when it was computed."""
    found = reflection_remedies(budget.hops, budget.reflection, budget.worst_k)
    return budget._replace(remedies=found)


def _both(values) -> np.ndarray:
    """A figure of each hop, for both of its directions."""
    return np.repeat(np.asarray(values, dtype=float), 2)


def _worst_k(hops: Hops, design: Design) -> np.ndarray:
    if design.project.worst_k_factor is not None:
        return np.full(len(hops.links), design.project.worst_k_factor)
    return np.asarray(geometry.worst_k_factor(distance_km=hops.distance_km))


#: Where no coordinates are given: the latitude at which the worst month weighs most in the year
#: (P.530-17 sec. 2.3.4: the equator), the cautious choice.
DEFAULT_LATITUDE_DEG = 0.0


def _beside_axis(hops: Hops) -> dict[str, np.ndarray]:
    """How far the far ends of hubs lie beside the axis, and which end the hub is."""
    has_hub = hops.hubs.number >= 0
    basis = np.where(has_hub[:, None], [FROM_HUB, TO_HUB], NO_HUB)
    return {"off_axis_deg": _both(hops.hubs.off_axis_deg), "hub_basis": basis.reshape(-1)}


def _inputs(hops: Hops, climate: Climate, hop_rains: Rain, occurrence) -> dict[str, np.ndarray]:
    """Figures of all directions that rest on no other line."""
    heights = hops.height_m
    known = _both(~np.isnan(heights).any(axis=1)).astype(bool)
    inputs = gather((*DIRECTION_TERMS, *LIMITS), hops.directions)
    spaced_m = diversity_m(hops)[:, ::-1].reshape(-1)
    sways = (inputs["sway_deg"] > 0) | (inputs["to_sway_deg"] > 0)
    return {
        **inputs,
        "distance_km": _both(hops.distance_km),
        "height1_m": _both(heights[:, 0]),
        "height2_m": _both(heights[:, 1]),
        "height_basis": np.where(known, HEIGHTS, LEVEL),
        "slant_basis": np.where(known & ~np.repeat(hops.is_typed, 2), HEIGHTS, LEVEL),
        **_beside_axis(hops),
        "sway_basis": np.where(sways, SWAYS, STILL),
        "channel_mhz": _both(hops.channel_mhz),
        "rain_rate_mm_h": _both(climate.values["rain_rate_mm_h"]),
        "rain_k": hop_rains.k,
        "rain_alpha": hop_rains.alpha,
        "occurrence_percent": occurrence.percent,
        "latitude_deg": np.nan_to_num(_both(hops.middle_latitude), nan=DEFAULT_LATITUDE_DEG),
        "diversity_m": spaced_m,
        "diversity_basis": np.where(spaced_m != 0, TWO, ONE),
    }


def _with_gas(inputs: dict[str, np.ndarray], climate: Climate) -> dict[str, np.ndarray]:
    """All terms of all directions; gas is that of the channel's power over the slant range."""
    keys = [term.key for term in DIRECTION_TERMS]
    before = DIRECTION_TERMS[: keys.index("slant_km") + 1]
    slant = compute(before, inputs)["slant_km"]
    per_km = np.zeros(0)
    if len(slant):
        per_km = gas.hop_attenuation(
            frequency_ghz=np.nan_to_num(inputs["frequency_ghz"], nan=1.0),
            total_pressure_hpa=_both(climate.values["pressure_hpa"]),
            vapour_density_g_m3=_both(climate.values["vapour_g_m3"]),
            temperature_c=_both(climate.values["temperature_c"]),
            channel_mhz=np.nan_to_num(inputs["channel_mhz"]),
            distance_km=np.nan_to_num(slant),
        ).total_db_per_km
    per_km = np.where(np.isnan(inputs["frequency_ghz"]), np.nan, per_km)
    return compute(DIRECTION_TERMS, {**inputs, "gas_db_per_km": per_km})


def _occurrence(hops: Hops, climate: Climate, clearance: Clearances) -> multipath.Occurrence:
    """Multipath occurrence of all directions."""
    if not len(hops.links):
        return multipath.Occurrence(*np.zeros((2, 0)), np.zeros(0, dtype=int))
    return multipath.occurrence(
        distance_km=np.nan_to_num(_both(hops.distance_km), nan=1.0),
        frequency_ghz=np.nan_to_num(hops.frequency_ghz.reshape(-1), nan=1.0),
        height1_m=np.nan_to_num(_both(hops.height_m[:, 0])),
        height2_m=np.nan_to_num(_both(hops.height_m[:, 1])),
        dn1_n_per_km=_both(climate.values["dn1"]),
        roughness_m=_both(climate.values["roughness_m"]),
        log_k=_both(climate.values["log_k"]),
        dn75=_both(climate.values["dn75"]),
        terrain_m=_both(clearance.mean_terrain_m),
    )
