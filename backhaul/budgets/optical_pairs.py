"""Two optics that face each other: are they of one class, and what holds on their fibers."""

from collections.abc import Sequence
from typing import Any


def reach_rows(optic: Any, classes: Sequence[str], catalog: Any) -> tuple[Any, ...]:
    """What the catalogue says of an optic on the fibers of a link."""
    rows = (catalog.optic_reach.get((optic.part, name)) for name in classes)
    return tuple(row for row in rows if row is not None)


def is_same_class(one: Any, other: Any, one_on: Sequence[Any], other_on: Sequence[Any]) -> bool:
    """Whether two optics are of one class, or the two ends of one bidirectional pair.

    Two parts are of one class where standard, rate, mode, strands, form of budget and published
    reach agree, and the wavelength: it is the same for two strands, another for one strand. The
    temperature class of a part does not count. A published channel limit holds for such a link
    only (IEEE 802.3: both ends of a link are one port type, or a -D and a -U of one).
    """
    if one.part == other.part:
        return True
    alike = ("standard", "rate_mbps", "fiber_mode", "strands", "budget_form")
    if any(getattr(one, name) != getattr(other, name) for name in alike):
        return False
    if {row.reach_m for row in one_on} != {row.reach_m for row in other_on}:
        return False
    if one.tx_nominal_nm is None or other.tx_nominal_nm is None:
        return False
    return (one.tx_nominal_nm == other.tx_nominal_nm) == (one.strands != 1)
