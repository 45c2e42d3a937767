"""What the README shows is what happens: sessions, files, Python, commands.

Where a message has changed on purpose, `python tests/demos/test_readme.py` (backhaul installed)
brings the sessions up to date; read what it changed before you commit it.
"""

import difflib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from backhaul.cli import app
from backhaul.design.columns import TABLES

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
WIDTH, GAP, MESSAGE = "100", "…", " " * 7


def blocks(language: str) -> list[str]:
    """Fenced blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def sessions() -> list[tuple[str, list[str]]]:
    """Command and shown output of every session."""
    found = []
    for block in blocks("console"):
        first, *shown = block.splitlines()
        assert first.startswith("$ backhaul ")
        found.append((first.removeprefix("$ backhaul "), shown))
    return found


def output_of(command: str) -> list[str]:
    """What a command prints on a terminal of the README's width."""
    result = subprocess.run(
        [sys.executable, "-m", "backhaul", *command.split()],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        env={**os.environ, "COLUMNS": WIDTH, "PYTHONIOENCODING": "utf-8"},
    )
    return [line.rstrip() for line in result.stdout.splitlines()]


def runs_of(shown: list[str]) -> list[list[str]]:
    """Shown lines in runs; a line … stands for lines left out between them."""
    runs = [[]]
    for line in shown:
        if line == GAP:
            runs.append([])
        else:
            runs[-1].append(line)
    return [run for run in runs if run]


def missing_from(shown: list[str], real: list[str]) -> list[str] | None:
    """The first run of shown lines that the real output does not hold, in order; None if not."""
    place = 0
    for run in runs_of(shown):
        starts = range(place, len(real) - len(run) + 1)
        at = next((n for n in starts if real[n : n + len(run)] == run), None)
        if at is None:
            return run
        place = at + len(run)
    return None


@pytest.mark.parametrize(("command", "shown"), sessions())
def test_session(command, shown):
    real = output_of(command)
    wanting = missing_from(shown, real)
    if wanting:
        near = [difflib.get_close_matches(line, real, 1, 0.4) for line in wanting]
        pytest.fail("not in the output:\n" + "\n".join(wanting) + f"\nnearest: {near}")


def test_a_wrong_session_is_seen():
    real = ["a", "b", "c", "d"]
    assert missing_from(["a", "…", "c", "d"], real) is None
    assert missing_from(["a", "c"], real) == ["a", "c"]
    assert missing_from(["c", "…", "b"], real) == ["b"]


def test_the_small_design_is_a_design(tmp_path):
    (tmp_path / "small.csv").write_text(blocks("csv")[0], encoding="utf-8")
    result = CliRunner().invoke(app, ["check", str(tmp_path / "small.csv")])
    assert result.exit_code == 0, result.output


def test_own_parts_count(tmp_path):
    (tmp_path / "antennas.csv").write_text(blocks("csv")[1], encoding="utf-8")
    eirp = []
    for extra in ([], ["--catalog", str(tmp_path)]):
        command = ["check", str(ROOT / "demo" / "reservoir.xlsx"), "--json", *extra]
        result = CliRunner().invoke(app, command)
        assert result.exit_code == 0
        eirp.append(float(re.search(r'"eirp_dbm": ?([\d.]+)', result.stdout)[1]))
    assert eirp == pytest.approx([15 + 39.2, 15 + 38.4])


def test_python(tmp_path, monkeypatch, capsys):
    (tmp_path / "demo").symlink_to(ROOT / "demo", target_is_directory=True)
    monkeypatch.chdir(tmp_path)
    names: dict = {}
    exec(blocks("python")[0], names)
    assert capsys.readouterr().out.startswith("thin ['the reflection off the water")
    assert (tmp_path / "reservoir-workbook.xlsx").stat().st_size > 0
    assert len(names["table"]) > 5


def test_python_sweep(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    exec(blocks("python")[1], {})
    assert capsys.readouterr().out == blocks("text")[0]


def test_every_command_is_explained():
    for name in typer.main.get_command(app).commands:
        assert f"backhaul {name}" in README, name


def test_every_table_is_named():
    text = README.split("## A session")[0]
    for name in ("project", *TABLES):
        assert name in text, name


def test_ci_runs_the_two_commands_of_the_readme():
    """Each is one line, and CI takes it from here instead of having its own."""
    commands = [block.splitlines() for block in blocks("sh")]
    assert [len(lines) for lines in commands] == [1, 1]
    shown = subprocess.run(
        [ROOT / ".ci" / "run", "--show"], capture_output=True, text=True, check=True
    )
    assert shown.stdout.splitlines() == [line for lines in commands for line in lines]
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_the_cautions_are_there():
    text = README.split("## Cautions")[1].split("## Limits")[0]
    for word in ("Laser", "Height", "Mains", "Lightning", "Radio exposure", "Explosive air"):
        assert word in text
    assert "Local codes and licensed" in text


def brought_up_to_date(shown: list[str], real: list[str]) -> list[str]:
    """The shown runs as the real output has them now, found by their likeness."""

    def likest(line: str, places: range) -> int:
        return max(places, key=lambda n: difflib.SequenceMatcher(None, line, real[n]).ratio())

    lines: list[str] = []
    place = 0
    for run in runs_of(shown):
        first = likest(run[0], range(place, len(real)))
        last = likest(run[-1], range(first, min(first + len(run) + 3, len(real))))
        while last + 1 < len(real) and real[last + 1].startswith(MESSAGE):  # to its end
            last += 1
        lines += ([GAP] if first > place else []) + real[first : last + 1]
        place = last + 1
    return lines + ([GAP] if place < len(real) else [])


def test_a_changed_message_is_brought_up_to_date():
    real = ["title", "", "  fail a  x:7", "    5.1 dB", "    -> more", "  fail b  x:8", "end"]
    shown = ["title", GAP, "  fail a  x:6", "    4.9 dB", "    -> more", GAP]
    assert brought_up_to_date(shown, real) == ["title", GAP, *real[2:5], GAP]


if __name__ == "__main__":
    text = README
    for command, shown in sessions():
        new = brought_up_to_date(shown, output_of(command))
        text = text.replace("\n".join(shown), "\n".join(new))
    (ROOT / "README.md").write_text(text, encoding="utf-8")
