"""Standard streams of every kind: narrow code pages, closed ones, full ones, readers that leave."""

import json
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "demo"
#: Fails, and is quickly told; its words have arrows and signs that narrow pages lack.
DESIGN = Path(__file__).parents[1] / "designs" / "ski-lift"
CODE_PAGES = ("cp1252", "cp437", "cp850", "latin-1", "ascii", "utf-8", "utf-16", "koi8-r", "cp932")
COMMANDS = {
    "check": ("check", DESIGN, "--all"),
    "json": ("check", DESIGN, "--json"),
    "parts": ("parts", "optics"),
    "parts json": ("parts", "optics", "--json"),
    "refused": ("check", "nöwhere→.xlsx"),
    "help": ("check", "--help"),
}
STATUS = {"check": 1, "json": 1, "refused": 2}
posix = pytest.mark.skipif(os.name == "nt", reason="streams of POSIX")


def words(name: str) -> list[str]:
    return [sys.executable, "-m", "backhaul", *map(str, COMMANDS[name])]


def shell(line: str, name: str, **options) -> subprocess.CompletedProcess:
    """Run a command in a shell; `line` has "$@" where its words go."""
    return subprocess.run(
        ["bash", "-c", line, "bash", *words(name)], capture_output=True, timeout=120, **options
    )


def sane(done: subprocess.CompletedProcess) -> None:
    told = done.stdout + done.stderr
    for word in (b"Traceback", b"fault of backhaul", b"Exception ignored", b"Warning"):
        assert word not in told, told[-2000:]


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("page", CODE_PAGES)
def test_any_code_page(name, page):
    env = {**os.environ, "PYTHONIOENCODING": page}
    done = subprocess.run(words(name), capture_output=True, env=env, timeout=120)
    sane(done)
    assert done.returncode == STATUS.get(name, 0), done.stderr
    text = done.stdout.decode(page)
    if "json" in name:
        assert json.loads(text)
    assert text or done.stderr


@posix
@pytest.mark.parametrize("name", COMMANDS)
def test_a_reader_that_leaves(name):
    """The stream is a pipe without a reader: 128 + SIGPIPE, and nothing is said of it."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(words(name), stdout=writer, stderr=subprocess.PIPE, timeout=120)
    os.close(writer)
    assert done.returncode == (2 if name == "refused" else 141)
    assert b"Traceback" not in done.stderr and b"Exception" not in done.stderr


@posix
@pytest.mark.parametrize("name", ["check", "json", "parts", "parts json"])
def test_head(name):
    done = shell('"$@" | head -n1; echo "status ${PIPESTATUS[0]}"', name)
    sane(done)
    assert done.stdout.split()[-1] in (b"141", str(STATUS.get(name, 0)).encode())  # all fits a pipe


@posix
@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("closed", ["2>&-", "<&-", "<&- 2>&-"])
def test_closed_streams_that_hold_no_answer(name, closed):
    done = shell(f'"$@" {closed}', name)
    sane(done)
    assert done.returncode == STATUS.get(name, 0)


@posix
@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("closed", [">&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_a_closed_output(name, closed):
    """The answer is lost, so it is not as if it had been given."""
    done = shell(f'"$@" {closed}', name)
    sane(done)
    if name != "help":  # printed by the library, which takes no notice
        assert done.returncode == 2
    if "2>" not in closed and name not in ("refused", "help"):
        assert b"standard output: it is closed" in done.stderr


@posix
@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&- >&- 2>&-"])
def test_a_workbook_needs_no_streams(closed, tmp_path):
    out = tmp_path / "x.xlsx"
    line = f'"$1" -m backhaul workbook {DEMO / "reservoir"} -o {out} {closed}'
    done = subprocess.run(["bash", "-c", line, "bash", sys.executable], capture_output=True)
    assert done.returncode == 0
    assert out.read_bytes()[:2] == b"PK"


@posix
@pytest.mark.parametrize("name", ["check", "json", "parts"])
def test_an_output_without_room(name, tmp_path):
    """A node of our own that is always full."""
    full = tmp_path / "full"
    try:
        os.mknod(full, stat.S_IFCHR | 0o600, os.makedev(1, 7))
        stream = open(full, "wb")
    except OSError:
        pytest.skip("no node can be made or opened here")
    with stream:
        done = subprocess.run(words(name), stdout=stream, stderr=subprocess.PIPE, timeout=120)
    assert done.returncode == 2
    assert b"standard output: no space left on device" in done.stderr
    assert b"Traceback" not in done.stderr and b"Exception" not in done.stderr


@posix
@pytest.mark.parametrize("name", COMMANDS)
def test_a_standard_error_that_nobody_reads(name):
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(words(name), stderr=writer, stdout=subprocess.PIPE, timeout=120)
    os.close(writer)
    assert done.returncode == STATUS.get(name, 0)


@posix
@pytest.mark.parametrize("after_ms", range(0, 700, 70))
def test_the_keyboard_ends_it(after_ms):
    """At whatever moment: 130, no traceback; or it was done already."""
    running = subprocess.Popen(words("check"), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        running.wait(after_ms / 1000)
    except subprocess.TimeoutExpired:
        running.send_signal(signal.SIGINT)
    told = running.communicate(timeout=60)
    assert running.returncode in (130, 1, -signal.SIGINT)  # the last while Python itself starts
    is_python_still_starting = b"init_import_site" in told[1]
    if running.returncode != -signal.SIGINT and not is_python_still_starting:
        assert b"Traceback" not in told[1]


def test_escapes_of_names_reach_no_terminal(run, tmp_path):
    """A title sequence in the name of a file, of a design, of a part of one's own catalogue."""
    evil = "x\x1b]0;owned\x07\x1b[31m\u202e"
    folder, mine = tmp_path / evil, tmp_path / "mine"
    folder.mkdir()
    mine.mkdir()
    rows = ["path,step,kind,part,label", f"P{evil},1,device,switch-8-1g,{evil}"]
    (folder / "segments.csv").write_text("\n".join(rows), encoding="utf-8")
    (mine / "joints.csv").write_text(
        f"part,kind,max_db,source,basis,{evil}\nmine{evil},splice,0.1,{evil},demo,1\n",
        encoding="utf-8",
    )
    for line in (
        ("check", folder),
        ("check", tmp_path / f"{evil}.xlsx"),
        ("check", tmp_path, "--catalog", mine),
        ("parts", "joints", "--catalog", mine),
        ("parts", evil),
        ("workbook", folder, "-o", folder / "no" / evil),
        ("map", folder, "-o", folder / f"{evil}.geojson"),
    ):
        done = run(*line)
        for sign in ("\x1b", "\x07", "\u202e"):
            assert sign not in done.stdout + done.stderr, line


def test_all_problems_with_all(run, tmp_path):
    design = tmp_path / "segments.csv"
    rows = "".join(f"P,{n},device,none-{n}\n" for n in range(90))
    design.write_text("path,step,kind,part\n" + rows, encoding="utf-8")
    few, every = run("check", design), run("check", design, "--all")
    assert len(few.stderr.splitlines()) == 51
    assert "and 40 more problems" in few.stderr
    assert len(every.stderr.splitlines()) == 90
