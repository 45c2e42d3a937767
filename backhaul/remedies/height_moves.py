"""Changes of where the antennas of a hop stand: heights, and second antennas."""

from collections.abc import Iterator
from math import ceil
from typing import Any

import numpy as np

from backhaul.budgets.reflection_remedies import (
    LEAST_SPACING_M,
    MOST_SPACING_M,
    ReflectionRemedies,
    reflection_remedies,
)
from backhaul.checks.clearance import is_off_datum
from backhaul.design.edits import Edit
from backhaul.design.hubs import SHARED
from backhaul.design.model import Segment
from backhaul.design.settings import US
from backhaul.path.ends import HopEnd
from backhaul.physics.mirror_search import TOLERANCE_M
from backhaul.remedies.moves import Candidate, Scene
from backhaul.remedies.radio_moves import hops_of
from backhaul.remedies.tolerance import mounted_within_m
from backhaul.units import M_PER_FT

#: Mounting heights are given in tenths, or rounder, in halves of a metre (common practice).
RAISE_STEPS_M = (0.1, 0.5)
#: The same in feet, or whole ones.
RAISE_STEPS_FT = (0.1, 1.0)
#: One end alone is raised by no more than this [m], else by this many times the raise of both:
#: beside what stands near it the far one gains nothing (common practice).
ONE_END_M, ONE_END_AT_MOST = 10.0, 1.5
_TENTHS = 10  # spacings are given in tenths of a metre


def heights(scene: Scene) -> Iterator[Candidate]:
    """The smallest change of both heights that keeps clearance and holds the reflection."""
    for index, row, sought in _sought(scene):
        edits, changes = _moved(scene, row, sought.change_m[index])
        if edits:
            yield Candidate(
                tuple(edits), tuple(changes), float(np.abs(sought.change_m[index]).sum())
            )


def _sought(scene: Scene) -> Iterator[tuple[int, Segment, ReflectionRemedies]]:
    """Hops over water with the heights and spacings that hold their reflection."""
    radio = scene.context.radio
    for link, row in hops_of(scene):
        sought = radio.remedies
        if not sought.is_sought[link.index]:
            sought = reflection_remedies(radio.hops, radio.reflection, radio.worst_k)
        yield link.index, row, sought


def _moved(scene: Scene, row: Segment, change_m: Any) -> tuple[list[Edit], list[str]]:
    edits, changes = [], []
    for column, change in zip(("height_m", "to_height_m"), change_m, strict=True):
        was = getattr(row, column)
        if was is None or not np.isfinite(change) or change == 0:
            continue
        if column in SHARED and not scene.may_change_hub(row):
            continue
        edits.append(scene.set(row, column, was + float(change)))
        changes.append("mast" if change > 0 else "height")
    return edits, changes


def raise_by(scene: Scene) -> Iterator[Candidate]:
    """Antennas raised by what the clearance lacks, in tenths and in half metres."""
    yield from heights(scene)
    clear = scene.context.radio.clearance
    design = scene.context.design
    off_m = mounted_within_m(design)
    in_feet = design.project.units == US
    steps_m = [step * M_PER_FT for step in RAISE_STEPS_FT] if in_feet else RAISE_STEPS_M
    for link, row in hops_of(scene):
        if is_off_datum(scene.context.radio.hops, link.index):
            continue  # by how much nobody knows before both come from one datum
        far, first, both = (
            float(lacking[link.index])
            for lacking in (clear.raise_far_m, clear.raise_first_m, clear.raise_both_m)
        )
        for near_m, far_m in ((0.0, far), (first, 0.0), (both, both)):
            alone = not (near_m and far_m)
            most = max(ONE_END_M, ONE_END_AT_MOST * both) if alone else np.inf
            if not np.isfinite(near_m + far_m) or near_m + far_m > most:
                continue
            for step in steps_m:
                change = [
                    ceil((each + off_m) / step - 1e-6) * step if each else 0.0
                    for each in (near_m, far_m)
                ]
                edits, changes = _moved(scene, row, change)
                if edits:
                    yield Candidate(tuple(edits), tuple(changes), sum(change))


def second_antenna(scene: Scene) -> Iterator[Candidate]:
    """A second antenna at the far end, at the first, or at both, so far apart as holds best."""
    for index, row, sought in _sought(scene):
        first, far = (round(float(each), 2) for each in sought.spacing_m[index])
        for spacings in ((None, far), (first, None), (first, far)):
            edits = [
                scene.set(row, column, spacing)
                for column, spacing in zip(("diversity_m", "to_diversity_m"), spacings, strict=True)
                if spacing is not None and np.isfinite(spacing)
            ]
            if edits:
                yield Candidate(tuple(edits), ("second antenna",) * len(edits))


def spacing(scene: Scene) -> Iterator[Candidate]:
    """Second antennas that stand in the way: farther off, above the first, or left out."""
    for link, row in hops_of(scene):
        if not scene.may_change_hub(row):
            continue
        ends = [
            end
            for end in scene.context.radio.hops.ends[link.index]
            if end.typed("diversity_m") is not None
        ]
        for some in (*([end] for end in ends), ends):
            for moved in _ORDER:
                edits = [
                    scene.set(row, end.column("diversity_m"), moved(end))
                    for end in some
                    if moved(end) != end.typed("diversity_m")
                ]
                if edits:
                    changes = ("height",) * len(edits)
                    yield Candidate(tuple(edits), changes, _ORDER.index(moved))


def _least(end: HopEnd) -> float:
    """Spacing at which two antennas of an end do not touch, mounted a little off or not [m]."""
    diameter_m = end.antenna_figure("diameter_m") or 0.0
    least = max(diameter_m, LEAST_SPACING_M) + TOLERANCE_M
    return ceil(least * _TENTHS - 1e-6) / _TENTHS


def _farther(end: HopEnd) -> float:
    return float(
        np.copysign(max(_least(end), abs(end.typed("diversity_m"))), end.typed("diversity_m"))
    )


def _above(end: HopEnd) -> float:
    return max(_least(end), min(abs(end.typed("diversity_m")), MOST_SPACING_M))


def _without(end: HopEnd) -> None:
    return None


_ORDER = (_farther, _above, _without)
