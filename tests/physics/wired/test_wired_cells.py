"""Every cell formula: number, array and spreadsheet agree; a blank never warns."""

import inspect

import formualizer
import numpy as np
import pytest

from backhaul.physics import (
    attenuators,
    copper,
    energy,
    environment,
    fiber,
    latency,
    optical_margins,
    optics,
    poe,
    protection,
    supply,
    voltages,
)
from backhaul.spreadsheet.formula import Cell

MODULES = (
    *(optics, optical_margins, attenuators, fiber, copper, poe, supply, protection),
    *(voltages, energy, latency, environment),
)
FORMULAS = [(module, name) for module in MODULES for name in module.CELL_FORMULAS]

#: Two plausible values for each argument; the second often lies beyond a branch.
VALUES = {
    "length_km": (2.0, 9.5),
    "attenuation_db_per_km": (0.4, 0.35),
    "count": (3, 0),
    "each_db": (0.75, 0.3),
    "launch_dbm": (-5.0, 1.0),
    "loss_db": (6.5, 0.0),
    "launch_min_dbm": (-9.0, -8.2),
    "sensitivity_dbm": (-19.5, -14.4),
    "penalty_db": (3.3, 0.0),
    "loss_max_db": (4.7, 12.0),
    "repair_allowance_db": (1.0, 0.0),
    "channel_limit_db": (6.2, 2.6),
    "overload_dbm": (-3.0, 0.5),
    "launch_max_dbm": (4.0, -3.0),
    "loss_min_db": (0.5, 8.0),
    "overload_margin_db": (-6.5, 3.0),
    "wanted_overload_margin_db": (1.0, 0.0),
    "needed_db": (7.5, 0.0),
    "size_db": (10.0, 0.0),
    "margin_db": (9.0, -1.0),
    "mean_db": (5.0, 3.2),
    "variance_db2": (0.04, 0.09),
    "sigma_db": (0.14, 0.04),
    "splices": (3, 0),
    "sigma_db_per_km": (0.02, 0.03),
    "sections": (4, 1),
    "glass_km": (4.0, 9.5),
    "tx_min_nm": (1260.0, 1480.0),
    "tx_max_nm": (1360.0, 1500.0),
    "rx_min_nm": (1270.0, 1260.0),
    "rx_max_nm": (1355.0, 1600.0),
    "pairs": (2, 4),
    "end_pair_db": (0.5, 0.3),
    "wavelength_nm": (1310.0, 1550.0),
    "zero_dispersion_nm": (1300.0, 1324.0),
    "zero_dispersion_min_nm": (1300.0, 1302.0),
    "zero_dispersion_max_nm": (1324.0, 1322.0),
    "dispersion_slope_ps_nm2_km": (0.092, 0.09),
    "dispersion_ps_per_nm_km": (18.0, -3.5),
    "from_core_um": (62.5, 50.0),
    "to_core_um": (50.0, 62.5),
    "from_aperture": (0.275, 0.2),
    "to_aperture": (0.2, 0.275),
    "from_mode_field_um": (9.8, 8.8),
    "to_mode_field_um": (8.8, 9.2),
    "modal_bandwidth_mhz_km": (160.0, 2000.0),
    "temperature_c": (20.0, 55.0),
    "area_mm2": (0.205, 2.5),
    "gauge": (24, 10),
    "ohm_per_km": (93.8, 7.41),
    "length_m": (80.0, 640.0),
    "reach_m": (100.0, 55.0),
    "fixed_length_m": (84.0, 90.0),
    "frequency_mhz": (100.0, 1.0),
    "length_factor": (1.05, 1.02),
    "per_root_mhz": (1.82, 1.9108),
    "per_mhz": (0.0091, 0.0222),
    "root_mhz": (0.25, 0.2),
    "connector_per_root_mhz": (0.02, 0.04),
    "connectors": (4, 2),
    "floor_db": (4.0, 3.0),
    "own_w": (10.0, 3.0),
    "passed_on_w": (51.0, 0.0),
    "efficiency": (0.85, 1.0),
    "reactance_ohm_per_km": (0.08, 0.0),
    "source_v": (48.0, 230.0),
    "loop_ohm": (9.38, 0.0),
    "load_w": (24.0, 90.0),
    "load_v": (42.5, 221.0),
    "load_var": (12.0, 0.0),
    "loop_reactance_ohm": (0.1, 0.0),
    "power_factor": (0.9, 1.0),
    "current_a": (0.6, 1.2),
    "group_index": (1.468, 1.4676),
    "distance_km": (7.0, 0.4),
    "rate_mbps": (1000.0, 100.0),
    "mtu_bytes": (1500, 9000),
    "headers_bytes": (40, 28),
    "vlan_tags": (0, 1),
    "mean_mbps": (4.0, 1.5),
    "days": (30.0, 10.0),
    "power_margin_db": (2.88, -1.0),
    "channel_margin_db": (0.08, 3.0),
    "statistical_loss_db": (1.32, 0.9),
    "measured_db": (0.0, 4.0),
    "least_db_per_km": (0.18, 0.3),
    "longest_m": (60.0, 6000.0),
    "attenuator_min_db": (6.3, 0.5),
    "attenuator_max_db": (7.7, 1.5),
    "poe_class": (0, 4),
    "source_class": (8, 0),
    "load_class": (6, 2),
    "nominal_v": (230.0, 48.0),
    "fixed_m": (90.0, 20.0),
    "cord_derating": (0.2, 0.5),
    "cords_max_m": (27.0, 21.0),
    "air_c": (20.0, 45.0),
    "rise_k": (0.0, 20.0),
    "source_w": (30.0, 90.0),
    "ampacity_a": (23.0, 16.5),
    "breaker_a": (16.0, 10.0),
    "trip_multiple": (5.0, 10.0),
    "hot_ohm_per_km": (8.87, 3.7),
    "output_w": (120.0, 60.0),
    "used_w": (90.0, 70.0),
    "charge_w": (373.0, 0.0),
    "battery_wh": (2400.0, 4800.0),
    "use_percent": (50.0, 57.6),
    "day_wh": (266.7, 1200.0),
    "sun_hours": (3.0, 1.5),
    "array_to_load": (1.0, 1.2),
    "solar_w": (300.0, 600.0),
    "cage_rise_c": (15.0, 10.0),
    "power_dbm": (0.0, 4.5),
}


def arguments(formula):
    return list(inspect.signature(formula).parameters)


@pytest.mark.parametrize("module, name", FORMULAS, ids=[name for _, name in FORMULAS])
def test_number_array_and_cell_agree(module, name):
    formula = getattr(module, name)
    names = arguments(formula)
    cells = {key: Cell(f"{chr(65 + n)}1") for n, key in enumerate(names)}
    text = "=" + formula(**cells).text
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


@pytest.mark.parametrize("module, name", FORMULAS, ids=[name for _, name in FORMULAS])
def test_blank_does_not_warn(module, name):
    """Warnings are errors in this suite: a NaN in any argument must pass through quietly."""
    formula = getattr(module, name)
    for blank in arguments(formula):
        given = {key: np.array(VALUES[key], dtype=float) for key in arguments(formula)}
        given[blank] = np.array([np.nan, VALUES[blank][1]])
        assert np.shape(formula(**given)) == (2,)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_formulas_are_keyword_only_and_listed(module):
    public = {
        name
        for name, value in vars(module).items()
        if inspect.isfunction(value) and value.__module__ == module.__name__ and name[0] != "_"
    }
    assert set(module.CELL_FORMULAS) <= public
    for name in module.CELL_FORMULAS:
        kinds = {p.kind for p in inspect.signature(getattr(module, name)).parameters.values()}
        assert kinds == {inspect.Parameter.KEYWORD_ONLY}
    assert module.METHODS and module.RANGES
