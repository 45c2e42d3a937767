"""Twice the design is twice the work: no step looks at all others, counted in calls, not in time."""

import cProfile
import csv
import pstats
from pathlib import Path

import pytest
from all_designs import DESIGNS
from typer.testing import CliRunner

from backhaul.api import load_catalog, read_design
from backhaul.cli import app
from backhaul.evaluation import evaluate

#: Copies of all paths of a design, and what twice as many may cost: of all calls, and of those of
#: one function that is called often. All hops of a design hear each other, in arrays.
COPIES, ALL, ONE, OFTEN = 6, 2.15, 2.6, 3000
_NAMES = ("path", "label", "from_path", "backs_up", "hub")
DEMOS = [folder for folder in DESIGNS if folder.parent.name == "demo"]


def multiplied(design: Path, folder: Path, copies: int) -> Path:
    """So many copies of all paths of a design, with labels of their own, between the same sites."""
    folder.mkdir()
    for file in design.glob("*.csv"):
        with file.open(newline="", encoding="utf-8") as text:
            rows, heads = list(reader := csv.DictReader(text)), reader.fieldnames
        if file.stem == "readings":
            continue
        is_copied = file.stem != "sites" and not {"path", "label"}.isdisjoint(heads)
        with (folder / file.name).open("w", newline="", encoding="utf-8") as text:
            writer = csv.DictWriter(text, heads)
            writer.writeheader()
            for copy in range(copies if is_copied else 1):
                writer.writerows(_named(row, copy) if is_copied else row for row in rows)
    return folder


def _named(row: dict, copy: int) -> dict:
    """A row with the names of its copy; a cell may hold several."""
    names = {name: row[name].split(";") for name in _NAMES if row.get(name)}
    return row | {
        name: ";".join(f"{each.strip()}-{copy}" for each in cell) for name, cell in names.items()
    }


def calls_of(work) -> dict[tuple, int]:
    work()  # what is read once in a process
    profile = cProfile.Profile()
    profile.runcall(work)
    return {key: counts[1] for key, counts in pstats.Stats(profile).stats.items()}


def hold(once: dict[tuple, int], twice: dict[tuple, int]) -> None:
    worst = {
        f"{Path(file).name}:{line} {name}": (once.get((file, line, name), 0), count)
        for (file, line, name), count in twice.items()
        if count > OFTEN and count > ONE * once.get((file, line, name), 0)
    }
    assert not worst
    assert sum(twice.values()) <= ALL * sum(once.values())


@pytest.mark.parametrize("demo", DEMOS, ids=lambda folder: folder.name)
def test_twice_the_paths_are_twice_the_calls(demo, tmp_path):
    catalog = load_catalog()
    designs = [
        read_design(multiplied(demo, tmp_path / str(copies), copies))
        for copies in (COPIES, 2 * COPIES)
    ]
    hold(*(calls_of(lambda d=each: evaluate(d, catalog, seek=False)) for each in designs))


@pytest.mark.parametrize("demo", DEMOS, ids=lambda folder: folder.name)
@pytest.mark.parametrize(
    "words", [["check", "--json"], ["check", "--all"], ["map", "-o", "map.json"]]
)
def test_commands_grow_with_the_design(demo, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("backhaul.remedies.proof.ROWS_TRIED", 0)  # changes tried are bounded
    counts = []
    for copies in (COPIES, 2 * COPIES):
        folder = multiplied(demo, tmp_path / str(copies), copies)
        command = [words[0], str(folder), *words[1:]]
        counts.append(calls_of(lambda c=command: CliRunner().invoke(app, c)))
    hold(*counts)
