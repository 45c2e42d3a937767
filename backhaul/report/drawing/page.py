"""A sheet of paper in millimetres from its upper left corner, drawn on by matplotlib."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from backhaul.errors import OutputError

MM_PER_INCH, PT_PER_INCH = 25.4, 72
#: Shipped with the library, so that a drawing is the same on every machine.
FONT = "DejaVu Sans"
INK = "#22323A"
#: Width of a line that is not told another [pt].
_LINE_PT = 0.7


def library() -> Any:
    """matplotlib. Raises OutputError where it is not installed."""
    try:
        import matplotlib as mpl
    except ImportError:
        raise OutputError(
            "drawing: the library that draws is not installed; pip install 'backhaul[drawing]'"
        ) from None
    return mpl


@lru_cache(maxsize=1)
def _measure() -> Any:
    from matplotlib.textpath import TextToPath

    return TextToPath()


@lru_cache(maxsize=64)
def _font(size: float, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=FONT, size=size, weight="bold" if bold else "normal")


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text [mm]; size in points."""
    width, _, _ = _measure().get_text_width_height_descent(text, _font(size, bold), ismath=False)
    return float(width) * MM_PER_INCH / PT_PER_INCH


def line_height(size: float) -> float:
    """From one line of text to the next [mm]."""
    return size * 1.22 * MM_PER_INCH / PT_PER_INCH


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """A text in lines no wider than `width` [mm], broken at blanks and after hyphens.

    >>> wrapped("", 10, 6)
    []
    """
    words = text.replace("-", "-\0").replace(" ", " \0").split("\0") if text else []
    lines: list[str] = []
    line = ""
    for word in words:
        if line and text_width((line + word).rstrip(), size, bold=bold) > width:
            lines.append(line.rstrip())
            line = ""
        line += word
    return [*lines, line.rstrip()] if line.strip() else lines


class Page:
    """One sheet; y runs downwards."""

    def __init__(self, width: float, height: float):
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH))
        flip = Affine2D().scale(1 / MM_PER_INCH, -1 / MM_PER_INCH)
        self._place = flip.translate(0, height / MM_PER_INCH) + self.figure.dpi_scale_trans

    def _add(self, artist: Any, order: float) -> None:
        artist.set_transform(self._place)
        artist.set_zorder(order)
        artist.set_figure(self.figure)
        self.figure.add_artist(artist)

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
        from matplotlib.lines import Line2D

        xs, ys = zip(*points, strict=True)
        style: Any = (0, dash) if dash else "-"
        self._add(
            Line2D(
                xs,
                ys,
                color=colour,
                linewidth=pt,
                linestyle=style,
                solid_capstyle="round",
                solid_joinstyle="round",
            ),
            order,
        )

    def area(
        self,
        points: Any,
        face: str = "none",
        edge: str = "none",
        *,
        pt: float = _LINE_PT,
        alpha: float | None = None,
        order: float = 1,
    ) -> None:
        """A filled polygon."""
        from matplotlib.patches import Polygon

        self._add(
            Polygon(points, closed=True, facecolor=face, edgecolor=edge, linewidth=pt, alpha=alpha),
            order,
        )

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        face: str = "white",
        edge: str = INK,
        pt: float = _LINE_PT,
        radius: float = 0.0,
        dashed: bool = False,
        order: float = 1,
    ) -> None:
        """A frame with its upper left corner at x, y."""
        from matplotlib.patches import FancyBboxPatch

        style = f"round,pad=0,rounding_size={radius}" if radius else "square,pad=0"
        self._add(
            FancyBboxPatch(
                (x, y),
                width,
                height,
                boxstyle=style,
                facecolor=face,
                edgecolor=edge,
                linewidth=pt,
                linestyle=(0, (3, 2)) if dashed else "-",
            ),
            order,
        )

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
        if not text:
            return
        self.figure.text(
            *self._fraction(x, y),
            text,
            fontproperties=_font(size, bold),
            color=colour,
            ha=align,
            va="center_baseline",
            zorder=order,
            parse_math=False,
        )

    def _fraction(self, x: float, y: float) -> tuple[float, float]:
        return x / self.width, 1 - y / self.height

    def lines(self, x: float, y: float, texts: Sequence[str], size: float, **more: Any) -> float:
        """Lines one below the other, the first at the height y; gives the height after them."""
        for text in texts:
            self.text(x, y, text, size, **more)
            y += line_height(size)
        return y
