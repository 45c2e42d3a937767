"""Two sequences laid beside each other so that the least has to be changed, added and removed."""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Any

#: Pairs that are weighed at most; longer stretches are paired by their place alone.
MOST_WEIGHED = 250_000
#: What it costs to leave a member of one sequence without a partner.
SKIP = 50


def aligned(
    old: Sequence[Any], new: Sequence[Any], cost: Callable[[Any, Any], int | None]
) -> list[tuple[int, int]]:
    """Places of the members that belong together, in order; the same whichever comes first.

    cost: of pairing two, 0 where they are alike, None where they cannot be one thing; dearer
    than twice `SKIP` they stay apart.

    >>> aligned("abcd", "acxd", lambda a, b: 0 if a == b else None)
    [(0, 0), (2, 1), (3, 3)]
    """
    head = 0
    while head < min(len(old), len(new)) and cost(old[head], new[head]) == 0:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and cost(old[-1 - tail], new[-1 - tail]) == 0:
        tail += 1
    middle = _middle(old[head : len(old) - tail], new[head : len(new) - tail], cost)
    return [
        *((n, n) for n in range(head)),
        *((head + a, head + b) for a, b in middle),
        *((len(old) - n, len(new) - n) for n in range(tail, 0, -1)),
    ]


def _middle(old, new, cost) -> list[tuple[int, int]]:
    if not old or not new:
        return []
    if len(old) * len(new) > MOST_WEIGHED:
        return [(n, n) for n in range(min(len(old), len(new))) if cost(old[n], new[n]) is not None]
    least = _least_costs(old, new, cost)
    pairs, a, b = [], 0, 0
    while a < len(old) and b < len(new):
        own = cost(old[a], new[b])
        if own is not None and own + least[a + 1][b + 1] == least[a][b]:
            pairs.append((a, b))
            a, b = a + 1, b + 1
            continue
        skips_old = SKIP + least[a + 1][b] == least[a][b]
        skips_new = SKIP + least[a][b + 1] == least[a][b]
        if skips_old and skips_new:  # by what stands there, so that the order of the two is nothing
            skips_old = repr(old[a]) <= repr(new[b])
        a, b = (a + 1, b) if skips_old else (a, b + 1)
    return pairs


def _least_costs(old, new, cost) -> list[list[int]]:
    """Least cost from each place on to the end of both."""
    rows = [[SKIP * (len(new) - b) for b in range(len(new) + 1)]]
    for a in range(len(old) - 1, -1, -1):
        below, row = rows[-1], [0] * (len(new) + 1)
        row[-1] = SKIP * (len(old) - a)
        for b in range(len(new) - 1, -1, -1):
            best = SKIP + min(below[b], row[b + 1])
            own = cost(old[a], new[b])
            row[b] = best if own is None else min(best, own + below[b + 1])
        rows.append(row)
    return rows[::-1]


def unmoved(numbers: Sequence[int]) -> set[int]:
    """Places of a permutation that keep their order; of two that changed places, both have moved.

    >>> sorted(unmoved([0, 4, 1, 2, 3])), sorted(unmoved([1, 0]))
    ([0, 2, 3, 4], [])
    """
    inverse = [0] * len(numbers)
    for place, number in enumerate(numbers):
        inverse[number] = place
    return _longest_rising(numbers) & {inverse[n] for n in _longest_rising(inverse)}


def _longest_rising(numbers: Sequence[int]) -> set[int]:
    """Places of a longest rising run of numbers."""
    ends: list[int] = []
    at: list[int] = []
    before: list[int] = []
    for place, number in enumerate(numbers):
        length = bisect_left(ends, number)
        before.append(at[length - 1] if length else -1)
        if length == len(ends):
            ends.append(number)
            at.append(place)
        else:
            ends[length], at[length] = number, place
    found, place = set(), at[-1] if at else -1
    while place >= 0:
        found.add(place)
        place = before[place]
    return found
