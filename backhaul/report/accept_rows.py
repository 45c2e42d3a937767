"""Rows of the table `accepted` for what is thin, to be pasted once somebody answers for them."""

import csv
import io
from collections.abc import Iterator
from math import floor, log10
from typing import Any

from backhaul.checks.results import Results
from backhaul.design.columns import ACCEPTED
from backhaul.findings import GUARDS, THIN, Finding
from backhaul.report.order_csv import safe_text

HEADS = tuple(column.name for column in ACCEPTED)
#: Digits that an accepted figure keeps: it lapses where the last one gets worse.
_DECIMALS, _DIGITS = 2, 3


def accept_rows(results: Results) -> Iterator[dict[str, Any]]:
    """A row for each thin finding that nobody answers for; who, when and why are left to fill in.

    What fails or can hurt somebody gets none: it cannot be accepted.
    """
    labels = {row.id: row.label for row in results.design.segments}
    for finding in results.findings:
        if finding.severity == THIN and finding.accepted is None and finding.unit not in GUARDS:
            yield {
                "check": finding.check,
                "path": finding.path or "",
                "step": "" if finding.step is None else f"{finding.step:g}",
                "label": _label(finding, labels),
                "value": _figure(finding.value),
                "unit": finding.unit or "",
                "by": "",
                "date": "",
                "reason": "",
            }


def accept_rows_csv(results: Results) -> str:
    """The same as a CSV with its heads."""
    out = io.StringIO()
    writer = csv.DictWriter(out, HEADS, lineterminator="\n")
    writer.writeheader()
    for row in accept_rows(results):
        writer.writerow(
            {name: cell if name == "value" else safe_text(cell) for name, cell in row.items()}
        )
    return out.getvalue()


def _label(finding: Finding, labels: dict[int, str | None]) -> str:
    """Label of the thing where no path and step tell the place."""
    if finding.path is not None:
        return ""
    return next((label for row in finding.rows if (label := labels.get(row))), "")


def _figure(value: float | str | None) -> str:
    """A figure in the digits in which it is accepted.

    >>> _figure(1.81799), _figure(0.04127), _figure(None)
    ('1.82', '0.0413', '')
    """
    if not isinstance(value, int | float):
        return ""
    small = 0 < abs(value) < 1
    decimals = _DIGITS - 1 - floor(log10(abs(value))) if small else _DECIMALS
    return f"{round(float(value), decimals):.10g}"
