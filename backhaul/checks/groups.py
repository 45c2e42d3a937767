"""Findings as they are read: causes, each with what it takes down, the same said once."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from backhaul.checks.stops import STOPPING
from backhaul.findings import FAIL, THIN, Finding, worst
from backhaul.wording import against, steps_text

#: Names that a line holds before it only counts the rest.
MOST_NAMED = 3


#: What is about the place of a thing, told after what its link lacks.
AROUND = frozenset(("temperature", "environment", "corrosion", "surge", "assumption"))


class Group(NamedTuple):
    """A cause at all its places, and what only follows from it.

    count: how many causes they are, where the same is said of several.
    """

    places: tuple[Finding, ...]
    followers: tuple[Finding, ...]
    count: int = 1

    @property
    def head(self) -> Finding:
        return self.places[0]

    @property
    def message(self) -> str:
        """What is found, where it is not the same at all places with these."""
        by_message: dict[str, list[Finding]] = {}
        for finding in self.places:
            by_message.setdefault(finding.message, []).append(finding)
        if len(by_message) == 1:
            return self.head.message
        return "; ".join(
            f"{steps_text((each.path, each.step) for each in found)}: {message}"
            for message, found in by_message.items()
        )

    @property
    def remedy(self) -> str:
        """What settles it, each thing once; changes before advice, which says what it is for."""
        by_text: dict[str, list[Finding]] = {}
        for finding in sorted(self.places, key=lambda each: not each.edits):
            if finding.remedy:
                by_text.setdefault(finding.remedy, []).append(finding)
        if len(by_text) == 1:
            return next(iter(by_text))
        return "; ".join(
            text
            if found[0].edits
            else f"{steps_text((each.path, each.step) for each in found)}: {text}"
            for text, found in by_text.items()
        )

    @property
    def severity(self) -> str:
        """The worst of the cause and of what it takes down."""
        return worst(finding.severity for finding in (*self.places, *self.followers))

    @property
    def paths(self) -> tuple[str, ...]:
        """All paths in which it counts."""
        members = (*self.places, *self.followers)
        return tuple(dict.fromkeys(path for finding in members for path in finding.paths))


def causes(findings: Iterable[Finding]) -> list[Group]:
    """What fails or is thin and is not accepted, by its causes: the worst first, of
    those the one from which most follows.

    >>> one = Finding("radio-reflection", THIN, "null", id="r")
    >>> two = Finding("radio-margin", FAIL, "short", id="m", cause="r")
    >>> [(group.head.check, group.severity) for group in causes([two, one])]
    [('radio-reflection', 'fail')]
    """
    open_ones = [f for f in findings if f.severity in (FAIL, THIN) and f.accepted is None]
    names = {finding.id for finding in open_ones}
    followers: dict[str, list[Finding]] = {}
    heads: dict[tuple, list[Finding]] = {}
    for finding in open_ones:
        if finding.cause in names:
            followers.setdefault(finding.cause or "", []).append(finding)
            continue
        said = (finding.shared,) if finding.shared else (finding.message, finding.remedy)
        heads.setdefault((finding.severity, finding.check, *said), []).append(finding)
    groups = [
        Group(
            tuple(alike),
            tuple(f for head in alike for f in followers.get(head.id, ())),
            1 if alike[0].shared else len(alike),
        )
        for alike in heads.values()
    ]
    return sorted(groups, key=_rank)


def stand_for(findings: Iterable[Finding]) -> dict[str, str]:
    """Of findings that are one cause with an earlier one: the id of that one, by their own.

    >>> cold = Finding("temperature", FAIL, "from 0 °C", id="a", shared="cold of Quay")
    >>> stand_for([cold, cold._replace(id="b", message="from -20 °C")])
    {'b': 'a'}
    """
    return {
        each.id: group.head.id
        for group in causes(findings)
        if group.head.shared
        for each in group.places[1:]
    }


def _rank(group: Group) -> tuple:
    """The worst first, of those what takes down most, then what a link itself lacks."""
    stopped = len(group.paths) if group.head.check in STOPPING else 0
    return (group.severity != FAIL, -len(group.followers) - stopped, group.head.check in AROUND)


def why(groups: Iterable[Group], paths: Mapping[str, str]) -> dict[str, Group]:
    """For each path that does not pass, the group that decides its verdict.

    paths: verdict by path. A cause in the path itself, or that stops it, stands before others.
    """
    found: dict[str, tuple[Group, bool]] = {}
    for group in groups:
        near = _near_paths(group)
        added = _verdicts(group)
        for path in group.paths:
            if path in found and (found[path][1] or path not in near):
                continue
            if path in paths and added[path] == paths[path]:
                found[path] = group, path in near
    return {path: group for path, (group, _) in found.items()}


def _near_paths(group: Group) -> set[str | None]:
    """Paths in which a cause stands, and those that it stops."""
    near = {finding.path for finding in group.places}
    if group.head.check in STOPPING and group.severity == FAIL:
        near.update(path for finding in group.places for path in finding.paths)
    return near


def _verdicts(group: Group) -> dict[str, str]:
    """What a group adds to the verdict of each of its paths."""
    by_path: dict[str, list[str]] = {}
    for finding in (*group.places, *group.followers):
        for path in finding.paths:
            by_path.setdefault(path, []).append(finding.verdict)
    return {path: worst(verdicts) for path, verdicts in by_path.items()}


def takes_down(group: Group) -> str:
    """What follows from a cause, in words; blank where nothing does."""
    words, by_check = [], {}
    for finding in group.followers:
        by_check.setdefault(finding.check, []).append(finding)
    for check, findings in by_check.items():
        paths = few(path for finding in findings for path in finding.paths)
        if check.startswith("path-"):
            words.append(f"{check} of {paths}")
        elif figure := figure_of(findings[0]):
            words.append(f"{check}{figure}")
        elif check != group.head.check:
            words.append(check)
    if group.head.check in STOPPING:
        dark = [p for f in group.places for p in f.paths if p != f.path]
        told = {
            path
            for finding in group.followers
            if finding.check.startswith("path-")
            for path in finding.paths
        }
        if rest := [path for path in dark if path not in told]:
            words.append(f"{'path' if len(rest) == 1 else 'paths'} {few(rest)}")
    return ", ".join(words)


def figure_of(finding: Finding) -> str:
    """The figure of a finding beside its limit; a class is no figure to compare."""
    value, limit = finding.value, finding.limit
    if not isinstance(value, int | float) or finding.unit in (None, "", "class", "nm"):
        return ""
    if not isinstance(limit, int | float):
        digits = ".0f" if abs(value) >= _WHOLE_FROM else ".3g"
        return f" {value:{digits}} {finding.unit}"
    have, want = against(value, limit)
    return f" {have} {finding.unit} (limit {want})"


#: From here on a figure is told in whole units, never as a power of ten.
_WHOLE_FROM = 1000


def few(words: Iterable[str | None], most: int = MOST_NAMED) -> str:
    """Words once each, of many the first and how many more.

    >>> few(["P0", "P1", "P1", "P2", "P3", "P4"])
    'P0, P1, P2 and 2 more'
    """
    names = list(dict.fromkeys(word for word in words if word))
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")
