"""Every yellow cell of the demos, typed over with words, with nothing and with figures at its limits.

Run it: python tests/bench/typed_attacks.py [demo ...]   (the tests try a sample of these)
Printed: how many were tried, and each that leaves an answer better than a new evaluation gives.
"""

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import typed_books`

from typed_books import RANK, LiveBook, accepted, anew, extremes, read

from backhaul.spreadsheet.cells import Input

DEMO = Path(__file__).parents[2] / "demo"
JUDGED = ("Inputs", "Alternatives")
STOPPED = RANK["not yet"]


def words_and_blanks(book: LiveBook) -> tuple[int, list]:
    """Words in every cell, and nothing in those that hold a figure."""
    tried, left = 0, []
    for cell in book.yellow:
        if cell.sheet not in JUDGED:
            continue
        for value in ("-19,5", "", None) if isinstance(cell.cell, Input) else ("-19,5", "abc"):
            if value == "" and isinstance(cell.cell.value, str):
                continue
            tried += 1
            answer = book.typed(cell, value)
            if RANK[answer] < STOPPED:
                left.append((cell.sheet, cell.key, value, answer))
    return tried, left


def figures(book: LiveBook, design: Path, folder: Path) -> tuple[int, int, list]:
    """Figures at and beyond the limits: none leaves an answer that a new evaluation denies."""
    tried, evaluated, left = 0, 0, []
    for number, cell in enumerate(book.yellow):
        if cell.sheet != "Inputs" or isinstance(cell.cell.value, str):
            continue
        key = cell.key.replace("eff.", "given.", 1)
        for place, value in enumerate(extremes(cell, cell.cell.value)):
            figure = round(value) if cell.cell.whole else value
            tried += 1
            answer = book.typed(cell, figure)
            if RANK[answer] >= STOPPED:
                continue
            found = anew(folder / f"{number}-{place}", design, key, figure)
            if found is None:
                continue
            evaluated += 1
            if RANK[answer] < RANK[found]:
                left.append((key, cell.cell.value, figure, answer, found))
    return tried, evaluated, left


def main(names: list[str]) -> None:
    for name in names or ["reservoir", "estuary"]:
        with tempfile.TemporaryDirectory() as folder:
            design = accepted(Path(folder) / name, DEMO / name)
            book = LiveBook(read(design))
            tried, left = words_and_blanks(book)
            print(f"{name}: {tried} words and blanks, {len(left)} leave a yes {left}", flush=True)
            tried, evaluated, left = figures(book, design, Path(folder))
            print(
                f"{name}: {tried} figures, {evaluated} evaluated anew, {len(left)} better than that"
                f" {left}",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
