"""How much is tried: a share of what is much alike, or with `THOROUGH=1` all of it.

The share is spread evenly and the same every time, so that a failure can be had again; `FUZZ_SEED`
moves where it begins.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

IS_THOROUGH = os.environ.get("THOROUGH", "").lower() not in ("", "0", "false")
_BEGINS = int(os.environ.get("FUZZ_SEED") or 0)

Case = TypeVar("Case")


def one_in(count: int, cases: Sequence[Case]) -> list[Case]:
    """One in so many of these cases, all of them where it is to be thorough.

    >>> one_in(3, "abcdefg") if not IS_THOROUGH and not _BEGINS else ["a", "d", "g"]
    ['a', 'd', 'g']
    """
    if IS_THOROUGH:
        return list(cases)
    return list(cases)[_BEGINS % min(count, len(cases) or 1) :: count]


def is_tried(number: int, one_of: int) -> bool:
    """Whether the case of this number is one of those that are tried."""
    return IS_THOROUGH or (number - _BEGINS) % one_of == 0
