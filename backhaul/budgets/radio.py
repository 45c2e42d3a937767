"""Budget of the air: every hop of a design in one pass, all modes in both directions."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.arrays import number, numbers
from backhaul.budgets.climate import Climate, hop_climate
from backhaul.budgets.hops import SEA, Hops, gather_hops
from backhaul.budgets.mirror import Mirror, water_mirror
from backhaul.budgets.radio_terms import DIRECTION_TERMS, HOP_TERMS, MODE_TERMS
from backhaul.design.model import Design
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.physics import gas, geometry, multipath, rain
from backhaul.physics.diffraction import delta_bullington
from backhaul.physics.profiles import needed_raise, worst_clearance
from backhaul.terms import compute


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
    clearance: "Clearances"
    mirror: Mirror
    worst_k: np.ndarray
    multipath_method: np.ndarray


class Clearances(NamedTuple):
    """Clearance of each hop as a share of the first Fresnel radius, NaN without a profile."""

    median: np.ndarray
    median_at_km: np.ndarray
    worst: np.ndarray
    worst_at_km: np.ndarray
    #: raise of both antennas alike, or of the far one alone, that settles the rule [m]
    raise_both_m: np.ndarray
    raise_far_m: np.ndarray
    wanted_worst_f1: np.ndarray

    def reported(self, worst_k: np.ndarray) -> dict[str, np.ndarray]:
        """The clearance that comes nearer to its limit: 0.6 F1 at median k, grazing at worst k."""
        at_worst = self.worst < self.median - geometry.FREE_SPACE_CLEARANCE_F1
        known = ~np.isnan(self.median)
        return {
            "clearance_ratio": np.where(at_worst, self.worst, self.median),
            "clearance_at_km": np.where(at_worst, self.worst_at_km, self.median_at_km),
            "clearance_k": np.where(
                known, np.where(at_worst, worst_k, geometry.MEDIAN_K_FACTOR), np.nan
            ),
        }


def radio_budget(network: Network, catalog: Any, design: Design) -> RadioBudget:
    """Compute the budget of all hops of a design."""
    links = network.links[RADIO]
    hops = gather_hops(links, catalog, design)
    climate = hop_climate(hops.site_pairs)
    worst_k = _worst_k(hops, design)
    clearance = _clearances(hops, worst_k)
    mirror = water_mirror(hops, worst_k, climate, design)
    diffraction = _diffraction(hops)
    hop_values = compute(HOP_TERMS, {
        "distance_km": hops.distance_km, "frequency_ghz": hops.frequency_ghz[:, 0],
        "height_m": hops.height_m[:, 0], "far_height_m": hops.height_m[:, 1],
    })  # fmt: skip
    hop_values["diffraction_loss_db"] = diffraction
    modes, start, strongest = _modes(hops, catalog)
    givens, method = _direction_givens(hops, climate, diffraction, mirror, design)
    givens["tx_power_dbm"] = strongest
    values = compute(DIRECTION_TERMS, givens)
    beside = {
        key: np.asarray(values[key])[modes["direction"]] for key in _DIRECTION_KEYS_OF_MODES
    }
    mode_values = compute(MODE_TERMS, {**modes, **beside})
    return RadioBudget(
        links, hops, climate, hop_values, values, mode_values, start, clearance, mirror, worst_k,
        method,
    )  # fmt: skip


_DIRECTION_KEYS_OF_MODES = (
    "received_dbm", "tx_power_dbm", "reflection_loss_db", "noise_rise_db", "rain_0_01_db",
    "frequency_exponent", "occurrence_percent", "transition_db", "transition_q", "year_gain_db",
)  # fmt: skip


def _worst_k(hops: Hops, design: Design) -> np.ndarray:
    if design.project.worst_k_factor is not None:
        return np.full(len(hops.links), design.project.worst_k_factor)
    return np.asarray(geometry.worst_k_factor(distance_km=hops.distance_km))


def _clearances(hops: Hops, worst_k: np.ndarray) -> Clearances:
    blank = np.full(len(hops.links), np.nan)
    columns = [blank.copy() for _ in range(7)]
    if hops.profile is not None:
        index = hops.profiled
        heights = {
            "profile": hops.profile, "height1_m": hops.height_m[index, 0],
            "height2_m": hops.height_m[index, 1], "frequency_ghz": hops.frequency_ghz[index, 0],
        }  # fmt: skip
        median = worst_clearance(k_factor=geometry.MEDIAN_K_FACTOR, **heights)
        worst = worst_clearance(k_factor=worst_k[index], **heights)
        wanted = _wanted_at_worst_k(hops)[index]
        raises = [
            needed_raise(k_factor=k, fraction_f1=share, **heights)
            for k, share in (
                (geometry.MEDIAN_K_FACTOR, geometry.MEDIAN_CLEARANCE_F1), (worst_k[index], wanted)
            )
        ]
        found = (
            median.ratio, median.at_km, worst.ratio, worst.at_km,
            np.maximum(raises[0].both_m, raises[1].both_m),
            np.maximum(raises[0].second_m, raises[1].second_m), wanted,
        )  # fmt: skip
        for column, values in zip(columns, found, strict=True):
            column[index] = values
    return Clearances(*columns)


#: Between the tropics P.530 asks for more (sec. 2.2.2.1, from memory).
TROPIC_DEG = 23.5
TROPICAL_HOP_KM = 30.0


def _wanted_at_worst_k(hops: Hops) -> np.ndarray:
    """Share of the first Fresnel zone that P.530 wants clear at the worst k.

    An obstruction is taken as extended: for one isolated obstacle grazing would do.
    """
    rules = geometry.WORST_K_CLEARANCE_F1
    tropical = (np.abs(hops.middle_latitude) < TROPIC_DEG) & (hops.distance_km > TROPICAL_HOP_KM)
    return np.where(tropical, rules["tropical"], rules["temperate, extended obstruction"])


def _diffraction(hops: Hops) -> np.ndarray:
    """Diffraction loss of each hop at median k [dB], NaN without a profile."""
    loss = np.full(len(hops.links), np.nan)
    if hops.profile is not None:
        index = hops.profiled
        wet = np.add.reduceat((hops.surface == SEA).astype(float), hops.profile.start)
        known = ~np.isnan(hops.height_m[index]).any(axis=1)
        loss[index] = np.where(known, delta_bullington(
            profile=hops.profile,
            height1_m=np.nan_to_num(hops.height_m[index, 0]),
            height2_m=np.nan_to_num(hops.height_m[index, 1]),
            frequency_ghz=hops.frequency_ghz[index, 0], vertical=hops.is_vertical[index],
            sea_share=wet / hops.profile.count,
            radius_km=geometry.MEDIAN_K_FACTOR * geometry.EARTH_RADIUS_KM,
        ).loss_db, np.nan)  # fmt: skip
    return loss


def _modes(hops: Hops, catalog: Any):
    """Modes of each direction, flat: those that the sender has and the receiver hears."""
    direction, names, rates, powers, sensitivities, start, strongest = [], [], [], [], [], [0], []
    found: dict[tuple, list] = {}
    for index, ((near, far), row) in enumerate(zip(hops.radios, hops.rows, strict=True)):
        for way, (sender, receiver) in enumerate(((near, far), (far, near))):
            key = (sender.part, receiver.part, float(hops.channel_mhz[index]))
            if key not in found:
                found[key] = _common_modes(sender, receiver, key[2], catalog)
            typed = row.tx_power_dbm
            best = np.nan
            for name, rate, mode_power, sensitivity in found[key]:
                stated = sender.tx_power_dbm if mode_power is None else mode_power
                power = number(min(
                    (dbm for dbm in (typed, stated) if dbm is not None), default=None
                ))  # fmt: skip
                direction.append(2 * index + way)
                names.append(name)
                rates.append(rate)
                powers.append(power)
                sensitivities.append(number(sensitivity))
                best = power if not best >= power else best
            if not found[key]:
                best = number(typed if typed is not None else sender.tx_power_dbm)
            strongest.append(best)
            start.append(len(names))
    modes = {
        "direction": np.array(direction, dtype=int), "name": names,
        "rate_mbps": np.array(rates, dtype=float), "mode_power_dbm": np.array(powers, dtype=float),
        "sensitivity_dbm": np.array(sensitivities, dtype=float),
    }  # fmt: skip
    return modes, np.array(start, dtype=int), np.array(strongest, dtype=float)


def _common_modes(sender, receiver, channel_mhz: float, catalog: Any) -> list[tuple]:
    heard = {
        mode.mode: mode.sensitivity_dbm
        for mode in catalog.radio_modes.get(receiver.part, ()) if mode.channel_mhz == channel_mhz
    }  # fmt: skip
    modes = [
        (mode.mode, mode.rate_mbps, mode.tx_power_dbm, heard[mode.mode])
        for mode in catalog.radio_modes.get(sender.part, ())
        if mode.channel_mhz == channel_mhz and mode.mode in heard
    ]
    return sorted(modes, key=lambda mode: mode[1])


def _direction_givens(hops, climate, diffraction, mirror, design):
    """Givens of both directions of every hop, and the multipath method of each hop."""
    count = len(hops.links)

    def both(values):
        return np.repeat(np.asarray(values, dtype=float), 2)

    frequency = hops.frequency_ghz.reshape(-1)
    climate_values = {key: both(values) for key, values in climate.values.items()}
    attenuation = gas.hop_attenuation(
        frequency_ghz=np.nan_to_num(frequency, nan=1.0),
        total_pressure_hpa=climate_values["pressure_hpa"],
        vapour_density_g_m3=climate_values["vapour_g_m3"],
        temperature_c=climate_values["temperature_c"],
        channel_mhz=np.nan_to_num(both(hops.channel_mhz)),
    ).total_db_per_km if count else np.zeros(0)  # fmt: skip
    tilt = np.where(both(hops.is_vertical), 90.0, 0.0)
    rain_coefficients = rain.coefficients(
        frequency_ghz=np.nan_to_num(frequency, nan=1.0), tilt_deg=tilt
    )
    heights = [both(hops.height_m[:, end]) for end in (0, 1)]
    occurrence = multipath.occurrence(
        distance_km=np.nan_to_num(both(hops.distance_km), nan=1.0),
        frequency_ghz=np.nan_to_num(frequency, nan=1.0),
        height1_m=np.nan_to_num(heights[0]), height2_m=np.nan_to_num(heights[1]),
        dn1_n_per_km=climate_values["dn1"], roughness_m=climate_values["roughness_m"],
        log_k=climate_values["log_k"], dn75=climate_values["dn75"],
        terrain_m=both(_mean_terrain(hops)),
    ) if count else multipath.Occurrence(np.zeros(0), np.zeros(0), np.zeros(0, dtype=int))  # fmt: skip
    gains = hops.gain_dbi
    extra = numbers((row.extra_loss_db for row in hops.rows), blank=0.0)
    distance = both(hops.distance_km)
    return {
        "distance_km": distance,
        "frequency_ghz": frequency,
        "tx_gain_dbi": gains.reshape(-1),
        "rx_gain_dbi": gains[:, ::-1].reshape(-1),
        "extra_loss_db": both(extra),
        "gas_db_per_km": np.where(np.isnan(frequency), np.nan, attenuation),
        "diffraction_loss_db": both(np.nan_to_num(diffraction)),
        "reflection_loss_db": both(np.nan_to_num(mirror.loss_db)),
        "noise_rise_db": np.full(2 * count, design.project.noise_rise_db),
        "rain_rate_mm_h": climate_values["rain_rate_mm_h"],
        "rain_k": np.asarray(rain_coefficients[0]),
        "rain_alpha": np.asarray(rain_coefficients[1]),
        "occurrence_percent": occurrence.percent,
        "latitude_deg": np.nan_to_num(both(hops.middle_latitude), nan=DEFAULT_LATITUDE_DEG),
        "inclination_mrad": np.nan_to_num(np.asarray(multipath.inclination_mrad(
            distance_km=distance, height1_m=heights[0], height2_m=heights[1]
        ))),
    }, occurrence.method[::2]  # fmt: skip


#: Where no coordinates are given: the latitude at which the worst month weighs most in the year
#: (P.530-17 sec. 2.3.4: the equator), the cautious choice.
DEFAULT_LATITUDE_DEG = 0.0


def _mean_terrain(hops: Hops) -> np.ndarray:
    """Mean height of the terrain along each hop [m], NaN without a profile."""
    mean = np.full(len(hops.links), np.nan)
    if hops.profile is not None:
        profile = hops.profile
        mean[hops.profiled] = profile.total(profile.ground_m) / profile.count
    return mean
