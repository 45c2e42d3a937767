"""Published and independently computed tables of the radio physics, as columns."""

import csv
from pathlib import Path

import numpy as np
import pytest

REFERENCE = Path(__file__).parents[2] / "reference" / "radio"


class Table(dict):
    """Columns by name: numbers where every cell is one (blank: NaN), else text."""

    def __init__(self, path):
        with open(path, newline="", encoding="utf-8") as file:
            self.rows = list(csv.DictReader(file))
        for name in self.rows[0]:
            text = [row[name] for row in self.rows]
            try:
                self[name] = np.array([float(cell) if cell else np.nan for cell in text])
            except ValueError:
                self[name] = np.array(text)

    def half_digit(self, name):
        """Half a unit of the last printed digit of each cell."""
        return np.array(
            [
                0.5
                * 10.0 ** -len(row[name].lower().split("e")[0].partition(".")[2])
                * 10.0 ** int(row[name].lower().partition("e")[2] or 0)
                for row in self.rows
            ]
        )

    def check(self, name, computed):
        """The computed column agrees with the printed one to its last digit."""
        error = np.abs(computed - self[name])
        # 2 %: a value that falls on the rounding edge itself
        bad = ~(error <= self.half_digit(name) * 1.02) & np.isfinite(self[name])
        assert not bad.any(), [
            (row[name], got) for row, got, wrong in zip(self.rows, computed, bad) if wrong
        ]


@pytest.fixture
def table():
    """Reader of a reference table by file name."""
    return lambda name: Table(REFERENCE / name)
