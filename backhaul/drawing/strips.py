"""Where the things of a path stand: frames of sites side by side, broken into strips of a page."""

from collections.abc import Iterator
from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.drawing.items import HOP, Item, ghost_of, items_of
from backhaul.drawing.looks import NAME
from backhaul.drawing.page import Letters

#: Wall of a frame to its first thing, and from frame to frame [mm].
_WALL, _GAP = 3.0, 4.0
#: A frame that does not fit goes to the next strip where this much of the strip is filled.
_FILLED = 0.3
#: Above and below the line: texts and frames, the picture of a hop, the bar of a link [mm].
UP, UP_OF_HOP, DOWN = 17.0, 33.0, 25.5
HEAD = 9.0
#: A longer name of a site does not widen its frame [mm].
_MOST_HEAD_MM = 60.0
#: A hop's picture is drawn narrower where it then fits beside the rest [mm].
_LEAST_HOP_MM = 90.0


class Frame(NamedTuple):
    """Things at one site side by side, or a run or hop between two (no site)."""

    site: str | None
    items: list[Item]
    x: float
    width: float


class Strip(NamedTuple):
    """A stretch of a path on one line of the page; `y` of the line is known when it is drawn."""

    path: str
    frames: list[Frame]
    is_first: bool
    is_last: bool
    #: of a branch: the thing that it leaves, in the strip above
    origin: Item | None = None

    @property
    def items(self) -> list[Item]:
        return [item for frame in self.frames for item in frame.items]

    @property
    def right(self) -> float:
        """Its right edge [mm]."""
        return self.frames[-1].x + self.frames[-1].width

    def moved(self, by: float) -> "Strip":
        """The same further to the right."""
        for item in self.items:
            item.x += by
        return self._replace(frames=[frame._replace(x=frame.x + by) for frame in self.frames])

    @property
    def above(self) -> float:
        """Room above the line without the head of the path [mm]."""
        return UP_OF_HOP if any(item.style == HOP for item in self.items) else UP

    @property
    def up(self) -> float:
        """Room above the line [mm]."""
        return self.above + (HEAD if self.is_first else 0.0)

    @property
    def height(self) -> float:
        return self.up + DOWN


class Room(NamedTuple):
    """Where strips begin and end, how wide a hop's picture is [mm], in which letters.

    close: frames are parted where a path then takes fewer strips.
    """

    left: float
    right: float
    hop_mm: float
    letters: Letters
    close: bool = False


def strips_of(evaluation: Results, path: str, room: Room) -> list[Strip]:
    """The strips of a path, and after each those of the branches that leave it there."""
    return list(_with_branches(evaluation, path, room, None))


def _with_branches(
    evaluation: Results, path: str, room: Room, origin: Item | None
) -> Iterator[Strip]:
    items = items_of(evaluation, path, hop_mm=room.hop_mm, letters=room.letters)
    if origin is not None:
        items[0] = ghost_of(items[0], room.letters)
        items[0].width = max(items[0].width, origin.width)
    own = _strips(path, items, room, origin)
    waiting = list(evaluation.branches.children.get(path, ()))
    for strip in own:
        yield strip
        for child in list(waiting):
            start = evaluation.network.chains[child].rows[0]
            leaves = next((i for i in strip.items if _is_same(i, start)), None)
            if leaves is not None:
                waiting.remove(child)
                yield from _with_branches(evaluation, child, room, leaves)
    for child in waiting:
        yield from _with_branches(evaluation, child, room, None)


def strips_alone(evaluation: Results, path: str, room: Room) -> list[Strip]:
    """The strips of a path without its branches; of a branch, what it leaves stands again."""
    items = items_of(evaluation, path, hop_mm=room.hop_mm, letters=room.letters)
    if evaluation.branches.parent.get(path) is not None:
        items[0] = ghost_of(items[0], room.letters, as_wide=False)
    return _strips(path, items, room, None)


def _is_same(item: Item, start) -> bool:
    """Whether a branch's first thing is this one."""
    return item.row.label is not None and item.row.label == start.label


def _groups(items: list[Item]) -> list[tuple[str | None, list[Item]]]:
    """Neighbours at one site together; what runs between two sites alone."""
    groups: list[tuple[str | None, list[Item]]] = []
    for item in items:
        if groups and item.site is not None and groups[-1][0] == item.site:
            groups[-1][1].append(item)
        else:
            groups.append((item.site, [item]))
    return groups


def _width(site: str | None, items: list[Item], letters: Letters) -> float:
    """Of a frame with its walls [mm]; its head must fit into it."""
    inside = sum(item.width for item in items) + (_GAP if site is None else 2 * _WALL)
    return max(inside, head_width(site, letters))


def head_width(site: str | None, letters: Letters) -> float:
    """Of the name above a frame, with room for its height [mm]."""
    if site is None:
        return 0.0
    return min(letters.width(site, NAME, bold=True), _MOST_HEAD_MM) + 2 * _WALL


def _strips(path: str, items: list[Item], room: Room, origin: Item | None) -> list[Strip]:
    """The strips of a path: as few as may be where room is dear."""
    shares = (_FILLED, 1.0) if room.close else (_FILLED,)
    share = min(shares, key=lambda one: len(_rows(items, room, origin, one)))
    rows = _rows(items, room, origin, share)
    return [
        Strip(path, row, number == 0, number == len(rows) - 1, origin if number == 0 else None)
        for number, row in enumerate(rows)
    ]


def _rows(items: list[Item], room: Room, origin: Item | None, filled: float) -> list[list[Frame]]:
    """Frames row by row; one that does not fit begins a row where this share of the last is filled."""
    left, right, hop_mm, letters, _ = room
    groups = _groups(items)
    for item in items:
        if item.style == HOP:
            item.width = hop_mm
    total = sum(_width(*group, letters) for group in groups)
    x = left
    if origin is not None:
        x = max(left, min(origin.x - _WALL, right - total))
    rows: list[list[Frame]] = [[]]
    start = x
    for site, members in groups:
        hop = members[0] if members[0].style == HOP else None
        if hop is not None and _LEAST_HOP_MM + _GAP <= right - x < _width(site, members, letters):
            hop.width = right - x - _GAP
        width = _width(site, members, letters)
        if x + width <= right:
            rows[-1].append(_placed(site, members, x, width))
            x += width
            continue
        if width <= right - left and x - start >= filled * (right - start):
            rows.append([_placed(site, members, left, width)])
            x = start = left
            x += width
            continue
        for piece in _pieces(site, members, right - x, right - left, letters):
            width = _width(site, piece, letters)
            if x + width > right:
                rows.append([])
                x = start = left
            rows[-1].append(_placed(site, piece, x, width))
            x += width
    return [row for row in rows if row]


def _pieces(
    site, members: list[Item], room: float, whole: float, letters: Letters
) -> Iterator[list[Item]]:
    """A frame cut to what fits into the rest of this strip, then into whole ones."""
    piece: list[Item] = []
    for item in members:
        if piece and _width(site, [*piece, item], letters) > room:
            yield piece
            piece, room = [], whole
        elif not piece and _width(site, [item], letters) > room:
            room = whole
        piece.append(item)
    yield piece


def _placed(site: str | None, items: list[Item], x: float, width: float) -> Frame:
    """Things set side by side, in the middle of their frame."""
    spare = (width - sum(item.width for item in items)) / 2
    at = x + spare
    for item in items:
        item.x = at
        at += item.width
    return Frame(site, items, x, width)
