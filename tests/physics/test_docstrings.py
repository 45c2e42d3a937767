"""Every public formula says what it takes, what it gives, where it holds and who says so."""

import importlib
import inspect
import pkgutil
import re

import pytest

from backhaul import physics

#: How many formulas do not yet say where they hold, and who says so: these may only fall.
WITHOUT_RANGE, WITHOUT_SOURCE = 254, 137

#: These take figures by their place yet: none may be added.
BY_PLACE = {
    "better_of_two",
    "clear_and_zone",
    "part_of",
    "rays_at",
    "reflection_outage_percent",
    "with_share",
}

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
    by_name = {each.kind for each in arguments[1:]} <= {inspect.Parameter.KEYWORD_ONLY}
    assert by_name == (formula.__name__ not in BY_PLACE)
    assert all(each.annotation is not each.empty for each in arguments)
    assert signature.return_annotation is not signature.empty


@pytest.mark.parametrize("formula", FORMULAS)
def test_says_what_it_gives(formula):
    assert NO_UNIT.search(formula.__doc__), formula.__doc__


def lacking(word: str) -> list[str]:
    return [each.id for each in FORMULAS if word not in each.values[0].__doc__]


def test_says_where_it_holds_and_what_it_gives_outside():
    assert len(lacking("Valid:")) <= WITHOUT_RANGE, lacking("Valid:")


def test_says_who_says_so():
    assert len(lacking("Source:")) <= WITHOUT_SOURCE, lacking("Source:")
