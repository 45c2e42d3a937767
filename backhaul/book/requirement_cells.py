"""Limits for an equivalent as live cells, over the cells of Optical links."""

from collections.abc import Mapping

import numpy as np

from backhaul.book.formula_cells import number_format
from backhaul.book.optical_keys import light_key
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    Demand,
    Need,
    rounded_down,
    rounded_up,
)
from backhaul.spreadsheet.cells import Calc, Number
from backhaul.spreadsheet.formula import Cell

#: More links than this make a formula too long: the limit then stands as a figure.
MOST_NEEDS = 30
_SIGNS = {AT_LEAST: '"≥ "', AT_MOST: '"≤ "'}


def limit_formula(demand: Demand) -> str | None:
    """Formula text of a limit, None where it stands as it is."""
    if not demand.needs or len(demand.needs) > MOST_NEEDS:
        return None
    texts = list(dict.fromkeys(_need_text(need) for need in demand.needs))
    if demand.sense == AT_LEAST:
        return _text(rounded_up, texts, "MAX", demand.digits)
    text = _text(rounded_down, texts, "MIN", demand.digits)
    return text if demand.cap is None else np.minimum(Cell(text), demand.cap).text


def limit_cell(demand: Demand, key: str, *, sign: bool = False) -> Calc | Number:
    """The cell of a limit; `sign` puts ≥ or ≤ before it."""
    shown = number_format(demand.digits)
    if sign:
        shown = _SIGNS[demand.sense] + shown.replace(";", "")
        shown = f"{shown};{_SIGNS[demand.sense]}-{number_format(demand.digits)}"
    formula = limit_formula(demand)
    if formula is None:
        return Number(demand.limit, key=key, format=shown)
    return Calc(key, formula, demand.limit, format=shown)


def _need_text(need: Need) -> str:
    refs: Mapping[str, Cell] = {
        name: _sum([Cell.ref(light_key(*figure)) for figure in need.figures[name]])
        for name in need.influence.figures
    }
    return need.of(refs).text


def _sum(cells: list[Cell]) -> Cell:
    total = cells[0]
    for cell in cells[1:]:
        total = total + cell
    return total


def _text(rounding, texts: list[str], function: str, digits: int) -> str:
    joined = texts[0] if len(texts) == 1 else f"{function}({','.join(texts)})"
    value = Cell(joined) if len(texts) > 1 else Cell(f"({joined})")
    return rounding(value=value, digits=digits).text
