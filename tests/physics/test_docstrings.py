"""Every public formula says what it takes, what it gives, where it holds and who says so."""

import importlib
import inspect
import pkgutil
import re

import pytest

from backhaul import physics

#: What an argument is measured in, or whose height, place or limit it is, at the end of its name.
UNIT = re.compile(
    r"_(dbi?|dbm|dbm_mhz|db_per_(km|db)|db2|m|km|mm2|nm|g?hz|mhz|deg|mrad|c|k|w|wh|v|a|var|percent"
    r"|ohm|ohm_per_km|mbps|us|hpa|g_m3|kg_m3|g_per_kg|m_s|w_m2|days|hours|mm_per_h|n_per_km"
    r"|ps_per_nm_km|ps_nm2_km)$"
)

#: What a figure without a unit is, in words.
NO_UNIT = re.compile(
    r"\[[^\]]+\]|\b(whether|rank|class|numerals|group|share|index|number|one|record|which|none)\b",
    re.IGNORECASE,
)


def formulas():
    for info in pkgutil.iter_modules(physics.__path__):
        module = importlib.import_module(f"backhaul.physics.{info.name}")
        for name, value in vars(module).items():
            own = inspect.isfunction(value) and value.__module__ == module.__name__
            if own and not name.startswith("_"):
                yield pytest.param(value, id=f"{info.name}.{name}")


FORMULAS = list(formulas())


@pytest.mark.parametrize("formula", FORMULAS)
def test_cannot_be_called_wrongly(formula):
    """Figures are named in the call, only a record or a function may stand first; each argument has
    a type, and so has the result."""
    signature = inspect.signature(formula)
    arguments = list(signature.parameters.values())
    assert {each.kind for each in arguments[1:]} <= {inspect.Parameter.KEYWORD_ONLY}
    assert all(each.annotation is not each.empty for each in arguments)
    assert signature.return_annotation is not signature.empty


@pytest.mark.parametrize("formula", FORMULAS)
def test_says_what_it_gives(formula):
    assert NO_UNIT.search(formula.__doc__), formula.__doc__


@pytest.mark.parametrize("formula", FORMULAS)
def test_says_what_it_takes(formula):
    """Each argument has its unit in its name, or is explained."""
    words, _, _ = formula.__doc__.partition(">>>")
    names = inspect.signature(formula).parameters
    vague = [
        name for name in names if not UNIT.search(name) and not re.search(rf"\b{name}\b", words)
    ]
    assert not vague


@pytest.mark.parametrize("formula", FORMULAS)
def test_says_where_it_holds_who_says_so_and_shows_it(formula):
    for word in ("Valid:", "Source:"):
        assert formula.__doc__.count(word) == 1
        assert re.search(rf"{word}\s+\S+", formula.__doc__)
    assert ">>> " in formula.__doc__
