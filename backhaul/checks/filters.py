"""Wavelength-division filters: what passes them, and who may share a strand through them."""

from collections.abc import Iterator
from typing import Any

from backhaul.checks.context import Context, on_link
from backhaul.checks.optics import optics_of
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import Link
from backhaul.wording import window_text

_FILTER = "filter"


def filter_channels(context: Context) -> Iterator[Finding]:
    """optics-wavelength: light that a filter on its way does not pass, or not in one channel."""
    for link in context.optical.links:
        told = set()
        for row in joints_of_kind(link, context, _FILTER):
            passes = context.catalog.joints[row.part]
            wrong = [
                (*found, optic)
                for optic in optics_of(context, link)
                if (found := _what_is_wrong(optic, passes)) is not None
            ]
            if not wrong or row.part in told:
                continue
            told.add(row.part)
            severity, words, optic = min(wrong, key=lambda each: each[0] != FAIL)
            sent = window_text(optic.tx_min_nm, optic.tx_max_nm)
            yield on_link(
                "optics-wavelength",
                severity,
                link,
                row,
                "part",
                f"{optic.part} transmits {sent}, {words}",
                remedy="fit optics of one channel of the filter at both ends, or leave the filters "
                "out",
                value=optic.tx_nominal_nm,
                unit="nm",
                source=passes.source,
            )


def _what_is_wrong(optic: Any, passes: Any) -> tuple[str, str] | None:
    least, most = optic.tx_min_nm, optic.tx_max_nm
    if least is None or most is None:
        return None
    if passes.channel_nm is not None and most - least > passes.channel_nm:
        return (
            FAIL,
            f"a channel of {passes.part} is {passes.channel_nm:g} nm wide: not all of it passes",
        )
    if passes.pass_min_nm is None or passes.pass_max_nm is None:
        return None
    if most < passes.pass_min_nm or least > passes.pass_max_nm:
        word = FAIL, "no light passes"
    elif least < passes.pass_min_nm or most > passes.pass_max_nm:
        word = THIN, "part of the range is outside"
    else:
        return None
    passed = window_text(passes.pass_min_nm, passes.pass_max_nm)
    return word[0], f"{passes.part} passes {passed}: {word[1]}"


def joints_of_kind(link: Link, context: Context, kind: str) -> list[Any]:
    """Rows of a link whose part is a joint of this kind of the catalogue."""
    joints = context.catalog.joints
    return [
        row
        for row in link.rows[1:-1]
        if (joint := joints.get(row.part)) is not None and joint.kind == kind
    ]


def may_share(one: Link, other: Link, strand_of: Any, context: Context) -> bool:
    """Whether two links may share a strand: between the same two filters, on channels of their own.

    strand_of: the row of the shared run.
    """
    between = [_around(link, strand_of, context) for link in (one, other)]
    if None in between or between[0] != between[1]:
        return False
    return not any(
        _overlap(a, b) for a in optics_of(context, one) for b in optics_of(context, other)
    )


def _around(link: Link, run: Any, context: Context) -> frozenset | None:
    """The filters on both sides of a run; None where one is missing."""
    place = next(n for n, row in enumerate(link.rows) if row_key(row) == row_key(run))
    filters = {id(row) for row in joints_of_kind(link, context, _FILTER)}
    before = [row for row in link.rows[:place] if id(row) in filters]
    after = [row for row in link.rows[place + 1 :] if id(row) in filters]
    if not before or not after:
        return None
    return frozenset((row_key(before[-1]), row_key(after[0])))


def _overlap(a: Any, b: Any) -> bool:
    windows = (a.tx_min_nm, a.tx_max_nm, b.tx_min_nm, b.tx_max_nm)
    if None in windows:
        return True
    return a.tx_min_nm <= b.tx_max_nm and b.tx_min_nm <= a.tx_max_nm
