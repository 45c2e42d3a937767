"""Hops over what lies under them: the first Fresnel zone, and the profile that it rests on."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.hop_profiles import Gap, widest_gap
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import from_first
from backhaul.figures.radio_judgements import CLEARANCE
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.terrain import terrain_of
from backhaul.physics import geometry
from backhaul.physics.sampling import COVER, GROUND, WATER
from backhaul.units import DECIMALS, M_PER_KM
from backhaul.wording import against

#: Raising one end alone is offered up to this many times the raise of both.
ONE_END_AT_MOST = 4.0
#: How a hop is marked as one over water.
NAME_THE_WATER = "name the water under it in surface"
#: The profile's end may differ so far from the level that a site's heights are measured from [m]:
#: rules of the project.
HEIGHTS_AGREE_M = 2.0
#: A place whose distances in the table and on the hop lie so far apart is told by both [m].
TOLD_APART_M = 5.0
#: Where a row of the table ends and the next begins [m].
SAME_PLACE_M = 0.01
_P530 = "ITU-R P.530-19 sec. 2.2.2 (rules to be confirmed)"
_ONE_DATUM = "take profile and sites from one datum, or measure heights from the profile's level"
_STANDS = {GROUND: "ground", COVER: "cover", WATER: "water"}


def radio_clearance(context: Context) -> Iterator[Finding]:
    """radio-clearance: the first Fresnel zone over ground, cover and the highest water."""
    radio = context.radio
    clear, wanted = radio.clearance, geometry.FREE_SPACE_CLEARANCE_F1
    words = clearance_words(radio)
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        median, worst = float(clear.median.ratio[index]), float(clear.worst.ratio[index])
        if median != median or worst != worst:
            yield on_link(
                "radio-clearance",
                THIN,
                link,
                row,
                "part",
                f"the clearance is not known: {_why_no_clearance(radio, index)}",
                remedy=_clearance_cells(radio.hops, index),
                limit=wanted,
                unit="F1",
                source=_P530,
                shared=_why_no_clearance(radio, index),
            )
            continue
        if words[index] not in (FAIL, THIN):
            continue
        by_median = round(median, DECIMALS) < (
            wanted if words[index] == FAIL else geometry.MEDIAN_CLEARANCE_F1
        )
        yield on_link(
            "radio-clearance",
            str(words[index]),
            link,
            row,
            "to_height_m",
            _what_is_clear(context, index, by_median=by_median, fails=words[index] == FAIL),
            value=median if by_median else worst,
            limit=_limit(clear, index, by_median=by_median, fails=words[index] == FAIL),
            remedy=_ONE_DATUM if is_off_datum(radio.hops, index) else _raise_text(clear, index),
            unit="F1",
            source=_P530,
        )


def clearance_words(radio) -> np.ndarray:
    """The verdict of each hop's clearance."""
    clear = radio.clearance
    return CLEARANCE.words(
        {
            "ratio_median": clear.median.ratio,
            "ratio_worst": clear.worst.ratio,
            "wanted_median_f1": np.full(len(radio.links), geometry.MEDIAN_CLEARANCE_F1),
            "wanted_worst_f1": clear.wanted_worst_f1,
        }
    )


def _limit(clear, index: int, *, by_median: bool, fails: bool) -> float:
    if fails:
        return geometry.FREE_SPACE_CLEARANCE_F1 if by_median else 0.0
    return geometry.MEDIAN_CLEARANCE_F1 if by_median else float(clear.wanted_worst_f1[index])


def _what_is_clear(context: Context, index: int, *, by_median: bool, fails: bool) -> str:
    """What stands in the way, where and how high, and how much of the zone it leaves."""
    radio = context.radio
    clear = radio.clearance
    tightest = clear.median if by_median else clear.worst
    ratio, at_km = float(tightest.ratio[index]), float(tightest.at_km[index])
    k = "4/3" if by_median else f"{radio.worst_k[index]:.2f}"
    what = f"{_obstacle(context, tightest, index)}, {from_first(radio.links[index], at_km)},"
    if fails and not by_median:
        return f"{what} blocks the ray at k = {k}"
    limit = _limit(clear, index, by_median=by_median, fails=fails)
    clear_f1, limit_f1 = against(ratio, limit, 2)
    if ratio < 0:
        blocks = clear_f1.removeprefix("-")
        said = f"{what} blocks the ray by {blocks} first Fresnel radii at k = {k}"
        return f"{said}; {limit_f1} clear is needed"
    said = f"{what} leaves {clear_f1} of the first Fresnel radius clear at k = {k}"
    if fails:
        return f"{said}; {limit_f1} is needed"
    case = "" if by_median else f" ({clear.case[index]})"
    return f"{said}; P.530 asks for {limit_f1}{case}"


def _obstacle(context: Context, tightest, index: int) -> str:
    """What stands there: ground, cover or water, its height, and the row of the table that says so."""
    radio = context.radio
    top, cover = float(tightest.top_m[index]), float(tightest.cover_m[index])
    if radio.clearance.assumed[index]:
        return f"the smooth earth at {top:.1f} m (no terrain rows, no water in surface)"
    kind = _STANDS[int(tightest.kind[index])]
    if kind == "cover":
        what = f"cover (trees, buildings) of {cover:g} m, its top at {top:.1f} m"
        return what + _typed_at(context, index, float(tightest.at_km[index]), cover)
    at = _typed_at(context, index, float(tightest.at_km[index]))
    return f"the {kind} at {top:.1f} m{at}"


def _typed_at(context: Context, index: int, at_km: float, cover_m: float = 0.0) -> str:
    """Where a point of the profile stands in the table, whose distances are fitted to the hop.

    cover_m: that of the one row which counts there, up to the next. Of ground nothing is said where
    table and hop are alike.
    """
    hops = context.radio.hops
    terrain = terrain_of(hops.links[index], hops.rows[index], context.design)
    if terrain is None:
        return ""
    typed_m = np.asarray(terrain.distance_m, dtype=float)
    at_m = at_km * M_PER_KM
    own_m = at_m * typed_m[-1] / (float(hops.distance_km[index]) * M_PER_KM)
    if cover_m:
        covers = np.nan_to_num(np.asarray(terrain.cover_m, dtype=float))[:-1]
        near = (own_m >= typed_m[:-1] - SAME_PLACE_M) & (own_m <= typed_m[1:] + SAME_PLACE_M)
        found = np.flatnonzero(near & (covers == cover_m))
        if not found.size:
            return ""
        row = int(found[0])
        return f" (terrain row {typed_m[row]:g} m, which holds up to {typed_m[row + 1]:g} m)"
    if abs(own_m - at_m) < TOLD_APART_M:
        return ""
    return f" ({own_m:.0f} m in terrain, whose rows end at {typed_m[-1]:g} m)"


def terrain_heights(context: Context) -> Iterator[Finding]:
    """terrain-heights: the profile's ends and the heights of the sites, from one datum."""
    hops = context.radio.hops
    ground = hops.ground
    for index in ground.profiled[~ground.assumed[ground.profiled]].tolist():
        if _is_even_water(ground, ground.rows_of(index)):
            continue  # no row tells where its shores stand
        for end in hops.ends[index]:
            yield from _height_of_end(context, index, end)
        yield from _gap(context, index)


def off_datum_m(hops, index: int) -> np.ndarray:
    """How far the profile of a hop stands above the ground of its sites, an end each [m].

    0 where there is no typed profile, or nothing to hold it to.
    """
    ground = hops.ground
    rows = ground.rows_of(index)
    if rows is None or ground.assumed[index] or _is_even_water(ground, rows):
        return np.zeros(2)
    levels = np.array([ground.end_level_m(index, end) for end in (0, 1)])
    return np.nan_to_num(levels - hops.ground_m[index])


def is_off_datum(hops, index: int) -> bool:
    """Whether `terrain-heights` finds the profile of a hop and its sites on two datums."""
    return bool((np.round(np.abs(off_datum_m(hops, index)), DECIMALS) > HEIGHTS_AGREE_M).any())


def _is_even_water(ground, rows: slice) -> bool:
    """One surface from end to end, without typed rows: there is no level of a shore."""
    return rows.stop - rows.start == 2 and not np.isnan(ground.water_m[rows]).any()


def _height_of_end(context: Context, index: int, end) -> Iterator[Finding]:
    hops = context.radio.hops
    level_m = hops.ground.end_level_m(index, end.number)
    link, site_m = hops.links[index], float(hops.ground_m[index, end.number])
    antenna_m = float(hops.height_m[index, end.number])
    off = abs(site_m - level_m)
    if round(off, DECIMALS) > HEIGHTS_AGREE_M:
        apart, most = against(off, HEIGHTS_AGREE_M)
        below = "; its antenna would be below that ground" if antenna_m < level_m else ""
        yield on_link(
            "terrain-heights",
            THIN,
            link,
            end.row,
            end.column("height_m"),
            f"the profile is at {level_m:.1f} m at {end.name}, ground_m of the site is "
            f"{site_m:.1f} m{below}: {apart} m apart, at most {most} m",
            remedy=_ONE_DATUM,
            value=off,
            limit=HEIGHTS_AGREE_M,
            unit="m",
            source="rules of the project",
            shared=f"{site_m:g} m of {end.name}",
        )
    elif antenna_m < level_m:
        has, ground = against(antenna_m, level_m)
        yield on_link(
            "terrain-heights",
            THIN,
            link,
            end.row,
            end.column("height_m"),
            f"the antenna at {end.name} is at {has} m, below the ground at {ground} m",
            remedy=f"correct {end.column('height_m')}, or ground_m of {end.name}",
            value=antenna_m,
            limit=level_m,
            unit="m",
            source="rules of the project",
        )


def _gap(context: Context, index: int) -> Iterator[Finding]:
    """assumption: rows so far apart that the ground between them is a guess."""
    hops = context.radio.hops
    gap: Gap | None = widest_gap(hops.ground, index)
    if gap is None or not round(gap.width_km - gap.allowed_km, DECIMALS) > 0:
        return
    link = hops.links[index]
    yield on_link(
        "assumption",
        NOTE,
        link,
        link.rows[0],
        "part",
        f"the profile has no point for {gap.width_km:.2f} km from {gap.from_km:.2f} km on; the "
        "ground was taken as straight there",
        remedy=f"type the ground at least every {gap.allowed_km * M_PER_KM:.0f} m",
        value=gap.width_km,
        limit=gap.allowed_km,
        unit="km",
    )


def _why_no_clearance(radio, index: int) -> str:
    hops = radio.hops
    if index in hops.ground.reasons:
        return hops.ground.reasons[index]
    if np.isnan(hops.height_m[index]).any():
        return "ground_m of a site or the height of an antenna is missing"
    if np.isnan(hops.frequency_ghz[index]).any():
        return "the frequency is not known"
    return (
        "neither terrain nor water is given; over the smooth earth between the two sites the ray "
        "would be clear; a reflection off water is not judged either"
    )


def _clearance_cells(hops, index: int) -> str:
    """What has to be given before the clearance is known."""
    if np.isnan(hops.distance_km[index]):
        return "give the coordinates of both sites, or length_m"
    if index in hops.ground.reasons and hops.ground.under[index]:
        return "give the highest level: high_m in waters, or water_high_m in project"
    if np.isnan(hops.height_m[index]).any():
        return "give ground_m of both sites, height_m and to_height_m"
    if np.isnan(hops.frequency_ghz[index]).any():
        return "give frequency_ghz"
    return f"add terrain rows for the hop, or {NAME_THE_WATER}"


def _raise_text(clear, index: int) -> str:
    both = clear.raise_both_m[index]
    one, end = min((clear.raise_far_m[index], "far"), (clear.raise_first_m[index], "first"))
    if clear.raise_far_m[index] <= ONE_END_AT_MOST * both:
        one, end = clear.raise_far_m[index], "far"
    if one > ONE_END_AT_MOST * both:
        return f"raise both antennas by {_up(both)} m"
    return f"raise the {end} antenna by {_up(one)} m, or both by {_up(both)} m"


def _up(metres: float) -> str:
    """Rounded up, so that the raise suffices."""
    return f"{np.ceil(round(metres * 10, 6)) / 10:.1f}"
