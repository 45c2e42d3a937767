"""Drawings of a design as pictures of a workbook: what is built, without what is judged.

A picture does not move with what is typed into the book. Verdicts stand in cells below it, live.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from backhaul.book.keys import safe
from backhaul.checks.results import Results
from backhaul.drawing.page import Letters, Page
from backhaul.drawing.path_drawing import BELOW_BARS, Bar, StripDrawer, highest, tight, up_of
from backhaul.drawing.site_pieces import heights_mm, lines_of, site_pieces
from backhaul.drawing.strips import Room, Strip, strips_alone
from backhaul.findings import FAIL, PASS, THIN
from backhaul.spreadsheet.shapes import PT_PER_MM, Picture
from backhaul.spreadsheet.text_width import text_pt
from backhaul.units import DECIMALS

#: How much a drawing is enlarged, so that its smallest letters are printed in seven points, which
#: is common practice for what is read at arm's length.
SCALE = 1.3
#: More paths make a file that programs open slowly.
MOST_PATHS = 40
#: Programs set letters a little wider or narrower.
_SPARE = 1.03
_LEFT, _RIGHT, _HOP_MM = 4.5, 6.5, 108.0
#: A path of one strip needs no room for the arrows that lead to its next one [mm].
_EDGE = 0.5
_ORDER = (FAIL, THIN, PASS)


@lru_cache(maxsize=8192)
def _width_pt(text: str, size: float, bold: bool) -> float:
    return text_pt(text, size, bold=bold) * _SPARE


LETTERS = Letters(_width_pt)


def field_mm(width_pt: float) -> float:
    """Width of a drawing before it is enlarged to `width_pt` points [mm]."""
    return width_pt / PT_PER_MM / SCALE


def drawn_paths(evaluation: Results) -> list[str]:
    """Paths that the book draws, in the order of the design: of too many first what fails."""
    paths = list(evaluation.network.chains)
    if len(paths) > MOST_PATHS:
        worst = sorted(paths, key=lambda path: _ORDER.index(evaluation.path_verdicts[path]))
        kept = set(worst[:MOST_PATHS])
        paths = [path for path in paths if path in kept]
    return paths


def drawing_key(path: str) -> str:
    """Where the drawing of a path begins."""
    return f"drawing.{safe(path)}"


class Beside(NamedTuple):
    """Two paths in one picture: the links of each, the column at which the second begins."""

    picture: Picture
    first: list[Bar]
    second: list[Bar]
    column: int


class PathPictures:
    """Pictures of the strips of paths, `width_pt` points wide."""

    def __init__(self, evaluation: Results, width_pt: float):
        self.evaluation = evaluation
        self.width = field_mm(width_pt)
        self._drawer = StripDrawer(evaluation, judged=False)
        self._letters = LETTERS.of(evaluation.design)
        self._found: dict[str, list[Strip]] = {}
        self._room = Room(_LEFT, self.width - _RIGHT, _HOP_MM, self._letters, close=True)

    def _strips(self, path: str) -> list[Strip]:
        if path not in self._found:
            self._found[path] = strips_alone(self.evaluation, path, self._room)
        return self._found[path]

    def of(self, path: str) -> Iterable[tuple[Picture, list[Bar]]]:
        """Each strip of a path, with where its links run."""
        strips = self._strips(path)
        for number, strip in enumerate(strips, 1):
            name = f"Path {path}, {number} of {len(strips)}" if len(strips) > 1 else f"Path {path}"
            yield self._picture([strip], name), list(self._drawer.bars(strip))

    def beside(
        self, path: str, other: str, column_mm: float, columns: tuple[int, int]
    ) -> Beside | None:
        """Two paths of one strip each side by side; None where they do not fit.

        The second begins at a multiple of `column_mm`, from the first to the last of `columns`.
        """
        found = [self._strips(each) for each in (path, other)]
        if any(len(strips) != 1 for strips in found):
            return None
        (first,), (second,) = found
        widths = [strip.right - strip.frames[0].x + 2 * _EDGE for strip in (first, second)]
        column = max(ceil(round(widths[0] / column_mm, DECIMALS)), columns[0])
        if column > columns[1] or column * column_mm + widths[1] > self.width:
            return None
        first = first.moved(_EDGE - first.frames[0].x)
        second = second.moved(column * column_mm + _EDGE - second.frames[0].x)
        picture = self._picture([first, second], f"Paths {path} and {other}")
        bars = [list(self._drawer.bars(strip)) for strip in (first, second)]
        return Beside(picture, bars[0], bars[1], column)

    def _picture(self, strips: Sequence[Strip], name: str) -> Picture:
        reach = highest(map(tight, strips))
        line = max(up_of(strip, reach) for strip in strips)
        page = Page(self.width, line + reach.bar + BELOW_BARS, self._letters)
        for strip in strips:
            self._drawer.draw(page, strip, line, reach)
        return Picture(page.width, page.height, page.shapes, name, _said(strips), SCALE)

    def of_site(self, site: str, paths: Iterable[str]) -> list[Picture]:
        """What the paths have at a site, line by line."""
        pieces = site_pieces(self.evaluation, site, paths, self._room)
        made = []
        for number, line in enumerate(lines_of(pieces, _LEFT, self.width - _RIGHT), 1):
            up, down = heights_mm(line)
            page = Page(self.width, up + down, self._letters)
            for piece in line:
                self._drawer.draw_piece(page, piece, up)
            name = f"Site {site}, line {number}"
            made.append(Picture(page.width, up + down, page.shapes, name, _said(line), SCALE))
        return made


def _said(strips: Iterable[Strip]) -> str:
    """The things of strips in words."""
    things = [(item.row.label or item.row.part for item in strip.items) for strip in strips]
    return "; ".join(" – ".join(dict.fromkeys(each)) for each in things)
