"""Every radio cell formula: number, array and spreadsheet agree; a blank never warns."""

import inspect

import formualizer
import numpy as np
import pytest

from backhaul.physics import (
    antennas,
    availability,
    diffraction,
    diversity,
    exposure,
    free_space,
    gas,
    geometry,
    interference,
    mirror_outage,
    mirror_search,
    multipath,
    multipath_time,
    rain,
    reflection,
    sampling,
    spherical_earth,
    water,
    water_levels,
    water_strips,
    wet_snow,
)
from backhaul.physics import (
    profiles as profile_module,
)
from backhaul.physics.profiles import clear_and_zone, profiles
from backhaul.physics.spherical_earth import spherical_loss_db
from backhaul.spreadsheet.formula import Cell

MODULES = (
    antennas,
    availability,
    diffraction,
    diversity,
    exposure,
    free_space,
    gas,
    geometry,
    interference,
    mirror_outage,
    mirror_search,
    multipath,
    multipath_time,
    profile_module,
    rain,
    reflection,
    sampling,
    spherical_earth,
    water,
    water_levels,
    water_strips,
    wet_snow,
)
FORMULAS = [(module, name) for module in MODULES for name in module.CELL_FORMULAS]

# Two plausible values of each argument; the second often lies beyond a branch.
VALUES = {
    "above_rain_height_m": (-300.0, 20.0),
    "cross_polar_db": (0.0, 25.0),
    "gain_difference_db": (0.0, 3.0),
    "improvement": (200.0, 1.0),
    "interference_dbm": (-90.0, -110.0),
    "other1_percent": (0.01, 0.0),
    "other2_percent": (0.2, 0.0),
    "overlap_share": (0.5, 1.0),
    "rain1_percent": (0.01, 0.0),
    "rain2_percent": (0.003, 0.02),
    "rx_discrimination_db": (0.0, 30.0),
    "rx_gain_dbi": (28.0, 34.0),
    "spacing_m": (10.0, 2.0),
    "to_azimuth_deg": (2.0, 100.0),
    "to_elevation_deg": (0.5, -3.0),
    "tx_discrimination_db": (0.0, 40.0),
    "victim_ghz": (5.81, 60.48),
    "victim_mhz": (20.0, 2160.0),
    "free_space_loss_db": (130.0, 90.0),
    "air_kg_m3": (1.25, 1.1),
    "alpha": (0.98, 1.5),
    "alpha_h": (0.88, 1.6),
    "alpha_v": (0.85, 1.5),
    "angle_deg": (10.0, 60.0),
    "availability1_percent": (99.9, 99.0),
    "availability2_percent": (99.99, 98.0),
    "back_off_db_per_db": (1.0, 0.33),
    "bandwidth_mhz": (40.0, 2160.0),
    "beamwidth_deg": (6.0, 0.5),
    "bits": (10, 8),
    "bulge_m": (2.0, 30.0),
    "chains": (2, 4),
    "channel_mhz": (80.0, 20.0),
    "clearance_m": (-8.0, 12.0),
    "code_rate": (5 / 6, 3 / 4),
    "conducted_max_dbm": (30.0, 24.0),
    "data_subcarriers": (980, 234),
    "deviation_m": (0.5, 0.0),
    "diameter_m": (0.6, 1.2),
    "discrimination_limit_db": (25.0, 2.0),
    "distance1_km": (4.0, 11.0),
    "distance2_km": (8.0, 23.0),
    "distance_factor": (0.9, 2.5),
    "distance_km": (12.0, 40.0),
    "distance_m": (2.0, 30.0),
    "dn1_n_per_km": (-300.0, -120.0),
    "dn75": (11.6, 200.0),
    "drag_coefficient": (1.4, 1.2),
    "duty": (1.0, 0.4),
    "effective1_m": (18.0, 40.0),
    "effective2_m": (14.0, 25.0),
    "efficiency": (0.55, 0.6),
    "eirp_dbm": (39.5, 53.0),
    "eirp_max_dbm": (53.0, 30.0),
    "elevation_deg": (0.0, 30.0),
    "exceeded_0_01_db": (22.0, 0.0),
    "factor": (4e-5, 9e-4),
    "fade_db": (10.0, 35.0),
    "far_effective_m": (14.0, 30.0),
    "far_height_m": (60.0, 20.0),
    "frequency_exponent": (0.12, 0.38),
    "frequency_ghz": (5.8, 60.48),
    "fresnel_m": (11.4, 1.2),
    "gain_dbi": (23.0, 50.0),
    "gain_free_dbi": (6.0, 23.0),
    "gas_db_per_km": (0.0093, 15.0),
    "gradient_n_per_km": (-40.0, 100.0),
    "grazing_deg": (0.2, 1.5),
    "height1_m": (60.0, 20.0),
    "height2_m": (80.0, 20.0),
    "height_m": (30.0, 110.0),
    "hops": (2, 5),
    "azimuth_deg": (1.0, 311.2),
    "declination_deg": (3.0, -7.5),
    "inclination_mrad": (0.7, 0.0),
    "k": (0.4, 5e-4),
    "k_factor": (4 / 3, 0.6),
    "k_h": (0.4, 5.6e-4),
    "k_v": (0.38, 4e-4),
    "latitude1": (51.5, -33.9),
    "latitude2": (51.52, -34.05),
    "latitude_deg": (30.0, -65.0),
    "limit_w_m2": (10.0, 50.0),
    "log_k": (-5.24, -3.8),
    "longitude1": (-0.15, 151.2),
    "longitude2": (-0.1, 151.51),
    "loss_db": (0.5, 20.0),
    "lower_height_m": (60.0, 5.0),
    "margin_db": (30.0, 0.0),
    "multipath_year_percent": (0.002, 99.5),
    "noise_dbm": (-92.0, -70.6),
    "noise_figure_db": (5.0, 10.0),
    "noise_rise_db": (0.0, 3.0),
    "nu": (1.2, -2.0),
    "obstacle_above_ray_m": (10.0, -20.0),
    "obstacle_m": (18.0, 5.0),
    "occurrence_percent": (10.4, 0.0),
    "offset_deg": (0.5, 0.1),
    "outage_percent": (0.01, 1.0),
    "path_height_m": (61.0, 400.0),
    "path_loss_db": (129.4, 140.0),
    "path_target_percent": (99.9, 99.99),
    "percent": (0.01, 0.5),
    "power_dbm": (17.0, 27.0),
    "power_per_chain_dbm": (14.0, 20.0),
    "psd_max_dbm_mhz": (17.0, 11.0),
    "radius_km": (8494.7, 6371.0),
    "rain_db_per_km": (10.8, 0.2),
    "rain_mm_per_h": (42.0, 0.0),
    "rain_percent": (0.004, 1.0),
    "ray_m": (30.0, 70.0),
    "received_dbm": (-60.0, -71.0),
    "reflection": (1.0, 2.56),
    "reflection_loss_db": (0.0, 12.0),
    "repetition": (1, 2),
    "roughness_m": (42.0, 5.0),
    "roughness_parameter": (0.42, 2.0),
    "sensitivity_dbm": (-77.0, -64.0),
    "shallow_q": (2.9, 2.1),
    "streams": (1, 2),
    "surface_reflection": (0.0008, 0.05),
    "sway_deg": (0.3, 1.0),
    "symbol_us": (13.6, 16.0),
    "temperature_k": (288.15, 303.15),
    "terrain_m": (30.0, 0.0),
    "tilt_deg": (0.0, 45.0),
    "to_beamwidth_deg": (3.0, 0.5),
    "to_frequency_ghz": (23.0, 38.0),
    "to_sway_deg": (0.1, 0.0),
    "total_pressure_hpa": (1013.25, 900.0),
    "transition_db": (26.2, 18.0),
    "transition_percent": (0.025, 1e-5),
    "transition_q": (1.6, -0.5),
    "vapour_density_g_m3": (7.5, 20.0),
    "wave_height_m": (2.0, 0.0),
    "wavelength_m": (0.05, 0.005),
    "wind_m_s": (45.0, 20.0),
    "worst_month_percent": (0.01, 0.5),
    "year_gain_db": (6.6, 10.8),
    "year_percent": (0.01, 0.0001),
    "zone": (1, 2),
}
EACH = pytest.mark.parametrize(
    "module, name",
    FORMULAS,
    ids=[f"{module.__name__.rpartition('.')[2]}.{name}" for module, name in FORMULAS],
)


# A verdict, not a figure: where the outage is unknown there is no bound either.
NOT_SPREAD = {
    ("outage_bound", "outage_percent"),
    ("outside_main_lobe", "angle_deg"),
    ("outside_main_lobe", "beamwidth_deg"),
}


def _arguments(formula):
    return list(inspect.signature(formula).parameters)


@EACH
def test_number_array_and_cell_agree(module, name):
    formula = getattr(module, name)
    names = _arguments(formula)
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
def test_blank_stays_blank_and_does_not_warn(module, name):
    formula = getattr(module, name)
    for blank in _arguments(formula):
        given = {key: np.array(VALUES[key], dtype=float) for key in _arguments(formula)}
        given[blank] = np.array([np.nan, VALUES[blank][1]])
        result = formula(**given)
        assert np.shape(result) == (2,)
        if (name, blank) not in NOT_SPREAD:
            assert np.isnan(result[0]), f"an unknown {blank} must not give a figure"


@EACH
def test_formula_is_keyword_only_and_says_its_unit(module, name):
    formula = getattr(module, name)
    kinds = {p.kind for p in inspect.signature(formula).parameters.values()}
    assert kinds == {inspect.Parameter.KEYWORD_ONLY}
    assert ">>>" in formula.__doc__


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_methods_and_ranges_are_data(module):
    assert all(method.document and method.edition for method in module.METHODS)
    assert all(low < high for low, high in module.RANGES.values())


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
