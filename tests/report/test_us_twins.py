"""What a design in feet is told, held to what its twin in metres is told: figure by figure.

The foot is 0.3048 m, the mile 1609.344 m (NIST SP 811, appendix B.8). Every length of the metric text
must stand converted and with its unit in the other, everything else as it was.
"""

import re
from itertools import zip_longest
from pathlib import Path

import openpyxl
import pytest
from elevation_files import sine_hills, write_hgt, write_hop
from feet_designs import METRE, in_feet, table, write
from typer.testing import CliRunner

from backhaul.cli import app
from backhaul.errors import InputError

ROOT = Path(__file__).parents[2]
MILE_KM = 1.609344
NUMBER = r"(?<![\w.])-?\d+(?:\.\d+)?"
#: A length with what stands before its unit: "23 / 22 / 24 m", "1620 -> 1690 m", "3 to 5 km".
LENGTH = re.compile(rf"({NUMBER}(?:(?: / | -> | → | to ){NUMBER})*) (m|km)\b(?![/²³])")
#: A column beside its figures.
CELL = re.compile(rf"\b\w+_m ({NUMBER}(?: -> {NUMBER})*)(?! k?m\b)")
#: In a sentence with feet, figures of the same thing that have no unit of their own.
BARE = re.compile(
    rf"ft(?: \([^()]*)?[^()]*?(?:± |against |est, |expected ){NUMBER}(?![\d.])(?! ?(?:ft|mi|dB|°|V|W|%|ohm))"
)


def told(*args) -> str:
    """What a command prints, unwrapped."""
    done = CliRunner().invoke(app, [str(arg) for arg in args], env={"COLUMNS": "100000"})
    if isinstance(done.exception, InputError):
        return str(done.exception)
    assert "Traceback" not in done.output
    return done.stdout + done.stderr


def us_of(metric: Path, folder: Path) -> Path:
    us = in_feet(metric, folder)
    settings = table(us / "project.csv") if (us / "project.csv").exists() else []
    rows = [[row["setting"], row["value"]] for row in settings if row["setting"] != "units"]
    write(us / "project.csv", ["setting", "value"], [*rows, ["units", "US"]])
    return us


def lengths(text: str) -> list[tuple[float, float, str]]:
    """Every length, half a digit of it [m], and as printed."""
    found = []
    for pattern in (LENGTH, CELL):
        for match in pattern.finditer(text):
            unit = 1000 if pattern is LENGTH and match[2] == "km" else 1
            for number in re.findall(NUMBER, match[1]):
                digits = len(number.partition(".")[2])
                found.append((float(number) * unit, 0.5 * 10**-digits * unit, match[0]))
    return found


def feet_lengths(text: str) -> list[float]:
    """Every length of the other text in metres."""
    return [
        float(number) * (METRE if match[2] == "ft" else MILE_KM * 1000)
        for match in re.finditer(rf"({NUMBER}(?:(?: / | -> | → | to ){NUMBER})*) (ft|mi)\b", text)
        for number in re.findall(NUMBER, match[1])
    ] + [
        float(number) * METRE
        for match in re.finditer(rf"\b\w+_ft ({NUMBER}(?: -> {NUMBER})*)(?! ft\b)", text)
        for number in re.findall(NUMBER, match[1])
    ]


def assert_twins(metric: str, us: str) -> None:
    ours, theirs = metric.splitlines(), us.splitlines()
    seen = 0
    for one, other in zip_longest(ours, theirs, fillvalue=""):
        wanted, found = lengths(one), feet_lengths(other)
        assert len(found) == len(wanted), (one, other)
        for (length_m, room_m, words), have_m in zip(wanted, found, strict=True):
            near = max(room_m, 0.006 * abs(length_m)) * 1.01 + 1e-9
            assert have_m == pytest.approx(length_m, abs=near, rel=0), (words, one, other)
        assert not BARE.search(other), other
        assert not LENGTH.search(other), other
        assert not re.search(r"\b(?!rate_rain)[a-z]\w*_m\b", other), other
        seen += len(wanted)
    assert seen, "no length was told"


def reservoir(folder: Path, changes=(), readings=()) -> Path:
    """The demo with cells of segments set: (label, column, value), and readings."""
    folder.mkdir()
    for file in (ROOT / "demo" / "reservoir").glob("*.csv"):
        (folder / file.name).write_bytes(file.read_bytes())
    rows = table(folder / "segments.csv")
    for label, column, value in changes:
        for row in rows:
            if row["label"] == label:
                row[column] = value
    write(folder / "segments.csv", list(rows[0]), [list(row.values()) for row in rows])
    if readings:
        heads = ["site", "reading", "value", "unit", "water_level_m"]
        write(folder / "readings.csv", heads, list(readings))
    return folder


@pytest.mark.parametrize("demo", ["estuary", "reservoir"])
def test_check(demo, tmp_path):
    metric = ROOT / "demo" / demo
    us = us_of(metric, tmp_path / demo)
    assert_twins(told("check", metric, "--all"), told("check", us, "--all"))


def test_runs_near_their_limit(tmp_path):
    """What to confirm first: a length with how far it may be off."""
    metric = reservoir(tmp_path / "m")
    rows = table(metric / "segments.csv")
    for row in rows:
        if row["kind"] == "copper":
            row["length_m"] = "94.5"  # 100 m of channel less cords
        if row["kind"] == "feed":
            row["length_m"] = ""  # what is to be filled is named by its head
    write(metric / "segments.csv", list(rows[0]), [list(row.values()) for row in rows])
    us = us_of(metric, tmp_path / "ft")
    ours, theirs = (told("check", each, "--all") for each in (metric, us))
    assert "length of the copper" in ours and "fill length_m" in ours
    assert_twins(ours, theirs)


def test_compare(tmp_path):
    changed = [("crest-cable", "length_m", "1690"), ("crest-hop", "height_m", "9")]
    metric = [reservoir(tmp_path / "m1"), reservoir(tmp_path / "m2", changed)]
    us = [us_of(each, tmp_path / f"us-{each.name}") for each in metric]
    assert_twins(told("compare", *metric, "--all"), told("compare", *us, "--all"))


def test_terrain(tmp_path):
    """Typed rows that differ from the file, and a profile that it fills."""
    first, last = (51.2, -20.5), (51.24, -20.45)
    tile = write_hgt(tmp_path, "N51W021", sine_hills)
    length_m = 5659.0
    rows = [
        {"path": "P", "step": 1, "distance_m": at_m, "ground_m": level_m}
        for at_m, level_m in ((0, 130.15), (2438.4, 213.36), (length_m, 130.15))
    ]
    for name, tables in (("typed", {"terrain": rows}), ("blank", {})):
        hop = {"length_m": length_m}
        levels = (130.15, 140)
        metric = write_hop(tmp_path / name, first, last, ground=levels, hop=hop, **tables)
        us = us_of(metric, tmp_path / f"us-{name}")
        ours, theirs = (told("terrain", each, "-e", tile) for each in (metric, us))
        assert "against" in ours if tables else "a level every" in ours
        assert_twins(ours, theirs)


def sheets(path: Path) -> dict[str, list[list[object]]]:
    book = openpyxl.load_workbook(path)
    return {
        sheet.title: [[cell.value for cell in row] for row in sheet.iter_rows()] for sheet in book
    }


def row_of(rows: list[list[object]], *words: str) -> list[object]:
    return next(row for row in rows if all(word in row for word in words))


def test_the_change_notice(tmp_path):
    changed = [("crest-cable", "length_m", "1690"), ("crest-hop", "height_m", "9")]
    metric = [reservoir(tmp_path / "m1"), reservoir(tmp_path / "m2", changed)]
    us = [us_of(each, tmp_path / f"us-{each.name}") for each in metric]
    told("compare", *us, "-o", tmp_path / "n.xlsx")
    rows = sheets(tmp_path / "n.xlsx")["Rows"]
    for column, figures in (("length_ft", (1620, 1690)), ("height_ft", (7, 9))):
        row = row_of(rows, column)
        at = row.index(column) + 1
        assert [cell * METRE for cell in row[at : at + 2]] == pytest.approx(figures, abs=1e-3)
    texts = [str(c) for rows in sheets(tmp_path / "n.xlsx").values() for row in rows for c in row]
    assert not [t for t in texts if LENGTH.search(t) or re.search(r"\b[a-z]+_m\b", t)]


def test_the_acceptance_record(tmp_path):
    taken = [
        ["Works", "crest-cable.length", "1828.8", "m", ""],
        ["Crest mast", "crest-hop.level.near", "-60", "dBm", "208.4"],
    ]
    us = us_of(reservoir(tmp_path / "m", readings=taken), tmp_path / "ft")
    told("readings", us, "-o", tmp_path / "r.xlsx")
    book = sheets(tmp_path / "r.xlsx")
    head = next(row for row in book["As built"] if "Measured" in row)
    assert "Water, ft" in head
    measured, unit, water = (head.index(name) for name in ("Measured", "Unit", "Water, ft"))
    length = row_of(book["As built"], "crest-cable.length")
    assert length[measured] == 6000 and length[unit] == "ft"
    level = row_of(book["As built"], "crest-hop.level.near")
    assert level[measured] == -60 and level[water] * METRE == pytest.approx(208.4, abs=1e-3)
    assert "water_level_ft" in book["readings"][0]
    row = row_of(book["readings"], "crest-cable.length")
    assert row[2:4] == [6000, "ft"]


def test_readings(tmp_path):
    taken = [
        ["Works", "crest-cable.length", "1828.8", "m", ""],
        ["Crest mast", "crest-hop.height.near", "7.1", "m", ""],
        ["Crest mast", "crest-hop.level.near", "-60", "dBm", "208.4"],
    ]
    metric = reservoir(tmp_path / "m", readings=taken)
    us = us_of(metric, tmp_path / "ft")
    assert_twins(told("readings", metric, "--all"), told("readings", us, "--all"))
    for each in (metric, us):
        told("readings", each, "--table", tmp_path / f"{each.name}.csv")
    ours, theirs = (table(tmp_path / f"{each.name}.csv") for each in (metric, us))
    assert "water_level_ft" in theirs[0] and "water_level_m" not in theirs[0]
    assert [row["unit"] for row in theirs] == ["ft", "ft", "dBm"]
    for one, other in zip(ours, theirs, strict=True):
        is_length = one["unit"] == "m"
        assert float(other["value"]) * (METRE if is_length else 1) == pytest.approx(
            float(one["value"]), abs=1e-3
        )
        if one["water_level_m"]:
            assert float(other["water_level_ft"]) * METRE == pytest.approx(208.4, abs=1e-3)


def test_a_length_without_its_unit_is_asked_for(tmp_path):
    us = us_of(reservoir(tmp_path / "m"), tmp_path / "ft")
    heads, row = ["site", "reading", "value", "unit"], ["Works", "crest-cable.length", "5315"]
    write(us / "readings.csv", heads, [[*row, ""]])
    assert "found no unit; needed ft or m" in told("readings", us)
    write(us / "readings.csv", heads, [[*row, "ft"]])
    assert "found no unit" not in told("readings", us)


@pytest.mark.parametrize("broken", ["hop", "bed", "water"])
def test_what_cannot_be_used(broken, tmp_path):
    changes = [("crest-hop", "length_m", "2743.2")] if broken == "hop" else []
    metric = reservoir(tmp_path / "m", changes)
    if broken == "bed":
        rows = table(metric / "terrain.csv")
        wet = next(row for row in rows if row["surface"] not in ("", "land"))
        wet["ground_m"] = "219.456"
        write(metric / "terrain.csv", list(rows[0]), [list(row.values()) for row in rows])
    if broken == "water":
        text = (metric / "project.csv").read_text(encoding="utf-8")
        (metric / "project.csv").write_text(
            re.sub(r"water_low_m,\d[\d.]*", "water_low_m,300", text), encoding="utf-8"
        )
    us = us_of(metric, tmp_path / "ft")
    ours, theirs = told("check", metric), told("check", us)
    assert "found" in ours and "found" in theirs
    if broken == "water":  # the limit stands behind the head that it is of
        assert "water_low_ft 984.252" in theirs and "_m" not in theirs
        return
    assert_twins(ours, theirs)


@pytest.mark.parametrize("heights", [("0.5", "0.5"), ("0.3", "1.2"), ("0.2", "0.3")])
def test_settle_writes_what_it_prints(heights, tmp_path):
    """A height that is printed in feet is the one in the cell, and with it the design holds."""
    changes = [("crest-hop", "height_m", heights[0]), ("crest-hop", "to_height_m", heights[1])]
    us = us_of(reservoir(tmp_path / "m", changes), tmp_path / "ft")
    printed = told("settle", us, "-o", tmp_path / "out")
    found = re.findall(r"(first|far) antenna by [\d.]+ ft to ([\d.]+) ft", printed)
    assert found, printed
    row = next(r for r in table(tmp_path / "out" / "segments.csv") if r["label"] == "crest-hop")
    for end, height in found:
        column = "height_ft" if end == "first" else "to_height_ft"
        assert float(row[column]) == float(height)
    verdict = printed.splitlines()[0].rpartition(" ")[2]
    assert told("check", tmp_path / "out").splitlines()[0].endswith(verdict)
