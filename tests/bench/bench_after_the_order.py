"""How long it takes to compare two districts, and to read back a book of filled site cards.

python tests/bench/bench_after_the_order.py [PATHS [PATHS OF THE BOOK]]
"""

import random
import sys
import tempfile
import time
from io import BytesIO
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import openpyxl
from book_reading import without_merged
from districts import write_district
from filled_cards import expected

from backhaul.as_built.acceptance import accept
from backhaul.book.book import build_book
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import Evaluator, evaluate
from backhaul.revisions.comparison import Comparison
from backhaul.spreadsheet.writer import write_book

PATHS, BOOK_PATHS, READINGS = 1000, 60, 400


def main(paths: int = PATHS, book_paths: int = BOOK_PATHS) -> None:
    catalog = load_catalog()
    with tempfile.TemporaryDirectory() as name:
        _compare(Path(name), catalog, paths)
        _read_back(Path(name), catalog, book_paths)


def _compare(folder: Path, catalog, paths: int) -> None:
    old, new = (write_district(folder / name, paths) for name in ("old", "new"))
    table = new / "segments.csv"
    head, *rows = table.read_text().splitlines()
    longer = [row.replace(",440,", ",640,") for row in rows]
    random.Random(1).shuffle(longer)
    table.write_text("\n".join([head, *longer]) + "\n")
    began = time.process_time()
    designs = [read_design(each, catalog) for each in (old, new)]
    read = time.process_time()
    evaluator = Evaluator(catalog)
    both = [evaluator(design) for design in designs]
    evaluated = time.process_time()
    found = Comparison(*both)
    told = (
        len(found.changes),
        len(found.findings),
        len(found.figures),
        len(found.order.lines),
        len(found.cards),
    )
    done = time.process_time()
    changed = sum(a != b for a, b in zip(rows, (r.replace(",440,", ",640,") for r in rows)))
    print(f"two districts of {paths} paths, {len(rows)} rows each, {changed} lengths changed:")
    print(f"  read {read - began:.1f} s, evaluate {evaluated - read:.1f} s", end=", ")
    print(f"compare {done - evaluated:.1f} s, all {done - began:.1f} s of processor time")
    print("  rows, findings, figures, order lines, cards told:", *told)
    assert len(found.changes) == changed


def _read_back(folder: Path, catalog, paths: int) -> None:
    design = read_design(write_district(folder / "book", paths, hop_every=2), catalog)
    results = evaluate(design, catalog, seek=False)
    data = write_book(build_book(results))
    right = {key: value for key, value in expected(results).items() if value != "yes"}
    keys = random.Random(2).sample(sorted(right), min(READINGS, len(right)))
    typed = {key: round(right[key] * 1.001, 3) for key in keys}
    book = openpyxl.load_workbook(BytesIO(without_merged(data)))
    places: dict[str, int] = {}
    left = dict(typed)
    for row in book["Site cards"].iter_rows(max_col=12):
        words = [cell.value for cell in row]
        if "Key" in words and "Value" in words:
            places = {str(word): n for n, word in enumerate(words)}
        elif places and words[places["Key"]] in left:
            row[places["Value"]].value = left.pop(words[places["Key"]])
    path = folder / "filled.xlsx"
    book.save(path)
    began = time.process_time()
    found = accept(results, [path])
    done = time.process_time()
    back = {each.reading.key: each.value for each in found.judged if each.taken}
    exact = sum(back.get(key) == value for key, value in typed.items())
    print(f"book of {paths} paths, {path.stat().st_size / 1e6:.1f} MB, {len(typed)} readings:")
    print(f"  read back in {done - began:.1f} s of processor time; {exact} of {len(typed)} exact,")
    print(f"  {len(found.not_used)} not used, {len(left)} found no cell")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
