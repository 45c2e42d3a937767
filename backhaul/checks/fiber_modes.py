"""One mode and one core from optic to optic."""

from collections.abc import Iterator
from typing import Any

from backhaul.checks.context import Context, on_link
from backhaul.checks.optics import optics_of
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, Finding
from backhaul.path.links import Link

#: Modes in words.
MODES = {"single": "single-mode", "multi": "multimode"}
_CORE_SOURCE = "20 log10 of cores and apertures, 4.7 dB from 62.5 into 50 um (computed)"


def runs_of(link: Link) -> list:
    """The fibers of a link of light."""
    return [row for row in link.rows[1:-1] if KINDS[row.kind].is_run]


def fiber_mode(context: Context) -> Iterator[Finding]:
    """fiber-mode: single-mode and multimode, or two core sizes, on one link."""
    for link in context.optical.links:
        glass = [(row, context.catalog.fibers[row.part]) for row in runs_of(link)]
        odd = _odd_mode(context, link, glass) or _odd_core(context, link, glass)
        if odd is not None:
            yield odd
            continue
        yield from _wrong_optics(context, link, glass)


def _wrong_optics(context: Context, link: Link, glass: list[tuple[Any, Any]]) -> Iterator[Finding]:
    """Optics that do not work on the first fiber of the link on which one of them does not."""
    optics = optics_of(context, link)
    for row, part in glass:
        wrong = {each.part: each for each in optics if not _mode_fits(context, each, part)}
        if wrong:
            mode = next(iter(wrong.values())).fiber_mode
            works = "works" if len(wrong) == 1 else "work"
            yield on_link(
                "fiber-mode",
                FAIL,
                link,
                row,
                "part",
                f"{' and '.join(wrong)} {works} on {MODES[mode]} fiber, {part.part} is "
                f"{MODES[part.mode]} ({part.fiber_class})",
                remedy=f"use {MODES[mode]} cable and cords, or optics for {part.fiber_class}",
                source="IEEE 802.3, medium of the optic",
            )
            return


def _odd_mode(context: Context, link: Link, glass: list[tuple[Any, Any]]) -> Finding | None:
    """The first run of another mode than the rest, which is that of the optics where one has it."""
    modes = [part.mode for _, part in glass]
    if len(set(modes)) < 2:
        return None
    optics = [optic.fiber_mode for optic in optics_of(context, link)]
    usual = next((mode for mode in optics if mode in modes), modes[0])
    place = next(n for n, mode in enumerate(modes) if mode != usual)
    row, part = glass[place]
    others = [part.part for _, part in glass[place + 1 :] if part.mode != usual]
    return on_link(
        "fiber-mode",
        FAIL,
        link,
        row,
        "part",
        f"{part.part} is {MODES[part.mode]}, the fiber {'before' if place else 'after'} it "
        f"{MODES[usual]}" + (f"; likewise {', '.join(dict.fromkeys(others))}" if others else ""),
        remedy="use one mode from optic to optic",
    )


def _odd_core(context: Context, link: Link, glass: list[tuple[Any, Any]]) -> Finding | None:
    """The first run of another core than the one before it."""
    core_um = context.catalog.core_um
    for (row, part), (_, before) in zip(glass[1:], glass, strict=False):
        if part.mode == "multi" and len({core_um(part), core_um(before)} - {None}) > 1:
            return on_link(
                "fiber-mode",
                FAIL,
                link,
                row,
                "part",
                f"core {core_um(part):g} um after core {core_um(before):g} um",
                remedy="use one core from optic to optic",
                value=core_um(part),
                limit=core_um(before),
                unit="um",
                source=_CORE_SOURCE,
            )
    return None


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
                    f"{part.part} is made for {MODES[part.mode]} fiber, the link is {MODES[mode]}",
                    remedy=f"use a joint for {MODES[mode]} fiber",
                )


def _mode_fits(context: Context, optic: Any, part: Any) -> bool:
    if not optic.fiber_mode or not part.mode or optic.fiber_mode == part.mode:
        return True
    return (optic.part, part.fiber_class) in context.catalog.optic_reach
