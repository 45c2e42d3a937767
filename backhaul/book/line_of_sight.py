"""Formula, inputs, limit and source in one line of sight: words of a formula, links to its inputs and back."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from backhaul.figures.terms import arguments
from backhaul.spreadsheet.cells import Calc, Link, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import written
from backhaul.spreadsheet.grid import Sheet

INPUTS = "Inputs"
_INPUT_KEY = re.compile(r"\{((?:given|eff)\.[^{}]+)\}")
_ANY_KEY = re.compile(r"\{([^{}]+)\}")
#: Signs of a cell as a reader writes them.
_SIGNS = (("*", " × "), ("-", " − "), ("+", " + "), ("/", " / "))
#: A longer text would not stand in one line.
_ONE_LINE = 38


def how_cell(how: str, shown: SheetCell | None, span: int = 1) -> Text | Link:
    """Where a figure comes from; what comes from Inputs leads to its yellow cell there."""
    found = _INPUT_KEY.search(getattr(shown, "formula", "") or "")
    if found and INPUTS in how:
        return Link(how, found.group(1), "link small", span)
    return Text(how, "text small", span)


def is_of_inputs(shown: SheetCell | None) -> bool:
    """Whether a cell rests on yellow cells of Inputs alone."""
    formula = getattr(shown, "formula", "") or ""
    keys = _ANY_KEY.findall(formula)
    return bool(keys) and len(keys) == len(_INPUT_KEY.findall(formula))


def in_words(formula: Any, labels: Mapping[str, str]) -> str:
    """A short formula in the labels of its figures; "" where it is none or too long for a line.

    >>> def level(*, launch_dbm, loss_db): return launch_dbm - loss_db
    >>> in_words(level, {"launch_dbm": "Launch", "loss_db": "Loss, highest"})
    'launch − loss, highest'
    """
    if not callable(formula):
        return ""
    names = arguments(formula)
    if not all(name in labels for name in names):
        return ""
    pieces = _ANY_KEY.split(written(formula, {name: name for name in names}))
    for place in range(0, len(pieces), 2):
        if any(letter.isalpha() for letter in pieces[place]):  # a function: not for a line
            return ""
        for sign, word in _SIGNS:
            pieces[place] = pieces[place].replace(sign, word)
    for place in range(1, len(pieces), 2):
        label = labels[pieces[place]]
        pieces[place] = label[:1].lower() + label[1:]
    text = "".join(pieces).strip()
    return text if len(names) > 1 and len(text) <= _ONE_LINE else ""


def first_uses(sheets: Iterable[Sheet]) -> dict[str, str]:
    """Key of the first cell that rests on each input: where a reader goes from Inputs."""
    found: dict[str, str] = {}
    for sheet in sheets:
        for row in sheet.rows:
            for cell in row.cells:
                if isinstance(cell, Calc | Verdict) and cell.key:
                    for key in _INPUT_KEY.findall(cell.formula):
                        found.setdefault(key, cell.key)
    return found
