"""The mirror of the water under hops: what it takes, and what would settle it."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.reflection_remedies import MOST_M, REFLECTION_DB
from backhaul.budgets.water_entries import FLOODED, NO_HEIGHT, NO_LEVEL, UNSEEN
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import from_first
from backhaul.figures.radio_judgements import REFLECTION
from backhaul.findings import PASS, THIN, Finding
from backhaul.physics.mirror_search import TOLERANCE_M
from backhaul.physics.water import WATER_TEMPERATURE_C
from backhaul.wording import against

_NOT_KNOWN = {
    NO_LEVEL: (
        "the highest level of the water under the hop is not given",
        "give high_m and low_m in waters, or water_high_m and water_low_m in project",
    ),
    NO_HEIGHT: (
        "ground_m of a site, the height of an antenna, the distance or the frequency is missing",
        "fill these cells",
    ),
    FLOODED: (
        "an antenna is not above the highest water",
        "correct ground_m, the height or the water's level: all from one datum; else raise it",
    ),
    UNSEEN: (
        "the ends do not see each other over the water at any k of the sweep",
        "raise both antennas, or shorten the hop",
    ),
}


def radio_reflection(context: Context) -> Iterator[Finding]:
    """radio-reflection: the water's mirror takes more than 3 dB somewhere in the sweep."""
    radio = context.radio
    reflection = radio.reflection
    for index in np.flatnonzero(reflection.unknown != ""):
        text, remedy = _NOT_KNOWN[str(reflection.unknown[index])]
        yield _finding(
            radio, index, f"the reflection off the water is not known: {text}", remedy, None
        )
    words = REFLECTION.words(
        {
            "hop_reflection_loss_db": reflection.loss_db,
            "reflection_limit_db": np.full(len(radio.links), REFLECTION_DB),
        }
    )
    for index in np.flatnonzero(words != PASS):
        yield _finding(
            radio,
            index,
            _deep_text(radio, index),
            _remedy_text(radio, index),
            reflection.loss_db[index],
        )
    beside = np.nan_to_num(radio.remedies.beside_db)
    for index in np.flatnonzero((words == PASS) & (beside > REFLECTION_DB)):
        yield _finding(
            radio,
            index,
            f"the reflection off the water takes up to {reflection.loss_db[index]:.1f} dB at "
            f"these heights, but {against(beside[index], REFLECTION_DB)[0]} dB where an antenna is "
            f"mounted {TOLERANCE_M:g} m off",
            f"mount both antennas within {TOLERANCE_M:g} m of the heights given and measure them, "
            "or choose heights farther from the null",
            beside[index],
        )


def _finding(radio, index: int, message: str, remedy: str, value) -> Finding:
    link, body = radio.links[index], radio.reflection.body[index]
    water = radio.hops.ground.bodies[body].title if body >= 0 else "water"
    return on_link(
        "radio-reflection",
        THIN,
        link,
        link.rows[0],
        "to_height_m",
        message,
        remedy=remedy,
        value=value,
        limit=REFLECTION_DB,
        unit="dB",
        source="two rays on the curved earth, ITU-R P.530 sec. 6.1; P.527-6, "
        f"{water} at {WATER_TEMPERATURE_C:g} °C, calm; by the wet part of its Fresnel zone",
    )


def _deep_text(radio, index: int) -> str:
    reflection = radio.reflection
    body = radio.hops.ground.bodies[reflection.body[index]]
    waves = ""
    if body.wave_height_m > 0:
        waves = f"; {reflection.waves_loss_db[index]:.1f} dB with the stated waves"
    lost, most = against(reflection.loss_db[index], REFLECTION_DB)
    return (
        f"the reflection off the water takes up to {lost} dB, above {most} dB (the margin told is "
        "what is left after it): at water level "
        f"{reflection.at_water_m[index]:.2f} m and k = {reflection.at_k[index]:.2f}, "
        f"{from_first(radio.links[index], reflection.at_km[index])}{waves}; nulls every "
        f"{reflection.null_spacing_m[index]:.1f} m of antenna height at "
        f"{radio.hops.ends[index][1].name}"
    )


def _remedy_text(radio, index: int) -> str:
    """Heights that hold, else that none do; and second antennas with what they leave."""
    remedies = radio.remedies
    if not remedies.is_sought[index]:
        return (
            "change the height of an antenna or add a second one; among so many hops neither was "
            "sought for this one: check it in a design of its own"
        )
    first, far = remedies.change_m[index]
    second = _second_antennas(radio, index)
    if first == first:
        moves = [
            f"{'raise' if change > 0 else 'lower'} the antenna at {end.name} by {abs(change):g} m"
            for change, end in zip((first, far), radio.hops.ends[index], strict=True)
            if change
        ]
        wide = remedies.tolerance_fade_db[index]
        held = (
            f"which leaves {remedies.fade_db[index]:.1f} dB"
            f" ({against(wide, REFLECTION_DB)[0]} dB where mounted {TOLERANCE_M:g} m off)"
        )
        return f"{' and '.join(moves) or 'keep the heights'}, {held}" + (
            f"; or {second}" if second else ""
        )
    least = remedies.least_db[index]
    none = f"no change of both heights within {MOST_M:g} m holds it"
    if least == least:
        none += f" (the best leaves {least:.1f} dB)"
    else:
        none = f"no change of both heights within {MOST_M:g} m keeps the clearance and holds it"
    return (
        f"{none}: "
        + (f"{second}, " if second else "")
        + ("narrower beams by larger antennas, or screen the reflection")
    )


def _second_antennas(radio, index: int) -> str:
    remedies, words = radio.remedies, []
    for end in (1, 0):
        spacing, left = remedies.spacing_m[index, end], remedies.spaced_db[index, end]
        if spacing == spacing:
            side = "above" if spacing > 0 else "below"
            name = radio.hops.ends[index][end].name
            words.append(f"{abs(spacing):.2f} m {side} that at {name} (leaves {left:.1f} dB there)")
    return f"a second antenna {' and one '.join(words)}" if words else ""
