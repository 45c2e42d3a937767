"""Pictures as plain shapes: lines, areas, boxes and words, without any library that draws.

Places are in millimetres from the upper left corner, y downwards; widths of lines and sizes of
letters in points; colours as six hexadecimal digits. A shape of a higher order covers one of a
lower. `drawing_part` writes them into a workbook; another program may draw the same shapes.
"""

from collections.abc import Sequence
from typing import NamedTuple

MM_PER_INCH, PT_PER_INCH = 25.4, 72
PT_PER_MM = PT_PER_INCH / MM_PER_INCH
Point = tuple[float, float]


class Line(NamedTuple):
    """A line through points; dash: lengths on and off in widths of the line."""

    points: Sequence[Point]
    colour: str
    pt: float
    dash: tuple[float, ...] | None
    order: float


class Area(NamedTuple):
    """A filled polygon; a blank colour is none, alpha its share of the picture."""

    points: Sequence[Point]
    face: str
    edge: str
    pt: float
    alpha: float | None
    order: float


class Box(NamedTuple):
    """A frame with its upper left corner at x, y; radius of its corners."""

    x: float
    y: float
    width: float
    height: float
    face: str
    edge: str
    pt: float
    radius: float
    dashed: bool
    order: float


class Words(NamedTuple):
    """One line of text: its middle at the height y; align: left, center or right of x."""

    x: float
    y: float
    text: str
    size: float
    colour: str
    bold: bool
    align: str
    order: float


Shape = Line | Area | Box | Words

#: Lengths on and off of a dashed frame, in widths of its line.
FRAME_DASH = (3.0, 2.0)


class Picture(NamedTuple):
    """Shapes on a field of millimetres, in a workbook enlarged `scale` times, letters too."""

    width: float
    height: float
    shapes: Sequence[Shape]
    #: what it is called, and what is said to one who does not see it
    name: str
    alt_text: str
    scale: float = 1.0

    @property
    def height_pt(self) -> float:
        """How high it stands in a workbook [pt]."""
        return self.height * self.scale * PT_PER_MM
