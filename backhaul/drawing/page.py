"""A field of paper in millimetres from its upper left corner, filled with plain shapes."""

from collections.abc import Callable, Sequence
from typing import Any

from backhaul.design.model import Design
from backhaul.design.settings import US
from backhaul.figures import us_units
from backhaul.figures.us_units import FOOT, MILE, Unit, words_of
from backhaul.spreadsheet.shapes import MM_PER_INCH, PT_PER_INCH, Area, Box, Line, Shape, Words

INK = "22323A"
#: No colour.
NONE = ""
WHITE = "FFFFFF"
#: Width of a line that is not told another [pt].
_LINE_PT = 0.7
#: A word so many times as wide as its line is broken; what stands for the rest of a text.
_LONG, _CUT = 2.5, "…"


def line_height(size: float) -> float:
    """From one line of text to the next [mm]."""
    return size * 1.22 * MM_PER_INCH / PT_PER_INCH


class Letters:
    """How wide words are in the typeface that they will be drawn in.

    width_pt: from a text, its size [pt] and whether it is bold to its width [pt]. words: how a text
    with figures is shown, in which units; along, up: those of an axis, None for km and m.
    """

    def __init__(self, width_pt: Callable[[str, float, bool], float]):
        self._width_pt = width_pt
        self.words: us_units.Words = str
        self.along: Unit | None = None
        self.up: Unit | None = None

    def of(self, design: Design) -> "Letters":
        """The same letters for the words of a design, in the units that it shows."""
        made = Letters(self._width_pt)
        if design.project.units == US:
            made.words, made.along, made.up = words_of(design), MILE, FOOT
        return made

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of a text [mm]; size in points."""
        return self._width_pt(text, size, bold) * MM_PER_INCH / PT_PER_INCH

    def wrapped(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """A text in lines no wider than `width` [mm], broken at blanks and after hyphens.

        >>> Letters(lambda text, size, bold: len(text) * size / 2).wrapped("over the lake", 16, 7)
        ['over the', 'lake']
        """
        words = text.replace("-", "-\0").replace(" ", " \0").split("\0") if text else []
        lines: list[str] = []
        line = ""
        for word in (each for one in words for each in self._broken(one, width, size, bold)):
            if line and self.width((line + word).rstrip(), size, bold=bold) > width:
                lines.append(line.rstrip())
                line = ""
            line += word
        return [*lines, line.rstrip()] if line.strip() else lines

    def _broken(self, word: str, width: float, size: float, bold: bool) -> list[str]:
        """A word whole; one far too long for any line in pieces."""
        if self.width(word, size, bold=bold) <= _LONG * width:
            return [word]
        pieces = [""]
        for letter in word:
            if pieces[-1] and self.width(pieces[-1] + letter, size, bold=bold) > width:
                pieces.append("")
            pieces[-1] += letter
        return pieces

    def shortened(self, text: str, width: float, size: float, *, bold: bool = False) -> str:
        """A text that is no wider than `width` [mm], cut with a mark where it is.

        >>> Letters(lambda text, size, bold: len(text) * size / 2).shortened("the lake", 8, 7)
        'the l…'
        """
        if self.width(text, size, bold=bold) <= width:
            return text
        while text and self.width(text + _CUT, size, bold=bold) > width:
            text = text[:-1]
        return text + _CUT


class Page:
    """One sheet or field; y runs downwards. What is drawn on it stands in `shapes`."""

    def __init__(self, width: float, height: float, letters: Letters):
        self.width, self.height, self.letters = width, height, letters
        self.shapes: list[Shape] = []

    def line(
        self,
        points: Any,
        colour: str = INK,
        *,
        pt: float = _LINE_PT,
        dash: tuple[float, ...] | None = None,
        order: float = 2,
    ) -> None:
        """A line through points; dash: lengths on and off in widths of the line."""
        self.shapes.append(Line(_points(points), colour, pt, dash, order))

    def area(
        self,
        points: Any,
        face: str = NONE,
        edge: str = NONE,
        *,
        pt: float = _LINE_PT,
        alpha: float | None = None,
        order: float = 1,
    ) -> None:
        """A filled polygon."""
        self.shapes.append(Area(_points(points), face, edge, pt, alpha, order))

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        face: str = WHITE,
        edge: str = INK,
        pt: float = _LINE_PT,
        radius: float = 0.0,
        dashed: bool = False,
        order: float = 1,
    ) -> None:
        """A frame with its upper left corner at x, y."""
        self.shapes.append(Box(x, y, width, height, face, edge, pt, radius, dashed, order))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        colour: str = INK,
        bold: bool = False,
        align: str = "left",
        order: float = 5,
    ) -> None:
        """One line of text whose middle is at the height y; align: left, center or right."""
        if text:
            self.shapes.append(Words(x, y, text, size, colour, bold, align, order))

    def lines(self, x: float, y: float, texts: Sequence[str], size: float, **more: Any) -> float:
        """Lines one below the other, the first at the height y; gives the height after them."""
        for text in texts:
            self.text(x, y, text, size, **more)
            y += line_height(size)
        return y


def _points(points: Any) -> list[tuple[float, float]]:
    """Plain figures, also from rows of an array."""
    return [(float(x), float(y)) for x, y in points]
