"""Terms of a budget as cells: given ones refer to Inputs, the others are live formulas."""

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from backhaul.figures.judgements import Judgement
from backhaul.figures.terms import NO_FIGURE, Term, arguments, cell_formula
from backhaul.findings import FAIL, PASS, THIN, worst
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import written
from backhaul.wording import BEST_KNOWN_PERCENT, number_format

NOT_KNOWN = "not known"
#: Formats of figures that the method tells no better: the rain law ends at 0.001 % of the year; a fault
#: current leaves out what lies before the source.
AVAILABILITY_PERCENT_FORMAT = f'[>{BEST_KNOWN_PERCENT}]"≥ {BEST_KNOWN_PERCENT} %";0.000" %"'
#: The same, and rates, where 0 is that there is none.
AVAILABILITY_OR_NONE = f'[>{BEST_KNOWN_PERCENT}]"≥ {BEST_KNOWN_PERCENT} %";[=0]"none";0.000" %"'
RATE_OR_NONE = '0.0;-0.0;"no rate"'
#: Of a path that carries nothing: what its hops alone would.
AVAILABILITY_OF_HOPS = (
    f'[>{BEST_KNOWN_PERCENT}]"hops ≥ {BEST_KNOWN_PERCENT} %";[=0]"none";"hops "0.000" %"'
)
FAULT_FORMAT = '[>=1000]0.0,"k";[>=100]0;0.0'
_FORMATS = {"short_circuit_a": FAULT_FORMAT}


def term_cell(
    term: Term,
    value: Any,
    *,
    key_of: Callable[[str], str],
    given: str | None = None,
    variant: str = "",
    known: Mapping[str, bool] | None = None,
) -> SheetCell:
    """The cell of one term of one link.

    value: the figure that it has now. given: key on the Inputs sheet of a term without a formula.
    known: which terms have a figure; a formula over one that has none is not written.
    """
    key = key_of(term.key)
    shown = _FORMATS.get(term.key) or number_format(term.digits)
    formula = term.formula_for(variant)
    value = _plain(value)
    if isinstance(value, float) and not np.isfinite(value):
        if term.needs and formula is not None and _all_known(formula, known):
            return Calc(key, cell_formula(term, key_of, variant), NO_FIGURE, format=shown)
        return Text(term.none, "text right", key=key)
    if formula is not None and _all_known(formula, known):
        return Calc(key, cell_formula(term, key_of, variant), value, format=shown)
    if given is not None:
        return Calc(key, "{" + given + "}", value, format=shown)
    return Number(value, key=key, format=shown)


def _all_known(formula: Callable, known: Mapping[str, bool] | None) -> bool:
    return known is None or all(known.get(name, True) for name in arguments(formula))


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic | np.ndarray) else value


def formula_cell(
    formula: Callable,
    key: str,
    refs: Mapping[str, str],
    values: Mapping[str, Any],
    *,
    digits: int = 2,
    unit: str = "",
) -> SheetCell:
    """A cell of any formula: `refs` are keys of cells, `values` their figures now."""
    value = _plain(formula(**values))
    if isinstance(value, float) and not np.isfinite(value):
        return Text(NOT_KNOWN, "text right", key=key)
    text = written(formula, refs)
    return Calc(key, text, value, unit=unit, format=number_format(digits))


def verdict_cell(
    formula: Callable, key: str, refs: Mapping[str, str], values: Mapping[str, Any]
) -> Verdict:
    """A live verdict; `thin` where a figure is missing."""
    if any(isinstance(v, float) and not np.isfinite(v) for v in map(_plain, values.values())):
        return Verdict(THIN, key=key)
    text = written(formula, refs)
    return Verdict(str(_plain(formula(**values))), formula=text, key=key)


def judged_cell(
    judgement: Judgement, key: str, key_of: Callable[[str], str], values: Mapping[str, Any]
) -> Verdict:
    """The live verdict of a declared judgement; its word alone where a figure is missing.

    key_of: key of the cell of a figure; values: what the figures are now.
    """
    now = {name: _plain(values[figure]) for name, figure in judgement.of.items()}
    now = {name: np.nan if value is None else float(value) for name, value in now.items()}
    word = str(judgement.words({judgement.of[name]: [value] for name, value in now.items()})[0])
    if not all(np.isfinite(list(now.values()))):
        return Verdict(word, key=key)
    refs = {name: key_of(figure) for name, figure in judgement.of.items()}
    return Verdict(word, formula=written(judgement.word, refs), key=key)


def worst_cell(
    key: str,
    parts: Mapping[str, str],
    style: str = "",
    answered: Mapping[str, str] = MappingProxyType({}),
) -> Verdict:
    """The worst of several verdict cells: `parts` are their keys and the words that they show.

    answered: cells whose thin somebody answers for, with the formula text of when that lapses; "" for
    never.
    """
    value = worst(
        PASS if word == THIN and part in answered else word for part, word in parts.items()
    )
    if not parts:
        return Verdict(PASS, key=key, style=style)
    return Verdict(value, formula=worst_formula(list(parts), answered), key=key, style=style)


#: Tests of one OR at most, well below what a function takes.
_TESTS = 200


def one_of(tests: Iterable[str]) -> str:
    """Formula text of whether one of many tests holds.

    >>> one_of(["A1=1", "A2=1"]), one_of(["A1=1"] * 201).count("OR(")
    ('OR(A1=1,A2=1)', 3)
    """
    texts = list(tests)
    while len(texts) > _TESTS:
        texts = [f"OR({','.join(texts[n : n + _TESTS])})" for n in range(0, len(texts), _TESTS)]
    return f"OR({','.join(texts)})"


def worst_formula(keys: list[str], answered: Mapping[str, str] = MappingProxyType({})) -> str:
    """Formula text of the worst of verdict cells; a thin that is answered for counts once it lapses.

    >>> worst_formula(["a", "b"])
    'IF(OR({a}="fail",{b}="fail"),"fail",IF(OR({a}="thin",{b}="thin"),"thin","pass"))'
    >>> worst_formula(["a", "b"], {"b": "{c}<1.5"})
    'IF(OR({a}="fail",{b}="fail"),"fail",IF(OR({a}="thin",AND({b}="thin",{c}<1.5)),"thin","pass"))'
    """
    return worst_of_texts((f"{{{key}}}", answered.get(key)) for key in keys)


def worst_of_texts(texts: Iterable[tuple[str, str | None]]) -> str:
    """Formula text of the worst of verdicts, each a formula text with when its thin lapses.

    "" for never, None where nobody answers for it.
    """
    pairs = list(texts)

    def thin(text: str, lapses: str | None) -> str:
        is_thin = f'{text}="{THIN}"'
        if lapses is None:
            return is_thin
        return f"AND({is_thin},{lapses})" if lapses else "FALSE"

    fails = one_of(f'{text}="{FAIL}"' for text, _ in pairs)
    thins = one_of(thin(*pair) for pair in pairs)
    return f'IF({fails},"{FAIL}",IF({thins},"{THIN}","{PASS}"))'
