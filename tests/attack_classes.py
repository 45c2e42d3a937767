"""A thousand attacks by class: each is a thing that a hurried or hostile hand might do.

An attack returns None, or what went wrong. Invented on the spot from fixed seeds; what is right is
said by class: refused, asked about, or answered alike in every output.
"""

import csv
import io
import json
import math
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from attack_outside import DEMO, RESERVOIR, Attack, attacks_from_outside

from backhaul.book.book import build_book
from backhaul.design.read import read_design
from backhaul.errors import BackhaulError, InputError
from backhaul.evaluation import evaluate
from backhaul.report.geojson import geojson_text
from backhaul.report.order_csv import order_csv
from backhaul.report.record import record
from backhaul.report.stream import clean
from backhaul.report.terminal import report
from backhaul.spreadsheet.writer import write_book


def attacks() -> Iterator[Attack]:
    yield from _decimal_commas()
    yield from _thousands()
    yield from _rows_forgotten()
    yield from _names()
    yield from _cells()
    yield from _damaged()
    yield from _encodings()
    yield from _changes()
    yield from attacks_from_outside()


def tables(folder: Path = RESERVOIR) -> dict[str, list[dict[str, str]]]:
    found = {}
    for file in sorted(folder.glob("*.csv")):
        with file.open(newline="", encoding="utf-8") as lines:
            found[file.stem] = list(csv.DictReader(lines))
    return found


def text_of(rows: list[dict[str, str]], separator: str = ",") -> str:
    out = io.StringIO()
    heads = list(dict.fromkeys(head for row in rows for head in row))
    writer = csv.DictWriter(out, heads, delimiter=separator, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def put(folder: Path, found: dict[str, list[dict[str, str]]]) -> Path:
    for name, rows in found.items():
        (folder / f"{name}.csv").write_text(text_of(rows), encoding="utf-8")
    return folder


def must_refuse(source: Path, catalog: Any, words: str = "") -> str | None:
    try:
        read_design(source, catalog)
    except InputError as error:
        return None if words in str(error) else f"refused with other words: {str(error)[:200]}"
    return "read as if nothing were wrong"


def may_answer(source: Path, catalog: Any, *, book: bool = False) -> str | None:
    """Every output answers, or the reading refuses in words; a workbook takes the longest."""
    try:
        design = read_design(source, catalog)
        evaluation = evaluate(design, catalog, seek=False)
    except BackhaulError as error:
        return None if str(error) else "refused without a word"
    told = [line for line, _ in report(evaluation, everything=True)]
    json.dumps(record(evaluation), allow_nan=False)
    geojson_text(evaluation)
    order_csv(evaluation)
    if book:
        write_book(build_book(evaluation))
    out = io.StringIO()
    for line in told:
        out.write(clean(line))
    if any(ord(letter) < 32 or letter in "\x7f\x9b\u202e" for letter in out.getvalue()):
        return "a control character reaches a terminal"
    for row in design.segments:
        for figure in row:
            if isinstance(figure, float) and not math.isfinite(figure):
                return f"a figure that is none: {figure}"
    return None


def _decimal_commas() -> Iterator[Attack]:
    """A decimal comma in a file of commas pushes the rest of its row aside."""
    heads = ["path", "step", "kind", "part", "length_m", "measured_db", "label", "note"]
    for column in ("length_m", "measured_db"):
        for whole in (0, 1, 6, 12, 99, 1620):
            for rest in ("0", "5", "9", "25", "050", "999"):
                row = {"path": "a", "step": "1", "kind": "fiber", "part": "os2-12", "label": "F"}
                cells = [f"{whole},{rest}" if h == column else row.get(h, "") for h in heads]

                def run(folder, catalog, cells=cells):
                    text = ",".join(heads) + "\n" + ",".join(cells) + "\n"
                    (folder / "segments.csv").write_text(text)
                    return must_refuse(folder, catalog)

                yield Attack("decimal comma in a comma file", f"{column} {whole},{rest}", run)


def _thousands() -> Iterator[Attack]:
    """A point before three digits, where decimals are written with a comma or not at all."""
    for number in (1, 2, 9, 14, 62, 150):
        for rest in ("620", "850", "000", "500"):
            for other in ("", "12,5"):

                def run(folder, catalog, number=number, rest=rest, other=other):
                    rows = [
                        {"path": "a", "step": "1", "kind": "fiber", "part": "os2-12", "length_m": x}
                        for x in (f"{number}.{rest}", other or "300")
                    ]
                    rows[1]["step"] = "2"
                    (folder / "segments.csv").write_text(text_of(rows, ";"))
                    return must_refuse(folder, catalog, "this may be")

                yield Attack("thousands or decimals", f"{number}.{rest} beside {other}", run)


def _rows_forgotten() -> Iterator[Attack]:
    """What a path needs is left out: it does not pass, and all outputs answer."""
    needed = ("optic", "radio", "copper", "feed")
    for folder_name in ("reservoir", "estuary"):
        rows = tables(DEMO / folder_name)["segments"]
        for place, row in enumerate(rows):
            if row["kind"] not in needed and row["kind"] != "fiber":
                continue

            def run(folder, catalog, place=place, source=DEMO / folder_name, row=row):
                found = tables(source)
                del found["segments"][place]
                try:
                    design = read_design(put(folder, found), catalog)
                    evaluation = evaluate(design, catalog, seek=False)
                except InputError:
                    return None
                paths = row["path"].split("/")
                passed = [p for p in paths if evaluation.path_verdicts.get(p) == "pass"]
                if row["kind"] in needed and passed:
                    return f"{passed} pass without {row['kind']} {row['part']}"
                write_book(build_book(evaluation))
                return None

            yield Attack("a row forgotten", f"{folder_name} row {place + 2}", run)


NAMES = (
    "{0}", "{", "}}", "{x.y}", "%s", "%(a)s", "a&b", "<c>", "</x>", "=1+1", "+1", "@SUM(A1)", "-x",
    "'q'", '"d"', "näme", "\\", "\x1b[31mred", "\x1b]0;title\x07", "a\u202eb", "a\u200bb",
    "\ufffe", "_x000A_", "x" * 255, "ß" * 120, "日本", "🗻", "a\tb", "a;b", "a/b", "CON", "..",
    "None", "nan", "true", "1e5", "0x10", "{{}}", "$A$1", "[1]x!A1", "#REF!", "a\u0085b",
)  # fmt: skip


def _names() -> Iterator[Attack]:
    for name in NAMES:
        for what in ("path", "label", "site", "title"):

            def run(folder, catalog, name=name, what=what):
                found = tables()
                if what == "title":
                    found["project"] = [{"setting": "title", "value": name}]
                for row in found["segments"]:
                    if what in ("path", "label"):
                        row[what] = name if row[what] in ("crest", "crest-camera") else row[what]
                for table in found.values():
                    for row in table:
                        for column in ("site", "to_site"):
                            if what == "site" and row.get(column) == "Works":
                                row[column] = name
                        if what == "path" and row.get("path") == "crest":
                            row["path"] = name
                return may_answer(put(folder, found), catalog, book=what == "label")

            yield Attack("names", f"{what} {name[:20]!r}", run)


CELLS = (
    "nan", "inf", "-inf", "1e999", "-1", "-0", "0", "1e308", "=1+1", "#REF!", "#N/A", "2026-02-31",
    "5/6", "May 5", "５", " 12 ", "TRUE", "1,5", "1.2.3", "--3", "12 m", "½", "1_000", "0x1F", "'",
    "None", "99999999999999999999", "1e-320", "٣", "\x00", "a" * 5000,
)  # fmt: skip


def _cells() -> Iterator[Attack]:
    """Anything in any cell: refused in words, or read as a figure that is one."""
    columns = (
        ("segments", "step"), ("segments", "length_m"), ("segments", "count"),
        ("segments", "strand"), ("segments", "height_m"), ("segments", "frequency_ghz"),
        ("segments", "tx_power_dbm"), ("sites", "latitude"), ("sites", "ground_m"),
        ("sites", "ambient_max_c"), ("demand", "up_mbps"), ("terrain", "distance_m"),
    )  # fmt: skip
    for table, column in columns:
        for cell in CELLS:

            def run(folder, catalog, table=table, column=column, cell=cell):
                found = tables()
                for row in found[table]:
                    if row.get(column):
                        row[column] = cell
                        break
                else:
                    found[table][0][column] = cell
                return may_answer(put(folder, found), catalog)

            yield Attack("cells", f"{table} {column} {cell[:12]!r}", run)


def _damaged() -> Iterator[Attack]:
    """Bytes changed, lost and doubled, in a table and in a workbook."""
    for seed in range(120):
        for form in ("csv",) if seed % 3 else ("xlsx",):

            def run(folder, catalog, seed=seed, form=form):
                rng = random.Random(seed)
                name = "segments.csv" if form == "csv" else "design.xlsx"
                source = RESERVOIR / name if form == "csv" else DEMO / "reservoir.xlsx"
                data = bytearray(source.read_bytes())
                for _ in range(rng.choice((1, 3, 20))):
                    place = rng.randrange(len(data))
                    change = rng.choice(("byte", "cut", "double", "zero"))
                    if change == "byte":
                        data[place] = rng.randrange(256)
                    elif change == "zero":
                        data[place] = 0
                    elif change == "cut":
                        del data[place : place + rng.choice((1, 50, 3000))]
                    else:
                        data[place:place] = data[place : place + 200]
                (folder / name).write_bytes(data)
                try:
                    read_design(folder / name, catalog)
                except InputError as error:
                    return None if str(error) else "refused without a word"
                return None

            yield Attack("damaged files", f"{form} seed {seed}", run)


def _encodings() -> Iterator[Attack]:
    """One table in many encodings, separators and line ends: the same design, or refused."""
    pages = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1")
    for page in pages:
        for end in ("\n", "\r\n", "\r"):
            for separator in (",", ";", "\t"):

                def run(folder, catalog, page=page, end=end, separator=separator):
                    rows = tables()["segments"]
                    text = text_of(rows, separator).replace("\n", end)
                    (folder / "segments.csv").write_bytes(text.encode(page, "replace"))
                    try:
                        digest = read_design(folder / "segments.csv", catalog).digest
                    except InputError:
                        return None
                    (folder / "segments.csv").write_text(text_of(rows), encoding="utf-8")
                    same = read_design(folder / "segments.csv", catalog).digest == digest
                    return None if same else "another design"

                yield Attack("encodings", f"{page} {end!r} {separator!r}", run)


def _changes() -> Iterator[Attack]:
    """`Design.changed` with what no file could hold."""
    bad = {
        "length_m": (-5, float("nan"), float("inf"), "x", "5/6", 1e12),
        "channel_mhz": (0, -20, "wide"),
        "strand": ("5 June", "May 6"),
        "part": ("", "nonsense", "os2-12 ", None, 7),
        "site": ("nowhere", "Valve  towr"),
        "kind": ("fibre cable", None),
        "nothing": (1,),
        "polarization": ("diagonal",),
        "count": (-1, 1.5, "two"),
    }
    for path, step in (("tower", 2), ("tower", 6), ("tower", 13), ("tower", 15)):
        for column, values in bad.items():
            for value in values:

                def run(folder, catalog, path=path, step=step, column=column, value=value):
                    design = read_design(RESERVOIR, catalog)
                    try:
                        after = design.changed(path, step, catalog, **{column: value})
                    except (InputError, KeyError):
                        return None
                    row = next(r for r in after.segments if path in r.path and r.step == step)
                    taken = getattr(row, column, None)
                    return None if taken in ("os2-12", "", None, ()) else f"took {taken!r}"

                yield Attack("Design.changed", f"{path} {step} {column}={value!r}", run)
