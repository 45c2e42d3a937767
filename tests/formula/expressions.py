"""Random expressions of the kind that formulas are made of, built from any values.

`expression(pick, depth)` gives a function of the variables. Called with numbers it gives a number,
with cells the text of a formula. `pick` is a `random.Random`. Arguments of roots, logarithms and
quotients are kept where they mean something; everything else may meet everything else.
"""

import random
from collections.abc import Callable, Mapping

import numpy as np

VARIABLES = ("a", "b", "c")
#: exact in binary, so that no engine rounds them; signs, halves and zero
VALUES = (-3.0, -2.0, -1.25, -0.5, 0.0, 0.25, 1.0, 1.5, 2.0, 4.0, 7.75)
Formula = Callable[[Mapping], object]


def expression(pick: random.Random, depth: int = 4) -> Formula:
    """A random formula."""
    if depth == 0 or pick.random() < 0.12:
        return _leaf(pick)
    return pick.choice(_MAKERS)(pick, depth - 1)


def _leaf(pick: random.Random) -> Formula:
    if pick.random() < 0.35:
        constant = pick.choice((*VALUES, np.pi, 1e-3, 12_345.5, 3, np.float64(-0.75)))
        return lambda v: constant
    name = pick.choice(VARIABLES)
    return lambda v: v[name]


def _binary(operation: Callable) -> Callable:
    def make(pick, depth):
        left, right = expression(pick, depth), expression(pick, depth)
        return lambda v: operation(left(v), right(v))

    return make


def _unary(operation: Callable) -> Callable:
    def make(pick, depth):
        inner = expression(pick, depth)
        return lambda v: operation(inner(v))

    return make


def _power(pick, depth):
    base, exponent = expression(pick, depth), pick.choice((2, 3, -1, -2, 0.5, 1.5))
    if isinstance(exponent, int):
        return lambda v: base(v) ** exponent
    return lambda v: abs(base(v)) ** exponent


def _tower(pick, depth):
    """A power in a power, on either side; the exponent may be a signed cell."""
    base, name = expression(pick, depth), pick.choice(VARIABLES)
    if pick.random() < 0.5:
        return lambda v: (abs(base(v)) ** 0.5) ** np.minimum(abs(v[name]), 2)
    return lambda v: 2 ** (-(np.minimum(abs(base(v)), 3) ** 2))


# numpy's own comparisons give a truth value of numpy also between two Python numbers; those of
# Python give a bool, whose ~ is the number -2, and what a number means as a truth value is each
# engine's own affair
_CONDITIONS = (
    np.less,
    np.less_equal,
    np.greater,
    np.greater_equal,
    lambda x, y: np.logical_and(np.less(x, y), np.less(y, 5)),
    lambda x, y: np.logical_or(np.greater(x, y), np.greater(y, 5)),
    lambda x, y: np.logical_not(np.less_equal(x, y)),
    lambda x, y: np.less(x, y) | np.less(y, 0),
    lambda x, y: np.less(x, y) & ~np.less(y, 0),
)


def _choice(pick, depth):
    left, right, yes, no = (expression(pick, depth) for _ in range(4))
    compare = pick.choice(_CONDITIONS)
    return lambda v: np.where(compare(left(v), right(v)), yes(v), no(v))


_MAKERS = (
    _binary(lambda x, y: x + y),
    _binary(lambda x, y: x - y),
    _binary(lambda x, y: x * y),
    _binary(lambda x, y: x / (abs(y) + 0.5)),
    _binary(lambda x, y: x - (-y)),
    _binary(np.minimum),
    _binary(np.maximum),
    _unary(lambda x: -x),
    _unary(lambda x: -(x**2)),
    _unary(lambda x: (-x) ** 2),
    _unary(lambda x: 1 - -x),
    _unary(abs),
    _unary(lambda x: np.sqrt(abs(x))),
    _unary(lambda x: np.log10(abs(x) + 0.01)),
    _unary(lambda x: np.log(abs(x) + 1)),
    _unary(lambda x: np.exp(np.minimum(x, 4))),
    _unary(np.sin),
    _unary(np.arctan),
    _unary(lambda x: np.cos(np.radians(x))),
    _unary(lambda x: np.degrees(np.arcsin(np.sin(x)))),
    _power,
    _tower,
    _choice,
)


def leaves(pick: random.Random) -> dict[str, float]:
    """A value for every variable."""
    return {name: pick.choice(VALUES) for name in VARIABLES}
