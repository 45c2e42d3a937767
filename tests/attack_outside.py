"""Attacks from outside: where an output goes, the standard streams, signals."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

DEMO = Path(__file__).parents[1] / "demo"
RESERVOIR = DEMO / "reservoir"


class Attack(NamedTuple):
    kind: str
    name: str
    run: Callable[[Path, Any], str | None]


def attacks_from_outside() -> Iterator[Attack]:
    yield from _outputs()
    yield from _streams()


def _outputs() -> Iterator[Attack]:
    """Outputs over what somebody filled in, or over what is no file."""
    words = {
        "workbook": ["workbook", "design", "-o", "OUT"],
        "order": ["workbook", "design", "-o", "out/x.xlsx", "--order-csv", "OUT"],
        "map": ["map", "design", "-o", "OUT"],
        "blank": ["blank", "OUT"],
    }
    targets = (
        "design/segments.csv", "design/sites.csv", "design/new.csv/../segments.csv", "other.xlsx",
        "design", "missing/x.xlsx", "pipe", "link.xlsx", "dangling.xlsx", "design/demand.tsv",
        "other/segments.csv", "./other.xlsx", "out/../other.xlsx", "out/" + "n" * 300 + ".xlsx",
        "OTHER-LINK.xlsx", "hard.xlsx", "link.xlsx/x.xlsx",
    )  # fmt: skip
    for command, line in words.items():
        for target in targets:

            def run(folder, catalog, line=line, target=target):
                return _output(folder, [target if word == "OUT" else word for word in line], target)

            yield Attack("outputs", f"{command} over {target[:30]}", run)


def _output(folder: Path, words: list[str], target: str) -> str | None:
    for name in ("design", "other", "out"):
        (folder / name).mkdir()
    for name in ("design", "other"):
        (folder / name / "segments.csv").write_text("path,step,kind,part\nP,1,device,switch-8-1g\n")
        (folder / name / "demand.tsv").write_text("path\twhat\nP\tcamera\n")
    shutil.copy(DEMO / "reservoir.xlsx", folder / "other.xlsx")
    os.mkfifo(folder / "pipe")
    (folder / "link.xlsx").symlink_to(folder / "other.xlsx")
    (folder / "OTHER-LINK.xlsx").symlink_to(folder / "other.xlsx")
    (folder / "dangling.xlsx").symlink_to(folder / "nowhere")
    os.link(folder / "other.xlsx", folder / "hard.xlsx")
    kept = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file() and not p.is_symlink()}
    done = subprocess.run(
        [sys.executable, "-m", "backhaul", *words],
        cwd=folder, capture_output=True, timeout=120, env=_environment(),
    )  # fmt: skip
    if done.returncode != 2:
        return f"exit {done.returncode}: {done.stderr[-200:]!r}"
    if b"fault of backhaul" in done.stderr or b"Traceback" in done.stderr:
        return done.stderr[-200:].decode(errors="replace")
    if any(path.read_bytes() != data for path, data in kept.items()):
        return "something was overwritten"
    if not (folder / "pipe").is_fifo() or not (folder / "link.xlsx").is_symlink():
        return "a node was replaced"
    return None


def _environment(**more: str) -> dict[str, str]:
    root = str(Path(__file__).parents[1])
    path = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH"))))
    return {**os.environ, "PYTHONPATH": path, **more}


def _streams() -> Iterator[Attack]:
    """Narrow code pages, closed and full streams, readers that leave, signals."""
    commands = {
        "check": (["check", "DEMO", "--all"], 0),
        "json": (["check", "DEMO", "--json"], 0),
        "parts": (["parts", "joints"], 0),
        "refused": (["check", "nöwhere→.xlsx"], 2),
    }
    pages = (
        "cp1252",
        "cp437",
        "latin-1",
        "ascii",
        "utf-16",
        "koi8-r",
        "cp932",
        "iso8859-5",
        "cp850",
        "gbk",
        "big5",
    )
    lines = {
        "no input": ('"$@" <&-', None),
        "no errors": ('"$@" 2>&-', None),
        "no output": ('"$@" >&-', 2),
        "nothing at all": ('"$@" <&- >&- 2>&-', 2),
        "a full device": ('"$@" >/dev/full', 2),
        "head": ('"$@" | head -n1 >/dev/null; exit "${PIPESTATUS[0]}"', 141),
        "an empty reader": ('"$@" | true; exit "${PIPESTATUS[0]}"', 141),
        "a dumb terminal": ('TERM=dumb "$@"', None),
        "narrow": ('COLUMNS=1 "$@"', None),
        "wide": ('COLUMNS=100000 "$@"', None),
        "no locale": ('LC_ALL=C PYTHONUTF8=0 "$@"', None),
        "no home": ('HOME=/nonexistent "$@"', None),
    }
    for command, (words, status) in commands.items():
        for page in pages:

            def run(folder, catalog, words=words, status=status, page=page):
                return _stream('"$@"', words, {status}, PYTHONIOENCODING=page)

            yield Attack("streams", f"{command} in {page}", run)
        for name, (line, other) in lines.items():

            def run(folder, catalog, words=words, status=status, line=line, other=other):
                return _stream(line, words, {status, status if other is None else other})

            yield Attack("streams", f"{command}: {name}", run)
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        for after_ms in (0, 10, 30, 50, 80, 120, 150, 200, 300, 450, 600, 800, 1000, 1500):

            def run(folder, catalog, number=number, after_ms=after_ms):
                return _signal(folder, number, after_ms / 1000)

            yield Attack("signals", f"{signal.Signals(number).name} after {after_ms} ms", run)


def _stream(line: str, words: list[str], allowed: set[int], **more: str) -> str | None:
    words = [str(RESERVOIR) if word == "DEMO" else word for word in words]
    done = subprocess.run(
        ["bash", "-c", line, "bash", sys.executable, "-m", "backhaul", *words],
        capture_output=True, timeout=300, env=_environment(**more),
    )  # fmt: skip
    told = done.stdout + done.stderr
    for word in (b"Traceback", b"fault of backhaul", b"Exception ignored", b"Warning"):
        if word in told:
            return f"{word!r} in {told[-300:]!r}"
    return None if done.returncode in allowed else f"exit {done.returncode}: {told[-200:]!r}"


def _signal(folder: Path, number: int, after_s: float) -> str | None:
    """A signal while a workbook is written: the old file is whole, nothing is left behind."""
    out = folder / "x.xlsx"
    out.write_bytes(b"PK old and not a design")
    if signal.getsignal(number) == signal.SIG_IGN:  # under nohup, and so would the command
        return None
    started = subprocess.Popen(
        [sys.executable, "-m", "backhaul", "workbook", str(RESERVOIR), "-o", str(out)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=_environment(),
    )  # fmt: skip
    try:
        started.communicate(timeout=after_s)
    except subprocess.TimeoutExpired:
        started.send_signal(number)
    try:
        _, told = started.communicate(timeout=300)
    finally:
        started.kill()
    if b"Traceback" in told and after_s > 0.1:
        return told[-300:].decode(errors="replace")
    whole = out.read_bytes() == b"PK old and not a design" or started.returncode in (0, 1)
    left = [p.name for p in folder.iterdir() if p != out]
    if not whole:
        return "half a file"
    return f"left behind: {left}" if left and number == signal.SIGINT else None
