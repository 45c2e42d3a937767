"""The sheets of a drawing: paths one below the other, each sheet with its title block."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.drawing.looks import BODY, HEAD, NAME, PALE, SMALL, STROKES, chip
from backhaul.drawing.page import NONE, Letters, Page
from backhaul.drawing.path_drawing import FULL, StripDrawer, served_words
from backhaul.drawing.strips import Room, Strip, strips_of
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO

#: ISO 216, on its long side [mm].
PAPERS = {"a4": (297.0, 210.0), "a3": (420.0, 297.0)}
MARGIN, FOOT = 10.0, 15.0
#: Width of a hop's picture by paper [mm].
_HOP_MM = {"a4": 108.0, "a3": 130.0}
_TABLE_MM = 4.2
_BLOCK_GAP, _BESIDE_GAP = 3.0, 14.0
_CAUTION = (
    "Laser light, height, mains, lightning and radio exposure can hurt. A drawing is no work order: "
    "local codes and licensed practice decide."
)


class Placed(NamedTuple):
    """A strip with the height of its line, and of the line of the thing that it leaves."""

    strip: Strip
    y: float
    from_y: float | None
    #: of a branch whose trunk is on another sheet: where that is
    leaves: str = ""


def path_sheets(
    evaluation: Results, paths: Iterable[str], paper: str, *, letters: Letters, before: int
) -> list[list[Placed]]:
    """Strips of the paths, sheet by sheet; before: number of the first of them."""
    width, height = PAPERS[paper]
    bottom = height - MARGIN - FOOT
    room = Room(MARGIN + 4, width - MARGIN - 6, _HOP_MM[paper], letters)
    sheets: list[list[Placed]] = [[]]
    y = MARGIN
    for path in paths:
        strips = strips_of(evaluation, path, room)
        beside = _beside(sheets[-1], strips, room.right)
        if beside is not None:
            sheets[-1].append(beside)
            continue
        total = sum(strip.height for strip in strips)
        if y + total > bottom and total <= bottom - MARGIN and sheets[-1]:
            sheets.append([])  # kept together
            y = MARGIN
        lines: dict[int, tuple[int, float]] = {}  # by thing: sheet and height of its line
        for strip in strips:
            if y + strip.height > bottom and sheets[-1]:
                sheets.append([])
                y = MARGIN
            line = y + strip.up
            number, from_y = lines.get(id(strip.origin), (-1, 0.0))
            here = number == len(sheets) - 1
            leaves = "" if here or number < 0 else f"leaves its trunk on sheet {number + before}"
            sheets[-1].append(Placed(strip, line, from_y if here else None, leaves))
            lines.update({id(item): (len(sheets) - 1, line) for item in strip.items})
            y += strip.height
        y += _BLOCK_GAP
    return [sheet for sheet in sheets if sheet]


def _beside(sheet: list[Placed], strips: list[Strip], right: float) -> Placed | None:
    """A path of one strip beside the path before it, where that is of one strip too."""
    if len(strips) != 1 or not sheet:
        return None
    before, strip = sheet[-1], strips[0]
    alone = before.strip.is_first and before.strip.is_last and before.strip.origin is None
    by = before.strip.right + _BESIDE_GAP - strip.frames[0].x
    if not alone or strip.up != before.strip.up or strip.right + by > right:
        return None
    return Placed(strip.moved(by), before.y, None)


def draw_sheet(evaluation: Results, sheet: list[Placed], page: Page) -> None:
    """One sheet of paths."""
    drawer = StripDrawer(evaluation)
    for placed in sheet:
        strip = placed.strip
        if strip.is_first:
            x = strip.frames[0].x + 1
            if strip.origin is not None:  # beside the line that comes down
                x = max(x, strip.items[0].middle + 2.5)
            drawer.head(page, strip, x, placed.y - strip.up + 3.0, placed.leaves)
        drawer.draw(page, strip, placed.y)
        if strip.origin is not None and placed.from_y is not None:
            _branch(page, placed)


def _branch(page: Page, placed: Placed) -> None:
    """From the thing that a branch leaves down to where it stands again."""
    origin, ghost = placed.strip.origin, placed.strip.items[0]
    if origin is None or placed.from_y is None:
        return
    start, end = placed.from_y + 7.5, placed.y - FULL.frame_up
    turn = placed.y - placed.strip.up + 0.2  # above its head
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
        face=NONE,
        pt=0.9,
        order=0.2,
    )
    page.line([(MARGIN - 3, top), (page.width - MARGIN + 3, top)], pt=0.7)
    name = project.title or evaluation.design.name
    page.text(MARGIN, top + 3.4, name, HEAD, bold=True)
    x = MARGIN + page.letters.width(name, HEAD, bold=True) + 2.5
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


def path_table(page: Page, evaluation: Results, y: float) -> None:
    """Every path with its verdict and what decides it, below the sites."""
    bottom = page.height - MARGIN - FOOT
    columns = (MARGIN, MARGIN + 34, MARGIN + 108, MARGIN + 122, MARGIN + 176)
    if y + 3 * _TABLE_MM > bottom:
        return
    heads = ("path", "what it is for", "", "carries", "what is open")
    for x, text in zip(columns, heads, strict=True):
        page.text(x, y, text, SMALL, colour=PALE)
    page.line([(MARGIN, y + 2.2), (page.width - MARGIN, y + 2.2)], PALE, pt=0.4)
    room = int((bottom - y) / _TABLE_MM) - 2
    paths = list(evaluation.network.chains)
    for path in paths[:room]:
        y += _TABLE_MM
        row = evaluation.design.paths.get(path)
        page.text(columns[0], y, path, BODY, bold=True)
        title = page.letters.wrapped(row.title if row is not None and row.title else "", 72, BODY)
        page.text(columns[1], y, title[0] if title else "", BODY)
        chip(page, columns[2], y, evaluation.path_verdicts[path], size=SMALL)
        page.text(columns[3], y, served_words(evaluation, path).removeprefix("carries "), BODY)
        checks = dict.fromkeys(one.check for one in evaluation.findings_in.get(path, ()))
        told = page.letters.wrapped(", ".join(checks), page.width - MARGIN - columns[4], BODY)
        page.text(columns[4], y, told[0] + (" …" if len(told) > 1 else "") if told else "", BODY)
    if len(paths) > room:
        page.text(columns[0], y + _TABLE_MM, f"and {len(paths) - room} more", BODY, colour=PALE)


def _key(page: Page, x: float, y: float) -> None:
    """What each stroke means."""
    for kind in (OPTICAL, COPPER, FEED, RADIO):
        stroke = STROKES[kind]
        page.line([(x, y), (x + 7, y)], stroke.colour, pt=stroke.pt, dash=stroke.dash)
        page.text(x + 8.2, y, stroke.word, SMALL)
        x += 10.5 + page.letters.width(stroke.word, SMALL)
