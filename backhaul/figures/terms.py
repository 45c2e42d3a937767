"""Budgets as lists of terms: the same list is computed for all links and written as live cells.

A term names its formula; the formula's keyword arguments are keys of terms above it. So a reader
follows a budget from top to bottom, and the workbook's cells cannot disagree with the numbers.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.spreadsheet.formula import Cell, written

#: What a cell shows where a figure cannot be had.
NO_FIGURE = "none"


class Term(NamedTuple):
    """One line of a budget.

    Without a formula it is given: a figure of the design, a part or a rule. `formula` may be a
    mapping from a value of the given `by` to a formula, where links of one kind differ in method.
    A `total` sums the term `total` over the rows of the link.
    """

    key: str
    label: str
    unit: str = ""
    formula: Callable | Mapping[str, Callable] | None = None
    by: str = ""
    total: str = ""
    #: a yes/no term that must hold; where it does not, there is no figure
    needs: str = ""
    source: str = ""
    digits: int = 2

    def formula_for(self, variant: str = "") -> Callable | None:
        """The formula that holds for a link of this variant."""
        return self.formula.get(variant) if isinstance(self.formula, Mapping) else self.formula


def arguments(formula: Callable) -> tuple[str, ...]:
    """Names of a formula's keyword arguments; those with a default are left at it.

    >>> def loss_db(*, length_km, attenuation_db_per_km): ...
    >>> arguments(loss_db)
    ('length_km', 'attenuation_db_per_km')
    """
    code, defaults = formula.__code__, formula.__kwdefaults__ or {}
    names = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
    return tuple(name for name in names if name not in defaults)


def compute(terms: tuple[Term, ...], inputs: Mapping[str, Any]) -> dict[str, np.ndarray]:
    """All terms of many links at once; `givens` holds arrays (or one figure for all).

    A figure that is missing is NaN, and so is what follows from it.
    """
    values = dict(inputs)
    for term in terms:
        if term.formula is None:
            if term.key not in values:
                raise KeyError(f"term {term.key} is neither given nor computed")
        elif isinstance(term.formula, Mapping):
            values[term.key] = _by_variant(term, values)
        else:
            needed = arguments(term.formula)
            values[term.key] = term.formula(**{name: values[name] for name in needed})
        if term.needs:
            values[term.key] = np.where(values[term.needs], values[term.key], np.nan)
    return values


def _by_variant(term: Term, values: Mapping[str, Any]) -> np.ndarray:
    variants = np.asarray(values[term.by])
    result = np.full(variants.shape, np.nan)
    for variant, formula in term.formula.items():
        mask = variants == variant
        if mask.any():
            picked = {name: _masked(values[name], mask) for name in arguments(formula)}
            result[mask] = formula(**picked)
    return result


def _masked(value: Any, mask: np.ndarray) -> Any:
    array = np.asarray(value)
    return array[mask] if array.shape == mask.shape else array


def cell_formula(term: Term, key_of: Callable[[str], str], variant: str = "") -> str | None:
    """The term as a spreadsheet formula over keyed cells, None where it is given.

    >>> def loss_db(*, length_km, attenuation_db_per_km): return length_km * attenuation_db_per_km
    >>> cell_formula(Term("loss_db", "Loss", "dB", loss_db), lambda key: f"run.{key}")
    '{run.length_km}*{run.attenuation_db_per_km}'
    """
    formula = term.formula_for(variant)
    if formula is None:
        return None
    text = written(formula, {name: key_of(name) for name in arguments(formula)})
    if term.needs:
        text = np.where(Cell.ref(key_of(term.needs)), Cell(text), NO_FIGURE).text
    return text


def missing(terms: tuple[Term, ...], values: Mapping[str, Any]) -> Iterator[str]:
    """Keys of given terms that are NaN in `values` (scalars of one link)."""
    for term in terms:
        if term.formula is None and not term.total:
            value = values.get(term.key)
            if isinstance(value, float) and value != value:
                yield term.key
