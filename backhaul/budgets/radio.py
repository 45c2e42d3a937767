"""Budget of the air: every hop of a design in one pass, all modes in both directions."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.clearance import Clearances, hop_clearances
from backhaul.budgets.climate import Climate, hop_climate
from backhaul.budgets.hop_profiles import SEA
from backhaul.budgets.hops import Hops, gather_hops
from backhaul.budgets.water_reflection import WaterReflection, water_reflection
from backhaul.design.model import Design
from backhaul.figures.arrays import numbers
from backhaul.figures.radio_terms import DIRECTION_TERMS, HOP_TERMS, MODE_TERMS
from backhaul.figures.terms import compute
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.physics import gas, geometry, multipath, rain
from backhaul.physics.diffraction import delta_bullington


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


def radio_budget(network: Network, catalog: Any, design: Design) -> RadioBudget:
    """Compute the budget of all hops of a design."""
    links = network.links[RADIO]
    hops = gather_hops(links, catalog, design)
    climate = hop_climate(hops.site_pairs)
    worst_k = _worst_k(hops, design)
    clearance = hop_clearances(hops, worst_k)
    reflection = water_reflection(hops, worst_k, design.project)
    diffraction = _diffraction(hops)
    hop_values = compute(
        HOP_TERMS,
        {
            "distance_km": hops.distance_km,
            "frequency_ghz": hops.frequency_ghz[:, 0],
            "height_m": hops.height_m[:, 0],
            "far_height_m": hops.height_m[:, 1],
        },
    )
    hop_values["diffraction_loss_db"] = diffraction
    modes, start, strongest = _modes(hops, catalog)
    inputs, method, vertical = _direction_givens(hops, climate, diffraction, reflection, design)
    inputs["tx_power_dbm"] = strongest
    values = compute(DIRECTION_TERMS, inputs)
    beside = {key: np.asarray(values[key])[modes["direction"]] for key in _DIRECTION_KEYS_OF_MODES}
    mode_values = compute(MODE_TERMS, {**modes, **beside})
    return RadioBudget(
        links,
        hops,
        climate,
        hop_values,
        values,
        mode_values,
        start,
        clearance,
        reflection,
        worst_k,
        method,
        vertical,
    )


_DIRECTION_KEYS_OF_MODES = (
    "received_dbm",
    "tx_power_dbm",
    "reflection_loss_db",
    "noise_rise_db",
    "rain_0_01_db",
    "frequency_exponent",
    "occurrence_percent",
    "transition_db",
    "transition_q",
    "year_gain_db",
)


def _worst_k(hops: Hops, design: Design) -> np.ndarray:
    if design.project.worst_k_factor is not None:
        return np.full(len(hops.links), design.project.worst_k_factor)
    return np.asarray(geometry.worst_k_factor(distance_km=hops.distance_km))


def _diffraction(hops: Hops) -> np.ndarray:
    """Diffraction loss of each hop at median k [dB], NaN without a profile.

    Horizontal polarization loses as much as vertical or more, so it stands for both; with two
    frequencies the worse counts.
    """
    loss = np.full(len(hops.links), np.nan)
    if hops.profile is None:
        return loss
    index = hops.profiled
    wet = np.add.reduceat((hops.surface == SEA).astype(float), hops.profile.start)
    known = ~np.isnan(hops.height_m[index]).any(axis=1)
    ways = (0, 1) if (hops.frequency_ghz[:, 0] != hops.frequency_ghz[:, 1]).any() else (0,)
    found = [
        delta_bullington(
            profile=hops.profile,
            height1_m=np.nan_to_num(hops.height_m[index, 0]),
            height2_m=np.nan_to_num(hops.height_m[index, 1]),
            frequency_ghz=hops.frequency_ghz[index, way],
            vertical=hops.is_vertical[index],
            sea_share=wet / hops.profile.count,
            radius_km=geometry.MEDIAN_K_FACTOR * geometry.EARTH_RADIUS_KM,
        ).loss_db
        for way in ways
    ]
    loss[index] = np.where(known, np.max(found, axis=0), np.nan)
    return loss


def _modes(hops: Hops, catalog: Any):
    """Modes of each direction, flat: those that the sender has and the receiver hears."""
    shared: dict[tuple, CommonModes] = {}
    found, names, typed, silent = [], [], [], []
    for (near, far), row, width in zip(
        hops.radios, hops.rows, hops.channel_mhz.tolist(), strict=True
    ):
        for sender, receiver in ((near, far), (far, near)):
            key = (sender.part, receiver.part, width)
            if key not in shared:
                shared[key] = _common_modes(sender, receiver, width, catalog)
            found.append(shared[key])
            names.extend(shared[key].names)
            typed.append(row.tx_power_dbm)
            silent.append(row.tx_power_dbm if row.tx_power_dbm is not None else sender.tx_power_dbm)
    counts = np.array([len(modes.names) for modes in found], dtype=int)
    direction = np.repeat(np.arange(len(found)), counts)

    def flat(column: str) -> np.ndarray:
        return np.concatenate([np.zeros(0), *(getattr(modes, column) for modes in found)])

    power = np.fmin(flat("power_dbm"), numbers(typed)[direction])
    strongest = np.where(counts > 0, np.nan, numbers(silent))
    np.fmax.at(strongest, direction, power)
    modes = {
        "direction": direction,
        "name": names,
        "rate_mbps": flat("rate_mbps"),
        "mode_power_dbm": power,
        "sensitivity_dbm": flat("sensitivity_dbm"),
    }
    return modes, np.concatenate([[0], np.cumsum(counts)]).astype(int), strongest


class CommonModes(NamedTuple):
    """Modes of a pair of radios on one channel, slowest first."""

    names: tuple[str, ...]
    rate_mbps: np.ndarray
    power_dbm: np.ndarray
    sensitivity_dbm: np.ndarray


def _common_modes(sender, receiver, channel_mhz: float, catalog: Any) -> CommonModes:
    heard = {
        mode.mode: mode.sensitivity_dbm
        for mode in catalog.radio_modes.get(receiver.part, ())
        if mode.channel_mhz == channel_mhz
    }
    modes = sorted(
        (
            mode
            for mode in catalog.radio_modes.get(sender.part, ())
            if mode.channel_mhz == channel_mhz and mode.mode in heard
        ),
        key=lambda mode: mode.rate_mbps,
    )
    return CommonModes(
        tuple(mode.mode for mode in modes),
        numbers(mode.rate_mbps for mode in modes),
        numbers(
            sender.tx_power_dbm if mode.tx_power_dbm is None else mode.tx_power_dbm
            for mode in modes
        ),
        numbers(heard[mode.mode] for mode in modes),
    )


def _direction_givens(hops, climate, diffraction, reflection, design):
    """Inputs of both directions of every hop, multipath method, polarization in rain."""
    count = len(hops.links)

    def both(values):
        return np.repeat(np.asarray(values, dtype=float), 2)

    frequency = hops.frequency_ghz.reshape(-1)
    climate_values = {key: both(values) for key, values in climate.values.items()}
    attenuation = (
        gas.hop_attenuation(
            frequency_ghz=np.nan_to_num(frequency, nan=1.0),
            total_pressure_hpa=climate_values["pressure_hpa"],
            vapour_density_g_m3=climate_values["vapour_g_m3"],
            temperature_c=climate_values["temperature_c"],
            channel_mhz=np.nan_to_num(both(hops.channel_mhz)),
        ).total_db_per_km
        if count
        else np.zeros(0)
    )
    rain_coefficients, rain_vertical = _rain(hops, climate_values)
    heights = [both(hops.height_m[:, end]) for end in (0, 1)]
    occurrence = (
        multipath.occurrence(
            distance_km=np.nan_to_num(both(hops.distance_km), nan=1.0),
            frequency_ghz=np.nan_to_num(frequency, nan=1.0),
            height1_m=np.nan_to_num(heights[0]),
            height2_m=np.nan_to_num(heights[1]),
            dn1_n_per_km=climate_values["dn1"],
            roughness_m=climate_values["roughness_m"],
            log_k=climate_values["log_k"],
            dn75=climate_values["dn75"],
            terrain_m=both(mean_terrain_m(hops)),
        )
        if count
        else multipath.Occurrence(*np.zeros((2, 0)), np.zeros(0, dtype=int))
    )
    gains = hops.gain_dbi
    extra = numbers((row.extra_loss_db for row in hops.rows), blank=0.0)
    distance = both(hops.distance_km)
    return (
        {
            "distance_km": distance,
            "frequency_ghz": frequency,
            "tx_gain_dbi": gains.reshape(-1),
            "rx_gain_dbi": gains[:, ::-1].reshape(-1),
            "extra_loss_db": both(extra),
            "gas_db_per_km": np.where(np.isnan(frequency), np.nan, attenuation),
            "diffraction_loss_db": both(np.nan_to_num(diffraction)),
            "reflection_loss_db": both(np.nan_to_num(reflection.loss_db)),
            "noise_rise_db": np.full(2 * count, design.project.noise_rise_db),
            "rain_rate_mm_h": climate_values["rain_rate_mm_h"],
            "rain_k": rain_coefficients[0],
            "rain_alpha": rain_coefficients[1],
            "occurrence_percent": occurrence.percent,
            "latitude_deg": np.nan_to_num(both(hops.middle_latitude), nan=DEFAULT_LATITUDE_DEG),
            "inclination_mrad": np.nan_to_num(
                np.asarray(
                    multipath.inclination_mrad(
                        distance_km=distance, height1_m=heights[0], height2_m=heights[1]
                    )
                )
            ),
        },
        occurrence.method[::2],
        rain_vertical,
    )


#: Where no coordinates are given: the latitude at which the worst month weighs most in the year
#: (P.530-17 sec. 2.3.4: the equator), the cautious choice.
DEFAULT_LATITUDE_DEG = 0.0


def _rain(hops: Hops, climate_values: Mapping[str, np.ndarray]):
    """k and alpha of each direction, and whether they are those of vertical polarization.

    Horizontal rain loss is the larger but for a drizzle at 10 to 40 GHz; where either
    polarization may be used the larger counts.
    """
    frequency = hops.frequency_ghz.reshape(-1)
    distance = np.nan_to_num(np.repeat(hops.distance_km, 2), nan=1.0)
    rate = climate_values["rain_rate_mm_h"]
    losses, found = [], []
    for tilt in (rain.HORIZONTAL_DEG, rain.VERTICAL_DEG):
        filled = np.nan_to_num(frequency, nan=1.0)
        k, alpha = rain.coefficients(frequency_ghz=filled, tilt_deg=tilt)
        found.append((k, alpha))
        losses.append(
            rain.exceeded_0_01_db(
                rain_db_per_km=rain.specific_attenuation_db_per_km(
                    k=k, alpha=alpha, rain_mm_per_h=rate
                ),
                distance_km=distance,
                distance_factor=rain.distance_factor(
                    distance_km=distance, frequency_ghz=filled, alpha=alpha, rain_mm_per_h=rate
                ),
            )
        )
    either, vertical = np.repeat(hops.is_either, 2), np.repeat(hops.is_vertical, 2)
    vertical = np.where(either, losses[1] > losses[0], vertical).astype(bool)
    return [np.where(vertical, v, h) for h, v in zip(*found, strict=True)], vertical


def mean_terrain_m(hops: Hops) -> np.ndarray:
    """Mean height of the ground along each hop [m]; without a profile that of the two sites."""
    mean = hops.ground_m.mean(axis=1)
    if hops.profile is not None:
        profile = hops.profile
        step = np.diff(profile.distance_km, prepend=0.0)
        step[profile.start] = 0.0
        before = np.roll(profile.ground_m, 1)
        area = profile.total(step * (profile.ground_m + before) / 2)
        mean[hops.profiled] = area / profile.length_km
    return mean
