"""A figure is declared once, and everything that shows it derives from that one line.

A budget is a tuple of figures, read from top to bottom. An `Input` says where a figure stands (which
record, which column), what a blank there means, its label, unit and digits: the array that is
computed with, the yellow cell and the cell that shows it come from that. A `Term` names its
formula; the formula's keyword arguments are keys of figures above it, so that the cells of the
workbook cannot disagree with the numbers.

A subject is what a budget is made for: a row of glass, a direction of a link, a feed. It is a record
whose fields hold the records that inputs stand on, and `FAMILIES` names the catalogue of each.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.arrays import numbers
from backhaul.path.ends import Place
from backhaul.spreadsheet.formula import Cell, written

#: What a cell shows where a figure cannot be had.
NO_FIGURE = "none"


#: Where an input stands: the field of its subject that holds the record.
ROW, PART, PROJECT, SENDER, RECEIVER = "row", "part", "project", "sender", "receiver"
#: Not one cell of one record: the input is read by a function of its subject.
SUBJECT = "subject"


class Input(NamedTuple):
    """A figure that the design, a part or a rule gives.

    of: where it stands, the field of the subject that holds the record, or a function of the subject
    that gives its `Place`, None where it has none. column: of that record
    (blank = its key), or a function of the subject where it is read from more than one cell. blank:
    what a blank cell means, a figure or a function of the subject; None where it is not known.
    at: a function of the subject that names which of several figures of one column is meant
    ("1310 nm"). label and unit are those of every place that shows it.
    """

    key: str
    label: str
    unit: str = ""
    of: str | Callable[[Any], Place | None] = SUBJECT
    column: str | Callable[[Any], Any] = ""
    blank: Any = None
    at: Callable[[Any], str] | None = None
    digits: int = 2
    source: str = ""
    #: what it shows where there is no figure
    none: str = "not known"
    #: label of the yellow cell, where several lines rest on one ("gain" of "Antenna, transmitting")
    cell_label: str = ""

    formula = None
    formulas = ()
    by = total = needs = ""

    def formula_for(self, variant: str = "") -> None:
        """None: an input has no formula."""

    def read(self, subject: Any) -> Any:
        """What it holds for one subject, the blank's meaning where nothing is written.

        >>> class Row(NamedTuple):
        ...     count: int | None
        >>> class Splice(NamedTuple):
        ...     row: Row
        >>> count = Input("count", "Count", of=ROW, blank=1)
        >>> count.read(Splice(Row(3))), count.read(Splice(Row(None)))
        (3, 1)
        """
        return self.reader()(subject)

    def reader(self) -> Callable[[Any], Any]:
        """What reads one subject: many are read by the same."""
        of, column, blank = self.of, self.column or self.key, self.blank
        if callable(column):
            held = column
        elif callable(of):

            def held(subject):
                place = of(subject)
                return None if place is None else place.read()
        else:

            def held(subject):
                record = getattr(subject, of)
                return None if record is None else getattr(record, column)

        if blank is None:
            return held
        if callable(blank):
            return lambda subject: blank(subject) if (v := held(subject)) is None else v
        return lambda subject: blank if (v := held(subject)) is None else v

    def place(self, subject: Any) -> Place | None:
        """The cell that it stands in, None where it stands in none."""
        if callable(self.of):
            return self.of(subject)
        record = None if self.of == SUBJECT else getattr(subject, self.of)
        if record is None:
            return None
        column = self.key if callable(self.column) else self.column or self.key
        family = "" if self.of == ROW else subject.FAMILIES[self.of]
        return Place(record, column, family)


def gather(figures: Sequence["Input | Term"], subjects: Sequence[Any]) -> dict[str, np.ndarray]:
    """Arrays of all inputs among `figures`, one place a subject; NaN where there is no figure."""
    return {
        given.key: _array(list(map(given.reader(), subjects)))
        for given in figures
        if isinstance(given, Input)
    }


def _array(values: list[Any]) -> np.ndarray:
    if any(isinstance(value, str) for value in values):
        return np.array(values)
    return numbers(values)


class Term(NamedTuple):
    """A figure that follows from others, or that the budget computes beside the table.

    `formula` may be a mapping from a value of the given `by` to a formula, where links of one kind
    differ in method. A `total` sums the term `total` over the rows of the link.
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
    #: what it shows where there is no figure
    none: str = "not known"

    @property
    def formulas(self) -> tuple[Callable, ...]:
        """All formulas that it may have."""
        if isinstance(self.formula, Mapping):
            return tuple(self.formula.values())
        return () if self.formula is None else (self.formula,)

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


def compute(terms: Sequence[Input | Term], inputs: Mapping[str, Any]) -> dict[str, np.ndarray]:
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


def cell_formula(term: Input | Term, key_of: Callable[[str], str], variant: str = "") -> str | None:
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


def to_tenths(figures: tuple) -> tuple:
    """Levels and losses on the air to a tenth of a dB: no method there tells more."""
    return tuple(
        figure._replace(digits=1)
        if figure.unit in ("dB", "dBm", "dBi") and figure.digits == 2
        else figure
        for figure in figures
    )
