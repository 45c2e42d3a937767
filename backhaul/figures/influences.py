"""How an input moves a margin: what an equivalent must meet and what an offer does derive from it.

A margin that is linear in an input has one limit: the input may move until the margin is what is
wanted. The same line gives the margin with another part's figure in its place.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

AT_LEAST, AT_MOST = "at least", "at most"


class Influence(NamedTuple):
    """One input of a budget and the margin that it moves.

    input, on, wanted: keys of the input, of the margin, and of the value that the margin must keep
    ("" = 0). sign: +1 where a larger figure helps, -1 where it harms. times: key of a figure that
    multiplies it (length, count), "" = once. where: a condition on the link, as key and value
    ("margin_basis", "power"), that must hold for the influence to exist.
    """

    input: str
    on: str
    sign: int
    wanted: str = ""
    times: str = ""
    where: tuple[str, str] | None = None

    @property
    def sense(self) -> str:
        """Whether an equivalent's figure must be at least or at most the limit."""
        return AT_LEAST if self.sign > 0 else AT_MOST

    @property
    def figures(self) -> tuple[str, ...]:
        """Keys of all figures that the limit rests on."""
        return tuple(key for key in (self.input, self.on, self.wanted, self.times) if key)

    def limit(self, values: Mapping[str, Any], sharers: int = 1) -> Any:
        """The figure at which the margin is just what is wanted: number, array or cell.

        sharers: figures that share what the margin has to spare, so that all of them may be at
        their limits at once. What is missing is not shared: each alone then makes it up.

        >>> loss = Influence("loss_db", "margin_db", -1, "healthy_db", "count")
        >>> values = {"loss_db": 0.5, "margin_db": 3.0, "healthy_db": 2.0, "count": 4}
        >>> loss.limit(values), float(loss.limit(values, sharers=2))
        (0.75, 0.625)
        """
        spare = values[self.on] - (values[self.wanted] if self.wanted else 0)
        if sharers > 1:
            spare = np.where(spare > 0, spare / sharers, spare)
        per_unit = spare / values[self.times] if self.times else spare
        return values[self.input] - per_unit if self.sign > 0 else values[self.input] + per_unit

    def moved(self, values: Mapping[str, Any], offered: Any) -> Any:
        """The margin with an offered figure in the place of ours.

        >>> loss = Influence("loss_db", "margin_db", -1, "healthy_db", "count")
        >>> loss.moved({"loss_db": 0.5, "margin_db": 3.0, "healthy_db": 2.0, "count": 4}, 0.75)
        2.0
        """
        return self.instead(values[self.on], values[self.input], offered, values.get(self.times))

    def instead(self, margin: Any, now: Any, other: Any, times: Any = None) -> Any:
        """The margin with another figure in the place of the one that it holds now.

        >>> Influence("loss_db", "margin_db", -1).instead(3.0, 0.5, 0.75)
        2.75
        """
        change = other - now
        if times is not None:
            change = change * times
        return margin + change if self.sign > 0 else margin - change
