"""Findings that somebody answers for: out of the verdict, with name and reason."""

from collections.abc import Iterable
from typing import Any

from backhaul.checks.context import Context
from backhaul.findings import FAIL, NOTE, THIN, Acceptance, Finding


def with_accepted(context: Context, findings: Iterable[Finding]) -> list[Finding]:
    """The findings with those marked that the table `accepted` names.

    It covers what is thin, never what fails, and lapses where the figure got worse; of several rows
    that name one finding, the one with the nearest figure counts. A row that names no finding is
    told.
    """
    found = list(findings)
    labels = {row.id: row.label for row in context.design.segments if row.label}
    named: dict[int, list[Any]] = {}
    for row in context.design.accepted:
        places = [n for n, finding in enumerate(found) if _names(row, finding, labels)]
        for place in places:
            named.setdefault(place, []).append(row)
        if not places:
            found.append(_idle(row))
    for place, rows in named.items():
        finding = found[place]
        found[place] = _marked(min(rows, key=lambda row: _apart(row, finding)), finding)
    return found


def _names(row: Any, finding: Finding, labels: dict[int, str]) -> bool:
    if finding.check != row.check or finding.severity not in (FAIL, THIN):
        return False
    if row.label and row.label not in {labels.get(each) for each in finding.rows}:
        return False
    if row.path and row.path not in finding.paths:
        return False
    return row.step is None or row.step == finding.step


def _apart(row: Any, finding: Finding) -> float:
    """How far the accepted figure is from that of a finding; a blank holds for any."""
    if row.value is None or not isinstance(finding.value, int | float):
        return 0.0
    return abs(row.value - float(finding.value))


def _marked(row: Any, finding: Finding) -> Finding:
    who = f"{row.by}{f', {row.date}' if row.date else ''}: {row.reason}"
    if finding.severity == FAIL:
        return finding._replace(message=f"{finding.message}; not covered by {who}")
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


def _idle(row: Any) -> Finding:
    place = row.label or " step ".join(
        str(part) for part in (row.path, row.step and f"{row.step:g}") if part
    )
    return Finding(
        "assumption",
        NOTE,
        f"nothing is found of {row.check} at {place or 'the design'}: the acceptance has no effect",
        where=row.at("check"),
        remedy="take the row out of accepted, or correct its place",
    )
