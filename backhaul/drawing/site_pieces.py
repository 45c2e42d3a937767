"""What a path has at one site: its things there, and the runs and hops that lead away."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from backhaul.checks.results import Results
from backhaul.drawing.items import BOX, HOP, RUN, Item, ghost_of, items_of
from backhaul.drawing.strips import Frame, Room, Strip
from backhaul.drawing.things import down_mm, up_mm
from backhaul.path.links import RADIO

#: Between two pieces on one line, and around the things of a line [mm].
_BESIDE, _EDGE = 6.0, 0.6
#: Of the stub and arrow of what leads away [mm].
_LEAD = 5.5


def site_pieces(evaluation: Results, site: str, paths: Iterable[str], room: Room) -> list[Strip]:
    """The pieces of the paths at a site; what stands in an earlier one stands again dashed."""
    found: list[Strip] = []
    drawn: set[str] = set()
    for path in paths:
        for items in _pieces(evaluation, site, path, room):
            labels = {item.row.label or str(item.row.id) for item in items}
            if labels <= drawn:
                continue
            items = [
                ghost_of(item, room.letters)
                if item.style == BOX and item.row.label in drawn
                else item
                for item in items
            ]
            drawn |= labels
            found += _strips(evaluation, site, path, items, room.right - room.left)
    return found


def lines_of(pieces: Sequence[Strip], left: float, right: float) -> list[list[Strip]]:
    """Pieces side by side, line by line."""
    lines: list[list[Strip]] = []
    x = right
    for piece in pieces:
        width = piece.right + (0.0 if piece.is_last else _LEAD)
        if x + width > right:
            lines.append([])
            x = left
        shift = x + (0.0 if piece.is_first else _LEAD)
        lines[-1].append(piece.moved(shift))
        x = shift + width + _BESIDE
    return lines


def heights_mm(line: Sequence[Strip]) -> tuple[float, float]:
    """Room above and below a line of pieces [mm]."""
    items = [item for piece in line for item in piece.items]
    return max(map(up_mm, items)) + _EDGE, max(map(down_mm, items)) + _EDGE


def _pieces(evaluation: Results, site: str, path: str, room: Room) -> Iterator[list[Item]]:
    """Neighbours on the path that stand at the site or lead to it."""
    piece: list[Item] = []
    for item in items_of(evaluation, path, hop_mm=0.0, letters=room.letters):
        start, end = evaluation.network.places[item.row.id]
        here = _here(evaluation, item, site, start, end, room)
        piece += here
        leaves = item.site is None and end != site
        if piece and (not here or leaves):
            yield piece
            piece = []
    if piece:
        yield piece


def _here(
    evaluation: Results, item: Item, site: str, start: str | None, end: str | None, room: Room
) -> list[Item]:
    """What of a thing stands at the site: of a hop its terminal there and where it leads."""
    if item.style not in (HOP, RUN) or start == end or site not in (start, end):
        return [item] if item.site == site else []
    row = item.row
    other = f"to {end}" if start == site else f"from {start}"
    if item.style == RUN:
        far = f"{' '.join(item.name)} {other}"
        return [Item(row, RUN, None, far, item.body, room.letters)]
    part = row.part if start == site else row.to_part or row.part
    label = row.label or part
    terminal = Item(row, BOX, site, label, [part] if row.label else [], room.letters)
    lead_words = room.letters.words(f"{_distance(evaluation, row)} {other}")
    lead = Item(row, RUN, None, lead_words, [], room.letters)
    return [terminal, lead] if start == site else [lead, terminal]


def _distance(evaluation: Results, row: Any) -> str:
    for link in evaluation.network.links[RADIO]:
        if row.id in link.row_ids:
            km = float(evaluation.radio.hops.distance_km[link.index])
            return f"{km:.2f} km" if km == km else "hop"
    return "hop"


def _strips(
    evaluation: Results, site: str, path: str, items: list[Item], width: float
) -> Iterator[Strip]:
    """A piece as strips no wider than the field."""
    rows: list[list[Item]] = [[]]
    used = 0.0
    for item in items:
        if rows[-1] and used + item.width > width - 2 * _LEAD:
            rows.append([])
            used = 0.0
        rows[-1].append(item)
        used += item.width
    for number, row in enumerate(rows):
        x = 0.0
        for item in row:
            item.x = x
            x += item.width
        leads = [_leads_away(evaluation, site, item) for item in (row[0], row[-1])]
        yield Strip(
            path,
            [Frame(None, [item], item.x, item.width) for item in row],
            number == 0 and not leads[0],
            number == len(rows) - 1 and not leads[1],
        )


def _leads_away(evaluation: Results, site: str, item: Item) -> bool:
    start, end = evaluation.network.places[item.row.id]
    return item.style == RUN and start != end and site in (start, end)
