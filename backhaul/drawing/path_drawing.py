"""One strip of a path: frames of sites, things on the line, verdicts of the links below it."""

import itertools
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from backhaul.checks.link_words import link_words
from backhaul.checks.results import Results
from backhaul.drawing.hop_picture import Space, draw_hop
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
from backhaul.drawing.page import INK, Page, line_height
from backhaul.drawing.strips import Frame, Strip
from backhaul.drawing.things import THINGS, down_mm, up_mm
from backhaul.findings import PASS
from backhaul.path.links import RADIO, LinkUse
from backhaul.wording import rate_figure

#: Beside the texts of a head: its verdict, its gaps, the margin [mm].
_ASIDE = 24.0
#: The name of a site in its frame, the foot of a frame, and from there to the bar of a link [mm].
_NAME_MM, _FOOT_MM, _TO_BAR_MM = 5.0, 1.0, 2.5


class Reach(NamedTuple):
    """How far frames and pictures of hops reach above and below the line, and where bars are [mm]."""

    frame_up: float = 15.0
    frame_down: float = 12.5
    hop_up: float = 30.0
    hop_down: float = 12.5
    bar: float = 15.0


FULL = Reach()
#: A hop's picture where room is dear [mm].
_LOW_HOP = Reach(hop_up=25.0, hop_down=10.0)
#: More room above the line for the mark of the lowest rate, where no head stands there [mm].
MARK_UP = 2.6
#: Texts below a bar begin so far beside its end, where a branch may run down [mm].
_BESIDE_A_BRANCH = 1.2
#: Below the bars, where nothing is judged [mm].
BELOW_BARS = 1.6


def tight(strip: Strip) -> Reach:
    """Frames no higher than their things ask for."""
    framed = [item for item in strip.items if item.style != HOP]
    up = max(map(up_mm, framed), default=0.0) + _NAME_MM
    down = max(map(down_mm, framed), default=0.0) + _FOOT_MM
    lowest = max(down, _LOW_HOP.hop_down) if len(framed) < len(strip.items) else down
    return _LOW_HOP._replace(frame_up=up, frame_down=down, bar=lowest + _TO_BAR_MM)


def highest(reaches: Iterable[Reach]) -> Reach:
    """What holds several strips on one line."""
    return Reach(*(max(each) for each in zip(*reaches, strict=True)))


def up_of(strip: Strip, reach: Reach) -> float:
    """Room above the line of a strip without a head [mm]."""
    has_hop = any(item.style == HOP for item in strip.items)
    return max(reach.frame_up, reach.hop_up if has_hop else 0.0) + MARK_UP


class Bar(NamedTuple):
    """Where a link runs below a strip [mm], and whether it begins and ends there."""

    use: LinkUse
    left: float
    right: float
    begins: bool
    ends: bool


class StripDrawer:
    """Draws the strips of a design on pages.

    judged: with what checks and budgets found; without it only what is built, for where verdicts
    stand beside the drawing.
    """

    def __init__(self, evaluation: Results, *, judged: bool = True):
        self.evaluation, self.judged = evaluation, judged
        self._strokes: dict[str, dict[int, Stroke]] = {}

    def draw(self, page: Page, strip: Strip, y: float, reach: Reach = FULL) -> None:
        """A strip whose line stands at the height y."""
        evaluation = self.evaluation
        verdicts = evaluation.verdicts_in[strip.path] if self.judged else {}
        uses = {
            use.first_step: use
            for use in evaluation.network.uses[strip.path]
            if use.link.kind == RADIO
        }
        for frame in strip.frames:
            if frame.site is not None:
                self._frame(page, frame, y, reach)
        self._line(page, strip, y)
        for item in strip.items:
            if item.style == HOP:
                use = uses.get(item.row.step)
                if use is not None:
                    top, height = y - reach.hop_up, reach.hop_up + reach.hop_down
                    space = Space(item.x + 2, top, item.width - 4, height)
                    draw_hop(page, evaluation, use, space, judged=self.judged)
                continue
            THINGS[item.style](page, item, y, verdicts.get(item.row.id, PASS))
        for bar in self.bars(strip):
            self._link(page, bar, y + reach.bar)
        self._narrowest(page, strip, y, reach)

    def draw_piece(self, page: Page, strip: Strip, y: float) -> None:
        """Only the things of a strip on their line, without frames of sites."""
        self._line(page, strip, y)
        for item in strip.items:
            THINGS[item.style](page, item, y, PASS)

    def _frame(self, page: Page, frame: Frame, y: float, reach: Reach) -> None:
        top = y - reach.frame_up
        page.box(
            frame.x + 0.8,
            top,
            frame.width - 1.6,
            reach.frame_up + reach.frame_down,
            face=FRAME,
            edge=FRAME_EDGE,
            pt=0.6,
            radius=1.2,
            order=0.6,
        )
        left = frame.x + 2.2
        name = page.letters.shortened(frame.site or "", frame.width - 4.0, NAME, bold=True)
        page.text(left, top + 2.2, name, NAME, bold=True)
        site = self.evaluation.design.sites.get(frame.site or "")
        if site is not None and site.ground_m is not None:
            right = left + page.letters.width(name, NAME, bold=True) + 1.5
            told = page.letters.words(f"{site.ground_m:g} m")
            if right + page.letters.width(told, SMALL) < frame.x + frame.width - 1.5:
                page.text(right, top + 2.2, told, SMALL, colour=PALE)

    def _line(self, page: Page, strip: Strip, y: float) -> None:
        """The line from thing to thing, each stretch in the stroke of its medium."""
        strokes = self._strokes_of(strip.path)
        items = strip.items
        first, last = items[0], items[-1]
        if not strip.is_first:
            inner = first.middle if first.style in (MARK, RUN) else first.x
            _stub(page, first.x - 3.5, inner, y, strokes.get(first.row.id, PLAIN))
        for one, two in itertools.pairwise(items):
            stroke = strokes.get(
                one.row.id if two.style in (BOX, GHOST, HOP) else two.row.id, PLAIN
            )
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

    def bars(self, strip: Strip) -> Iterator[Bar]:
        """The bars of the links of a strip, from left to right as the path meets them."""
        for use in self.evaluation.network.uses[strip.path]:
            own = [i for i in strip.items if use.first_step <= i.row.step <= use.last_step]
            if not own or (len(own) == 1 and use.first_step != use.last_step):
                continue
            begins, ends = own[0].row.step == use.first_step, own[-1].row.step == use.last_step
            left = _reach(own[0], use, left=True, is_end=begins)
            right = _reach(own[-1], use, left=False, is_end=ends)
            yield Bar(use, left, right, begins, ends)

    def _link(self, page: Page, link: Bar, bar: float) -> None:
        """The bar of a link below the line, with its verdict as a word, and what it has left."""
        use, left, right, _, _ = link
        verdict = self.evaluation.use_verdict(use)
        colour = solid(verdict) if self.judged else PALE
        page.line([(left, bar), (right, bar)], colour, pt=1.8 if self.judged else 0.9, order=3)
        for is_end, x in ((link.begins, left), (link.ends, right)):
            if is_end:
                page.line([(x, bar - 1.1), (x, bar + 1.1)], colour, pt=1.2, order=3)
        if not self.judged:
            return
        word = chip(page, left + 0.3, bar + 3.0, verdict)
        # letters are measured by the words of a sheet: a picture sets them up to 3 % wider
        room = 0.97 * (right - left - word - 1.8)
        words = page.letters.words(link_words(self.evaluation, use))
        texts = page.letters.wrapped(words, max(room, 14.0), BODY)
        page.lines(left + word + 1.3, bar + 3.0, texts, BODY)
        below = bar + 3.0 + max(len(texts), 1) * line_height(BODY)
        if verdict != PASS:
            page.lines(
                left + _BESIDE_A_BRANCH,
                below + 0.2,
                self._why(page, use, right - left),
                SMALL,
                colour=PALE,
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

    def _narrowest(self, page: Page, strip: Strip, y: float, reach: Reach) -> None:
        """Where the rate of the path is lowest."""
        served = self.evaluation.performance.paths[strip.path]
        item = next((i for i in strip.items if i.row.step == served.bottleneck_step), None)
        if item is None:
            return
        up, down = served.rate_up_mbps, served.rate_down_mbps
        rates: list[str] = []
        if self.judged and up is not None and down is not None:
            rates = sorted({rate_figure(up), rate_figure(down)})
        told = "lowest rate here" + (f": {' / '.join(rates)}" if rates else "")
        top = y - (reach.hop_up if item.style == HOP else reach.frame_up) - 1.4
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
