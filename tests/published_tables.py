"""Rows of the published tables, and how exactly a printed figure is known."""

import csv
from pathlib import Path

REFERENCE = Path(__file__).parent / "reference"


def rows(name):
    """Rows of a table, such as wired/poe_classes.csv."""
    with open(REFERENCE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_digit(text):
    """Half a unit of the last printed digit."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])
