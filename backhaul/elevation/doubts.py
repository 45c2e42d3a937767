"""Levels that look like no data that a file does not declare: even stretches of 0 m or a whole figure below."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from backhaul.design.columns import TERRAIN
from backhaul.elevation.hops import Hop
from backhaul.elevation.remarks import Remark, of_stretches
from backhaul.findings import FAIL, THIN

#: A stretch of 0 m or below so far below the ground beside it within two steps is no ground [m]: shores
#: are lower, and cliffs over the sea are told as water; above 0 m it is asked for from this step on, as
#: banks of lakes are lower on the one side or the other (common practice).
STEPS_DOWN_M, BANKS_M = 10.0, 30.0
#: Places in a row that make a stretch; those beside it are mixed with it by the sampling.
_LEAST, _MIXED = 2, 2
#: A surface model further below the ground than both may be off, or further above than trees and
#: most buildings, is of another datum or unit [m]: common practice.
BELOW_M, TALL_M = 5.0, 100.0
#: What the column of it may hold [m].
MOST_COVER_M = next(column.high for column in TERRAIN if column.name == "cover_m") or np.inf
#: A step between two files this many times as high as those beside it is none of the ground.
_STEEPER = 3.0
#: Of one level to so many digits: between equal cells the sampling leaves a trace.
_DIGITS = 6
_ASK = "where it is water, say so with --mask; else declare the file's no-data value"


class Doubtful(NamedTuple):
    """Places that are no ground; that may be the sea; that may be a lake, or no data."""

    stripe: np.ndarray
    sea: np.ndarray
    sunk: np.ndarray


def doubtful(level_m: np.ndarray) -> Doubtful:
    """Even stretches that look like what a file does not say.

    >>> found = doubtful(np.array([90.0, 90, 40, 0, 0, 0, 50, 90, 90]))
    >>> found.stripe.tolist() == [False, True, True, True, True, True, True, True, False]
    True
    >>> doubtful(np.array([9.0, 4, 0, 0, 0])).sea.tolist()
    [False, False, True, True, True]
    >>> doubtful(np.array([99.0, 80, 60, 60, 60, 70, 99])).sunk.tolist()[2:5]
    [True, True, True]
    """
    found = Doubtful(*(np.zeros(len(level_m), bool) for _ in Doubtful._fields))
    for first, last in _even(level_m):
        level = round(float(level_m[first]), _DIGITS)
        beside = _beside(level_m, first, last)
        down = min(beside, default=-np.inf) - level
        if level <= 0 and level == round(level) and down > STEPS_DOWN_M:
            found.stripe[max(first - _MIXED, 0) : last + _MIXED + 1] = True
        elif level == 0:
            found.sea[first : last + 1] = True
        elif down > BANKS_M and len(beside) == 2:
            found.sunk[first : last + 1] = True
    return found


def _beside(level_m: np.ndarray, first: int, last: int) -> list[float]:
    """The ground two steps before and after a stretch, or what is there of it."""
    found = []
    for nearest, side in ((first - 1, -1), (last + 1, 1)):
        for place in (nearest + side, nearest):
            if 0 <= place < len(level_m) and np.isfinite(level_m[place]):
                found.append(float(level_m[place]))
                break
    return found


def _even(level_m: np.ndarray) -> Iterator[tuple[int, int]]:
    """First and last place of every stretch of one level."""
    level = np.round(level_m, _DIGITS)
    starts = np.flatnonzero(np.append(True, level[1:] != level[:-1]))
    ends = np.append(starts[1:] - 1, len(level) - 1)
    even = np.isfinite(level[starts]) & (ends - starts + 1 >= _LEAST)
    yield from zip(starts[even].tolist(), ends[even].tolist(), strict=True)


def of_doubts(hop: Hop, distance_m: np.ndarray, found: Doubtful) -> Iterator[Remark]:
    """What is asked about, and taken as ground."""
    said = "exactly 0 m: the sea, or no data that the file does not declare; taken as ground"
    for remark in of_stretches(hop, distance_m, found.sea, said, THIN):
        yield remark._replace(remedy=_ASK)
    said = (
        "one level, far under the ground on both sides: water, or no data that the file does not "
        "declare; taken as ground"
    )
    for remark in of_stretches(hop, distance_m, found.sunk, said, THIN):
        yield remark._replace(remedy=_ASK)


def of_seams(
    hop: Hop, distance_m: np.ndarray, level_m: np.ndarray, raster: np.ndarray, names: Sequence[str]
) -> Iterator[Remark]:
    """Where one file ends and another begins at a level of its own: two datums, or two units."""
    rise = np.abs(np.diff(level_m))
    for place in np.flatnonzero(np.diff(raster) != 0).tolist():
        own, beside = rise[place], np.delete(rise[max(place - 1, 0) : place + 2], min(place, 1))
        around = beside[np.isfinite(beside)].max(initial=0.0)
        if np.isfinite(own) and own > STEPS_DOWN_M and own > _STEEPER * around:
            one, other = (names[n] for n in raster[place : place + 2].tolist())
            text = (
                f"{distance_m[place]:.0f} m: {own:.1f} m up or down from {one} to {other}: "
                "are both from one datum?"
            )
            yield Remark(THIN, hop.title, text, "take files of one vertical reference")


def of_cover(
    hop: Hop, distance_m: np.ndarray, level_m: np.ndarray, top_m: np.ndarray
) -> Iterator[Remark]:
    """A surface model that is not there, lies below the ground, or stands too high for one."""
    ground = np.isfinite(level_m)
    for remark in of_stretches(
        hop,
        distance_m,
        ground & ~np.isfinite(top_m),
        "no level in the surface model: no cover",
        THIN,
    ):
        yield remark._replace(remedy="type cover_m there")
    over = np.where(ground & np.isfinite(top_m), top_m - level_m, 0.0)
    sunk, tall = (round(float(each), 1) for each in (over.min(initial=0.0), over.max(initial=0.0)))
    if sunk < -BELOW_M:
        text = f"the surface model lies up to {-sunk:.1f} m below the ground: no cover is taken from there"
        remedy = "take both of one datum and unit, as levels, not as heights above the ground"
        yield Remark(THIN, hop.title, text, remedy)
    if tall > TALL_M:
        text = f"the surface model stands up to {tall:.1f} m above the ground"
        remedy = "take both of one datum and unit, or survey what stands there"
        yield Remark(FAIL if tall > MOST_COVER_M else THIN, hop.title, text, remedy)


def of_stripes(
    hop: Hop, distance_m: np.ndarray, stripe: np.ndarray, severity: str
) -> Iterator[Remark]:
    """What cannot be ground, and is left out."""
    said = "an even level of 0 m or below, far under the ground beside it: taken as no level"
    for remark in of_stretches(hop, distance_m, stripe, said, severity):
        yield remark._replace(remedy=_ASK)
