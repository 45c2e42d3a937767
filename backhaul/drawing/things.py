"""What stands on the line of a path: boxes, optics, marks of joints, runs."""

from backhaul.drawing.items import BOX, GHOST, MARK, OPTIC, RUN, Item
from backhaul.drawing.looks import BODY, NAME, PALE, SMALL, STROKES, chip, solid
from backhaul.drawing.page import INK, WHITE, Page, line_height
from backhaul.findings import PASS
from backhaul.path.links import OPTICAL

#: Frames of things: their least height, and how much higher than their texts they are [mm].
_FRAMES = {BOX: (11.0, 2.0), GHOST: (0.0, 3.0), OPTIC: (8.0, 1.0), MARK: (2.8, 0.0)}
#: From the line of a path to its length above and to the first text below, of a run and a joint [mm].
_RUN_UP, _RUN_DOWN, _MARK_DOWN = 2.0, 2.2, 4.2


def _texts(page: Page, item: Item, y: float) -> None:
    """Name and part in the middle of a box."""
    name, body = line_height(NAME), line_height(item.size)
    top = y - item.height / 2 + (name if item.name else body) / 2
    page.lines(item.middle, top, item.name, NAME, bold=True, align="center")
    top += len(item.name) * name - (name - body) / 2 * bool(item.name)
    page.lines(item.middle, top, item.body, item.size, align="center")


def up_mm(item: Item) -> float:
    """How far a thing reaches above its line [mm]."""
    if item.style == RUN:
        return _RUN_UP + line_height(NAME)
    return _half(item)


def down_mm(item: Item) -> float:
    """How far a thing reaches below its line [mm]."""
    texts = len(item.body) * line_height(item.size)
    below = {RUN: _RUN_DOWN, MARK: _MARK_DOWN}.get(item.style)
    return _half(item) if below is None else below + texts - line_height(item.size) / 2


def _half(item: Item) -> float:
    """Half the height of a frame around texts [mm]."""
    least, around = _FRAMES.get(item.style, (0.0, 0.0))
    return max(least, item.height + around) / 2


def _box(page: Page, item: Item, y: float, verdict: str) -> None:
    height = 2 * _half(item)
    edge, pt = (INK, 0.8) if verdict == PASS else (solid(verdict), 1.4)
    page.box(
        item.x + 0.5, y - height / 2, item.width - 1, height, edge=edge, pt=pt, radius=0.8, order=3
    )
    _texts(page, item, y)
    if verdict != PASS:
        chip(page, item.x + item.width - 8.5, y - height / 2, verdict, size=SMALL)


def _ghost(page: Page, item: Item, y: float, verdict: str) -> None:
    height = 2 * _half(item)
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
    height = 2 * _half(item)
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
    page.lines(x, y + _MARK_DOWN, item.body, SMALL, align="center")


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
    page.lines(item.middle, y - _RUN_UP, item.name, NAME, bold=True, align="center")
    page.lines(item.middle, y + _RUN_DOWN, item.body, BODY, align="center")
    if verdict != PASS:
        page.line(
            [(item.x + 1, y), (item.x + item.width - 1, y)], solid(verdict), pt=2.2, order=2.5
        )


THINGS = {BOX: _box, GHOST: _ghost, OPTIC: _optic, MARK: _mark, RUN: _run}
_MARKS = {
    "connector": _connector,
    "splice": _splice,
    "attenuator": _attenuator,
    "protector": _protector,
}
