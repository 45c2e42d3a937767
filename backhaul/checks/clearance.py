"""Hops over what lies under them: the first Fresnel zone, and the mirror of the water."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.hop_profiles import NO_LEVEL as NO_LEVEL_TEXT
from backhaul.budgets.reflection_remedies import CHANGES_M, reflection_remedies
from backhaul.budgets.water_reflection import FLOODED, NO_HEIGHT, NO_LEVEL, UNSEEN
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, THIN, Finding
from backhaul.physics import geometry
from backhaul.physics.water import WATER_TEMPERATURE_C
from backhaul.units import DECIMALS

#: A reflection that takes more than this is worth a remedy [dB]: rules of the project.
REFLECTION_DB = 3.0
#: Raising one end alone is offered up to this many times the raise of both.
ONE_END_AT_MOST = 4.0
_P530 = "ITU-R P.530-19 sec. 2.2.2 (rules to be confirmed)"


def radio_clearance(context: Context) -> Iterator[Finding]:
    """radio-clearance: the first Fresnel zone over ground, cover and the highest water."""
    radio = context.radio
    clear = radio.clearance
    wanted = geometry.FREE_SPACE_CLEARANCE_F1
    for index, link in enumerate(radio.links):
        row = link.rows[0]
        median, worst = float(clear.median[index]), float(clear.worst[index])
        if median != median or worst != worst:
            yield on_link(
                "radio-clearance",
                THIN,
                link,
                row,
                "part",
                f"the clearance is not known: {_why_no_clearance(radio.hops, index)}",
                remedy=_clearance_cells(radio.hops, index),
                limit=wanted,
                unit="F1",
                source=_P530,
            )
            continue
        details = {"remedy": _raise_text(clear, index), "unit": "F1", "source": _P530}
        if round(median, DECIMALS) < wanted:
            yield on_link(
                "radio-clearance",
                FAIL,
                link,
                row,
                "to_height_m",
                f"{median:.2f} of the first Fresnel radius is clear at k = 4/3, "
                f"{clear.median_at_km[index]:.2f} km from the first end; {wanted:g} is needed",
                value=median,
                limit=wanted,
                **details,
            )
        elif round(worst, DECIMALS) < 0:
            yield on_link(
                "radio-clearance",
                FAIL,
                link,
                row,
                "to_height_m",
                f"the ray is blocked at k = {radio.worst_k[index]:.2f}, "
                f"{clear.worst_at_km[index]:.2f} km from the first end",
                value=worst,
                limit=0.0,
                **details,
            )
        elif round(median, DECIMALS) < geometry.MEDIAN_CLEARANCE_F1:
            yield on_link(
                "radio-clearance",
                THIN,
                link,
                row,
                "to_height_m",
                f"{median:.2f} F1 is clear at k = 4/3, {clear.median_at_km[index]:.2f} km from "
                "the first end; P.530 asks for 1 F1",
                value=median,
                limit=geometry.MEDIAN_CLEARANCE_F1,
                **details,
            )
        elif round(worst, DECIMALS) < clear.wanted_worst_f1[index]:
            yield on_link(
                "radio-clearance",
                THIN,
                link,
                row,
                "to_height_m",
                f"{worst:.2f} F1 is clear at k = {radio.worst_k[index]:.2f}, "
                f"{clear.worst_at_km[index]:.2f} km from the first end; P.530 asks for "
                f"{clear.wanted_worst_f1[index]:g} F1 ({clear.case[index]})",
                value=worst,
                limit=clear.wanted_worst_f1[index],
                **details,
            )


def radio_reflection(context: Context) -> Iterator[Finding]:
    """radio-reflection: the water's mirror takes more than 3 dB somewhere in the sweep."""
    radio = context.radio
    reflection = radio.reflection
    for index in np.flatnonzero(reflection.unknown != ""):
        link = radio.links[index]
        text, remedy = _NOT_KNOWN[str(reflection.unknown[index])]
        yield on_link(
            "radio-reflection",
            THIN,
            link,
            link.rows[0],
            "to_height_m",
            f"the reflection off the water is not known: {text}",
            remedy=remedy,
            limit=REFLECTION_DB,
            unit="dB",
        )
    deep = np.flatnonzero(np.nan_to_num(reflection.loss_db) > REFLECTION_DB)
    if not len(deep):
        return
    remedies = reflection_remedies(radio, context.design.project, deep, allowed_db=REFLECTION_DB)
    for place, index in enumerate(deep):
        link = radio.links[index]
        waves = ""
        if reflection.deviation_m > 0:
            waves = f"; with the stated waves {reflection.waves_loss_db[index]:.1f} dB there"
        yield on_link(
            "radio-reflection",
            THIN,
            link,
            link.rows[0],
            "to_height_m",
            f"the reflection off the water takes up to {reflection.loss_db[index]:.1f} dB, at water "
            f"level {reflection.at_water_m[index]:.2f} m and k = {reflection.at_k[index]:.2f}, "
            f"{reflection.at_km[index]:.2f} km from the first end; nulls lie "
            f"{reflection.null_spacing_m[index]:.1f} m of far antenna height apart{waves}",
            remedy=_mirror_text(remedies, place),
            value=reflection.loss_db[index],
            limit=REFLECTION_DB,
            unit="dB",
            source="two rays on the curved earth, ITU-R P.530 sec. 6.1; P.527-6, "
            f"{radio.hops.water[index]} water at {WATER_TEMPERATURE_C:g} °C, calm",
        )


_NOT_KNOWN = {
    NO_LEVEL: (NO_LEVEL_TEXT, "give water_high_m, and water_low_m if it falls, in project"),
    NO_HEIGHT: (
        "ground_m of a site, the height of an antenna, the distance or the frequency is missing",
        "fill these cells",
    ),
    FLOODED: (
        "an antenna does not stand above the highest water",
        "mend ground_m, the height or water_high_m: all three from one datum; else raise it",
    ),
    UNSEEN: (
        "the ends do not see each other over the water at any k of the sweep",
        "raise both antennas, or shorten the hop",
    ),
}


def _mirror_text(remedies, place: int) -> str:
    change, spacing = remedies.change_m[place], remedies.spacing_m[place]
    second = f"a second antenna {spacing:.1f} m above or below the far one"
    if change == change:
        verb = "raise" if change > 0 else "lower"
        end = remedies.end[place]
        what = "both antennas" if end == "both" else f"the {end} antenna"
        return (
            f"{verb} {what} by {abs(change):g} m, which leaves "
            f"{remedies.change_loss_db[place]:.1f} dB; or {second}"
        )
    left = remedies.spacing_loss_db[place]
    return (
        f"no change of heights within {max(CHANGES_M):g} m keeps off the null over the whole "
        f"range: {second}"
        + (f" (leaves {left:.1f} dB)" if left == left else "")
        + ", narrower beams by larger antennas, or screen the reflection"
    )


def _why_no_clearance(hops, index: int) -> str:
    if index in hops.no_profile:
        return hops.no_profile[index]
    if np.isnan(hops.height_m[index]).any():
        return "ground_m of a site or the height of an antenna is missing"
    if np.isnan(hops.frequency_ghz[index]).any():
        return "the frequency is not known"
    return "the terrain has no point between the ends"


def _clearance_cells(hops, index: int) -> str:
    """What has to be given before the clearance is known."""
    if np.isnan(hops.distance_km[index]):
        return "give the coordinates of both sites, or length_m"
    if index in hops.no_profile:
        return (
            "add terrain rows for the hop, or the water levels, and ground_m and the height at "
            "both ends"
        )
    if np.isnan(hops.height_m[index]).any():
        return "give ground_m of both sites, height_m and to_height_m"
    if np.isnan(hops.frequency_ghz[index]).any():
        return "give frequency_ghz"
    return "add terrain points between the ends"


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
