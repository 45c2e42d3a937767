"""What is open, in a terminal: causes with what they take down, then notes and cautions."""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from backhaul.checks.groups import Group, takes_down
from backhaul.checks.results import Results
from backhaul.checks.safety import BRIEF, DEFERS
from backhaul.design.edits import INSERT, Edit
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.remedies.proof import ADVICE, parted, then
from backhaul.remedies.words import sentence
from backhaul.report.lines import Line, cell_of, place_of, wrapped
from backhaul.wording import steps_text

_MANY, _FEW = 40, 12
_INDENT = " " * 7
#: Below remedies that may be of one row.
EACH_ALONE = "each change was checked alone; backhaul settle finds a set that works together"
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
    blocks = [[group] for group in groups] if everything else _alike(evaluation, groups)
    is_folded = sum(group.count for group in groups) > len(blocks)
    head = f"Open points: {_counts(groups)}, like ones grouped"
    yield (head if is_folded else "Open points" if groups else "No open points."), ""
    shown = blocks if everything else blocks[:_MANY]
    for block in shown:
        yield from _block(block, marks, width, everything)
    if len(blocks) > len(shown):
        rest = sum(map(len, blocks[len(shown) :]))
        yield f"  … and {rest} more (--all lists them)", ""
    if sum(bool(group.head.edits) for group in groups) > 1:
        yield f"  ({EACH_ALONE})", ""
    yield from _accepted(evaluation, width)
    yield from _notes(evaluation, groups, width, everything)


def _alike(evaluation: Results, groups: list[Group]) -> list[list[Group]]:
    """Causes of one check that differ in their names and figures alone, or share a remedy."""
    names = names_pattern(evaluation)
    blocks: list[list[Group]] = []
    by_key: dict[tuple, list[Group]] = {}
    for group in groups:
        kind = (group.severity, group.head.check)
        keys = [(*kind, kind_of(group.head.message, names)), (*kind, "", group.head.remedy)]
        block = next((by_key[key] for key in keys if key in by_key), None)
        if block is None:
            blocks.append(block := [])
        block.append(group)
        by_key.update(dict.fromkeys(keys, block))
    return blocks


def _block(
    block: list[Group], marks: Mapping[str, str], width: int, everything: bool
) -> Iterator[Line]:
    """Causes of one kind, each with its places, then what settles them."""
    places = [finding for group in block for finding in group.places]
    severity, several = block[0].severity, len(places) > 1
    more = f" and {len(places) - 1} more" if several else ""
    yield f"  {marks[severity]:<4} {places[0].check}  {cell_of(places[0])}{more}", severity
    down = {group.head.id: takes_down(group) for group in block}
    by_message: dict[str, list[Finding]] = {}
    for finding in places:
        by_message.setdefault(finding.message, []).append(finding)
    told = list(by_message.items())
    for message, found in told if everything else told[:_FEW]:
        where = f"{_places(found, everything)}: " if several else ""
        yield from wrapped(where + message, width, _INDENT)
        if words := "; ".join(filter(None, (down.pop(each.id, "") for each in found))):
            yield from wrapped(f"takes down: {words}", width, _INDENT)
    if len(told) > _FEW and not everything:
        yield f"{_INDENT}… and {len(told) - _FEW} more of the kind (--all lists them)", ""
    for remedy in _remedies(block):
        yield from wrapped(f"→ {remedy}", width, _INDENT)


def _places(findings: list[Finding], with_cells: bool) -> str:
    """Where a finding stands, with the cells where everything is told."""
    if with_cells:
        return "; ".join(dict.fromkeys(map(cell_of, findings)))
    rest = f" and {len(findings) - _MANY} more" if len(findings) > _MANY else ""
    return steps_text((finding.path, finding.step) for finding in findings[:_MANY]) + rest


def _remedies(block: list[Group]) -> Iterator[str]:
    """What settles the findings of a block: what is done alike at several places once."""
    findings = [finding for group in block for finding in group.places]
    if len({finding.remedy for finding in findings}) == 1:
        if findings[0].remedy:
            yield findings[0].remedy
        return
    has_advice = any(finding.remedy and not finding.edits for finding in findings)
    if edits := _each_once(edit for finding in findings for edit in finding.edits):
        rest = f" and {len(edits) - _MANY} more changes" if len(edits) > _MANY else ""
        settled = [finding for finding in findings if finding.edits]
        changed = {place for edit in edits for place in _told_by(edit)}
        tells = changed.issuperset((finding.path, finding.step) for finding in settled)
        where = f"{_places(settled, False)}: " if has_advice and not tells else ""
        left = "".join(dict.fromkeys(map(then, settled)))
        yield where + sentence(edits[:_MANY], sites=False) + rest + left
    advice: dict[str, list[tuple[str, Finding]]] = {}
    for finding in findings:
        if finding.remedy and not finding.edits:
            why, text = parted(finding.remedy)
            advice.setdefault(text, []).append((why, finding))
    for text, found in advice.items():
        tried = [why for why, _ in found if why.endswith(ADVICE)]
        why = tried[0] if tried else found[0][0]
        places = [finding for _, finding in found]
        yield (f"{_places(places, False)}: " if len(found) < len(findings) else "") + why + text


def _told_by(edit: Edit) -> list[tuple]:
    """Places that an edit names: its row, of a row that is put in those beside it."""
    path, step = edit.key.get("path"), edit.key.get("step")
    if edit.action != INSERT or step is None:
        return [(path, step)]
    return [(path, math.floor(step)), (path, math.ceil(step))]


def _each_once(edits: Iterable[Edit]) -> list[Edit]:
    """Edits without those that are the same: what settles several findings at one stroke."""
    return list({repr(edit): edit for edit in edits}.values())


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


def _notes(
    evaluation: Results, groups: list[Group], width: int, everything: bool
) -> Iterator[Line]:
    notes = [finding for finding in evaluation.findings if finding.severity == NOTE]
    about = _telling(groups)
    told = notes if everything else [note for note in notes if _matters(about, note)]
    if not told:
        return
    yield "", ""
    yield "Notes", ""
    names = names_pattern(evaluation)
    kinds: dict[tuple, list[Finding]] = {}
    for note in told:
        kinds.setdefault((note.check, kind_of(note.message, names)), []).append(note)
    alike = [[note] for note in told] if everything else list(kinds.values())
    for same in alike if everything else alike[:_FEW]:
        first = same[0]
        place = " ".join(filter(None, (first.path, first.where)))
        text = f"{place + ': ' if place else ''}{first.message}"
        if len(same) > 1:
            text += f"; likewise {_likewise(same[1:])}"
        yield from wrapped(text, width, "  - ")
    rest = sum(map(len, alike[_FEW:])) if not everything else 0
    rest += len(notes) - len(told)
    if rest:
        yield f"  … and {rest} more (--all lists them)", ""


def _likewise(notes: list[Finding]) -> str:
    rest = f" and {len(notes) - _FEW} more" if len(notes) > _FEW else ""
    return steps_text((note.path, note.step) for note in notes[:_FEW]) + rest


def _telling(groups: list[Group]) -> dict[str, set[str]]:
    """Paths of which a cause tells the rate, and those of which anything tells the availability."""
    rate = (f for group in groups for f in group.places if f.check == "path-rate")
    year = (
        finding
        for group in groups
        for finding in (*group.places, *group.followers)
        if finding.check == "path-availability"
    )
    return {
        "copper-rate": {path for finding in rate for path in finding.paths},
        "radio-availability": {path for finding in year for path in finding.paths},
    }


def _matters(told: dict[str, set[str]], note: Finding) -> bool:
    """Whether a note may change what a designer does.

    How far a method holds does not, nor that a port could run faster where its paths want no more,
    nor that a hop misses its share of a target where the path's own finding tells of it.
    """
    if note.check in OF_METHODS:
        return False
    if note.check not in told:
        return True
    return told[note.check].isdisjoint(note.paths) == (note.check == "radio-availability")


#: Of more names a pattern is slow; those of a large design are numbered.
_MOST_NAMES = 300


def names_pattern(evaluation: Results) -> re.Pattern | None:
    """Names of the design and the catalogue, which tell findings of one kind apart and no more."""
    names = {*evaluation.design.sites, *evaluation.network.chains}
    for row in evaluation.design.segments:
        names.update(filter(None, (row.label, row.part, row.to_part, row.site, row.to_site)))
    if not names or len(names) > _MOST_NAMES:
        return None
    longest = sorted(names, key=len, reverse=True)
    return re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, longest)) + r")(?!\w)")


@lru_cache(maxsize=20_000)
def kind_of(message: str, names: re.Pattern | None) -> str:
    """A message without its names and figures.

    >>> kind_of("port 1 of radio-a could run 5 Gb/s", re.compile("radio-a"))
    'port # of # could run # Gb/s'
    """
    if names is not None:
        message = names.sub("#", message)
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
        words = "; ".join(BRIEF.get(message, message) for message in general)
        yield from wrapped(f"Cautions: {words}. {DEFERS.capitalize()}.", width, "", rest="  ")
    if in_place:
        return
    places = [finding for finding in found if finding.path]
    for finding in places if everything else places[:_FEW]:
        yield from wrapped(f"{place_of(finding)}: {finding.message}", width, "  - ")
    if len(places) > _FEW and not everything:
        yield f"  … and {len(places) - _FEW} more (--all lists them)", ""


def _counts(groups: list[Group]) -> str:
    """How many fail and are thin."""
    return ", ".join(
        f"{sum(group.count for group in groups if group.severity == severity)} {severity}"
        for severity in (FAIL, THIN)
    )


def summary(groups: Iterable[Group]) -> str:
    """The last line: how many fail and are thin, and the worst by name."""
    groups = list(groups)
    words = _counts(groups)
    if not groups:
        return words
    head = groups[0].head
    return f"{words}; first: {head.check} {place_of(head)}".rstrip()
