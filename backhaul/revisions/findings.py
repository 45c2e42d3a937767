"""Findings of two revisions beside each other: gone, new, changed."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

from backhaul.checks.accepted import is_worse
from backhaul.checks.results import PATH_CHECKS, Results
from backhaul.findings import CAUTION, FAIL, NOTE, PASS, THIN, Finding
from backhaul.revisions.thresholds import is_noticed

GONE, NEW, CHANGED = "gone", "new", "changed"
_RANK = {FAIL: 2, THIN: 1, CAUTION: 0, NOTE: 0, PASS: 0}
#: Figures in a text: without them two messages of one check say the same.
_FIGURES = re.compile(r"[-−]?\d+(?:[.,]\d+)*")


class FindingChange(NamedTuple):
    """A finding that is gone, new, or says something else; the other one is None."""

    what: str
    before: Finding | None
    after: Finding | None

    @property
    def finding(self) -> Finding:
        """The one that stands in the newest revision that has it."""
        return self.after or self.before  # type: ignore[return-value]

    @property
    def is_worse(self) -> bool:
        """Whether a verdict gets worse by it, or a figure moves away from its limit."""
        was, now = _rank(self.before), _rank(self.after)
        if was != now or not now or self.before is None or self.after is None:
            return now > was
        value = self.before.value
        if not isinstance(value, int | float):
            return False
        return is_noticed(value, self.after.value, self.after.unit) and is_worse(
            self.after.value, self.after.limit, value
        )


def _rank(finding: Finding | None) -> int:
    return _RANK[finding.verdict] if finding is not None else 0


def finding_changes(
    old: Results,
    new: Results,
    rows: Mapping[int, int],
    paths: Mapping[str, str],
    names: Collection[str],
) -> list[FindingChange]:
    """What is gone, new and changed, the worst first.

    rows: id of a row in the old revision -> of the one at its place in the new; paths: likewise by
    name. names: old and new ones of what bears another name now.
    """
    found = []
    pairs = _pairs(old.findings, new.findings, rows, paths)
    taken = set(pairs.values())
    for n, finding in enumerate(old.findings):
        if n not in pairs:
            found.append(FindingChange(GONE, finding, None))
        elif _says_otherwise(finding, new.findings[pairs[n]], names):
            found.append(FindingChange(CHANGED, finding, new.findings[pairs[n]]))
    found += [
        FindingChange(NEW, None, finding)
        for n, finding in enumerate(new.findings)
        if n not in taken
    ]
    return sorted(found, key=lambda change: (not change.is_worse, change.finding.rank))


def _pairs(
    old: Sequence[Finding], new: Sequence[Finding], rows, paths: Mapping[str, str]
) -> dict[int, int]:
    """Places of findings that are one: of one check, at rows that belong together."""
    standing: dict[tuple, list[int]] = defaultdict(list)
    for n, finding in enumerate(new):
        for place in _places(finding, lambda row: row, lambda path: path):
            standing[place].append(n)
    scores = []
    for m, finding in enumerate(old):
        near = {
            n for place in _places(finding, rows.get, paths.get) for n in standing.get(place, ())
        }
        scores += [(_unlike(finding, new[n], rows, paths), m, n) for n in near]
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for _, m, n in sorted(scores, key=lambda score: (score[0], min(score[1:]), max(score[1:]))):
        if m not in pairs and n not in taken:
            pairs[m] = n
            taken.add(n)
    return pairs


def _places(finding: Finding, row_of, path_of) -> Iterator[tuple]:
    """By what a finding can be found again."""
    if finding.check in PATH_CHECKS and finding.path is not None:
        yield finding.check, "path", path_of(finding.path)
        return
    if not finding.rows:
        yield finding.check, "text", _bare(finding.message)
        return
    for row in finding.rows:
        if (other := row_of(row)) is not None:
            yield finding.check, "row", other


def _unlike(one: Finding, other: Finding, rows, paths) -> tuple:
    """How little two findings of one check and place are alike."""
    mine = {rows.get(row) for row in one.rows}
    common = len(mine.intersection(other.rows))
    apart = 0.0
    if isinstance(one.value, int | float) and isinstance(other.value, int | float):
        apart = abs(one.value - other.value)
    return (
        -common,
        one.severity != other.severity,
        _column(one) != _column(other),
        one.direction != other.direction,
        _bare(one.message) != _bare(other.message),
        apart,
    )


def _column(finding: Finding) -> str:
    return re.sub(r"\d", "", (finding.where or "").rpartition("!")[2])


def _says_otherwise(one: Finding, other: Finding, names: Collection[str]) -> bool:
    if (one.severity, one.accepted) != (other.severity, other.accepted):
        return True
    if isinstance(one.value, int | float) or isinstance(other.value, int | float):
        return is_noticed(one.value, other.value, other.unit)
    return _said(one, names) != _said(other, names)


def _said(finding: Finding, names: Collection[str]) -> tuple[str, ...]:
    """What a finding says, without figures and without names that the other revision has not."""
    told: tuple[str, ...] = (str(finding.value), finding.message)
    if names:
        pattern = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
        told = tuple(re.sub(rf"(?<!\w)(?:{pattern})(?!\w)", "#", text) for text in told)
    return tuple(_bare(text) for text in told)


def _bare(text: str) -> str:
    """A text without its figures."""
    return _FIGURES.sub("#", text)
