"""Our catalogues as plain rows, one a part: what a user's copy of them begins from."""

import csv
from pathlib import Path

CATALOGS = Path(__file__).parents[1] / "catalogs"


def our_rows(file: str) -> list[dict[str, str]]:
    """Rows of a catalogue file; one that holds for several parts stands once for each."""
    with (CATALOGS / file).open(encoding="utf-8", newline="") as stream:
        return [
            row | {"part": part}
            for row in csv.DictReader(stream)
            for part in row["part"].split(";")
        ]
