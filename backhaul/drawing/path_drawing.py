"""One strip of a path: frames of sites, things on the line, verdicts of the links below it."""

import itertools
from collections.abc import Mapping

from backhaul.checks.link_words import link_words
from backhaul.checks.results import Results
from backhaul.drawing.hop_picture import draw_hop
from backhaul.drawing.items import BOX, GHOST, HOP, MARK, OPTIC, RUN, Item
from backhaul.drawing.looks import (
    BODY,
    FRAME,
    FRAME_EDGE,
    HEAD,
    NAME,
    PALE,
    PLAIN,
    SMALL,
    STROKES,
    Stroke,
    chip,
    solid,
)
from backhaul.drawing.page import INK, WHITE, Page, line_height
from backhaul.drawing.strips import Frame, Strip
from backhaul.findings import PASS
from backhaul.path.links import OPTICAL, RADIO, LinkUse
from backhaul.wording import rate_figure

#: Of a frame above and below the line, of a box, of an optic [mm].
#: Beside the texts of a head: its verdict, its gaps, the margin [mm].
_ASIDE = 24.0
FRAME_UP, _FRAME_DOWN, _BOX_MM, _OPTIC_MM = 15.0, 12.5, 15.0, 8.0
#: The picture of a hop above and below the line, and the bar of a link [mm].
_HOP_UP, _HOP_DOWN, _BAR = 30.0, 12.5, 15.0


class StripDrawer:
    """Draws the strips of a design on pages."""

    def __init__(self, evaluation: Results):
        self.evaluation = evaluation
        self._strokes: dict[str, dict[int, Stroke]] = {}

    def draw(self, page: Page, strip: Strip, y: float) -> None:
        """A strip whose line stands at the height y."""
        evaluation = self.evaluation
        verdicts = evaluation.verdicts_in[strip.path]
        uses = {
            use.first_step: use
            for use in evaluation.network.uses[strip.path]
            if use.link.kind == RADIO
        }
        for frame in strip.frames:
            if frame.site is not None:
                self._frame(page, frame, y)
        self._line(page, strip, y)
        for item in strip.items:
            if item.style == HOP:
                use = uses.get(item.row.step)
                if use is not None:
                    top = y - _HOP_UP
                    draw_hop(
                        page, evaluation, use, item.x + 2, top, item.width - 4, _HOP_UP + _HOP_DOWN
                    )
                continue
            _THINGS[item.style](page, item, y, verdicts.get(item.row.id, PASS))
        for use in evaluation.network.uses[strip.path]:
            self._link(page, strip, use, y)
        self._narrowest(page, strip, y)

    def _frame(self, page: Page, frame: Frame, y: float) -> None:
        page.box(
            frame.x + 0.8,
            y - FRAME_UP,
            frame.width - 1.6,
            FRAME_UP + _FRAME_DOWN,
            face=FRAME,
            edge=FRAME_EDGE,
            pt=0.6,
            radius=1.2,
            order=0.6,
        )
        left = frame.x + 2.2
        page.text(left, y - FRAME_UP + 2.2, frame.site or "", NAME, bold=True)
        site = self.evaluation.design.sites.get(frame.site or "")
        if site is not None and site.ground_m is not None:
            name = page.letters.width(frame.site or "", NAME, bold=True)
            told = f"{site.ground_m:g} m"
            if left + name + 1.5 + page.letters.width(told, SMALL) < frame.x + frame.width - 1.5:
                page.text(left + name + 1.5, y - FRAME_UP + 2.2, told, SMALL, colour=PALE)

    def _line(self, page: Page, strip: Strip, y: float) -> None:
        """The line from thing to thing, each stretch in the stroke of its medium."""
        strokes = self._strokes_of(strip.path)
        items = strip.items
        first, last = items[0], items[-1]
        if not strip.is_first:
            _stub(page, first.x - 3.5, first.x, y, strokes.get(first.row.id, PLAIN))
        for one, two in itertools.pairwise(items):
            stroke = strokes.get(two.row.id if two.style != BOX else one.row.id, PLAIN)
            start = one.x + one.width if one.style in (BOX, GHOST, OPTIC, HOP) else one.middle
            end = two.x if two.style in (BOX, GHOST, OPTIC, HOP) else two.middle
            page.line([(start, y), (end, y)], stroke.colour, pt=stroke.pt, dash=stroke.dash)
        if not strip.is_last:
            end = last.x + last.width
            stroke = strokes.get(last.row.id, PLAIN)
            start = last.middle if last.style in (MARK, RUN) else end
            page.line([(start, y), (end + 3, y)], stroke.colour, pt=stroke.pt, dash=stroke.dash)
            page.area([(end + 5, y), (end + 3, y - 1), (end + 3, y + 1)], PALE)

    def _strokes_of(self, path: str) -> Mapping[int, Stroke]:
        """The stroke of each row of a path: that of the link which it belongs to."""
        if path not in self._strokes:
            self._strokes[path] = {
                row: STROKES[use.link.kind]
                for use in self.evaluation.network.uses[path]
                for row in (*(one.id for one in use.link.rows), *use.row_ids)
            }
        return self._strokes[path]

    def _link(self, page: Page, strip: Strip, use: LinkUse, y: float) -> None:
        """The bar of a link below the line, with its verdict as a word, and what it has left."""
        own = [i for i in strip.items if use.first_step <= i.row.step <= use.last_step]
        if not own or (len(own) == 1 and use.first_step != use.last_step):
            return
        starts, ends = own[0].row.step == use.first_step, own[-1].row.step == use.last_step
        left = _reach(own[0], use, left=True, is_end=starts)
        right = _reach(own[-1], use, left=False, is_end=ends)
        verdict = self.evaluation.use_verdict(use)
        bar = y + _BAR
        page.line([(left, bar), (right, bar)], solid(verdict), pt=1.8, order=3)
        for is_end, x in ((starts, left), (ends, right)):
            if is_end:
                page.line([(x, bar - 1.1), (x, bar + 1.1)], solid(verdict), pt=1.2, order=3)
        word = chip(page, left + 0.3, bar + 3.0, verdict)
        room = right - left - word - 1.8
        words = link_words(self.evaluation, use)
        texts = page.letters.wrapped(words, max(room, 14.0), BODY)
        page.lines(left + word + 1.3, bar + 3.0, texts, BODY)
        below = bar + 3.0 + max(len(texts), 1) * line_height(BODY)
        if verdict != PASS:
            page.lines(
                left + 0.3, below + 0.2, self._why(page, use, right - left), SMALL, colour=PALE
            )

    def _why(self, page: Page, use: LinkUse, width: float) -> list[str]:
        """The checks that a link does not pass."""
        found = [
            finding.check
            for row in use.row_ids
            for finding in self.evaluation.findings_on.get(row, ())
            if use.path in finding.paths
        ]
        return page.letters.wrapped(", ".join(dict.fromkeys(found)), max(width, 26.0), SMALL)[:3]

    def _narrowest(self, page: Page, strip: Strip, y: float) -> None:
        """Where the rate of the path is lowest."""
        served = self.evaluation.performance.paths[strip.path]
        item = next((i for i in strip.items if i.row.step == served.bottleneck_step), None)
        if item is None:
            return
        up, down = served.rate_up_mbps, served.rate_down_mbps
        rates = [] if up is None or down is None else sorted({rate_figure(up), rate_figure(down)})
        told = "lowest rate here" + (f": {' / '.join(rates)}" if rates else "")
        top = y - (_HOP_UP if item.style == HOP else FRAME_UP) - 1.4
        middle = min(max(item.middle, 25.0), page.width - 25.0)
        page.area(
            [
                (item.middle, top + 1.2),
                (item.middle - 1.2, top - 0.8),
                (item.middle + 1.2, top - 0.8),
            ],
            INK,
            order=6,
        )
        page.text(middle + 2.2, top - 0.2, told, BODY, bold=True)

    def head(self, page: Page, strip: Strip, x: float, y: float, leaves: str = "") -> None:
        """Name, title and verdict of a path, above its first strip."""
        evaluation, path = self.evaluation, strip.path
        row = evaluation.design.paths.get(path)
        title = f" {row.title}" if row is not None and row.title else ""
        size = HEAD if strip.origin is None else NAME
        told = ", ".join(filter(None, (served_words(evaluation, path), leaves)))
        width = page.letters.width
        whole = width(path, size, bold=True) + width(title, size) + width(told, BODY)
        x = min(x, page.width - _ASIDE - whole)
        page.text(x, y, path, size, bold=True)
        x += width(path, size, bold=True) + 0.6
        page.text(x, y, title, size, colour=PALE)
        x += width(title, size) + 2.2
        x += chip(page, x, y, evaluation.path_verdicts[path], size=size - 1.2) + 2.0
        page.text(x, y, told, BODY, colour=PALE)


def served_words(evaluation: Results, path: str) -> str:
    """What a path carries."""
    served = evaluation.performance.paths[path]
    if not served.carries_data:
        return "power only"
    words = []
    if served.demand_up_mbps or served.demand_down_mbps:
        up, down = rate_figure(served.demand_up_mbps), rate_figure(served.demand_down_mbps)
        words.append(f"carries {up} up, {down} down")
    if served.is_stopped:
        words.append("no rate")
    return ", ".join(words)


def _reach(item: Item, use: LinkUse, *, left: bool, is_end: bool) -> float:
    """Where a bar ends at a thing: in its middle where the link does, else at its edge."""
    outer = item.x if left else item.x + item.width
    if item.style == HOP:  # over all of its own hop; a wired link only comes up to it
        own = use.link.kind == RADIO
        inner = item.x + 2 if left == own else item.x + item.width - 2
        return inner if is_end else outer
    return item.middle if is_end else outer


def _stub(page: Page, start: float, end: float, y: float, stroke: Stroke) -> None:
    page.line([(start, y), (end, y)], stroke.colour, pt=stroke.pt, dash=stroke.dash)


def _texts(page: Page, item: Item, y: float) -> None:
    """Name and part in the middle of a box."""
    name, body = line_height(NAME), line_height(item.size)
    top = y - item.height / 2 + (name if item.name else body) / 2
    page.lines(item.middle, top, item.name, NAME, bold=True, align="center")
    top += len(item.name) * name - (name - body) / 2 * bool(item.name)
    page.lines(item.middle, top, item.body, item.size, align="center")


def _box(page: Page, item: Item, y: float, verdict: str) -> None:
    height = max(_BOX_MM, item.height + 2)
    edge, pt = (INK, 0.8) if verdict == PASS else (solid(verdict), 1.4)
    page.box(
        item.x + 0.5, y - height / 2, item.width - 1, height, edge=edge, pt=pt, radius=0.8, order=3
    )
    _texts(page, item, y)
    if verdict != PASS:
        chip(page, item.x + item.width - 8.5, y - height / 2, verdict, size=SMALL)


def _ghost(page: Page, item: Item, y: float, verdict: str) -> None:
    height = item.height + 3
    page.box(
        item.x + 0.5,
        y - height / 2,
        item.width - 1,
        height,
        edge=PALE,
        radius=0.8,
        dashed=True,
        order=3,
    )
    _texts(page, item, y)


def _optic(page: Page, item: Item, y: float, verdict: str) -> None:
    height = max(_OPTIC_MM, item.height + 1)
    edge, pt = (STROKES[OPTICAL].colour, 0.7) if verdict == PASS else (solid(verdict), 1.3)
    page.box(
        item.x + 0.3,
        y - height / 2,
        item.width - 0.6,
        height,
        face="EAF4F6",
        edge=edge,
        pt=pt,
        order=3,
    )
    _texts(page, item, y)


def _mark(page: Page, item: Item, y: float, verdict: str) -> None:
    """A joint or protector on the line, its part below."""
    x, edge = item.middle, INK if verdict == PASS else solid(verdict)
    _MARKS.get(item.row.kind, _ring)(page, x, y, edge)
    page.lines(x, y + 4.2, item.body, SMALL, align="center")


def _connector(page: Page, x: float, y: float, edge: str) -> None:
    page.area([(x - 1.5, y - 1.1), (x, y), (x - 1.5, y + 1.1)], WHITE, edge, pt=0.9, order=4)
    page.area([(x + 1.5, y - 1.1), (x, y), (x + 1.5, y + 1.1)], WHITE, edge, pt=0.9, order=4)


def _splice(page: Page, x: float, y: float, edge: str) -> None:
    for way in (1, -1):
        page.line([(x - 1.1, y - 1.1 * way), (x + 1.1, y + 1.1 * way)], edge, pt=1.1, order=4)


def _attenuator(page: Page, x: float, y: float, edge: str) -> None:
    page.box(x - 1.8, y - 1.1, 3.6, 2.2, edge=edge, pt=0.9, order=4)
    page.line([(x - 1.3, y + 0.7), (x + 1.3, y - 0.7)], edge, pt=0.8, order=4.5)


def _protector(page: Page, x: float, y: float, edge: str) -> None:
    """To earth: a bar across the line and the three strokes of an earth below it."""
    page.box(x - 0.7, y - 1.4, 1.4, 2.8, edge=edge, pt=0.9, order=4)
    page.line([(x, y + 1.4), (x, y + 2.0)], edge, pt=0.7, order=4)
    for number, half in enumerate((1.0, 0.65, 0.3)):
        level = y + 2.0 + 0.4 * number
        page.line([(x - half, level), (x + half, level)], edge, pt=0.7, order=4)


def _ring(page: Page, x: float, y: float, edge: str) -> None:
    page.box(x - 1, y - 1, 2, 2, edge=edge, radius=1, order=4)


def _run(page: Page, item: Item, y: float, verdict: str) -> None:
    """A run: its length above the line, part, cable and strands below."""
    page.lines(item.middle, y - 2.0, item.name, NAME, bold=True, align="center")
    page.lines(item.middle, y + 2.2, item.body, BODY, align="center")
    if verdict != PASS:
        page.line(
            [(item.x + 1, y), (item.x + item.width - 1, y)], solid(verdict), pt=2.2, order=2.5
        )


_THINGS = {BOX: _box, GHOST: _ghost, OPTIC: _optic, MARK: _mark, RUN: _run}
_MARKS = {
    "connector": _connector,
    "splice": _splice,
    "attenuator": _attenuator,
    "protector": _protector,
}
