"""Charts of a hop: clearance profile, outage by rate, level over the sweep of the water level."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import formula_cell
from backhaul.book.sheets.radio_direction import Direction
from backhaul.book.sheets.radio_hop import HALF, HopBlock
from backhaul.book.sheets.shared import is_known
from backhaul.budgets.water_reflection import reflection_curve
from backhaul.design.settings import US
from backhaul.figures.arrays import numbers
from backhaul.figures.us_units import FOOT, MILE
from backhaul.path.terrain import ground_source, terrain_of
from backhaul.path.waters import NO_WATER
from backhaul.physics import geometry
from backhaul.physics.availability import minutes_per_year
from backhaul.physics.sampling import part_of, sampled
from backhaul.spreadsheet.axis_scale import Axis, tidy_step
from backhaul.spreadsheet.cells import Calc, Number, Range, Text
from backhaul.spreadsheet.charts import LinesChart, ProfileChart, Series

#: Points at which a profile or a sweep is drawn; of many hops fewer, to keep the file small.
POINTS, POINTS_OF_MANY, MANY = 61, 31, 12
SWEEP_POINTS, SWEEP_POINTS_OF_MANY = 121, 61
HELPER = "helper"
#: Shortest outage that the log axis shows [minutes a year].
LEAST_MINUTES = 0.1
_LABELS = 10
_PROFILE_ROWS, _ROWS = 14, 13
_HALF = len(HALF)  # columns of the left one of two charts
_LIMIT_COLOUR, _WATER_COLOUR = "C05A4E", "4C86A8"


def write_charts(block: HopBlock, directions: list[Direction], beside: int) -> None:
    """Outage and sweep; one alone stands below the profile, beside the figures of the path.

    beside: the row below the profile. Those without figures, and flat ones, are left out.
    """
    small = [chart for chart in (_outage(block, directions), _sweep(block)) if chart is not None]
    if not small:
        return
    if len(small) == 1:
        last = beside + _ROWS - 1
        block.sheet.blank(max(last + 1 - block.sheet.next_row, 0))
        block.sheet.overlay(small[0], beside, last, _HALF + 1)
        return
    block.begin()
    first = block.sheet.next_row
    block.sheet.blank(_ROWS)
    last = first + _ROWS - 1
    block.sheet.overlay(small[0], first, last, 1, _HALF)
    block.sheet.overlay(small[1], first, last, _HALF + 1)


def write_profile(block: HopBlock, first: int) -> int:
    """Ground and water, the ray at the median and the worst k, 0.6 of the Fresnel zone below it.

    It stands beside the figures of the path, which begin in row `first`. Returns the row below it.
    """
    hops, index = block.hops, block.index
    heights = [float(height) for height in hops.height_m[index]]
    frequency = float(hops.frequency_ghz[index].min())
    drawn = hops.ground.rows_of(index) is not None and not hops.ground.assumed[index]
    if not drawn or not all(map(is_known, (*heights, frequency))):
        return first
    km, ground, wet, low = resampled(block)
    rays = _rays(block, km, heights, frequency)
    lowest = min(float(ground.min()), *(float(line.min()) for _, _, line, _ in rays))
    falls = wet & (low < ground)
    if falls.any():
        lowest = min(lowest, float(low[falls].min()))
    metre, long = 1.0, 1.0
    if block.evaluation.design.project.units == US:
        metre, long = FOOT.factor, MILE.factor
    step = tidy_step(max((max(heights) - lowest) / metre, 1.0)) * metre
    floor = float(np.floor(lowest / step - 0.2) * step)  # room for the lowest line
    columns: list[list[Any]] = [
        [Text(label, HELPER) for label in even_labels(km / long)],
        _figures(np.where(wet & ~_shore(wet), floor, ground)),
        _figures(np.where(wet, ground, floor)),
    ]
    heads = ["km", "ground", "water"]
    for name, cells, _, _ in rays:
        heads.append(name)
        columns.append(cells)
    if falls.any():
        heads.append("lowest water")
        level = float(low[falls].min())
        columns.append(_figures(np.where(wet, np.fmin(low, ground), level)))
    title = block.plan.link_title(block.link)
    made = block.sheet.helper(f"Clearance, {title}", heads, list(zip(*columns, strict=True)))
    lines = [
        Series(name, made[3 + n], colour=colour, dashed="F1" in name, width_pt=1.5)
        for n, (name, _, _, colour) in enumerate(rays)
    ]
    if heads[-1] == "lowest water":
        lines.append(
            Series("lowest water", made[-1], colour=_WATER_COLOUR, dashed=True, width_pt=1.0)
        )
    last = first + _PROFILE_ROWS - 1
    block.sheet.blank(max(last + 1 - block.sheet.next_row, 0))
    block.sheet.overlay(
        ProfileChart(
            _profile_title(block),
            made[0],
            made[1],
            lines,
            Axis(f"km from {block.names[0]}"),
            Axis("m above the datum", least=floor, step=step),
            f"Clearance along the hop, {title}",
            water=made[2] if wet.any() else None,
        ),
        first,
        last,
        _HALF + 1,
    )
    return last + 2


def _profile_title(block: HopBlock) -> str:
    """What is drawn, and from which file where it is from one."""
    design = block.evaluation.design
    source = ground_source(terrain_of(block.link, block.link.rows[0], design))
    ground = f"ground from {source}," if source else "ground"
    return f"Clearance: {ground} with cover, water at its highest with waves"


def _shore(wet: np.ndarray) -> np.ndarray:
    """Points beside one of the other kind: there the ground is drawn down to the water."""
    padded = np.pad(wet, 1, mode="edge")
    return (padded[:-2] != wet) | (padded[2:] != wet)


def _figures(values: np.ndarray) -> list[Number]:
    return [Number(value, style=HELPER) for value in values.tolist()]


def even_labels(km: np.ndarray) -> list[str]:
    """A label at the point nearest to each whole step of km.

    >>> even_labels(np.linspace(0, 1.18, 13))
    ['0', '', '0.2', '', '0.4', '', '0.6', '', '0.8', '', '1', '', '']
    """
    step = tidy_step(float(km[-1]), _LABELS)
    labels = [""] * len(km)
    for number in range(int(km[-1] / step + 1e-9) + 1):
        labels[int(np.abs(km - number * step).argmin())] = f"{round(number * step, 6):g}"
    return labels


class Resampled(NamedTuple):
    """Even distances [km], level with cover there [m], whether it is water, its lowest level."""

    km: np.ndarray
    level_m: np.ndarray
    wet: np.ndarray
    lowest_m: np.ndarray


def resampled(block: HopBlock) -> Resampled:
    """What lies under a hop at the places that are drawn; no peak is lost."""
    ground = block.hops.ground
    rows, place = ground.rows_of(block.index), int(np.searchsorted(ground.profiled, block.index))
    own = part_of(ground.profile, hops=slice(place, place + 1))
    fine = sampled(profile=own, water_m=ground.water_m[rows])
    at, surface = fine.profile.distance_km, fine.profile.surface_m
    count = POINTS if len(block.hops.links) <= MANY else POINTS_OF_MANY
    km = np.linspace(0.0, at[-1], count)
    level = np.interp(km, at, surface)
    nearest = np.rint(at / at[-1] * (count - 1)).astype(int)
    np.maximum.at(level, nearest, surface)
    row = np.clip(np.searchsorted(own.distance_km, km, side="right") - 1, 0, own.count[0] - 2)
    body = ground.body[rows][row]
    lowest = numbers(one.lowest_m for one in ground.bodies)
    return Resampled(km, level, body != NO_WATER, np.where(body == NO_WATER, np.nan, lowest[body]))


def _rays(block: HopBlock, km: np.ndarray, heights: list[float], frequency: float) -> list[tuple]:
    """(name, live cells, figures, colour) of each line over the profile."""
    far = km[-1] - km
    share = np.round(km / km[-1], 9)
    zone = geometry.fresnel_radius_m(distance1_km=km, distance2_km=far, frequency_ghz=frequency)
    worst_k = float(block.radio.worst_k[block.index])
    bulges = [
        geometry.earth_bulge_m(distance1_km=km, distance2_km=far, k_factor=k)
        for k in (geometry.MEDIAN_K_FACTOR, worst_k)
    ]
    needed = geometry.FREE_SPACE_CLEARANCE_F1
    lines = []
    for name, droop, colour in (
        ("ray, k = 4/3", bulges[0], "2B5466"),
        (f"ray, k = {worst_k:.2f}", bulges[1], _LIMIT_COLOUR),
        (f"{needed:g} F1 below, k = 4/3", bulges[0] + needed * zone, "7A6BA8"),
    ):
        droop = np.round(droop, 6)
        figures = heights[0] * (1 - share) + heights[1] * share - droop
        first, second = block.end(0, "height_m"), block.end(1, "height_m")
        cells = [
            Calc("", f"{{{first}}}*(1-{s:.9f})+{{{second}}}*{s:.9f}-{d:.6f}", y, "", "0.0", HELPER)
            for s, d, y in zip(share.tolist(), droop.tolist(), figures.tolist(), strict=True)
        ]
        lines.append((name, cells, figures, colour))
    return lines


def _outage(block: HopBlock, directions: list[Direction]) -> LinesChart | None:
    """Minutes of outage a year of every mode over its rate, on a log axis, live."""
    known = [
        way
        for way in (0, 1)
        if directions[way].count > 1 and all(map(is_known, directions[way].available))
    ]
    if not known:
        return None
    if _is_flat([block.radio.modes["outage_minutes"][list(block.modes(way))] for way in known]):
        return None
    title = block.plan.link_title(block.link)
    series, fastest = [], 0.0
    for way in known:
        minutes = block.radio.modes["outage_minutes"]
        rows = []
        for number, place in enumerate(block.modes(way)):
            rate, prefix = directions[way].user[number], block.end(way, f"mode{number}")
            rows.append(
                (
                    Calc("", f"{{{prefix}.user_rate_mbps}}", rate, format="0.0"),
                    Calc(
                        "",
                        f"MAX({{{prefix}.outage_minutes}},{LEAST_MINUTES:g})",
                        max(float(minutes[place]), LEAST_MINUTES),
                        format="0.0",
                    ),
                )
            )
            fastest = max(fastest, rate)
        made = block.sheet.helper(
            f"Outage from {block.names[way]}, {title}", ("Mb/s", "minutes"), rows
        )
        series.append(Series(f"from {block.names[way]}", made[1], at=made[0], dashed=way == 1))
    target = _target_line(block, known[0], fastest)
    series.append(Series("allowed", target[1], at=target[0], colour=_LIMIT_COLOUR, width_pt=1.0))
    return LinesChart(
        "Outage a year of each mode",
        Axis("rate for users, Mb/s", least=0.0),
        Axis("minutes a year", log=True),
        series,
        f"Outage by rate, {title}",
    )


def _is_flat(minutes: list[Any]) -> bool:
    """Whether no mode is out for longer than the axis shows: a line along its foot tells nothing."""
    return all(float(np.max(each)) <= LEAST_MINUTES for each in minutes)


def _target_line(block: HopBlock, way: int, fastest: float) -> list[Range]:
    value = float(block.performance.target_percent[block.direction(way)])
    rows = [
        (
            x,
            formula_cell(
                lambda *, target_percent: minutes_per_year(outage_percent=100 - target_percent),
                "",
                {"target_percent": block.end(way, "target_percent")},
                {"target_percent": value},
                digits=1,
            ),
        )
        for x in (0.0, fastest)
    ]
    return block.sheet.helper("Outage allowed", ("Mb/s", "minutes"), rows)


def _sweep(block: HopBlock) -> LinesChart | None:
    """Level against free space over the range of the water level, by k; a value."""
    points = SWEEP_POINTS if len(block.hops.links) <= MANY else SWEEP_POINTS_OF_MANY
    curve = reflection_curve(block.radio, block.index, points=points)
    if curve is None or len(curve.water_m) < 2:
        return None
    title = block.plan.link_title(block.link)
    place, median = (
        int(np.abs(curve.k_factor - k).argmin())
        for k in (float(block.radio.reflection.at_k[block.index]), geometry.MEDIAN_K_FACTOR)
    )
    drawn = list(dict.fromkeys((place, 0, median)))  # the deepest, the worst k, the median
    shown = [(f"k = {curve.k_factor[n]:.2f}", curve.level_db[n]) for n in drawn]
    if curve.has_waves:
        shown.append((f"k = {curve.k_factor[place]:.2f}, waves", curve.waves_level_db[place]))
    series = []
    for number, (name, level) in enumerate(shown):
        seen = ~np.isnan(level)
        if seen.sum() < 2:
            continue
        made = block.sheet.helper(
            f"Water level and {name}, {title}",
            ("m", "dB"),
            list(zip(_figures(curve.water_m[seen]), _figures(level[seen]), strict=True)),
        )
        series.append(
            Series(
                name,
                made[1],
                at=made[0],
                dashed=number == len(drawn),
                width_pt=1.0 if number else 1.75,
            )
        )
    if not series:
        return None
    return LinesChart(
        "Level over the water level, calm water",
        Axis("water level, m"),
        Axis("dB against free space"),
        series,
        f"Level over the water level, {title}",
    )
