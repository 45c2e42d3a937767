"""The highest voltage of a source against what loads and protectors stand."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.checks.dark import paths_without
from backhaul.design.kinds import KINDS
from backhaul.figures.arrays import number
from backhaul.figures.power_judgements import OVER_VOLTAGE, RATING
from backhaul.figures.power_terms import REGULATED
from backhaul.findings import CAUTION, FAIL, PASS, Finding
from backhaul.physics.voltages import DC_CAUTION_V, DC_RIPPLE_FREE_V, NOMINAL_TOLERANCE
from backhaul.wording import whole_against

_SOURCE = "EN 50160, IEEE 802.3 Table 145-16; data sheets"


def over_voltage(context: Context) -> Iterator[Finding]:
    """over-voltage: a source that gives more than its load stands."""
    lines = context.power.lines
    words = iter(OVER_VOLTAGE.words_of([each for line in lines for each in line.load_values]))
    for line in lines:
        for load, figures in zip(line.loads, line.load_values, strict=True):
            if next(words) == PASS:
                continue
            given, stands = figures["given_v"], figures["stands_v"]
            nominal = figures["stands_basis"] == REGULATED
            gives, most = whole_against(given, stands)
            yield on_row(
                "over-voltage",
                FAIL,
                line.run,
                "part",
                f"{line.source.equipment.name} gives {'' if nominal else 'up to '}{gives} V, "
                f"{load.equipment.name} "
                + (
                    f"is made for {figures['load_nominal_v']:g} V (at most {most} V, "
                    f"{NOMINAL_TOLERANCE:g} times that)"
                    if nominal
                    else f"takes at most {most} V"
                ),
                paths=paths_without(context, line.link.paths, [load.equipment]),
                remedy="use a source of the load's voltage, or a converter between",
                value=given,
                limit=stands,
                unit="V",
                source=_SOURCE,
                shared=f"{gives} V of {line.source.equipment.key}",
            )


def protectors_of(line: PowerLine) -> Iterator:
    """Rows of a line that protect it."""
    return (row for row in line.rows if KINDS[row.row.kind].protects)


def rating_values(line: PowerLine, protector) -> dict[str, float]:
    """What a protector of a line is judged by."""
    return {"highest_v": line.values["highest_v"], "max_volts": number(protector.max_volts)}


def is_other_kind(line: PowerLine, protector) -> bool:
    """A protector for the other kind of current than the line's."""
    return protector.supply not in (None, line.current)


def protector_rating(context: Context) -> Iterator[Finding]:
    """protector-rating: a protector of another kind than its line, or of too low a voltage."""
    places = [(line, row) for line in context.power.lines for row in protectors_of(line)]
    judged = [rating_values(line, row.part) for line, row in places]
    for (line, row), values, word in zip(places, judged, RATING.words_of(judged), strict=True):
        protector = row.part
        other = is_other_kind(line, protector)
        if not other and word == PASS:
            continue
        highest = values["highest_v"]
        rated, has = whole_against(values["max_volts"], highest)
        needed = f"{line.current}, {highest:g} V or more" if highest == highest else line.current
        found = on_row(
            "protector-rating",
            FAIL,
            row.row,
            "part",
            f"{protector.part} is for {protector.supply}, the line carries {line.current}"
            if other
            else f"{protector.part} is rated for {rated} V continuous, the line has up to {has} V",
            paths=line.link.paths,
            remedy=f"use a protector for {needed}",
            value=protector.supply if other else protector.max_volts,
            limit=line.current if other else highest,
            unit=None if other else "V",
            source="IEC 61643-11 and -21; IEC 60364-5-53 clause 534 (to be confirmed)",
        )
        yield found


def dangerous_dc(context: Context) -> Iterator[Finding]:
    """safety: direct current above 60 V, 120 V ripple-free."""
    seen = set()
    for line in context.power.lines:
        highest = line.values["highest_v"]
        key = line.source.equipment.key
        if line.current != "DC" or not np.round(highest, 6) > DC_CAUTION_V or key in seen:
            continue
        seen.add(key)
        yield on_equipment(
            "safety",
            CAUTION,
            line.source.equipment,
            "part",
            f"{line.source.equipment.name} gives up to {highest:g} V of direct current: above "
            f"{DC_CAUTION_V:g} V ({DC_RIPPLE_FREE_V:g} V ripple-free) it can kill; arcs do not go "
            "out by themselves",
            paths=line.link.paths,
            remedy="isolate, prove dead; by licensed persons under local codes",
            value=highest,
            limit=DC_CAUTION_V,
            unit="V",
            source="IEC 61140, IEC 61201 (as quoted in the IEC vocabulary)",
        )
