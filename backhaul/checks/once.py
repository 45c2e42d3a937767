"""A thing is said once: both directions, both ends, the same figure become one finding."""

import re
from collections.abc import Callable, Iterable
from functools import lru_cache

from backhaul.findings import Finding

#: Between the names that a finding holds for.
AND = " / "
_HOLE = "\0"


def once(
    findings: Iterable[Finding], names_of: Callable[[Iterable[int]], Iterable[str]]
) -> list[Finding]:
    """Findings that differ only in the site or the direction put together, the first in front.

    names_of: names of the sites of some rows, which is all that two such messages may differ in.
    """
    groups: dict[tuple, list[Finding]] = {}
    for finding in findings:
        key = (*_kind(finding), finding.rows, finding.limit, finding.unit)
        groups.setdefault(key if finding.rows else (*key, finding), []).append(finding)
    found: list[Finding] = []
    for group in groups.values():
        if len(group) == 1:
            found.extend(group)
            continue
        names = {name for finding in group for name in names_of(finding.rows)}
        found.extend(_together(group, _pattern(tuple(sorted(names, key=len, reverse=True)))))
    return found


def _kind(finding: Finding) -> tuple:
    return finding.check, finding.severity, finding.shared


def _together(group: list[Finding], holes: re.Pattern | None) -> list[Finding]:
    merged: dict[tuple, list[Finding]] = {}
    for finding in group:
        merged.setdefault((_bare(finding.message, holes), finding.remedy), []).append(finding)
    return [_one(alike, holes) for alike in merged.values()]


def _one(alike: list[Finding], holes: re.Pattern | None) -> Finding:
    first = alike[0]
    if len(alike) == 1:
        return first
    columns = zip(*(_names(finding.message, holes) for finding in alike), strict=True)
    names = [AND.join(dict.fromkeys(column)) for column in columns]
    pieces = _bare(first.message, holes).split(_HOLE)
    message = pieces[0] + "".join(
        name + piece for name, piece in zip(names, pieces[1:], strict=True)
    )
    directions = {finding.direction for finding in alike}
    return first._replace(
        message=message,
        paths=tuple(dict.fromkeys(path for finding in alike for path in finding.paths)),
        direction=first.direction if len(directions) == 1 else None,
    )


@lru_cache
def _pattern(names: tuple[str, ...]) -> re.Pattern | None:
    names = tuple(name for name in names if name)
    if not names:
        return None
    return re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, names)) + r")(?!\w)")


def _bare(text: str, holes: re.Pattern | None) -> str:
    """A message with a hole for each name.

    >>> _bare("Quay is C5, radio is made for C4", _pattern(("Quay",))).split(_HOLE)
    ['', ' is C5, radio is made for C4']
    """
    return holes.sub(_HOLE, text) if holes else text


def _names(text: str, holes: re.Pattern | None) -> list[str]:
    return holes.findall(text) if holes else []
