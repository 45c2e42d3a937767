"""The evaluation as a designer reads it at a glance: paths, segments, causes, the worst first."""

from collections.abc import Iterator

from backhaul.checks.groups import Group, causes, why
from backhaul.checks.link_words import link_words, row_words, telling_row
from backhaul.checks.results import Results
from backhaul.figures.path_figures import (
    AVAILABILITY,
    BOTTLENECK,
    DEMAND,
    RATE,
    TARGET,
    WAYS,
    PathFigure,
)
from backhaul.findings import CAUTION, FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import RADIO
from backhaul.report.confirm_lines import confirm_lines
from backhaul.report.lines import Line, clip, in_units_of, place_of, wrapped
from backhaul.report.open_points import cautions, open_points, summary
from backhaul.units import PERCENT
from backhaul.wording import named

MARKS = {FAIL: "FAIL", THIN: "thin", PASS: "pass", NOTE: "note", CAUTION: "caution"}
#: Said where the word is first read.
THIN_MEANS = "thin: works, with less reserve than is wanted"
#: More paths than this are listed in one line each.
LARGE_DESIGN_PATHS = 12
_MANY = 40
#: Letters left for the figures of a row, however long the names of its parts.
_LEAST_ROOM = 36
#: Longer names push their own line to the right.
_LONGEST_NAME = 26


def report(evaluation: Results, *, width: int = 100, everything: bool = False) -> Iterator[Line]:
    """The report line by line; `everything` lists every path and note of a large design."""
    lines = _Report(evaluation, width, everything).lines()
    yield from in_units_of(evaluation.design, lines)


class _Report:
    def __init__(self, evaluation: Results, width: int, everything: bool):
        self.evaluation, self.width, self.everything = evaluation, width, everything
        self.groups = causes(evaluation.findings)
        self.why = why(self.groups, evaluation.path_verdicts)
        self.is_short = len(evaluation.network.chains) > LARGE_DESIGN_PATHS and not everything
        #: row that was shown: the path and step at which it was, with its verdict
        self.shown: dict[tuple, tuple[str, float, str]] = {}
        self.by_row: dict[int, list[Finding]] = {}
        for finding in evaluation.findings:
            if finding.severity == CAUTION and finding.path:
                for row in finding.rows[:1]:
                    self.by_row.setdefault(row, []).append(finding)

    def lines(self) -> Iterator[Line]:
        evaluation, design = self.evaluation, self.evaluation.design
        title = design.project.title or design.name or "design"
        yield f"{title}: {MARKS[evaluation.verdict]}", evaluation.verdict
        if any(group.severity == THIN for group in self.groups):
            yield f"({THIN_MEANS})", ""
        paths = list(evaluation.network.chains)
        if self.is_short:
            yield from self._many_paths(paths)
        else:
            for path in paths:
                yield "", ""
                yield from self._path(path)
        yield "", ""
        yield from open_points(evaluation, self.groups, MARKS, self.width, self.everything)
        if self.everything:
            yield from confirm_lines(evaluation, self.width)
        yield from cautions(evaluation, self.width, self.everything, in_place=not self.is_short)
        yield "", ""
        yield from wrapped(summary(self.groups), self.width, "")

    def _many_paths(self, paths: list[str]) -> Iterator[Line]:
        """One line a path, the worst first; what passes is only counted."""
        order = {FAIL: 0, THIN: 1, PASS: 2}
        verdicts = self.evaluation.path_verdicts
        ranked = sorted(paths, key=lambda path: order[verdicts[path]])
        shown = [path for path in ranked if verdicts[path] != PASS][:_MANY]
        for path in shown:
            yield clip(self._short_path_line(path), self.width), verdicts[path]
        counts = {verdict: sum(1 for v in verdicts.values() if v == verdict) for verdict in order}
        words = ", ".join(f"{count} {verdict}" for verdict, count in counts.items())
        yield f"{len(paths)} paths: {words} (--all lists them)", ""

    def _path(self, path: str) -> Iterator[Line]:
        verdict = self.evaluation.path_verdicts[path]
        for line, _ in wrapped(self._path_line(path), self.width, "", rest="    "):
            yield line, verdict
        uses = {row: use for use in self.evaluation.network.uses[path] for row in use.row_ids}
        rows = list(self.evaluation.network.chains[path].rows)
        longest = min(max((len(_name(row)) for row in rows), default=0), _LONGEST_NAME)
        verdicts = self.evaluation.verdicts_in[path]
        deciding = self.evaluation.deciding_in[path]
        place = 0
        while place < len(rows):
            folded = self._folded(path, rows, place)
            if folded:
                yield f"  as in {folded[0]}", ""
                place += folded[1]
                continue
            row = rows[place]
            word = verdicts.get(row.id, PASS)
            self.shown.setdefault(_key(row), (path, row.step, word))
            use = uses.get(row.id)
            words = row_words(self.evaluation, row)
            if use is not None and telling_row(use) == row.id:
                words.append(link_words(self.evaluation, use))
            if row.id in deciding:
                words.append(f"by {deciding[row.id].check}")
            head = f"{row.step:g}".rjust(5) + f"  {MARKS[word]:<4}  {_name(row):<{longest}}  "
            text = head + ", ".join(filter(None, words))
            rest = " " * min(len(head), max(self.width - _LEAST_ROOM, 13))
            for line, _ in wrapped(text.rstrip(), self.width, "", rest=rest):
                yield line, word if word != PASS else ""
            for caution in self.by_row.pop(row.id, ()):
                yield from wrapped(f"! {caution.message}", self.width, " " * 13, rest=" " * 15)
            place += 1

    def _folded(self, path: str, rows: list, place: int) -> tuple[str, int] | None:
        """Rows from here on that one other path has shown, with the same verdict: where, how many."""
        verdicts = self.evaluation.verdicts_in[path]
        begun: tuple[str, float, str] | None = None
        last = first = 0.0
        count = 0
        for row in rows[place:]:
            told = self.shown.get(_key(row))
            if told is None or told[2] != verdicts.get(row.id, PASS):
                break
            if told[0] == path or (begun and told[0] != begun[0]):
                break
            begun = begun or told
            first, last = (told[1], told[1]) if not count else (first, told[1])
            count += 1
        if begun is None or count < 2:
            return None
        return f"{begun[0]}, {first:g} to {last:g}", count

    def _path_line(self, path: str) -> str:
        row = self.evaluation.design.paths.get(path)
        title = f" ({row.title})" if row and row.title else ""
        return ", ".join((f"{path}{title}: {self._verdict(path)}", *self._figures(path)))

    def _short_path_line(self, path: str) -> str:
        """The same, so short that its figures stand on one line, the reason before them."""
        return ", ".join((f"{path}: {self._verdict(path)}", *self._figures(path)))

    def _verdict(self, path: str) -> str:
        """The verdict with its worst finding and step."""
        mark = MARKS[self.evaluation.path_verdicts[path]]
        group = self.why.get(path)
        if group is None:
            return mark
        finding = _in_path(group, path)
        return f"{mark} by {finding.check} {place_of(finding, path)}".rstrip()

    def _figures(self, path: str) -> Iterator[str]:
        served = self.evaluation.performance.paths[path]
        if not served.carries_data:
            yield "power only"
            return
        has_rate = not served.is_stopped and any(RATE[way].of(served) for way in WAYS)
        if not has_rate:
            yield "no rate"
        else:
            yield pair(RATE, served)
        if served.has_demand:
            yield f"demand {pair(DEMAND, served)}"
        lowest = BOTTLENECK.of(served)
        if lowest is not None and self.everything:
            yield f"lowest at step {lowest:g}"
        share = AVAILABILITY.of(served)
        has_hop = any(use.link.kind == RADIO for use in self.evaluation.network.uses[path])
        if share is not None and (has_hop or share < PERCENT):  # without a hop no weather tells
            wanted = "" if share >= TARGET.of(served) else f" ({TARGET.of(served):g} wanted)"
            of_what = "" if has_rate else "its hops alone "
            yield f"{of_what}{AVAILABILITY.text(served)} of the year{wanted}"


def pair(figures: dict[str, PathFigure], served) -> str:
    """A figure up and down in words and in that order: "28.2 up / 1.2 down Mb/s"."""
    up, down = (figures[way].text(served) for way in WAYS)
    if up == down:
        return f"{up} each way"
    unit = " Mb/s"
    if up.endswith(unit) and down.endswith(unit):
        return f"{up.removesuffix(unit)} up / {down.removesuffix(unit)} down{unit}"
    return f"{up} up / {down} down"


def _in_path(group: Group, path: str) -> Finding:
    """The finding of a group that stands in a path, else one that counts there, else its first."""
    there = sorted(group.places, key=lambda each: (each.path != path, path not in each.paths))
    return there[0]


def _name(row) -> str:
    return named(row.kind, row.part)


def _key(row) -> tuple:
    return row_key(row) if row.label else ("row", row.id)
