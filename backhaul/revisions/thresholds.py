"""From what on a figure has moved."""

from typing import Any

#: A level or a margin [dB], any other figure as a share: rules of the comparison.
NOTICED_DB = 0.1
NOTICED_SHARE = 0.01
_DECIBELS = ("dB", "dBm", "dBi")
#: Dust of binary fractions below the threshold itself.
_DUST = 1e-9


def is_noticed(before: Any, after: Any, unit: str | None) -> bool:
    """Whether a figure moved: by more than 0.1 dB, another by more than 1 %, or is known now.

    >>> is_noticed(12.0, 12.1, "dB"), is_noticed(12.0, 12.11, "dB"), is_noticed(100, 98.9, "Mb/s")
    (False, True, True)
    """
    known = [isinstance(figure, int | float) and figure == figure for figure in (before, after)]
    if not all(known):
        return known[0] != known[1] or (not known[0] and before != after)
    apart = abs(after - before)
    if unit in _DECIBELS:
        return apart > NOTICED_DB + _DUST
    return apart > NOTICED_SHARE * max(abs(before), abs(after)) + _DUST
