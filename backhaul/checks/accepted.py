"""Findings that somebody answers for: out of the verdict, with name and reason."""

from collections.abc import Iterable
from math import inf
from typing import Any

from backhaul.checks.context import Context
from backhaul.findings import FAIL, GUARDS, NOTE, THIN, Acceptance, Finding


def with_accepted(context: Context, findings: Iterable[Finding]) -> list[Finding]:
    """The findings with those marked that the table `accepted` names.

    A row is for one finding: of several that it names, the one with the nearest figure. It covers
    what is thin, never what fails nor what somebody can be hurt by, and lapses where the figure got
    worse. A row that names none, or more than it can tell apart, is told.
    """
    found = list(findings)
    rows = context.design.accepted
    labels = {row.id: row.label for row in context.design.segments if row.label}
    places = _by_place(found, labels) if rows else {}
    named = [
        [
            n
            for n in places.get((row.check, row.path or None, row.label or None), ())
            if _names(row, found[n])
        ]
        for row in rows
    ]
    pairs = sorted(
        (_apart(row, found[place]), number, place)
        for number, row in enumerate(rows)
        for place in named[number]
        if row.value is not None or len({_place(found[n]) for n in named[number]}) == 1
    )
    of_row: dict[int, int] = {}
    taken: set[int] = set()
    for _, number, place in pairs:
        if number not in of_row and place not in taken:
            of_row[number] = place
            taken.add(place)
    for number, row in enumerate(rows):
        if number in of_row:
            place = of_row[number]
            found[place] = _marked(row, found[place])
            if row.value is None and isinstance(found[place].value, int | float):
                found.append(_without_figure(row, found[place]))
        else:
            found.append(_idle(row, [found[n] for n in named[number]]))
    return found


def _by_place(found: list[Finding], labels: dict[int, str]) -> dict[tuple, list[int]]:
    """Places of what may be accepted, by check, and by path and label or without them."""
    places: dict[tuple, list[int]] = {}
    for n, finding in enumerate(found):
        if finding.severity not in (FAIL, THIN):
            continue
        for path in {None, *finding.paths}:
            for label in {None, *(labels.get(row) for row in finding.rows)}:
                places.setdefault((finding.check, path, label), []).append(n)
    return places


def _names(row: Any, finding: Finding) -> bool:
    """Whether a row means a finding of its check, path and label."""
    if (row.unit or row.check in SEVERAL) and row.unit != finding.unit:
        return False
    return row.step is None or row.step == finding.step


#: Checks that measure several things, some of which can hurt: a row without its unit names none.
SEVERAL = frozenset(("feed-protection",))


def _place(finding: Finding) -> tuple:
    return finding.path, finding.step, finding.unit


def _apart(row: Any, finding: Finding) -> float:
    """How far the accepted figure is from that of a finding; one without a figure is the last."""
    if row.value is None or not isinstance(finding.value, int | float):
        return inf
    return abs(row.value - float(finding.value))


def _marked(row: Any, finding: Finding) -> Finding:
    who = f"{row.by}{f', {row.date}' if row.date else ''}: {row.reason}"
    if finding.severity == FAIL:
        return finding._replace(message=f"{finding.message}; not covered by {who}")
    if finding.unit in GUARDS:
        return finding._replace(
            message=f"{finding.message}; somebody can be hurt by it, so nobody can accept it: the "
            f"row of {who} is refused"
        )
    if is_worse(finding.value, finding.limit, row.value):
        return finding._replace(
            message=f"{finding.message}; accepted at {row.value:g} {finding.unit or ''}".rstrip()
            + f" by {who}; it got worse, so that has lapsed"
        )
    return finding._replace(accepted=Acceptance(row.by, str(row.date or ""), row.reason, row.value))


def is_worse(value: Any, limit: Any, accepted: float | None) -> bool:
    """Whether a figure got worse than when it was accepted, in the digits that were accepted.

    Worse is further from the limit; without a limit, any other figure. A blank was accepted as it
    is.

    >>> is_worse(1.94, 2.0, 1.9), is_worse(1.84, 2.0, 1.9), is_worse(6.5, 5.0, 6.1)
    (False, True, True)
    """
    if accepted is None:
        return False
    if not isinstance(value, int | float):
        return True
    decimals = len(f"{accepted:.10g}".partition(".")[2])
    now = round(float(value), decimals)
    if not isinstance(limit, int | float) or value == limit:
        return now != accepted
    return now < accepted if value < limit else now > accepted


def _where(row: Any) -> str:
    return row.label or " step ".join(
        str(part) for part in (row.path, row.step and f"{row.step:g}") if part
    )


def _without_figure(row: Any, finding: Finding) -> Finding:
    figure = f"{finding.value:.3g} {finding.unit or ''}".rstrip()
    return Finding(
        "assumption",
        NOTE,
        f"{row.check} at {_where(row) or 'the design'} is accepted without a figure: that never "
        f"lapses, whatever becomes of {figure}",
        where=row.at("check"),
        remedy="fill value with the figure that is accepted",
    )


def _idle(row: Any, named: list[Finding]) -> Finding:
    """A row that covers nothing: it names no finding, several at once, or one of another row."""
    if row.check in SEVERAL and not row.unit:
        told = f"{row.check} measures several things, the row names no unit"
        remedy = "fill unit: A for the current that trips a breaker"
    elif not named:
        told = f"nothing is found of {row.check} at {_where(row) or 'the design'}"
        remedy = "take the row out of accepted, or correct its place"
    elif len(set(map(_place, named))) > 1 and row.value is None:
        told = f"{len(named)} findings of {row.check} are named at once, a row is for one"
        remedy = "a row each: fill path, step, unit and value"
    else:
        told = f"another row answers for {row.check} at {_where(row) or 'the design'}"
        remedy = "take one of the rows out of accepted"
    return Finding(
        "assumption",
        NOTE,
        f"{told}: the acceptance has no effect",
        where=row.at("check"),
        remedy=remedy,
    )
