"""Keys of the cells of an optical link: of a direction, of a row in a direction."""

from typing import Any


def light_key(direction: Any, term: str = "", row: int | None = None) -> str:
    """Key of a term of a direction, or of one row of its link by the row's id.

    >>> from backhaul.figures.optical_directions import Direction
    >>> from types import SimpleNamespace
    >>> back = Direction(SimpleNamespace(index=1), 1, *[None] * 7)
    >>> light_key(back, "loss_max_db"), light_key(back, "length_km", 7)
    ('light.1.b.loss_max_db', 'light.1.b.row7.length_km')
    """
    parts = ["light", str(direction.link.index), direction.letter]
    parts += [f"row{row}"] if row is not None else []
    return ".".join([*parts, *([term] if term else ())])
