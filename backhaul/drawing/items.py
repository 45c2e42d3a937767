"""What stands on the line of a path: boxes, marks of joints, runs, hops; each with its texts."""

from typing import Any

from backhaul.checks.results import Results
from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Segment
from backhaul.drawing.looks import BODY, NAME, SMALL
from backhaul.drawing.page import Letters, line_height
from backhaul.wording import length_text

BOX, OPTIC, MARK, RUN, HOP, GHOST = "box", "optic", "mark", "run", "hop", "ghost"
#: Widest lines of text in each, and the narrowest that each is drawn [mm].
_TEXT_MM = {BOX: 24.0, OPTIC: 17.0, MARK: 15.0, RUN: 30.0, GHOST: 22.0}
_LEAST_MM = {BOX: 15.0, OPTIC: 11.0, MARK: 9.0, RUN: 17.0, GHOST: 12.0}
#: Beside the text: the walls of a box, the ends of a run [mm].
_ROOM_MM = {BOX: 3.0, OPTIC: 2.0, MARK: 1.5, RUN: 4.0, GHOST: 3.0}


#: Lines of a name and of a second text at most.
_NAME_LINES, _BODY_LINES = 3, 3


def _few(lines: list[str], most: int) -> list[str]:
    """The first lines, with a mark where there are more."""
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]}…"]


class Item:
    """One thing on the line; `x` is set when it finds its place."""

    __slots__ = ("body", "name", "row", "site", "style", "width", "x")

    def __init__(
        self,
        row: Segment,
        style: str,
        site: str | None,
        name: str,
        body: list[str],
        letters: Letters,
    ):
        limit = _TEXT_MM.get(style, 0.0)
        self.row, self.style, self.site, self.x = row, style, site, 0.0
        self.name = _few(letters.wrapped(name, limit, NAME, bold=True), _NAME_LINES)
        self.body = [
            line
            for text in body
            for line in _few(letters.wrapped(text, limit, self.size), _BODY_LINES)
        ]
        texts = [letters.width(line, NAME, bold=True) for line in self.name]
        texts += [letters.width(line, self.size) for line in self.body]
        room = max(texts, default=0.0) + _ROOM_MM.get(style, 0.0)
        self.width = max(room, _LEAST_MM.get(style, 0.0))

    @property
    def size(self) -> float:
        """Size of its second text [pt]."""
        return SMALL if self.style in (MARK, OPTIC) else BODY

    @property
    def middle(self) -> float:
        return self.x + self.width / 2

    @property
    def height(self) -> float:
        """Of its texts one below the other [mm]."""
        return len(self.name) * line_height(NAME) + len(self.body) * line_height(self.size)


def items_of(evaluation: Results, path: str, *, hop_mm: float, letters: Letters) -> list[Item]:
    """The things of a path in its order; hop_mm: width that a hop's picture takes."""
    made = []
    for row in evaluation.network.chains[path].rows:
        site, far = evaluation.network.places[row.id]
        item = _item(row, site, far, letters)
        if item.style == HOP:
            item.width = hop_mm
        made.append(item)
    return made


def _item(row: Segment, site: str | None, far: str | None, letters: Letters) -> Item:
    kind = KINDS[row.kind]
    if kind.medium == AIR and row.to_site is not None:
        return Item(row, HOP, None, "", [], letters)
    if kind.is_run:
        length = letters.words(length_text(row.length_m)) if row.length_m else "length not given"
        strands = f"strand {' / '.join(row.strand)}" if row.strand else ""
        cable = ", ".join(filter(None, (row.label, strands)))
        return Item(row, RUN, site if site == far else None, length, [row.part, cable], letters)
    port = f"port {row.port}" if row.port else ""
    if kind.ends_light:
        return Item(row, OPTIC, site, "", [row.part, port], letters)
    if kind.has_ports:
        return Item(row, BOX, site, row.label or row.part, [row.part] if row.label else [], letters)
    count = f"{row.count} × " if row.count and row.count > 1 else ""
    return Item(row, MARK, site, "", [count + row.part], letters)


def ghost_of(item: Item, letters: Letters, *, as_wide: bool = True) -> Item:
    """The thing again where a branch leaves it; `as_wide` as it was drawn the first time."""
    made = Item(item.row, GHOST, item.site, item.row.label or item.row.part, [], letters)
    if as_wide:
        made.width = max(made.width, item.width)
    return made


def medium_after(item: Item, following: Item | None) -> Any:
    """Medium of the stretch between two things: that of the run beside it."""
    for one in (item, following):
        if one is not None and one.style == RUN:
            return KINDS[one.row.kind].medium
    return None
