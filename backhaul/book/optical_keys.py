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


def judged_figures(optical: Any, link: Any, name: str) -> tuple[float, ...]:
    """A figure of both directions of a link as it is judged: by a reading where there is one."""
    column = optical.values.get(f"standing_{name}", optical.values[name])
    return tuple(float(column[direction.place]) for direction in optical.of(link))
