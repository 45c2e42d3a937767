"""Every cell formula: number, array and spreadsheet agree; a blank never warns."""

import importlib
import inspect
import pkgutil

import formualizer
import numpy as np
import pytest

from backhaul import physics
from backhaul.physics import (
    availability,
    diffraction,
    gas,
    geometry,
    multipath,
    multipath_time,
    rain,
)
from backhaul.physics.profiles import clear_and_zone, profiles
from backhaul.physics.spherical_earth import spherical_loss_db
from backhaul.spreadsheet.formula import Cell

MODULES = [
    importlib.import_module(f"backhaul.physics.{info.name}")
    for info in pkgutil.iter_modules(physics.__path__)
]
#: Data alone: what the formulas of another module sum.
DATA = ("gas_lines",)
FORMULAS = [
    pytest.param(getattr(module, name), id=f"{module.__name__.rpartition('.')[2]}.{name}")
    for module in MODULES
    for name in getattr(module, "CELL_FORMULAS", ())
]

#: Two plausible values of each argument; the second often lies beyond a branch.
VALUES = {
    "above_rain_height_m": (-300.0, 20.0),
    "air_c": (20.0, 45.0),
    "air_kg_m3": (1.25, 1.1),
    "alpha": (0.98, 1.5),
    "alpha_h": (0.88, 1.6),
    "alpha_v": (0.85, 1.5),
    "ampacity_a": (23.0, 16.5),
    "angle_deg": (10.0, 60.0),
    "area_mm2": (0.205, 2.5),
    "array_to_load": (1.0, 1.2),
    "attenuation_db_per_km": (0.4, 0.35),
    "attenuator_max_db": (7.7, 1.5),
    "attenuator_min_db": (6.3, 0.5),
    "azimuth_deg": (1.0, 311.2),
    "back_off_db_per_db": (1.0, 0.33),
    "bandwidth_mhz": (40.0, 2160.0),
    "battery_wh": (2400.0, 4800.0),
    "battery_c": (-5.0, 30.0),
    "cold_percent_k": (0.4, 0.8),
    "dark_percent": (68.0, 50.0),
    "duty_percent": (25.0, 100.0),
    "night_percent": (70.0, 30.0),
    "beamwidth_deg": (6.0, 0.5),
    "breaker_a": (16.0, 10.0),
    "bulge_m": (2.0, 30.0),
    "cage_rise_c": (15.0, 10.0),
    "channel_limit_db": (6.2, 2.6),
    "channel_margin_db": (0.08, 3.0),
    "channel_mhz": (80.0, 20.0),
    "conducted_max_dbm": (30.0, 24.0),
    "cord_derating": (0.2, 0.5),
    "cords_max_m": (27.0, 21.0),
    "count": (3, 0),
    "cross_polar_db": (0.0, 25.0),
    "current_a": (0.6, 1.2),
    "day_wh": (266.7, 1200.0),
    "days": (30.0, 10.0),
    "declination_deg": (3.0, -7.5),
    "deviation_m": (0.5, 0.0),
    "diameter_m": (0.6, 1.2),
    "discrimination_limit_db": (25.0, 2.0),
    "dispersion_ps_per_nm_km": (18.0, -3.5),
    "dispersion_slope_ps_nm2_km": (0.092, 0.09),
    "distance1_km": (4.0, 11.0),
    "distance2_km": (8.0, 23.0),
    "distance_factor": (0.9, 2.5),
    "distance_km": (12.0, 40.0),
    "dn1_n_per_km": (-300.0, -120.0),
    "dn75": (11.6, 200.0),
    "drag_coefficient": (1.4, 1.2),
    "duty": (1.0, 0.4),
    "each_db": (0.75, 0.3),
    "effective1_m": (18.0, 40.0),
    "effective2_m": (14.0, 25.0),
    "efficiency": (0.55, 1.0),
    "eirp_dbm": (39.5, 53.0),
    "eirp_max_dbm": (53.0, 30.0),
    "elevation_deg": (0.0, 30.0),
    "end_pair_db": (0.5, 0.3),
    "exceeded_0_01_db": (22.0, 0.0),
    "factor": (4e-05, 0.0009),
    "fade_db": (10.0, 35.0),
    "far_effective_m": (14.0, 30.0),
    "far_height_m": (60.0, 20.0),
    "fixed_length_m": (84.0, 90.0),
    "fixed_m": (90.0, 20.0),
    "free_space_loss_db": (130.0, 90.0),
    "frequency_exponent": (0.12, 0.38),
    "frequency_ghz": (5.8, 60.48),
    "fresnel_m": (11.4, 1.2),
    "gain_dbi": (23.0, 50.0),
    "gain_difference_db": (0.0, 3.0),
    "gain_free_dbi": (6.0, 23.0),
    "gas_db_per_km": (0.0093, 15.0),
    "gauge": (24, 10),
    "glass_km": (4.0, 9.5),
    "gradient_n_per_km": (-40.0, 100.0),
    "grazing_deg": (0.2, 1.5),
    "group_index": (1.468, 1.4676),
    "height1_m": (60.0, 20.0),
    "height2_m": (80.0, 20.0),
    "height_m": (30.0, 110.0),
    "hops": (2, 5),
    "improvement": (200.0, 1.0),
    "inclination_mrad": (0.7, 0.0),
    "interference_dbm": (-90.0, -110.0),
    "k": (0.4, 0.0005),
    "k_factor": (4 / 3, 0.6),
    "k_h": (0.4, 0.00056),
    "k_v": (0.38, 0.0004),
    "latitude1": (51.5, -33.9),
    "latitude2": (51.52, -34.05),
    "latitude_deg": (30.0, -65.0),
    "launch_dbm": (-5.0, 1.0),
    "launch_max_dbm": (4.0, -3.0),
    "launch_min_dbm": (-9.0, -8.2),
    "least_db_per_km": (0.18, 0.3),
    "length_km": (2.0, 9.5),
    "length_m": (80.0, 640.0),
    "limit_w_m2": (10.0, 50.0),
    "load_class": (6, 2),
    "load_v": (42.5, 221.0),
    "load_var": (12.0, 0.0),
    "load_w": (24.0, 90.0),
    "log_k": (-5.24, -3.8),
    "longitude1": (-0.15, 151.2),
    "longitude2": (-0.1, 151.51),
    "loop_ohm": (9.38, 0.0),
    "loop_reactance_ohm": (0.1, 0.0),
    "loss_db": (0.5, 20.0),
    "loss_max_db": (4.7, 12.0),
    "loss_min_db": (0.5, 8.0),
    "lower_height_m": (60.0, 5.0),
    "margin_db": (30.0, 0.0),
    "mean_db": (5.0, 3.2),
    "measured_db": (0.0, 4.0),
    "multipath_year_percent": (0.002, 99.5),
    "noise_dbm": (-92.0, -70.6),
    "noise_figure_db": (5.0, 10.0),
    "noise_rise_db": (0.0, 3.0),
    "nominal_v": (230.0, 48.0),
    "nu": (1.2, -2.0),
    "obstacle_m": (18.0, 5.0),
    "occurrence_percent": (10.4, 0.0),
    "offset_deg": (0.5, 0.1),
    "ohm_per_km": (93.8, 7.41),
    "outage_percent": (0.01, 1.0),
    "overlap_share": (0.5, 1.0),
    "output_w": (960.0, 800.0),
    "overload_dbm": (-3.0, 0.5),
    "overload_margin_db": (-6.5, 3.0),
    "own_w": (10.0, 3.0),
    "pairs": (2, 4),
    "passed_on_w": (51.0, 0.0),
    "path_height_m": (61.0, 400.0),
    "path_loss_db": (129.4, 140.0),
    "path_target_percent": (99.9, 99.99),
    "penalty_db": (3.3, 0.0),
    "percent": (0.01, 0.5),
    "poe_class": (0, 4),
    "power_dbm": (17.0, 27.0),
    "power_factor": (0.9, 1.0),
    "power_margin_db": (2.88, -1.0),
    "psd_max_dbm_mhz": (17.0, 11.0),
    "radius_km": (8494.7, 6371.0),
    "rain_db_per_km": (10.8, 0.2),
    "rain_mm_per_h": (42.0, 0.0),
    "rain_percent": (0.004, 1.0),
    "ray_m": (30.0, 70.0),
    "reach_m": (100.0, 55.0),
    "reactance_ohm_per_km": (0.08, 0.0),
    "received_dbm": (-60.0, -71.0),
    "reflection": (1.0, 2.56),
    "reflection_loss_db": (0.0, 12.0),
    "repair_allowance_db": (1.0, 0.0),
    "rise_k": (0.0, 20.0),
    "roughness_m": (42.0, 5.0),
    "roughness_parameter": (0.42, 2.0),
    "rx_discrimination_db": (0.0, 30.0),
    "rx_gain_dbi": (28.0, 34.0),
    "rx_max_nm": (1355.0, 1600.0),
    "rx_min_nm": (1270.0, 1260.0),
    "sections": (4, 1),
    "sensitivity_dbm": (-77.0, -64.0),
    "shallow_q": (2.9, 2.1),
    "sigma_db": (0.14, 0.04),
    "sigma_db_per_km": (0.02, 0.03),
    "source_class": (8, 0),
    "source_v": (48.0, 230.0),
    "source_w": (30.0, 90.0),
    "spacing_m": (10.0, 2.0),
    "splices": (3, 0),
    "statistical_loss_db": (1.32, 0.9),
    "sun_hours": (3.0, 1.5),
    "surface_reflection": (0.0008, 0.05),
    "temperature_c": (20.0, 55.0),
    "temperature_k": (288.15, 303.15),
    "terrain_m": (30.0, 0.0),
    "tilt_deg": (0.0, 45.0),
    "total_pressure_hpa": (1013.25, 900.0),
    "transition_db": (26.2, 18.0),
    "transition_percent": (0.025, 1e-05),
    "transition_q": (1.6, -0.5),
    "trip_multiple": (5.0, 10.0),
    "tx_discrimination_db": (0.0, 40.0),
    "tx_max_nm": (1360.0, 1500.0),
    "tx_min_nm": (1260.0, 1480.0),
    "use_percent": (50.0, 57.6),
    "vapour_density_g_m3": (7.5, 20.0),
    "variance_db2": (0.04, 0.09),
    "victim_ghz": (5.81, 60.48),
    "victim_mhz": (20.0, 2160.0),
    "wanted_overload_margin_db": (1.0, 0.0),
    "wave_height_m": (2.0, 0.0),
    "wavelength_m": (0.05, 0.005),
    "wavelength_nm": (1310.0, 1550.0),
    "wind_m_s": (45.0, 20.0),
    "worst_month_percent": (0.01, 0.5),
    "year_gain_db": (6.6, 10.8),
    "zero_dispersion_max_nm": (1324.0, 1322.0),
    "zero_dispersion_min_nm": (1300.0, 1302.0),
    "zero_dispersion_nm": (1300.0, 1324.0),
    "zone": (1, 2),
}
EACH = pytest.mark.parametrize("formula", FORMULAS)

#: Words rather than figures: what is not known is neither, and its docstring says which.
VERDICTS = {
    "ac_solvable",
    "attenuator_settles",
    "bundle_matters",
    "dc_solvable",
    "is_credible_reading",
    "outage_bound",
    "outside_main_lobe",
    "window_overlap",
}
#: An unknown voltage grants no class: -1.
NONE_GRANTED = {("granted_class", "source_v"), ("assigned_class", "source_v")}


def arguments(formula):
    return list(inspect.signature(formula).parameters)


@EACH
def test_number_array_and_cell_agree(formula):
    names = arguments(formula)
    text = "=" + formula(**{key: Cell(f"{chr(65 + n)}1") for n, key in enumerate(names)}).text
    as_arrays = formula(**{key: np.array(VALUES[key], dtype=float) for key in names})
    for which in (0, 1):
        book = formualizer.Workbook()
        book.add_sheet("S")
        for column, key in enumerate(names, start=1):
            book.set_value("S", 1, column, float(VALUES[key][which]))
        book.set_formula("S", 2, 1, text)
        number = float(formula(**{key: VALUES[key][which] for key in names}))
        assert float(book.evaluate_cell("S", 2, 1)) == pytest.approx(number, rel=1e-9, abs=1e-12)
        assert as_arrays[which] == pytest.approx(number, rel=1e-12)


@EACH
def test_blank_stays_blank_and_does_not_warn(formula):
    """Warnings are errors in this suite; an unknown argument must not give a figure."""
    name = formula.__name__
    for blank in arguments(formula):
        given = {key: np.array(VALUES[key], dtype=float) for key in arguments(formula)}
        given[blank] = np.array([np.nan, VALUES[blank][1]])
        result = formula(**given)
        assert np.shape(result) == (2,)
        if name not in VERDICTS and (name, blank) not in NONE_GRANTED:
            assert np.isnan(result[0]), f"an unknown {blank} must not give a figure"


@EACH
def test_formula_is_keyword_only_and_has_an_example(formula):
    kinds = {p.kind for p in inspect.signature(formula).parameters.values()}
    assert kinds == {inspect.Parameter.KEYWORD_ONLY}
    assert ">>>" in formula.__doc__


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_methods_and_ranges_are_data(module):
    if module.__name__.endswith(DATA):
        return
    assert module.METHODS and all(method.subject and method.document for method in module.METHODS)
    assert module.RANGES and all(low < high for low, high in module.RANGES.values())


def test_array_code_does_not_warn_on_blanks():
    nan = np.nan
    k, alpha = rain.coefficients(frequency_ghz=np.array([5.8, nan]), tilt_deg=90.0)
    assert np.isnan([k[1], alpha[1]]).all()
    sky = gas.hop_attenuation(
        frequency_ghz=[5.8, nan],
        total_pressure_hpa=[1013.25, 1000],
        vapour_density_g_m3=[nan, 7],
        temperature_c=15,
        channel_mhz=40,
    )
    assert np.isnan(sky.total_db_per_km).all()
    hop = {"distance_km": [30, nan], "frequency_ghz": 6.5, "height1_m": [nan, 3], "height2_m": 5}
    assert np.isnan(multipath.occurrence(**hop, dn1_n_per_km=[-300, -300]).percent).all()
    unknown = multipath_time.year_fading_percent(
        occurrence_percent=np.array([nan]), fade_db=10.0, year_gain_db=0.0
    )
    assert np.isnan(unknown).all()
    fading = availability.Fading(np.array([nan]), np.array([0.12]), np.array([1.0]), 6.0)
    down = availability.outage(margin_db=np.array([20.0]), fading=fading)
    assert np.isnan(down.outage_percent[0])
    assert np.isnan(availability.outage(margin_db=nan, fading=fading).outage_percent[0])
    hops = {"distance_km": np.array([10.0, nan]), "height1_m": np.array([nan, 10.0])}
    assert np.isnan(
        spherical_loss_db(**hops, height2_m=9.0, frequency_ghz=6, vertical=True, radius_km=8500.0)
    ).all()
    rough = profiles(distance_km=[0, 1, 2], ground_m=[0, nan, 0], count=[3])
    over = {"profile": rough, "height1_m": 9, "height2_m": 9, "frequency_ghz": 6}
    assert np.isnan(clear_and_zone(**over, k_factor=1)[0][1])
    assert np.isnan(diffraction.delta_bullington(**over, vertical=True).loss_db[0])
    g = geometry.geodesic(
        latitude1=[nan, 51.0], longitude1=[0, 0], latitude2=[1, 51.0], longitude2=[1, 0]
    )
    assert np.isnan(g.distance_km[0]) and g.distance_km[1] == 0 and np.isnan(g.azimuth_deg[1])
