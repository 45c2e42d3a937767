"""A page drawn by matplotlib, the extra `drawing`."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from backhaul.drawing.page import Letters, Page
from backhaul.errors import OutputError
from backhaul.spreadsheet.shapes import FRAME_DASH, MM_PER_INCH, Area, Box, Line, Words

#: Shipped with the library, so that a drawing is the same on every machine.
FONT = "DejaVu Sans"


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
def _width_pt(text: str, size: float, bold: bool) -> float:
    width, _, _ = _measure().get_text_width_height_descent(text, _font(size, bold), ismath=False)
    return float(width)


#: As the library sets them.
LETTERS = Letters(_width_pt)


def figure_of(page: Page) -> Any:
    """The page as a figure of the library."""
    from matplotlib.figure import Figure
    from matplotlib.transforms import Affine2D

    figure = Figure(figsize=(page.width / MM_PER_INCH, page.height / MM_PER_INCH))
    flip = Affine2D().scale(1 / MM_PER_INCH, -1 / MM_PER_INCH)
    place = flip.translate(0, page.height / MM_PER_INCH) + figure.dpi_scale_trans
    for shape in page.shapes:
        if isinstance(shape, Words):
            _write(figure, page, shape)
            continue
        artist = _ARTISTS[type(shape)](shape)
        artist.set_transform(place)
        artist.set_zorder(shape.order)
        artist.set_figure(figure)
        figure.add_artist(artist)
    return figure


def _colour(colour: str) -> str:
    return f"#{colour}" if colour else "none"


def _line(shape: Line) -> Any:
    from matplotlib.lines import Line2D

    xs, ys = zip(*shape.points, strict=True)
    return Line2D(
        xs,
        ys,
        color=_colour(shape.colour),
        linewidth=shape.pt,
        linestyle=(0, shape.dash) if shape.dash else "-",
        solid_capstyle="round",
        solid_joinstyle="round",
    )


def _area(shape: Area) -> Any:
    from matplotlib.patches import Polygon

    return Polygon(
        shape.points,
        closed=True,
        facecolor=_colour(shape.face),
        edgecolor=_colour(shape.edge),
        linewidth=shape.pt,
        alpha=shape.alpha,
    )


def _box(shape: Box) -> Any:
    from matplotlib.patches import FancyBboxPatch

    radius = shape.radius
    return FancyBboxPatch(
        (shape.x, shape.y),
        shape.width,
        shape.height,
        boxstyle=f"round,pad=0,rounding_size={radius}" if radius else "square,pad=0",
        facecolor=_colour(shape.face),
        edgecolor=_colour(shape.edge),
        linewidth=shape.pt,
        linestyle=(0, FRAME_DASH) if shape.dashed else "-",
    )


_ARTISTS: dict[type, Callable[[Any], Any]] = {Line: _line, Area: _area, Box: _box}


def _write(figure: Any, page: Page, words: Words) -> None:
    figure.text(
        words.x / page.width,
        1 - words.y / page.height,
        words.text,
        fontproperties=_font(words.size, words.bold),
        color=_colour(words.colour),
        ha=words.align,
        va="center_baseline",
        zorder=words.order,
        parse_math=False,
    )
