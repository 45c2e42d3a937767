"""How many of the figures and verdicts that a workbook shows are live.

Run it: python tests/bench/live_share.py [-v] [design ...]   (default: the two demos)
Counted as computed: every printed figure or verdict but what was given. Given are yellow cells, what
a formula only fetches from Inputs, and figures that stand in the design (steps, strands, counts as
drawn: `GIVEN_COLUMNS`). A formula counts as live; a figure or verdict without one does not, nor do
words that hold a figure, such as "150 Mb/s". Open points is left out: it says what was found when the
book was written. `-v` lists what is not live, with the first words of its row.
"""

import re
import sys
from collections import Counter
from pathlib import Path

from backhaul import api
from backhaul.book.book import build_book
from backhaul.spreadsheet.cells import Calc, Head, Number, Text, Verdict
from backhaul.spreadsheet.grid import Sheet
from backhaul.spreadsheet.layout import Layout

ROOT = Path(__file__).parents[2]
LEFT_OUT = ("Open points", "Inputs", "Basis")
GIVEN_COLUMNS = ("Step", "Place", "Pos.", "No.", "Strand", "Drawn", "Count", "Steps")
_FIGURE = re.compile(r"-?\d+(?:[.,]\d+)?(?: ?(?:dB|dBm|dBi|m|km|W|V|A|%|°|ms|Mb/s|Gb/s|kb/s))?")
_KEY = re.compile(r"\{([^{}]*)\}")


def computed(sheet: Sheet, layout: Layout) -> list[tuple[bool, str, str]]:
    """Every computed cell of a sheet: whether it is live, its row's words, what it shows."""
    inputs = layout.numbers.get("Inputs")
    found = []
    heads: dict[int, str] = {}
    for _row, cells in layout.rows(layout.numbers[sheet.name]):
        printed = [(column, cell) for column, cell in cells if column <= sheet.width]
        if any(isinstance(cell, Head) for _, cell in printed):
            heads = {column: cell.text for column, cell in printed if hasattr(cell, "text")}
        words = next((cell.text for _, cell in printed if isinstance(cell, Text) and cell.text), "")
        for column, cell in printed:
            live = _is_live(cell, layout, inputs)
            if live is not None and (live or heads.get(column, "") not in GIVEN_COLUMNS):
                shown = getattr(cell, "value", getattr(cell, "text", ""))
                found.append(
                    (live, f"{words[:40]} | {heads.get(column, '')[:30]}", str(shown)[:30])
                )
    return found


def _is_live(cell: object, layout: Layout, inputs: int | None) -> bool | None:
    """None for what is not computed."""
    if isinstance(cell, Calc):
        fetched = _KEY.fullmatch(cell.formula)
        return None if fetched and layout.spot(fetched[1]).sheet == inputs else True
    if isinstance(cell, Verdict):
        return bool(cell.formula)
    if isinstance(cell, Number):
        return False
    if isinstance(cell, Text) and _FIGURE.fullmatch(cell.text):
        return False
    return None


def main(designs: list[Path], *, verbose: bool) -> None:
    for design in designs:
        book = build_book(api.evaluate(api.read_design(design)))
        layout = Layout(book)
        print(f"\n{design.name:<22} computed   live  share")
        total: Counter = Counter()
        for sheet in book.sheets:
            if sheet.name in LEFT_OUT:
                continue
            found = computed(sheet, layout)
            live = sum(one[0] for one in found)
            total.update(computed=len(found), live=live)
            print(f"{sheet.name:<22} {len(found):>8} {live:>6} {_share(live, len(found))}")
            if verbose:
                for (words, shown), count in Counter(
                    one[1:] for one in found if not one[0]
                ).items():
                    print(f"      {count:>3} x {words}: {shown}")
        print(
            f"{'all':<22} {total['computed']:>8} {total['live']:>6} "
            f"{_share(total['live'], total['computed'])}"
        )


def _share(live: int, computed: int) -> str:
    return f"{100 * live / computed:5.1f} %" if computed else "    -"


if __name__ == "__main__":
    names = [Path(text) for text in sys.argv[1:] if text != "-v"]
    main(
        names or [ROOT / "demo" / name for name in ("reservoir", "estuary")],
        verbose="-v" in sys.argv,
    )
