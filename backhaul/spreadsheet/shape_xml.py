"""Shapes of a picture as DrawingML (ECMA-376, part 1, clauses 20.1 and 20.5): one group each."""

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from backhaul.spreadsheet.chart_xml import EMU_PER_PT, attribute
from backhaul.spreadsheet.shapes import (
    FRAME_DASH,
    PT_PER_MM,
    Area,
    Box,
    Line,
    Picture,
    Point,
    Words,
)
from backhaul.spreadsheet.sheet_data import clean, escape
from backhaul.spreadsheet.styles import FONT
from backhaul.spreadsheet.text_width import text_pt

EMU_PER_MM = 36_000
_WHOLE = 100_000  # of a share, 20.1.10.40
_HALF = 50_000  # the most that a corner is rounded, 20.1.10.56
_HUNDREDTHS = 100  # of a point, in sizes of letters
_LEAST_SIZE, _MOST_SIZE = 100, 400_000  # 20.1.10.72
#: Height of a frame of words over the size of its letters, and its width over theirs.
_TALL, _SPARE = 1.25, 1.05
_ALIGN = {"left": "l", "center": "ctr", "right": "r"}


def group(picture: Picture, first_id: int) -> tuple[str, int]:
    """The picture as one group, and the next free id."""
    drawer = _Drawer(picture.scale, first_id + 1)
    inside = "".join(drawer.drawn(picture))
    whole = f'<a:off x="0" y="0"/><a:ext {drawer.size(picture.width, picture.height)}/>'
    inner = whole.replace("a:off", "a:chOff").replace("a:ext", "a:chExt")
    said = f' descr="{attribute(_one_line(picture.alt_text))}"' if picture.alt_text else ""
    name = attribute(_one_line(picture.name))
    drawn = (
        f'<grpSp><nvGrpSpPr><cNvPr id="{first_id}" name="{name}"{said}/><cNvGrpSpPr/></nvGrpSpPr>'
        f"<grpSpPr><a:xfrm>{whole}{inner}</a:xfrm></grpSpPr>{inside}</grpSp>"
    )
    return drawn, drawer.next_id


class _Drawer:
    def __init__(self, scale: float, next_id: int):
        self.scale, self.next_id = scale, next_id

    def drawn(self, picture: Picture) -> Iterator[str]:
        """The shapes, those that cover others last."""
        for shape in sorted(picture.shapes, key=lambda each: each.order):
            yield _KINDS[type(shape)](self, shape)
            self.next_id += 1

    def emu(self, mm: float) -> int:
        return round(mm * self.scale * EMU_PER_MM)

    def size(self, width: float, height: float) -> str:
        return f'cx="{self.emu(width)}" cy="{self.emu(height)}"'

    def frame(self, x: float, y: float, width: float, height: float, flip: str = "") -> str:
        """Where a shape lies."""
        place = f'x="{self.emu(x)}" y="{self.emu(y)}"'
        return f"<a:xfrm{flip}><a:off {place}/><a:ext {self.size(width, height)}/></a:xfrm>"

    def stroke(
        self, colour: str, pt: float, dash: tuple[float, ...] | None, *, cap: bool = True
    ) -> str:
        if not colour:
            return "<a:ln><a:noFill/></a:ln>"
        ends = ' cap="rnd"' if cap and not dash else ""
        return (
            f'<a:ln w="{round(pt * self.scale * EMU_PER_PT)}"{ends}>{_fill(colour)}'
            f"{_dashes(dash) if dash else ''}<a:round/></a:ln>"
        )

    def shape(self, name: str, inside: str, text: str = "", *, is_text: bool = False) -> str:
        kind = ' txBox="1"' if is_text else ""
        return (
            f'<sp macro="" textlink=""><nvSpPr><cNvPr id="{self.next_id}" '
            f'name="{name} {self.next_id}"/><cNvSpPr{kind}/></nvSpPr>'
            f"<spPr>{inside}</spPr>{text}</sp>"
        )

    def line(self, line: Line) -> str:
        """A straight line as a connector; one through more points as a form of its own."""
        stroke = self.stroke(line.colour, line.pt, line.dash)
        points = _without_repeats(line.points)
        if len(points) > 2:
            return self.shape("Line", f"{self.path(points, closed=False)}<a:noFill/>{stroke}")
        (x0, y0), (x1, y1) = points[0], points[-1]
        flip = ' flipV="1"' if (x1 - x0) * (y1 - y0) < 0 else ""
        place = self.frame(min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0), flip)
        return (
            f'<cxnSp macro=""><nvCxnSpPr><cNvPr id="{self.next_id}" name="Line {self.next_id}"/>'
            f"<cNvCxnSpPr/></nvCxnSpPr><spPr>{place}"
            f'<a:prstGeom prst="line"><a:avLst/></a:prstGeom>{stroke}</spPr></cxnSp>'
        )

    def path(self, points: list[Point], *, closed: bool) -> str:
        """A form of its own (20.1.9.8), its points counted from its corner."""
        xs, ys = [x for x, _ in points], [y for _, y in points]
        left, top = min(xs), min(ys)
        # a form without a height or width has no scale
        width, height = max(max(xs) - left, 0.01), max(max(ys) - top, 0.01)
        at = [f'<a:pt x="{self.emu(x - left)}" y="{self.emu(y - top)}"/>' for x, y in points]
        drawn = f"<a:moveTo>{at[0]}</a:moveTo>"
        drawn += "".join(f"<a:lnTo>{each}</a:lnTo>" for each in at[1:])
        filled = "" if closed else ' fill="none"'
        return (
            f"{self.frame(left, top, width, height)}<a:custGeom><a:avLst/><a:gdLst/><a:ahLst/>"
            '<a:cxnLst/><a:rect l="0" t="0" r="r" b="b"/><a:pathLst>'
            f'<a:path w="{self.emu(width)}" h="{self.emu(height)}"{filled}>{drawn}'
            f"{'<a:close/>' if closed else ''}</a:path></a:pathLst></a:custGeom>"
        )

    def area(self, area: Area) -> str:
        edge = self.stroke(area.edge, area.pt, None)
        form = self.path(list(area.points), closed=True)
        return self.shape("Area", f"{form}{_fill(area.face, area.alpha)}{edge}")

    def box(self, box: Box) -> str:
        edge = self.stroke(box.edge, box.pt, FRAME_DASH if box.dashed else None, cap=False)
        geometry = '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom>'
        if box.radius:
            corner = min(round(box.radius / min(box.width, box.height) * _WHOLE), _HALF)
            guide = f'<a:gd name="adj" fmla="val {corner}"/>'
            geometry = f'<a:prstGeom prst="roundRect"><a:avLst>{guide}</a:avLst></a:prstGeom>'
        place = self.frame(box.x, box.y, box.width, box.height)
        return self.shape("Box", f"{place}{geometry}{_fill(box.face)}{edge}")

    def words(self, words: Words) -> str:
        """Words in a frame without walls; they run over it rather than be broken."""
        height = words.size * _TALL / PT_PER_MM
        width = text_pt(words.text, words.size, bold=words.bold) * _SPARE / PT_PER_MM
        x = words.x - {"left": 0.0, "center": 0.5, "right": 1.0}[words.align] * width
        size = round(words.size * self.scale * _HUNDREDTHS)
        look = f' lang="en-GB" sz="{min(max(size, _LEAST_SIZE), _MOST_SIZE)}" b="{words.bold:d}"'
        text = (
            '<txBody><a:bodyPr vertOverflow="overflow" horzOverflow="overflow" wrap="none" '
            'lIns="0" tIns="0" rIns="0" bIns="0" anchor="ctr"/><a:lstStyle/>'
            f'<a:p><a:pPr algn="{_ALIGN[words.align]}"/><a:r><a:rPr{look}>{_fill(words.colour)}'
            f'<a:latin typeface="{FONT}"/></a:rPr><a:t>{escape(clean(_one_line(words.text)))}</a:t>'
            "</a:r></a:p></txBody>"
        )
        place = self.frame(x, words.y - height / 2, width, height)
        rest = '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom><a:noFill/>'
        return self.shape("Words", f"{place}{rest}", text, is_text=True)


_KINDS: dict[type, Callable[[_Drawer, Any], str]] = {
    Line: _Drawer.line,
    Area: _Drawer.area,
    Box: _Drawer.box,
    Words: _Drawer.words,
}


def _fill(colour: str, alpha: float | None = None) -> str:
    if not colour:
        return "<a:noFill/>"
    inner = f'<a:alpha val="{round(alpha * _WHOLE)}"/>' if alpha is not None else ""
    return f'<a:solidFill><a:srgbClr val="{colour}">{inner}</a:srgbClr></a:solidFill>'


def _dashes(dash: tuple[float, ...]) -> str:
    """Lengths on and off, in widths of the line."""
    stops = "".join(
        f'<a:ds d="{round(on * _WHOLE)}" sp="{round(off * _WHOLE)}"/>'
        for on, off in zip(dash[::2], dash[1::2], strict=True)
    )
    return f"<a:custDash>{stops}</a:custDash>"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _without_repeats(points: Any) -> list[Point]:
    """Points of a line without those in which it does not move."""
    kept = [points[0]]
    kept.extend(point for before, point in pairwise(points) if point != before)
    return kept
