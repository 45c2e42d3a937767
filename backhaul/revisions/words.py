"""Differences of two revisions in words, a line each."""

from typing import Any

from backhaul.findings import FAIL, Finding
from backhaul.revisions.change import ADDED, MOVED, REMOVED, RENAMED, Change
from backhaul.revisions.figures import Moved
from backhaul.revisions.findings import GONE, NEW, FindingChange
from backhaul.revisions.orders import OrderChange
from backhaul.wording import availability_text


def verdict_text(verdict: str | None) -> str:
    """A verdict as it is printed; none where a revision lacks the path.

    >>> verdict_text("fail"), verdict_text(None)
    ('FAIL', 'none')
    """
    return {FAIL: "FAIL", None: "none"}.get(verdict, verdict or "")


def change_text(change: Change) -> str:
    """A difference of the tables in one line.

    >>> change_text(Change("sites", "moved", "Hide", text="35.0 m towards 120°"))
    'Hide moved: 35.0 m towards 120°'
    """
    cells = dict.fromkeys(filter(None, (change.where_before, change.where_after)))
    where = f"  [{' -> '.join(cells)}]" if cells else ""
    place = f"{change.path} step {change.step:g}: " if change.step is not None else ""
    if change.what in (ADDED, REMOVED):
        text = f" ({change.text})" if change.text else ""
        table = "" if change.table == "segments" else f"{change.table}: "
        return f"{table}{place}{change.name} {change.what}{text}{where}"
    if change.what == RENAMED:
        return f"{place}{change.name} renamed: {change.before} -> {change.after}{where}"
    if change.what == MOVED and change.text:
        return f"{change.name} moved: {change.text}{where}"
    word = "moved, " if change.what == MOVED else ""
    name = "" if change.name == change.column else f"{change.name}: "
    values = f"{_shown(change.before)} -> {_shown(change.after)}"
    table = "" if change.table in ("segments", "sites") else f"{change.table} "
    return f"{table}{place}{name}{word}{change.column} {values}{where}"


def _shown(value: Any) -> str:
    if value is None:
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def finding_text(change: FindingChange) -> str:
    """A finding that is gone, new or says something else, in one line."""
    finding = change.finding
    step = "" if finding.step is None else f"step {finding.step:g}"
    place = f"{finding.path or ''} {step}".strip() or finding.where or ""
    head = f"{finding.check} {place}".strip()
    mark = verdict_text(finding.severity)
    if change.what in (GONE, NEW):
        return f"{change.what}: {mark} {head}: {finding.message}{_who(finding)}"
    was = change.before
    severity = mark
    if was is not None and was.severity != finding.severity:
        severity = f"{verdict_text(was.severity)} -> {mark}"
    figures = _figures(change)
    return f"{'worse' if change.is_worse else 'changed'}: {severity} {head}{figures}{_who(finding)}"


def _figures(change: FindingChange) -> str:
    one, other = change.before, change.after
    values = [finding.value if finding is not None else None for finding in (one, other)]
    if all(isinstance(value, int | float) for value in values):
        unit = f" {other.unit}" if other is not None and other.unit else ""
        return f": {values[0]:.4g} -> {values[1]:.4g}{unit}"
    return f": {other.message}" if other is not None else ""


def _who(finding: Finding) -> str:
    return f" — accepted by {finding.accepted.by}" if finding.accepted else ""


def moved_text(moved: Moved) -> str:
    """A figure that moved, in one line.

    >>> moved_text(Moved("tower", "hop from Crest", "margin", "dB", 12.0, 9.5, True))
    'worse: tower hop from Crest: margin 12.00 -> 9.50 dB'
    """
    place = " ".join(filter(None, (moved.path, moved.place)))
    values = " -> ".join(_figure(value, moved.unit) for value in (moved.before, moved.after))
    mark = "worse: " if moved.is_worse else "better: " if moved.is_better else ""
    return f"{mark}{place}: {moved.label} {values} {moved.unit}".rstrip()


def _figure(value: float | None, unit: str) -> str:
    if value is None:
        return "not known"
    if unit == "%":
        return availability_text(value, 4).removesuffix(" %")
    return f"{value:.2f}" if unit in ("dB", "dBm") else f"{value:.4g}"


def order_text(line: OrderChange, currency: str) -> str:
    """Plus or minus of one part in one line."""
    what = " ".join(filter(None, (line.part, line.pack)))
    text = f"{line.more:+g} {line.unit} {what} ({line.before:g} -> {line.after:g})"
    if line.cost is None:
        return text
    return f"{text}, {line.cost:+,.2f} {currency}".rstrip()
