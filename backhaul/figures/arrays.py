"""From records, where a missing figure is None, to arrays, where it is NaN, and back."""

from collections.abc import Iterable
from math import isfinite
from typing import Any

import numpy as np


def number(value: float | None) -> float:
    """A figure, NaN where it is missing."""
    return np.nan if value is None else value


def numbers(values: Iterable[float | None], blank: float = np.nan) -> np.ndarray:
    """An array of figures, `blank` where one is missing.

    >>> numbers([1.0, None])
    array([ 1., nan])
    """
    return np.array([blank if value is None else value for value in values], dtype=float)


def distinct(values: np.ndarray) -> np.ndarray:
    """Sorted, each once. A plain `np.unique` loads numpy's masked arrays, 20 ms of every start.

    >>> distinct(np.array([3, 1, 3]))
    array([1, 3])
    """
    return np.unique(values, return_index=True)[0]


def plain_number(value: float | None) -> float | None:
    """A figure for JSON: NaN and infinity become None.

    >>> plain_number(1.5), plain_number(np.inf)
    (1.5, None)
    """
    return None if value is None or not isfinite(value) else float(value)


def plain(values: Any) -> list[Any]:
    """A list for JSON: NaN and infinity become None.

    >>> plain(np.array([1.5, np.nan]))
    [1.5, None]
    """
    array = np.asarray(values)
    if array.dtype.kind != "f":
        return array.tolist()
    return [
        value if finite else None
        for value, finite in zip(array.tolist(), np.isfinite(array).tolist(), strict=True)
    ]
