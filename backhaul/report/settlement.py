"""What was changed to settle a design, as text and as plain data."""

from collections.abc import Iterator
from typing import Any

from backhaul.design.edits import in_every_row
from backhaul.figures.us_units import words_of
from backhaul.findings import FAIL, THIN
from backhaul.remedies.settling import Settlement
from backhaul.remedies.words import sentence
from backhaul.revisions.figures import Moved, moved_figures
from backhaul.revisions.words import moved_text


def settlement_lines(settled: Settlement) -> Iterator[str]:
    """The changes, what came of each path, what is left and why."""
    words = words_of(settled.after.design)
    return map(words, _lines(settled))


def _lines(settled: Settlement) -> Iterator[str]:
    before, after = settled.before, settled.after
    yield f"{before.design.project.title or before.design.name}: {before.verdict} -> {after.verdict}"
    if settled.interrupted:
        yield "stopped before the end of the search: the best so far"
    if settled.edits:
        yield ""
        yield f"{len(settled.edits)} changes:"
    for number, edit in enumerate(settled.edits, 1):
        where = f"  [{edit.where}]" if edit.where else ""
        yield f"  {number:>2}  {sentence([edit])}{where}"
    if not settled.edits and not settled.unsettled:
        yield "nothing to do"
    yield ""
    for path, verdict in after.path_verdicts.items():
        was = before.path_verdicts.get(path)
        yield f"  {path}: {was} -> {verdict}" if was != verdict else f"  {path}: {verdict}"
    moved = moved_by(settled)
    if moved:
        yield ""
        yield "margins, rates and voltages that moved:"
        yield from (f"  {moved_text(figure)}" for figure in moved)
    if settled.unsettled:
        yield ""
        yield "not settled:"
    for finding, why in settled.unsettled:
        place = f"{finding.path or ''} step {finding.step:g}" if finding.step is not None else ""
        yield f"  {finding.severity}  {finding.check} {place}: {finding.message}; {why}"


def moved_by(settled: Settlement) -> list[Moved]:
    """Margins, rates and voltages before and after the changes, of what they moved."""
    if not settled.edits:
        return []
    at = {(path, row.step): row.id for row in settled.after.design.segments for path in row.path}
    rows = {
        row.id: at[path, row.step]
        for row in settled.before.design.segments
        for path in row.path
        if (path, row.step) in at
    }
    paths = {path: path for path in settled.before.performance.paths}
    return moved_figures(settled.before, settled.after, rows, paths)


def settlement_record(settled: Settlement) -> dict[str, Any]:
    """The settlement for JSON: edits, verdicts before and after, what stays."""
    return {
        "format": 1,
        "edits": [
            edit.record()
            for edit in in_every_row(
                settled.before.design, settled.edits, settled.before.context.catalog
            )
        ],
        "cost": settled.cost,
        "before": {
            "verdict": settled.before.verdict,
            "paths": dict(settled.before.path_verdicts),
            "counts": _counts(settled.before),
        },
        "after": {
            "verdict": settled.after.verdict,
            "paths": dict(settled.after.path_verdicts),
            "counts": _counts(settled.after),
        },
        "moved": [
            {
                "path": figure.path,
                "place": figure.place,
                "figure": figure.label,
                "unit": figure.unit,
                "before": figure.before,
                "after": figure.after,
            }
            for figure in moved_by(settled)
        ],
        "unsettled": [
            {
                "check": finding.check,
                "severity": finding.severity,
                "path": finding.path,
                "step": finding.step,
                "message": finding.message,
                "why": why,
            }
            for finding, why in settled.unsettled
        ],
        "evaluated": settled.evaluated,
        "interrupted": settled.interrupted,
    }


def _counts(results: Any) -> dict[str, int]:
    return {
        severity: sum(finding.severity == severity for finding in results.findings)
        for severity in (FAIL, THIN)
    }
