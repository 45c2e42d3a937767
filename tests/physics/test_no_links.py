"""Formulas over no links at all: no mode left, no hop where it snows."""

import importlib
import inspect
import pkgutil

import numpy as np
import pytest

from backhaul import physics

MODULES = [
    importlib.import_module(f"backhaul.physics.{info.name}")
    for info in pkgutil.iter_modules(physics.__path__)
]
#: What does not answer for a number of links: it takes or gives records, or chooses from a list.
NOT_OF_LINKS = {
    "attenuators": {"choose_attenuator"},
    "availability": {"mode_at_target", "needed_margin_db", "outage"},
    "diffraction": {"bullington_loss_db", "delta_bullington", "smooth_heights_m"},
    "environment": {"ex_suits", "ip_meets"},
    "fiber": {"attenuation_db_per_km"},
    "geometry": {"geodesic_points"},
    "profiles": {"highest_obstacle", "needed_raise", "profiles", "signed_raise"},
    "protection": {"largest_breaker_a"},
    "sampling": {"batches", "sampled", "tightest_clearance"},
    "water_hops": {"hops_over_water"},
    "water_strips": {"wet_share", "wet_strips"},
}


def _formulas_of_links():
    for module in MODULES:
        module_name = module.__name__.rpartition(".")[2]
        for name, function in inspect.getmembers(module, inspect.isfunction):
            own = function.__module__ == module.__name__ and not name.startswith("_")
            needed = inspect.signature(function).parameters.values()
            if not own or any(each.kind is not each.KEYWORD_ONLY for each in needed):
                continue
            if name not in NOT_OF_LINKS.get(module_name, ()):
                yield pytest.param(function, id=f"{module_name}.{name}")


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("formula", _formulas_of_links())
def test_of_no_links_there_are_no_figures(formula):
    parameters = inspect.signature(formula).parameters.values()
    needed = [each.name for each in parameters if each.default is each.empty]
    found = formula(**dict.fromkeys(needed, np.zeros(0)))
    assert all(np.size(each) == 0 for each in (found if isinstance(found, tuple) else (found,)))
