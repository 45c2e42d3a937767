"""The sheets of a drawing: paths one below the other, each sheet with its title block."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO
from backhaul.report.drawing.looks import HEAD, NAME, PALE, SMALL, STROKES, TITLE, chip
from backhaul.report.drawing.page import Page, text_width
from backhaul.report.drawing.path_drawing import StripDrawer
from backhaul.report.drawing.strips import HEAD as HEAD_MM
from backhaul.report.drawing.strips import Strip, strips_of

#: ISO 216, on its long side [mm].
PAPERS = {"a4": (297.0, 210.0), "a3": (420.0, 297.0)}
MARGIN, FOOT = 10.0, 15.0
#: Width of a hop's picture by paper [mm].
_HOP_MM = {"a4": 108.0, "a3": 130.0}
_BLOCK_GAP = 3.0
_CAUTION = (
    "Laser light, height, mains, lightning and radio exposure can hurt. A drawing is no work order: "
    "local codes and licensed practice decide."
)


class Placed(NamedTuple):
    """A strip with the height of its line, and of the line of the thing that it leaves."""

    strip: Strip
    y: float
    from_y: float | None


def path_sheets(evaluation: Results, paths: Iterable[str], paper: str) -> list[list[Placed]]:
    """Strips of the paths, sheet by sheet."""
    width, height = PAPERS[paper]
    bottom = height - MARGIN - FOOT
    sheets: list[list[Placed]] = [[]]
    y = MARGIN
    for path in paths:
        lines: dict[int, tuple[int, float]] = {}  # by thing: sheet and height of its line
        for strip in strips_of(
            evaluation, path, left=MARGIN + 4, right=width - MARGIN - 6, hop_mm=_HOP_MM[paper]
        ):
            if y + strip.height > bottom and sheets[-1]:
                sheets.append([])
                y = MARGIN
            line = y + strip.up
            number, from_y = lines.get(id(strip.origin), (-1, 0.0))
            here = number == len(sheets) - 1
            sheets[-1].append(Placed(strip, line, from_y if here else None))
            lines.update({id(item): (len(sheets) - 1, line) for item in strip.items})
            y += strip.height
        y += _BLOCK_GAP
    return [sheet for sheet in sheets if sheet]


def draw_sheet(evaluation: Results, sheet: list[Placed], page: Page) -> None:
    """One sheet of paths."""
    drawer = StripDrawer(evaluation)
    for placed in sheet:
        strip = placed.strip
        if strip.is_first:
            drawer.head(page, strip, strip.frames[0].x + 1, placed.y - strip.up + 3.0)
        drawer.draw(page, strip, placed.y)
        if strip.origin is not None and placed.from_y is not None:
            _branch(page, placed)


def _branch(page: Page, placed: Placed) -> None:
    """From the thing that a branch leaves down to where it stands again."""
    origin, ghost = placed.strip.origin, placed.strip.items[0]
    if origin is None or placed.from_y is None:
        return
    start, end = placed.from_y + 7.5, placed.y - ghost.height / 2 - 1.5
    turn = placed.y - placed.strip.up + HEAD_MM * 0.75
    page.line(
        [(origin.middle, start), (origin.middle, turn), (ghost.middle, turn), (ghost.middle, end)],
        PALE,
        pt=0.9,
        dash=(1.5, 1.5),
        order=0.8,
    )
    page.area(
        [(ghost.middle, end), (ghost.middle - 0.8, end - 1.6), (ghost.middle + 0.8, end - 1.6)],
        PALE,
        order=1,
    )


def title_block(page: Page, evaluation: Results, *, number: int, of: int, what: str) -> None:
    """Frame of a sheet, key to its strokes, who stands for it."""
    project = evaluation.design.project
    top = page.height - MARGIN - FOOT + 3.0
    bottom = page.height - MARGIN + 1.0
    page.box(
        MARGIN - 3,
        MARGIN - 5,
        page.width - 2 * MARGIN + 6,
        page.height - 2 * MARGIN + 7,
        face="none",
        pt=0.9,
        order=0.2,
    )
    page.line([(MARGIN - 3, top), (page.width - MARGIN + 3, top)], pt=0.7)
    name = project.title or evaluation.design.name
    page.text(MARGIN, top + 3.4, name, HEAD, bold=True)
    x = MARGIN + text_width(name, HEAD, bold=True) + 2.5
    chip(page, x, top + 3.4, evaluation.verdict, size=NAME)
    page.text(MARGIN, top + 7.4, what, NAME)
    page.text(MARGIN, top + 11.0, _CAUTION, SMALL, colour=PALE)
    _key(page, page.width * 0.40, top + 3.4)
    right = page.width - MARGIN
    told = [
        ("document", project.document),
        ("revision", project.revision),
        ("date", project.date),
        ("prepared", project.prepared_by),
        ("checked", project.checked_by),
        ("approved", project.approved_by),
    ]
    for place, (label, value) in enumerate(told):
        column, row = divmod(place, 3)
        at = right - 78 + column * 36
        page.text(at, top + 2.6 + row * 3.0, label, SMALL, colour=PALE)
        page.text(at + 10.5, top + 2.6 + row * 3.0, str(value or "–"), SMALL)
    page.text(
        right,
        bottom - 1.4,
        f"digest {evaluation.design.digest}   sheet {number} of {of}",
        SMALL,
        colour=PALE,
        align="right",
    )


def _key(page: Page, x: float, y: float) -> None:
    """What each stroke means."""
    for kind in (OPTICAL, COPPER, FEED, RADIO):
        stroke = STROKES[kind]
        page.line([(x, y), (x + 7, y)], stroke.colour, pt=stroke.pt, dash=stroke.dash)
        page.text(x + 8.2, y, stroke.word, SMALL)
        x += 10.5 + text_width(stroke.word, SMALL)


def heading(page: Page, text: str) -> None:
    page.text(MARGIN, MARGIN + 1, text, TITLE, bold=True)
