"""A formula is written once: the same numpy function gives a number, an array or cell text.

`Cell` stands for a spreadsheet cell. It implements numpy's protocols and writes down the
operations that it meets, with brackets only where a spreadsheet's precedence asks for them.
Mind two differences from Python: `-2^2` is 4 in a spreadsheet, and `^` binds to the left.
"""

import math
import re
from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np

# Spreadsheet precedence, weakest first (ISO/IEC 26300-2, OpenFormula, clause 5.5).
_COMPARE, _ADD, _MULTIPLY, _POWER, _SIGN, _ATOM = 1, 3, 4, 5, 6, 9

_INFIX = {
    np.add: ("+", _ADD),
    np.subtract: ("-", _ADD),
    np.multiply: ("*", _MULTIPLY),
    np.divide: ("/", _MULTIPLY),
    np.power: ("^", _POWER),
    np.equal: ("=", _COMPARE),
    np.not_equal: ("<>", _COMPARE),
    np.less: ("<", _COMPARE),
    np.less_equal: ("<=", _COMPARE),
    np.greater: (">", _COMPARE),
    np.greater_equal: (">=", _COMPARE),
}
_CALL = {
    np.log10: "LOG10",
    np.log: "LN",
    np.exp: "EXP",
    np.sqrt: "SQRT",
    np.absolute: "ABS",
    np.minimum: "MIN",
    np.maximum: "MAX",
    np.floor: "INT",
    np.sin: "SIN",
    np.cos: "COS",
    np.tan: "TAN",
    np.arcsin: "ASIN",
    np.arccos: "ACOS",
    np.arctan: "ATAN",
    np.radians: "RADIANS",
    np.deg2rad: "RADIANS",
    np.degrees: "DEGREES",
    np.rad2deg: "DEGREES",
    np.logical_and: "AND",
    np.logical_or: "OR",
    np.logical_not: "NOT",
    np.bitwise_and: "AND",
    np.bitwise_or: "OR",
    np.invert: "NOT",
}
_OF_TRUTHS = {"AND", "OR", "NOT"}


_HASHED = (float, int, str)  # and what derives from them; an array of one figure has no hash


class Cell(np.lib.mixins.NDArrayOperatorsMixin):
    """A spreadsheet expression under construction.

    >>> x = Cell("B4")
    >>> (2 * (x + 1) ** 2).text
    '2*(B4+1)^2'
    >>> np.where(x > -0.78, 6.9 + 20 * np.log10(x), 0.0).text
    'IF(B4>-0.78,6.9+20*LOG10(B4),0)'
    >>> (-(x**2)).text
    '-(B4^2)'
    """

    __slots__ = ("text", "rank")
    __hash__ = None  # type: ignore[assignment]  # the way to say: not hashable

    def __init__(self, text: str, rank: int = _ATOM):
        self.text = text
        self.rank = rank

    @classmethod
    def ref(cls, key: str) -> "Cell":
        """A cell named by its key; the address is known when the sheet is laid out.

        >>> (Cell.ref("light.loss_db") + 1).text
        '{light.loss_db}+1'
        """
        return cls("{" + key + "}")

    def __repr__(self) -> str:
        return f"Cell({self.text!r})"

    def __bool__(self) -> bool:
        raise TypeError("a cell has no truth value: use np.where, np.logical_and, np.logical_or")

    def __array_ufunc__(self, ufunc, method, *inputs, **kwargs):
        if method != "__call__" or kwargs:
            return NotImplemented
        if ufunc in _INFIX:
            return _infix(*_INFIX[ufunc], *inputs)
        if ufunc in _CALL:
            return _call(_CALL[ufunc], *inputs)
        if ufunc is np.negative:
            return Cell("-" + _bracketed(inputs[0], _ATOM), _SIGN)
        if ufunc is np.positive:
            return inputs[0]
        if ufunc is np.square:
            return inputs[0] ** 2
        if ufunc is np.ceil:
            return -_call("INT", -inputs[0])
        return NotImplemented

    def __array_function__(self, func, types, args, kwargs):
        writer = _FUNCTIONS.get(func)
        return NotImplemented if writer is None else writer(*args, **kwargs)


_TRUTHS = (Cell, bool, np.bool_)


def written(formula: Callable, keys: Mapping[str, str]) -> str:
    """Text of a formula over cells: `keys` names the cell of each argument.

    The formula is traced once; for other cells its text is only put together anew.
    >>> def loss_db(*, length_km, attenuation_db_per_km): return length_km * attenuation_db_per_km
    >>> written(loss_db, {"length_km": "run.km", "attenuation_db_per_km": "class.db_km"})
    '{run.km}*{class.db_km}'
    """
    pieces = list(_traced(formula, tuple(keys)))
    pieces[1::2] = ["{" + keys[name] + "}" for name in pieces[1::2]]
    return "".join(pieces)


_REFERENCE = re.compile(r"\{([^{}]*)\}")


@lru_cache(maxsize=512)
def _traced(formula: Callable, names: tuple[str, ...]) -> tuple[str, ...]:
    """Text of a formula cut at its arguments: text and names by turns."""
    result = formula(**{name: Cell.ref(name) for name in names})
    return tuple(_REFERENCE.split(_as_cell(result).text))


def _where(condition, yes, no) -> Cell:
    return _call("IF", condition, yes, no)


def _round(value, decimals=0) -> Cell:
    return _call("ROUND", value, decimals)


def _sum(cells) -> Cell:
    return _call("SUM", cells)


_FUNCTIONS: dict[Callable, Callable] = {np.where: _where, np.round: _round, np.sum: _sum}


@lru_cache(maxsize=4096, typed=True)
def _known_literal(value) -> Cell:
    return _literal(value)


def _literal(value) -> Cell:
    if isinstance(value, str):
        return Cell(text_literal(value))
    if isinstance(value, (bool, np.bool_)):
        return Cell("TRUE" if value else "FALSE")
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{number} cannot stand in a cell")
    if number == math.pi:
        return Cell("PI()")
    text = repr(int(number)) if number == int(number) and abs(number) < 1e15 else repr(number)
    return Cell(text.replace("e", "E"), _SIGN if number < 0 else _ATOM)


#: Characters of a text inside a formula, less room for doubled quotes.
_PIECE = 120


def text_literal(text: str) -> str:
    """A text as it stands in a formula; braces, which mark keys here, by their code.

    >>> print(text_literal('an "a" b'), text_literal("a{b"))
    "an ""a"" b" ("a"&CHAR(123)&"b")
    """
    pieces = []
    for part in re.split(r"([{}])", text):
        if part in ("{", "}"):
            pieces.append(f"CHAR({ord(part)})")
        for begin in range(0, len(part) if part not in ("{", "}") else 0, _PIECE):
            piece = part[begin : begin + _PIECE].replace('"', '""')
            pieces.append(f'"{piece}"')
    if not pieces:
        return '""'
    return pieces[0] if len(pieces) == 1 else f"({'&'.join(pieces)})"


def _as_cell(value) -> Cell:
    if isinstance(value, Cell):
        return value
    return _known_literal(value) if isinstance(value, _HASHED) else _literal(value)


def _bracketed(value, weakest: int) -> str:
    """The text of an operand, in brackets if it binds more weakly than `weakest`."""
    cell = _as_cell(value)
    return cell.text if cell.rank >= weakest else f"({cell.text})"


def _infix(sign: str, rank: int, left, right) -> Cell:
    if rank == _POWER:
        return Cell(f"{_bracketed(left, _ATOM)}^{_bracketed(right, _ATOM)}", rank)
    if rank == _COMPARE:
        return Cell(f"{_bracketed(left, rank + 1)}{sign}{_bracketed(right, rank + 1)}", rank)
    right_cell = _as_cell(right)
    right_weakest = _ATOM if right_cell.rank == _SIGN else rank + 1
    return Cell(f"{_bracketed(left, rank)}{sign}{_bracketed(right_cell, right_weakest)}", rank)


def _call(name: str, *arguments) -> Cell:
    if name in _OF_TRUTHS and not all(isinstance(each, _TRUTHS) for each in arguments):
        raise TypeError(f"{name} of a number: what it means as a truth value differs by engine")
    return Cell(f"{name}({','.join(_as_cell(argument).text for argument in arguments)})")
