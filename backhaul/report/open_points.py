"""What is open, in a terminal: causes with what they take down, then notes and cautions."""

import re
from collections.abc import Iterable, Iterator, Mapping

from backhaul.checks.groups import Group, few, takes_down
from backhaul.checks.results import Results
from backhaul.checks.safety import DEFERS
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.report.lines import Line, cell_of, place_of, wrapped

_MANY, _FEW = 40, 12
#: So many more places of one finding are told with their cells, more by path and step.
_WITH_CELL = 3
_INDENT = " " * 7
#: Notes that say how far a method holds: they decide nothing.
OF_METHODS = frozenset(("out-of-range",))


def open_points(
    evaluation: Results,
    groups: list[Group],
    marks: Mapping[str, str],
    width: int,
    everything: bool,
) -> Iterator[Line]:
    """Causes, what is accepted, notes."""
    yield ("Open points" if groups else "No open points."), ""
    alike: dict[tuple, list[Group]] = {}
    for group in groups:
        key = (group.severity, group.head.check, group.head.remedy)
        alike.setdefault(key, []).append(group)
    blocks = list(alike.values())
    shown = blocks if everything else blocks[:_MANY]
    for block in shown:
        yield from _block(block, marks, width, everything)
    if len(blocks) > len(shown):
        rest = sum(map(len, blocks[len(shown) :]))
        yield f"  … and {rest} more (--all lists them)", ""
    yield from _accepted(evaluation, width)
    yield from _notes(evaluation, width, everything)


def _block(
    block: list[Group], marks: Mapping[str, str], width: int, everything: bool
) -> Iterator[Line]:
    """Causes of one check that one remedy settles, each with its places."""
    head = block[0].head
    severity = block[0].severity
    yield f"  {marks[severity]:<4} {head.check}  {cell_of(head)}", severity
    for number, group in enumerate(block):
        finding = group.head
        before = f"{place_of(finding)}: " if number else ""
        others = group.places[1:]
        if number == 0 and others:
            yield from wrapped(_also(others, everything), width, _INDENT)
            others = ()
        yield from wrapped(before + finding.message, width, _INDENT)
        if others:
            yield from wrapped(_also(others, everything), width, _INDENT)
        if words := takes_down(group):
            yield from wrapped(f"takes down: {words}", width, _INDENT)
    if head.remedy:
        yield from wrapped(f"→ {head.remedy}", width, _INDENT)


def _also(others: tuple[Finding, ...], everything: bool) -> str:
    shown = others if everything else others[:_FEW]
    with_cell = len(others) <= _WITH_CELL
    places = "; ".join(filter(None, (cell_of(f) if with_cell else place_of(f) for f in shown)))
    more = f" … and {len(others) - len(shown)} more" if len(others) > len(shown) else ""
    return f"and at {places}{more}"


def _accepted(evaluation: Results, width: int) -> Iterator[Line]:
    accepted = [finding for finding in evaluation.findings if finding.accepted]
    if accepted:
        yield "", ""
        yield "Accepted", ""
    for finding in accepted:
        by, date, reason, _ = finding.accepted  # type: ignore[misc]
        who = ", ".join(filter(None, (by, date)))
        yield from wrapped(
            f"{finding.check} {place_of(finding)}: {finding.message} — {who}: {reason}",
            width,
            "  - ",
        )


def _notes(evaluation: Results, width: int, everything: bool) -> Iterator[Line]:
    notes = [finding for finding in evaluation.findings if finding.severity == NOTE]
    told = notes if everything else [note for note in notes if _matters(evaluation, note)]
    if not told:
        return
    yield "", ""
    yield "Notes", ""
    names = _names(evaluation)
    kinds: dict[tuple, list[Finding]] = {}
    for note in told:
        kinds.setdefault((note.check, _kind_of(note.message, names)), []).append(note)
    groups = [[note] for note in told] if everything else list(kinds.values())
    for group in groups if everything else groups[:_FEW]:
        first = group[0]
        place = " ".join(filter(None, (first.path, first.where)))
        text = f"{place + ': ' if place else ''}{first.message}"
        if len(group) > 1:
            text += f"; likewise {few((place_of(note) for note in group[1:]), _FEW)}"
        yield from wrapped(text, width, "  - ")
    rest = sum(map(len, groups[_FEW:])) if not everything else 0
    rest += len(notes) - len(told)
    if rest:
        yield f"  … and {rest} more (--all lists them)", ""


def _matters(evaluation: Results, note: Finding) -> bool:
    """Whether a note may change what a designer does.

    How far a method holds does not, nor that a port could run faster where its paths want no more.
    """
    if note.check == "copper-rate":
        short = {f.path for f in evaluation.findings if f.check == "path-rate" and not f.cause}
        return not short.isdisjoint(note.paths)
    return note.check not in OF_METHODS


def _names(evaluation: Results) -> frozenset[str]:
    """Names of the design and the catalogue, which tell notes of one kind apart and no more."""
    names = set(evaluation.design.sites)
    for row in evaluation.design.segments:
        names.update(filter(None, (row.label, row.part, row.to_part, row.site, row.to_site)))
    return frozenset(names)


def _kind_of(message: str, names: frozenset[str]) -> str:
    """A message without its names and figures.

    >>> _kind_of("port 1 of radio-a could run 5 Gb/s", frozenset(("radio-a",)))
    'port # of # could run # Gb/s'
    """
    for name in sorted((name for name in names if name in message), key=len, reverse=True):
        message = message.replace(name, "#")
    return re.sub(r"#(?:[ /]*\(?#\)?)*", "#", re.sub(r"\S*\d\S*", "#", message))


def cautions(
    evaluation: Results, width: int, everything: bool, *, in_place: bool
) -> Iterator[Line]:
    """General cautions in a few words; those of one place, where they do not stand at their row."""
    found = [finding for finding in evaluation.findings if finding.severity == CAUTION]
    if not found:
        return
    yield "", ""
    general = [finding.message for finding in found if not finding.path]
    if everything:
        yield "Cautions", ""
        for message in general:
            yield from wrapped(message, width, "  - ")
    elif general:
        words = "; ".join(re.split(r"[,;(]", message, maxsplit=1)[0].strip() for message in general)
        yield from wrapped(f"Cautions: {words}. {DEFERS.capitalize()}.", width, "", rest="  ")
    if in_place:
        return
    places = [finding for finding in found if finding.path]
    for finding in places if everything else places[:_FEW]:
        yield from wrapped(f"{place_of(finding)}: {finding.message}", width, "  - ")
    if len(places) > _FEW and not everything:
        yield f"  … and {len(places) - _FEW} more (--all lists them)", ""


def summary(groups: Iterable[Group]) -> str:
    """The last line: how many fail and are thin, and the worst by name."""
    groups = list(groups)
    counts = {
        severity: sum(len(group.places) for group in groups if group.severity == severity)
        for severity in (FAIL, THIN)
    }
    words = f"{counts[FAIL]} fail, {counts[THIN]} thin"
    if not groups:
        return words
    head = groups[0].head
    return f"{words}: {head.check} {place_of(head)}".rstrip()
