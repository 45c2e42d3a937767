"""Heights, spacings and powers are not set exactly: what a little more or less undoes is no remedy."""

from collections.abc import Iterator, Mapping, Sequence
from math import ceil, floor, log10

from backhaul.design.edits import SET, Edit
from backhaul.design.model import Design
from backhaul.design.settings import US
from backhaul.findings import Finding
from backhaul.physics.mirror_search import TOLERANCE_M
from backhaul.tables.twins import metres
from backhaul.units import M_PER_FT

#: A hundredth of a power [dB].
POWER_DB = 10 * log10(1.01)
TOLERANCES: Mapping[str, float] = {
    "height_m": TOLERANCE_M,
    "to_height_m": TOLERANCE_M,
    "diversity_m": TOLERANCE_M,
    "to_diversity_m": TOLERANCE_M,
    "tx_power_dbm": POWER_DB,
}


def tolerance_of(edit: Edit) -> float | None:
    """By how much what an edit sets may be off, None where it is set exactly."""
    if edit.action != SET or not isinstance(edit.to, (int, float)):
        return None
    return TOLERANCES.get(edit.column or "")


def mounted_within_m(design: Design | None) -> float:
    """By how much a height or spacing may be off, as it is told: 0.3 m, or a foot [m]."""
    is_us = design is not None and design.project.units == US
    return M_PER_FT if is_us else TOLERANCE_M


def mounted_m(height_m: float, before_m: float | None) -> float:
    """A height or spacing of whole tenths of a foot, no nearer to what it was [m].

    >>> round(mounted_m(30.69, 18.288) / M_PER_FT, 9), round(mounted_m(6.0, 9.144) / M_PER_FT, 9)
    (100.7, 19.6)
    """
    tenths = round(height_m / M_PER_FT * 10, 6)
    return metres((ceil(tenths) if height_m > (before_m or 0.0) else floor(tenths)) / 10)


def varied(
    edits: Sequence[Edit], finding: Finding | None = None, design: Design | None = None
) -> Iterator[tuple[Edit, ...]]:
    """The edits with one of their figures off by its tolerance, down and up.

    Not those of a finding whose check itself looks beside what is set: once is enough.

    >>> edit = Edit("segments", SET, {"path": "P", "step": 2}, "height_m", 8.0, 9.5)
    >>> [round(one.to, 3) for one, in varied([edit])]
    [9.2, 9.8]
    """
    known = finding is not None and design is not None
    looked_beside = known and _is_looked_beside(edits, finding, design)
    for place, edit in enumerate(edits):
        off = None if looked_beside else tolerance_of(edit)
        if off == TOLERANCE_M:
            off = mounted_within_m(design)
        for sign in (-1, 1) if off else ():
            changed = edit._replace(to=edit.to + sign * off)
            yield (*edits[:place], changed, *edits[place + 1 :])


def _is_looked_beside(edits: Sequence[Edit], finding: Finding, design: Design) -> bool:
    """Whether a check tells of heights that do not hold a little off: of one antenna an end."""
    if finding.check != "radio-reflection":
        return False
    rows = (row for row in design.segments if row.id in finding.rows)
    spaced = any(row.diversity_m or row.to_diversity_m for row in rows)
    return not spaced and all(edit.column in ("height_m", "to_height_m") for edit in edits)
