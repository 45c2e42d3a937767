"""Runs too short for the ground they cross, and joints that their order lengths force."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.cable_sections import mid_span_splices
from backhaul.budgets.orders import joints_forced
from backhaul.checks.context import Context, on_row
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.findings import THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL
from backhaul.path.routes import STRAIGHT_LINE_TOLERANCE_M, is_one_building
from backhaul.physics.geometry import geodesic, sphere_distance_km
from backhaul.units import M_PER_KM
from backhaul.wording import lengths_against

#: A geodesic is at most so much longer than the great circle of the mean sphere: the flattening
#: of WGS 84 is 1/298.
SPHERE_TOLERANCE = 1.01


def run_length(context: Context) -> Iterator[Finding]:
    """run-length: a run shorter than the straight line between its sites."""
    sites, seen, runs, ends = context.design.sites, set(), [], []
    for row in context.design.segments:
        start, end = context.network.places[row.id]
        if start == end or not KINDS[row.kind].is_run or row.length_m is None:
            continue
        if row.length_m == 0 and start and end:
            if row_key(row) not in seen:
                seen.add(row_key(row))
                yield _without_length(context, row, start, end)
            continue
        a, b = sites.get(start), sites.get(end)
        figures = a and b and (a.latitude, a.longitude, b.latitude, b.longitude)
        if figures and is_one_building(row, [a, b]):
            continue  # rooms of one building: their places are those of its entrance
        if figures and None not in figures and row_key(row) not in seen:
            seen.add(row_key(row))
            runs.append(row)
            ends.append(figures)
    for place, straight in _shorter(runs, ends):
        row = runs[place]
        start, end = context.network.places[row.id]
        typed, apart = lengths_against(row.length_m, straight)
        yield on_row(
            "run-length",
            THIN,
            row,
            "length_m",
            f"{typed} of {row.kind}, {start} and {end} lie {apart} apart",
            paths=context.network.paths_of(row),
            remedy="correct the length, by the route as it is laid, or the coordinates; "
            f"{_at_least(straight)} at the least",
            value=row.length_m,
            limit=straight,
            unit="m",
            source="WGS 84 geodesic",
        )


def _at_least(straight_m: float) -> str:
    """A straight line as the least length of a run, in whole metres.

    >>> _at_least(367.2)
    '368 m'
    """
    return f"{np.ceil(straight_m):.0f} m"


def _without_length(context: Context, row: Segment, start: str, end: str) -> Finding:
    return on_row(
        "run-length",
        THIN,
        row,
        "length_m",
        f"0 m of {row.kind} between {start} and {end}",
        paths=context.network.paths_of(row),
        remedy="write the length of the route; leave the cell blank while it is not known",
        value=0.0,
        unit="m",
    )


def _shorter(runs: list[Segment], ends: list[tuple]) -> Iterator[tuple[int, float]]:
    """Runs shorter than the straight line, with that line [m].

    The sphere tells most apart at once; the geodesic is computed where it may decide.
    """
    if not runs:
        return
    names = ("latitude1", "longitude1", "latitude2", "longitude2")
    columns = dict(zip(names, np.array(ends, dtype=float).T, strict=True))
    lengths = np.array([row.length_m for row in runs])
    most = sphere_distance_km(**columns) * M_PER_KM * SPHERE_TOLERANCE
    doubtful = np.flatnonzero(lengths < most)
    exact = geodesic(**{name: column[doubtful] for name, column in columns.items()})
    for place, straight in zip(
        doubtful.tolist(), (exact.distance_km * M_PER_KM).tolist(), strict=True
    ):
        if lengths[place] < straight - STRAIGHT_LINE_TOLERANCE_M:
            yield place, straight


def fiber_joints(context: Context) -> Iterator[Finding]:
    """fiber-joints: fewer splices between reels than the order lengths of a link force."""
    for link in context.network.links[OPTICAL]:
        forced, longest = 0, None
        for row in link.rows[1:-1]:
            # what was measured is laid: its joints are in the reading
            if KINDS[row.kind].is_run and row.measured_db is None:
                joints = joints_forced(row, context)
                if joints and longest is None:
                    longest = row
                forced += joints
        if not forced:
            continue
        have = mid_span_splices(link, context.catalog)
        if have < forced:
            yield on_row(
                "fiber-joints",
                THIN,
                longest,
                "length_m",
                f"the order lengths of {longest.part} force {_splices(forced)}, the link has "
                f"{have or 'none'} between lengths of cable",
                paths=link.paths,
                remedy=f"add {_splices(forced - have)}, or order one length that holds the run",
                value=have,
                limit=forced,
                unit="splices",
                source="common practice: a joint between any two order lengths",
            )


def _splices(count: int) -> str:
    return f"{count} splice{'s' if count > 1 else ''}"
