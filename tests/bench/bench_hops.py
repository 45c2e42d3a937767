"""How many hops a second: the whole chain of a hop, against a loop of scalar calls of `itur`.

Run it: python tests/bench/bench_hops.py [hops] [hops of the loop]
The hops are invented and mixed: 0.9 to 86 GHz, 0.2 to 60 km, both polarizations, any climate.
The first loop has `itur` (an independent library of the same Recommendations) do rain and gas
only, which is less work than our whole chain; the second has it do what the chain does, as far
as it can: rain and gas, and for each mode the time of its margin by rain and by multipath.
"""

import sys
import time
import warnings

import numpy as np

from backhaul.physics import (
    availability,
    diffraction,
    free_space,
    gas,
    multipath,
    multipath_time,
    rain,
    water_hops,
    water_levels,
)
from backhaul.physics.profiles import profiles

PERCENTS = (1.0, 0.1, 0.01)
MODES = 12
REPEATS = 15


def mixed_hops(count, seed=1):
    """Columns of invented hops."""
    rng = np.random.default_rng(seed)
    return {
        "frequency_ghz": rng.choice(
            [0.915, 2.45, 5.2, 5.8, 6.5, 11.0, 18.7, 23.0, 38.0, 60.48, 64.8, 80.0], count
        )
        * rng.uniform(0.99, 1.01, count),
        "distance_km": np.exp(rng.uniform(np.log(0.2), np.log(60), count)),
        "tilt_deg": rng.choice([0.0, 90.0, 45.0], count),
        "rain_mm_per_h": rng.uniform(5, 120, count),
        "vapour_density_g_m3": rng.uniform(2, 25, count),
        "total_pressure_hpa": rng.uniform(850, 1030, count),
        "temperature_c": rng.uniform(-10, 35, count),
        "dn1_n_per_km": rng.uniform(-700, -80, count),
        "roughness_m": np.where(rng.random(count) < 0.3, np.nan, rng.uniform(2, 400, count)),
        "height1_m": rng.uniform(5, 300, count),
        "height2_m": rng.uniform(5, 300, count),
        "latitude_deg": rng.uniform(-65, 65, count),
        "received_dbm": rng.uniform(-75, -40, count),
    }


SENSITIVITIES_DBM = np.linspace(-92, -52, MODES)


def gas_and_rain(h):
    """What the loop of `itur` does."""
    air = gas.hop_attenuation(
        **{
            name: h[name]
            for name in (
                "frequency_ghz",
                "total_pressure_hpa",
                "vapour_density_g_m3",
                "temperature_c",
            )
        }
    )
    k, alpha = rain.coefficients(frequency_ghz=h["frequency_ghz"], tilt_deg=h["tilt_deg"])
    per_km = rain.specific_attenuation_db_per_km(k=k, alpha=alpha, rain_mm_per_h=h["rain_mm_per_h"])
    a001 = rain.exceeded_0_01_db(
        rain_db_per_km=per_km,
        distance_km=h["distance_km"],
        distance_factor=rain.distance_factor(
            distance_km=h["distance_km"],
            frequency_ghz=h["frequency_ghz"],
            alpha=alpha,
            rain_mm_per_h=h["rain_mm_per_h"],
        ),
    )
    c0 = rain.frequency_exponent(frequency_ghz=h["frequency_ghz"])
    levels = [
        rain.exceeded_db(exceeded_0_01_db=a001, frequency_exponent=c0, percent=p) for p in PERCENTS
    ]
    loss = gas.gas_loss_db(distance_km=h["distance_km"], gas_db_per_km=air.total_db_per_km)
    return a001, c0, levels, loss


def whole_chain(h):
    """k, alpha, A0.01, A at three percentages, gas, multipath, availability of twelve modes."""
    a001, c0, levels, gas_db = gas_and_rain(h)
    path = {name: h[name] for name in ("distance_km", "frequency_ghz", "height1_m", "height2_m")}
    occurrence = multipath.occurrence(
        **path, dn1_n_per_km=h["dn1_n_per_km"], roughness_m=h["roughness_m"]
    )
    gain = multipath_time.year_gain_db(
        latitude_deg=h["latitude_deg"],
        distance_km=h["distance_km"],
        inclination_mrad=multipath.inclination_mrad(
            distance_km=h["distance_km"], height1_m=h["height1_m"], height2_m=h["height2_m"]
        ),
    )
    received = h["received_dbm"] - gas_db
    margin = free_space.margin_db(
        received_dbm=received[:, None],
        sensitivity_dbm=SENSITIVITIES_DBM,
        reflection_loss_db=0.0,
        noise_rise_db=0.0,
    )
    fading = availability.Fading(
        *(part[..., None] for part in np.broadcast_arrays(a001, c0, occurrence.percent, gain))
    )
    return levels, availability.outage(margin_db=margin, fading=fading)


def loop_of_itur(h, count):
    """Rain at three percentages and gas, one scalar call after the other."""
    from itur.models import itu530, itu676

    results = []
    with np.errstate(all="ignore"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for i in range(count):
            kelvin = h["temperature_c"][i] + 273.15
            vapour = h["vapour_density_g_m3"][i] * kelvin / 216.7
            f, d = h["frequency_ghz"][i], h["distance_km"][i]
            specific = itu676.gamma_exact(
                f, h["total_pressure_hpa"][i] - vapour, h["vapour_density_g_m3"][i], kelvin
            ).value
            results.append(
                (
                    specific * d,
                    [
                        itu530.rain_attenuation(
                            0, 0, d, f, 0, p, tau=h["tilt_deg"][i], R001=h["rain_mm_per_h"][i]
                        ).value
                        for p in PERCENTS
                    ],
                )
            )
    return results


def loop_of_itur_with_modes(h, count):
    """The same, and the time that each of the modes is down by rain and by multipath."""
    from itur.models import itu530

    results = loop_of_itur(h, count)
    with np.errstate(all="ignore"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for i in range(count):
            f, d = h["frequency_ghz"][i], h["distance_km"][i]
            for margin in np.maximum(h["received_dbm"][i] - results[i][0] - SENSITIVITIES_DBM, 0.1):
                try:  # noqa: SIM105 - timed: suppress() takes time of its own
                    itu530.inverse_rain_attenuation(
                        0, 0, d, f, 0, margin, tau=h["tilt_deg"][i], R001=h["rain_mm_per_h"][i]
                    )
                except ValueError:
                    pass  # raised where the margin is never used up
                itu530.multipath_loss_for_A(
                    h["latitude_deg"][i], 0.0, h["height1_m"][i], h["height2_m"][i], d, f, margin
                )
    return results


def best_of(function, *given, repeats=REPEATS):
    """Shortest of several runs [s], and the result."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        result = function(*given)
        times.append(time.perf_counter() - begin)
    return min(times), result


def terrain(count, points, seed=2):
    """Invented profiles of mixed length."""
    rng = np.random.default_rng(seed)
    counts = rng.integers(points // 2, points * 3 // 2, count)
    length = rng.uniform(1, 40, count)
    start = np.cumsum(counts) - counts
    place = (np.arange(counts.sum()) - np.repeat(start, counts)) / np.repeat(counts - 1, counts)
    return profiles(
        distance_km=place * np.repeat(length, counts),
        ground_m=rng.uniform(0, 30, counts.sum()),
        count=counts,
    )


def main(count=10_000, looped=300):
    h = mixed_hops(count)
    few = {name: column[:looped] for name, column in h.items()}
    loop_of_itur(few, 3)  # its tables load at the first call
    chain_s, _ = best_of(whole_chain, h)
    part_s, part = best_of(gas_and_rain, h)
    loop_s, reference = best_of(loop_of_itur, few, looped, repeats=3)

    ours = np.array([part[3][:looped], part[2][2][:looped]])
    theirs = np.array([[g, r[2]] for g, r in reference]).T
    with_rain = (few["frequency_ghz"] >= 1) & (theirs[1] > 0)
    gas_off = np.abs(ours[0] / theirs[0] - 1).max()
    rain_off = np.abs(ours[1] / theirs[1] - 1)[with_rain].max()

    chain, alone, loop = count / chain_s, count / part_s, looped / loop_s
    print(f"whole chain, {count} hops x {MODES} modes: {chain_s:.3f} s, {chain:,.0f} hops/s")
    print(f"rain and gas alone:                     {part_s:.3f} s, {alone:,.0f} hops/s")
    print(f"loop of itur, {looped} hops, rain and gas:   {loop_s:.3f} s, {loop:,.0f} hops/s")
    print(
        f"whole chain against the loop: {chain / loop:,.0f} times; like for like: "
        f"{alone / loop:,.0f} times"
    )
    same_s, _ = best_of(loop_of_itur_with_modes, few, looped // 10, repeats=1)
    same = looped // 10 / same_s
    print(
        f"loop of itur with {MODES} modes, {looped // 10} hops: {same_s:.3f} s, "
        f"{same:,.0f} hops/s; whole chain against it: {chain / same:,.0f} times"
    )
    print(f"largest difference: gas {gas_off:.1e}, rain at 0.01 % {rain_off:.1e} (relative)")

    rng = np.random.default_rng(3)
    profile = terrain(count // 5, 200)
    begin = time.perf_counter()
    diffraction.delta_bullington(
        profile=profile,
        height1_m=rng.uniform(10, 60, count // 5),
        height2_m=rng.uniform(10, 60, count // 5),
        frequency_ghz=5.8,
        vertical=True,
    )
    spent = time.perf_counter() - begin
    print(
        f"delta-Bullington, {count // 5} profiles of about 200 points: {spent:.3f} s, "
        f"{count / 5 / spent:,.0f} hops/s"
    )
    over = water_hops.hops_over_water(
        distance_km=rng.uniform(1, 30, count // 10),
        height1_m=rng.uniform(8, 50, count // 10),
        height2_m=rng.uniform(8, 50, count // 10),
        water_low_m=-2.0,
        water_high_m=2.0,
        worst_k_factor=0.6,
        frequency_ghz=rng.choice([5.8, 18.0, 60.48], count // 10),
        vertical=True,
        salinity_g_per_kg=35.0,
    )
    begin = time.perf_counter()
    water_levels.deepest_fade(over)
    spent = time.perf_counter() - begin
    print(
        f"water-level sweep at four k, {count // 10} hops: {spent:.3f} s, "
        f"{count / 10 / spent:,.0f} hops/s"
    )


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
