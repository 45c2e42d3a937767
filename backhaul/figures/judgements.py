"""What is judged, by which figures: the check and the live cell ask the same declaration."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.findings import PASS, THIN


class Judgement(NamedTuple):
    """A verdict of a link, declared once.

    check: the finding that says so where it does not pass. word: a formula of `verdicts`. of: its
    arguments and the keys of the figures that they are. missing: the word where one of them has no
    figure; no_limit: figures whose blank means that there is no limit, so that nothing is judged.
    """

    name: str
    label: str
    check: str
    word: Callable
    of: Mapping[str, str]
    missing: str = THIN
    no_limit: tuple[str, ...] = ()

    def words(self, values: Mapping[str, Any]) -> np.ndarray:
        """The words of many links at once.

        >>> from backhaul.figures.verdicts import margin_verdict
        >>> margin = Judgement("margin", "Margin", "optical-margin", margin_verdict,
        ...                    {"margin": "margin_db", "healthy": "healthy_db"})
        >>> healthy = np.array([1.0, 1.0, 1.0])
        >>> print(*margin.words({"margin_db": np.array([2.0, 0.5, np.nan]), "healthy_db": healthy}))
        pass thin thin
        """
        arrays = {name: np.asarray(values[key], dtype=float) for name, key in self.of.items()}
        judged = self.word(**arrays)
        for name in self.of:
            blank = PASS if self.of[name] in self.no_limit else self.missing
            judged = np.where(np.isnan(arrays[name]), blank, judged)
        return judged

    def is_judged(self, values: Mapping[str, Any]) -> bool:
        """Whether all figures of one link are there, so that a cell can follow them."""
        return not any(np.isnan(float(values[key])) for key in self.of.values())


def not_passing(judgement: Judgement, values: Mapping[str, Any]) -> Iterator[tuple[int, str]]:
    """Places in the arrays at which a judgement does not pass, each with its word."""
    words = judgement.words(values)
    for place in np.flatnonzero(words != PASS):
        yield int(place), str(words[place])
