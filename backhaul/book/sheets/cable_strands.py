"""Strands of a cable: colour, who uses each, the joints that it passes; free ones too."""

from collections import defaultdict
from itertools import groupby
from typing import Any, NamedTuple

from backhaul.budgets.cable_runs import Run, Use, joint_text, port_text
from backhaul.budgets.orders import is_cord
from backhaul.budgets.terminations import strand_name, strands_needed
from backhaul.design.kinds import KINDS
from backhaul.path.links import OPTICAL

#: Order of colours of strands and of tubes, TIA-598 (from memory).
COLOURS = (
    "blue",
    "orange",
    "green",
    "brown",
    "slate",
    "white",
    "red",
    "black",
    "yellow",
    "violet",
    "rose",
    "aqua",
)
COLOUR_SOURCE = (
    "Colours by TIA-598, to be confirmed, twelve strands a tube: other national orders and tube sizes "
    "exist, the sheath's print and the maker's data sheet decide."
)
PAIR_RULE = (
    "Of a pair, the strand named first carries light from the first port to the second, the other back: "
    "our reading, the design does not say. If no light comes up, turn the pair at one end."
)
NOT_NAMED = "not named"
FREE = "free"


class Strand(NamedTuple):
    """One row of a strand schedule; `uses` is empty where the strand is free."""

    name: str
    colour: str
    uses: tuple[Use, ...] = ()
    in_cable: bool = True


def has_schedule(run: Run) -> bool:
    """A labelled cable, or one of several strands that is not a cord."""
    if not run.is_fiber or not run.uses:
        return run.is_fiber and bool(run.row.label)
    return bool(run.row.label) or ((run.record.strands or 1) > 1 and not is_cord(run.record))


def colour(strand: str) -> str:
    """Colour of a strand by its number, with its tube from 13 on; "" for a label of letters.

    >>> colour("1"), colour("14"), colour("A")
    ('blue', 'orange, tube 2 orange', '')
    """
    if not strand.isdecimal() or int(strand) < 1:
        return ""
    tube, place = divmod(int(strand) - 1, len(COLOURS))
    if not tube:
        return COLOURS[place]
    name = f"tube {tube + 1}"
    if tube < len(COLOURS):
        name += f" {COLOURS[tube]}"
    return f"{COLOURS[place]}, {name}"


def strands_of(evaluation: Any, run: Run) -> list[Strand]:
    """Every strand of a cable once, used ones with their links."""
    named: dict[str, list[Use]] = defaultdict(list)
    loose: list[Strand] = []
    for use in run.uses:
        if use.link.kind != OPTICAL:
            continue
        if use.row.strand:
            for name in dict.fromkeys(use.row.strand):
                named[strand_name(name)].append(use)
        else:
            needed = strands_needed(use.link, evaluation.catalog)
            loose += [Strand(NOT_NAMED, "", (use,))] * needed
    total = int(run.record.strands or 0)
    numbers = [str(number) for number in range(1, total + 1)]
    if all(name.isdecimal() for name in named) and not loose:
        beyond = [name for name in named if name not in numbers]
        return [
            Strand(name, colour(name), tuple(named.get(name, ())), name in numbers or not total)
            for name in (*numbers, *beyond)
        ]
    used = [Strand(name, colour(name), tuple(uses)) for name, uses in named.items()] + loose
    free = max(total - len(used), 0)
    names = f"{free} more" if free else ""
    return [*used, Strand(names, "")] if free else used


def counts(strands: list[Strand], total: float | None) -> tuple[int, int | None]:
    """Strands in use and free ones."""
    used = sum(1 for strand in strands if strand.uses)
    return used, None if total is None else max(int(total) - used, 0)


def with_free_ones_together(strands: list[Strand]) -> list[Strand]:
    """The strands, those that are free one behind the other as one.

    >>> free = [Strand("2", "orange"), Strand("3", "green")]
    >>> [(s.name, s.colour) for s in with_free_ones_together(free)]
    [('2 to 3', 'orange to green')]
    """
    found: list[Strand] = []
    for is_used, group in groupby(strands, key=lambda strand: bool(strand.uses)):
        these = list(group)
        if is_used or len(these) == 1:
            found += these
            continue
        first, last = these[0], these[-1]
        colours = f"{first.colour} to {last.colour}" if first.colour and last.colour else ""
        found.append(Strand(f"{first.name} to {last.name}", colours))
    return found


def way(evaluation: Any, run: Run, use: Use) -> tuple[str, str, str, str]:
    """From port, to port, joints before and behind the cable, seen along the cable."""
    link, place = use.link, use.place
    places = evaluation.network.places
    sides = [
        (_end_text(evaluation, link, far=False), _joints(evaluation, link.rows[:place])),
        (_end_text(evaluation, link, far=True), _joints(evaluation, link.rows[place + 1 :])),
    ]
    if places[use.row.id] == places[run.row.id][::-1] and use.row.id != run.row.id:
        sides.reverse()
    return sides[0][0], sides[1][0], sides[0][1], sides[1][1]


def _end_text(evaluation: Any, link: Any, *, far: bool) -> str:
    row = link.rows[-1 if far else 0]
    site = evaluation.network.places[row.id][0]
    port = port_text(link, far=far) or row.part
    return f"{site}: {port}" if site else port


def _joints(evaluation: Any, rows: Any) -> str:
    found = []
    for row in rows:
        if KINDS[row.kind].per_strand:
            site = evaluation.network.places[row.id][0]
            found.append(joint_text(row) + (f" ({site})" if site else ""))
    return ", ".join(found) or "none"
