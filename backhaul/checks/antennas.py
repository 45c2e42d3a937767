"""Where the antennas of an end stand: the second one beside the first, and sites under water."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.clearance import HEIGHTS_AGREE_M
from backhaul.checks.context import Context, on_link
from backhaul.figures.arrays import number
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.ends import HopEnd
from backhaul.path.waters import NO_WATER
from backhaul.units import DECIMALS
from backhaul.wording import against


def second_antennas(context: Context) -> Iterator[Finding]:
    """radio-clearance: a second antenna in the ground, under water or in the way of the first."""
    hops = context.radio.hops
    for index in range(len(hops.links)):
        for end in hops.ends[index]:
            spacing_m = end.typed("diversity_m")
            if spacing_m is not None:
                yield from _overlap(context, index, end, spacing_m)
                yield from _sunk(context, index, end, spacing_m)


def _overlap(context: Context, index: int, end: HopEnd, spacing_m: float) -> Iterator[Finding]:
    """Centres of two dishes above each other stand at least a diameter apart."""
    diameter_m = float(context.radio.hops.diameter_m[index, end.number])
    apart_m = abs(spacing_m)
    if not round(diameter_m - apart_m, DECIMALS) > 0:
        return
    apart, least = against(apart_m, diameter_m)
    yield _fail(
        context,
        index,
        end,
        f"the second antenna at {end.name} is {apart} m from the first: two dishes of {least} m "
        "overlap",
        f"mount it at least {diameter_m:g} m from the first, centre to centre, or leave it out",
        (apart_m, diameter_m),
        "geometry: each dish takes half its diameter",
    )


def _sunk(context: Context, index: int, end: HopEnd, spacing_m: float) -> Iterator[Finding]:
    """A second antenna that is not above the ground, or the highest water, where the first is."""
    first_m = float(context.radio.hops.height_m[index, end.number])
    level_m, what = _level_at(context, index, end)
    has_m = first_m + spacing_m
    if not first_m >= level_m or not round(level_m - has_m, DECIMALS) > 0:
        return
    has, level = against(has_m, level_m)
    yield _fail(
        context,
        index,
        end,
        f"the second antenna at {end.name} is at {has} m, below the {what} at {level} m",
        "mount it above the first, or raise both: its spacing counts from the first antenna, up "
        "positive",
        (has_m, level_m),
        "as for a first antenna: below grazing",
    )


def _level_at(context: Context, index: int, end: HopEnd) -> tuple[float, str]:
    """What an antenna of an end has to stand above [m]: ground, else the water that comes there."""
    hops = context.radio.hops
    ground, level_m, what = hops.ground, float(hops.ground_m[index, end.number]), "ground"
    if ground.rows_of(index) is not None and not ground.assumed[index]:
        profile_m = ground.end_level_m(index, end.number)
        if np.isnan(level_m) or abs(profile_m - level_m) <= HEIGHTS_AGREE_M:
            level_m = profile_m
    water_m = _highest_water(context, index, end)
    return (water_m, "highest water") if water_m > level_m else (level_m, what)


def _highest_water(context: Context, index: int, end: HopEnd) -> float:
    """Highest level of the waters under a hop that come to an end of it [m], NaN without."""
    ground = context.radio.hops.ground
    levels = [
        number(ground.bodies[body].high_m)
        for body in ground.under[index]
        if ground.reached_by(index, body)[end.number]
    ]
    return max(levels, default=float("nan"))


def flooded_sites(context: Context) -> Iterator[Finding]:
    """terrain-heights: a site on land that the highest water of its hop comes to."""
    hops = context.radio.hops
    seen: set[str] = set()
    for index in hops.ground.profiled.tolist():
        body = hops.ground.body[hops.ground.rows_of(index)]
        for end in hops.ends[index]:
            is_wet = body[-2 if end.is_far else 0] != NO_WATER
            water_m = _highest_water(context, index, end)
            site_m = float(hops.ground_m[index, end.number])
            if is_wet or end.name in seen or not round(water_m - site_m, DECIMALS) > 0:
                continue
            seen.add(end.name)
            has, high = against(site_m, water_m)
            link = hops.links[index]
            yield on_link(
                "terrain-heights",
                THIN,
                link,
                end.row,
                end.column("site"),
                f"{end.name} stands at {has} m, and the highest water under the hop at {high} m: "
                "no ground between keeps it off the site",
                remedy="mend high_m or ground_m, all from one datum; add terrain rows of the bank "
                "that holds the water; else set equipment and feeds above the water",
                value=site_m,
                limit=water_m,
                unit="m",
                source="rules of the project",
            )


def _fail(
    context: Context,
    index: int,
    end: HopEnd,
    message: str,
    remedy: str,
    figures: tuple[float, float],
    source: str,
) -> Finding:
    value, limit = figures
    return on_link(
        "radio-clearance",
        FAIL,
        context.radio.links[index],
        end.row,
        end.column("diversity_m"),
        message,
        remedy=remedy,
        value=value,
        limit=limit,
        unit="m",
        source=source,
    )
