"""What the classes of a mask mean: which are water, and which water."""

from collections.abc import Iterable, Mapping

import numpy as np

from backhaul.design.columns import SURFACE_WORDS, SURFACES
from backhaul.design.model import Design
from backhaul.errors import InputError, Problem
from backhaul.tables.names import listed, squash

_OPTION = "--surface"
_WET = 1
_SHOWN = 12


def read_surfaces_option(texts: Iterable[str], design: Design) -> dict[int, str]:
    """Surfaces by class, from texts such as "80=fresh". Raises InputError with every problem."""
    names = {squash(name): name for name in (*SURFACES, *design.waters)}
    names |= {
        squash(word): name for word, name in SURFACE_WORDS.items() if squash(word) not in names
    }
    found: dict[int, str] = {}
    problems = []
    for text in texts:
        number, _, name = text.partition("=")
        known = names.get(squash(name))
        if not number.strip().isdecimal() or known is None:
            needed = f"a class and its surface: one of {listed(dict.fromkeys(names.values()))}"
            problems.append(Problem(_OPTION, f"'{text}'", needed, "write 80=fresh"))
            continue
        found[int(number)] = known
    if problems:
        raise InputError(problems)
    return found


def meanings(typed: Mapping[int, str], classes: np.ndarray, design: Design) -> Mapping[int, str]:
    """Surfaces by class; of a mask of 0 and 1 alone, 1 is the design's only water.

    classes: those under the hops, NaN outside the mask. Raises InputError where a class is not
    explained.
    """
    there = np.unique(classes[~np.isnan(classes)])
    if not np.array_equal(there, np.round(there)):
        told = ", ".join(f"{number:g}" for number in there[:_SHOWN])
        raise InputError([Problem("--mask", f"figures such as {told}", "whole numbers of classes")])
    if typed:
        return typed
    water = next(iter(design.waters)) if len(design.waters) == 1 else None
    if not design.waters:
        water = design.project.water
    if np.isin(there, (0, _WET)).all() and water is not None:
        return {_WET: water}
    shown = ", ".join(f"{number:g}" for number in there[:_SHOWN])
    raise InputError(
        [
            Problem(
                "--mask",
                f"the classes {shown} under the hops",
                "which of them is which water; the others are land",
                "say it with --surface, such as --surface 80=fresh",
            )
        ]
    )
