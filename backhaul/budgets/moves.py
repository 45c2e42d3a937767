"""Records of what moves a margin: a figure with its spread, the margin with its edges, the slope."""

from typing import NamedTuple


class Figure(NamedTuple):
    """A figure that may lie elsewhere than it is written.

    family, name, column: whose it is (family of parts and part, or what of the design). spread: one
    standard deviation in its unit. ask: who or what settles it.
    """

    family: str
    name: str
    column: str
    label: str
    value: float
    unit: str
    basis: str
    spread: float
    ask: str

    @property
    def identity(self) -> tuple[str, str, str]:
        return self.family, self.name, self.column


class Margin(NamedTuple):
    """What a verdict judges: its cell, its value, and the values at which the verdict turns."""

    cell: tuple
    label: str
    value: float
    edges: tuple[float, ...]

    @property
    def distance(self) -> float:
        """How far the nearest edge lies.

        >>> Margin((), "", 1.5, (0.0, 2.0)).distance
        0.5
        """
        return min(abs(self.value - edge) for edge in self.edges)


class Move(NamedTuple):
    """How a margin moves with a figure: by `slope` for each unit of the figure."""

    figure: Figure
    margin: Margin
    slope: float
