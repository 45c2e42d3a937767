"""Mode and core along a link of light, and conditioning cords."""

import re
from collections.abc import Iterator
from typing import Any

from backhaul.checks.context import Context, on_link
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.links import Link

#: Core of a class whose row leaves it blank [um] (ISO/IEC 11801-1).
_CORE_UM = {"OM1": 62.5, "OM2": 50.0, "OM3": 50.0, "OM4": 50.0, "OM5": 50.0}
#: How the catalogue marks a cord that launches off centre.
_CONDITIONING = re.compile("conditioning", re.IGNORECASE)
#: Modes in words.
_MODES = {"single": "single-mode", "multi": "multimode"}
_CORE_SOURCE = "20 log10 of cores and apertures, 4.7 dB from 62.5 into 50 um (computed)"


def fiber_mode(context: Context) -> Iterator[Finding]:
    """fiber-mode: single-mode and multimode, or two core sizes, on one link."""
    budget = context.optical
    for link in budget.links:
        glass = [(row, context.catalog.fibers[row.part]) for row in runs_of(link)]
        if len({part.mode for _, part in glass} - {None}) > 1:
            yield _mixed(context, link, glass)
            continue
        yield from _cores(link, glass)
        yield from _other_than_optics(context, link, glass)


def _mixed(context: Context, link: Link, glass: list) -> Finding:
    """One finding a link: the run of the mode that its optics do not ask for, else of the fewer."""
    asked = {context.catalog.optics[row.part].fiber_mode for row in (link.rows[0], link.rows[-1])}
    modes = [part.mode for _, part in glass if part.mode]
    kept = asked.pop() if len(asked) == 1 else None
    if kept not in modes:
        kept = max(dict.fromkeys(modes), key=modes.count)
    odd = [(row, part) for row, part in glass if part.mode not in (None, kept)]
    names = ", ".join(dict.fromkeys(part.part for _, part in odd))
    finding = on_link(
        "fiber-mode",
        FAIL,
        link,
        odd[0][0],
        "part",
        f"{names} is {_MODES[odd[0][1].mode]}, the other fiber of the link {_MODES[kept]}",
        remedy="use one mode from optic to optic",
    )
    return finding._replace(rows=tuple(row.id for row, _ in odd))


def _cores(link: Link, glass: list) -> Iterator[Finding]:
    """Multimode runs of two core sizes."""
    for (row, part), (_, before) in zip(glass[1:], glass, strict=False):
        if part.mode == "multi" and len({_core(part), _core(before)} - {None}) > 1:
            yield on_link(
                "fiber-mode",
                FAIL,
                link,
                row,
                "part",
                f"core {_core(part):g} um after core {_core(before):g} um",
                remedy="use one core from optic to optic",
                value=_core(part),
                limit=_core(before),
                unit="um",
                source=_CORE_SOURCE,
            )


def _other_than_optics(context: Context, link: Link, glass: list) -> Iterator[Finding]:
    """Optics on fiber of the mode that they do not work on."""
    for row in (link.rows[0], link.rows[-1]):
        optic = context.catalog.optics[row.part]
        for fiber_row, part in glass:
            if _mode_fits(context, optic, part):
                continue
            yield on_link(
                "fiber-mode",
                FAIL,
                link,
                fiber_row,
                "part",
                f"{optic.part} works on {_MODES[optic.fiber_mode]} fiber, {part.part} is "
                f"{_MODES[part.mode]} ({part.fiber_class})",
                remedy=f"use {_MODES[optic.fiber_mode]} cable and cords, or optics for "
                f"{part.fiber_class}",
                source="IEEE 802.3, medium of the optic",
            )
            break


def joint_mode(context: Context) -> Iterator[Finding]:
    """fiber-mode: a joint made for the other mode than the fiber beside it."""
    for link in context.optical.links:
        modes = {context.catalog.fibers[row.part].mode for row in runs_of(link)}
        if len(modes) != 1:
            continue
        (mode,) = modes
        for row in link.rows[1:-1]:
            part = context.catalog.joints.get(row.part)
            if part is not None and not KINDS[row.kind].is_run and part.mode not in (None, mode):
                yield on_link(
                    "fiber-mode",
                    FAIL,
                    link,
                    row,
                    "part",
                    f"{part.part} is made for {_MODES[part.mode]} fiber, the link is "
                    f"{_MODES[mode]}",
                    remedy=f"use a joint for {_MODES[mode]} fiber",
                )


def _core(part: Any) -> float | None:
    return part.core_um or _CORE_UM.get(part.fiber_class)


def _mode_fits(context: Context, optic: Any, part: Any) -> bool:
    if not optic.fiber_mode or not part.mode or optic.fiber_mode == part.mode:
        return True
    return (optic.part, part.fiber_class) in context.catalog.optic_reach


def conditioning_cord(context: Context) -> Iterator[Finding]:
    """conditioning-cord: a single-mode source on multimode fiber without its offset-launch cord."""
    for link in context.optical.links:
        glass = [context.catalog.fibers[row.part] for row in runs_of(link)]
        for row, cord in ((link.rows[0], glass[:1]), (link.rows[-1], glass[-1:])):
            optic = context.catalog.optics[row.part]
            if any(_CONDITIONING.search(f"{part.part} {part.description}") for part in cord):
                continue
            needing = [
                part.fiber_class
                for part in glass
                if (reach := context.catalog.optic_reach.get((optic.part, part.fiber_class)))
                is not None
                and reach.conditioning_cord
            ]
            if needing:
                yield on_link(
                    "conditioning-cord",
                    THIN,
                    link,
                    row,
                    "part",
                    f"{optic.part} on {needing[0]} wants a mode-conditioning cord beside it, none "
                    "is there",
                    remedy=_conditioning_remedy(context, optic, needing[0]),
                    source="IEEE 802.3-2018 38.11.4, 59.9.5, 68.9.3 (to be confirmed)",
                )


def _conditioning_remedy(context: Context, optic: Any, fiber_class: str) -> str:
    """The cord of the catalogue that fits the optic and the fiber."""
    for part in context.catalog.fibers.values():
        termination = f"{optic.receptacle}/{optic.polish}"
        if (
            part.fiber_class == fiber_class
            and part.end_a == termination
            and (_CONDITIONING.search(part.part))
        ):
            return f"a cord like {part.part} beside the optic, at both ends"
    return "begin the link with a cord whose name or description says conditioning, at both ends"


def runs_of(link: Link) -> list:
    """Runs of fiber of a link."""
    return [row for row in link.rows[1:-1] if KINDS[row.kind].is_run]
