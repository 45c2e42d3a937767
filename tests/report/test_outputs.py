"""What an output must not take the place of: every command, every output, every kind of place.

Devices and pipes are nodes that a test makes in a folder of its own; no real one is ever named.
"""

import os
import shutil
import socket
import stat
from pathlib import Path

import openpyxl
import pytest

from backhaul.errors import OutputError
from backhaul.report.outputs import check_outputs, looks_like
from backhaul.safe_file import write_beside_and_rename

DEMO = Path(__file__).parents[2] / "demo"
NULL_DEVICE = os.makedev(1, 3) if hasattr(os, "makedev") else 0
#: a fast design and the commands with an output, each as words before the place
SEGMENTS = "path,step,kind,part\nP1,1,device,switch-8-1g\n"
JOINTS = "part,kind,max_db,source,basis\nmine,splice,0.1,offer,data sheet\n"


@pytest.fixture
def place(tmp_path):
    """A folder with a design, a second design and a catalogue."""
    for name in ("design", "other", "mine", "out"):
        (tmp_path / name).mkdir()
    for name in ("design", "other"):
        (tmp_path / name / "segments.csv").write_text(SEGMENTS, encoding="utf-8")
        (tmp_path / name / "demand.tsv").write_text("path\twhat\nP1\tcamera\n", encoding="utf-8")
        (tmp_path / name / "project.txt").write_text("setting;value\ntitle;x\n", encoding="utf-8")
    (tmp_path / "mine" / "joints.csv").write_text(JOINTS, encoding="utf-8")
    (tmp_path / "lone.csv").write_text(SEGMENTS, encoding="utf-8")
    (tmp_path / "spare.txt").write_text(JOINTS, encoding="utf-8")
    shutil.copy(DEMO / "reservoir.xlsx", tmp_path / "filled.xlsx")
    site_card(tmp_path / "cards.xlsx", -52.5)
    return tmp_path


def site_card(path: Path, value: float | None) -> Path:
    """A book with one card of one reading, filled or not."""
    book = openpyxl.Workbook()
    book.active.append(["Site card: Mast"])
    book.active.append(["Key", "What is read", "Expected", "Value", "By"])
    book.active.append(["hop.level.far", "Level", -51.0, value, None])
    book.save(path)
    return path


def commands(place: Path):
    """Every command that writes: its words, with OUT where its output goes."""
    design, mine, good = place / "design", place / "mine", place / "out" / "good.xlsx"
    catalog = ("--catalog", mine)
    return {
        "workbook": ("workbook", design, *catalog, "-o", "OUT"),
        "order list": ("workbook", design, *catalog, "-o", good, "--order-csv", "OUT"),
        "map": ("map", design, *catalog, "-o", "OUT"),
        "blank": ("blank", *catalog, "OUT"),
        "blank by force": ("blank", *catalog, "--force", "OUT"),
        "drawing": ("drawing", design, *catalog, "-o", "OUT"),
        "change notice": ("compare", design, design, *catalog, "-o", "OUT"),
        "acceptance record": ("readings", design, *catalog, "-o", "OUT"),
        "readings table": ("readings", design, *catalog, "--table", "OUT"),
    }


def commands_of_folders(place: Path):
    """Every command that writes files into a folder."""
    return {
        "settle": ("settle", place / "design", "-o", "OUT"),
        "terrain": ("terrain", place / "design", "-e", place / "no.tif", "-o", "OUT"),
        "parts": ("parts", "os2-12", "--as-csv", "-o", "OUT"),
    }


def node(path: Path, kind: str) -> Path:
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        try:
            os.mknod(path, stat.S_IFCHR | 0o600, NULL_DEVICE)
        except OSError:
            pytest.skip("no node can be made here")
    elif kind == "socket":
        with socket.socket(socket.AF_UNIX) as made:
            here = Path.cwd()
            os.chdir(path.parent)  # names of sockets are short
            try:
                made.bind(path.name)
            finally:
                os.chdir(here)
    elif kind == "link":
        (path.parent / "target.xlsx").write_bytes(b"old")
        path.symlink_to(path.parent / "target.xlsx")
    elif kind == "dangling link":
        path.symlink_to(path.parent / "nowhere")
    elif kind == "link to a folder":
        path.symlink_to(path.parent)
    else:
        path.mkdir()
    return path


NAMED = sorted(commands(Path()))
OF_FOLDERS = sorted(commands_of_folders(Path()))


@pytest.mark.skipif(os.name == "nt", reason="nodes of POSIX")
@pytest.mark.parametrize("command", NAMED)
@pytest.mark.parametrize(
    "kind",
    ["pipe", "device", "socket", "link", "dangling link", "link to a folder", "folder"],
)
def test_what_is_no_regular_file_is_not_replaced(run, place, command, kind):
    out = node(place / "out" / "target", kind)
    before = os.lstat(out)[:4]  # mode and number
    listed = sorted(os.listdir(place / "out"))
    done = run(*(out if word == "OUT" else word for word in commands(place)[command]))
    assert done.returncode == 2, done.stderr
    assert "target" in done.stderr and "fault" not in done.stderr
    assert os.lstat(out)[:4] == before
    assert sorted(os.listdir(place / "out")) == listed  # nor was the other output written


@pytest.mark.skipif(os.name == "nt", reason="nodes of POSIX")
@pytest.mark.parametrize("command", OF_FOLDERS)
@pytest.mark.parametrize("kind", ["pipe", "device", "socket", "link", "dangling link", "file"])
def test_what_is_no_folder_is_not_written_into(run, place, command, kind):
    out = place / "out" / "target"
    if kind == "file":
        out.write_bytes(b"old")
    else:
        node(out, kind)
    before, listed = os.lstat(out)[:4], sorted(os.listdir(place / "out"))
    done = run(*(out if word == "OUT" else word for word in commands_of_folders(place)[command]))
    assert done.returncode == 2 and "no folder" in done.stderr, done.stderr
    assert os.lstat(out)[:4] == before
    assert sorted(os.listdir(place / "out")) == listed


@pytest.mark.parametrize("command", [*NAMED, *OF_FOLDERS])
@pytest.mark.parametrize(("name", "told"), [("-", "standard output"), ("", "is blank")])
def test_a_name_that_is_none_is_refused(run, place, monkeypatch, command, name, told):
    monkeypatch.chdir(place / "out")
    words = (commands(place) | commands_of_folders(place))[command]
    done = run(*(name if word == "OUT" else word for word in words))
    assert done.returncode == 2 and told in done.stderr, done.stderr
    assert os.listdir(place / "out") == []


READ = {
    "a table": "design/segments.csv",
    "a table of another ending": "design/demand.tsv",
    "a table that is text": "design/project.txt",
    "a new table": "design/sites.csv",
    "the catalogue": "mine/joints.csv",
    "a new catalogue": "mine/optics.csv",
}
FILLED = {
    "another design": "filled.xlsx",
    "another segments file": "lone.csv",
    "a table of another design": "other/demand.tsv",
    "segments of another design": "other/segments.csv",
    "a catalogue elsewhere": "spare.txt",
    "filled site cards": "cards.xlsx",
}


@pytest.mark.parametrize("command", ["workbook", "order list", "map"])
@pytest.mark.parametrize("target", [*READ.values(), *FILLED.values()])
def test_an_output_never_replaces_what_somebody_filled_in(run, place, command, target):
    out = place / target
    before = out.read_bytes() if out.exists() else None
    done = run(*(out if word == "OUT" else word for word in commands(place)[command]))
    assert done.returncode == 2, done.stderr
    assert out.name in done.stderr
    assert (out.read_bytes() if out.exists() else None) == before
    assert not os.listdir(place / "out")


@pytest.mark.parametrize("same", ["out/x.xlsx", "out/../out/x.xlsx", "out/X.xlsx"])
def test_two_outputs_of_one_name(run, place, same):
    words = ("workbook", place / "design", "-o", place / "out" / "x.xlsx")
    done = run(*words, "--order-csv", place / same)
    assert done.returncode == 2 and "two outputs of one name" in done.stderr
    assert not os.listdir(place / "out")


def test_a_hard_link_to_the_design_is_the_design(run, place):
    os.link(place / "lone.csv", place / "out" / "x.csv")
    done = run("map", place / "lone.csv", "-o", place / "out" / "x.csv")
    assert done.returncode == 2 and "design itself" in done.stderr


def test_blank_asks_before_it_overwrites(run, place):
    out = place / "filled.xlsx"
    before = out.read_bytes()
    done = run("blank", out)
    assert done.returncode == 2 and "--force" in done.stderr
    assert out.read_bytes() == before
    assert run("blank", out, "--force").returncode == 0
    assert out.read_bytes() != before


def test_blank_is_the_same_bytes_twice(run, place):
    for name in ("a.xlsx", "b.xlsx"):
        assert run("blank", place / "out" / name).returncode == 0
    first, second = ((place / "out" / name).read_bytes() for name in ("a.xlsx", "b.xlsx"))
    assert first == second
    assert not list((place / "out").glob(".*"))


def test_our_own_outputs_are_replaced(run, place):
    for _ in range(2):
        out = place / "out"
        words = ("workbook", place / "design", "-o", out / "x.xlsx", "--order-csv", out / "x.csv")
        assert run(*words).returncode in (0, 1)
        assert run("map", place / "design", "-o", out / "x.geojson").returncode in (0, 1)
    assert sorted(os.listdir(place / "out")) == ["x.csv", "x.geojson", "x.xlsx"]


def test_cards_that_nobody_filled_are_replaced(place):
    assert looks_like(place / "cards.xlsx") == "a book of filled site cards"
    assert looks_like(site_card(place / "out" / "x.xlsx", None)) == ""
    check_outputs([place / "out" / "x.xlsx"])


@pytest.mark.parametrize(
    ("words", "needed"),
    [
        (("workbook", "DESIGN", "-o", "x.docx"), ".xlsx"),
        (("workbook", "DESIGN", "-o", "x"), ".xlsx"),
        (("workbook", "DESIGN", "-o", "x.xls"), ".xlsx"),
        (("workbook", "DESIGN", "-o", "y.xlsx", "--order-csv", "x.xlsx"), ".csv"),
        (("map", "DESIGN", "-o", "x.pdf"), ".geojson or .json"),
        (("compare", "DESIGN", "DESIGN", "-o", "x.txt"), ".xlsx"),
        (("readings", "DESIGN", "-o", "x.pdf"), ".xlsx"),
        (("readings", "DESIGN", "--table", "x.xlsx"), ".csv"),
        (("blank", "x.ods"), ".xlsx"),
    ],
)
def test_a_name_that_promises_another_form_is_refused(run, place, words, needed):
    notes = place / "out" / words[-1]
    notes.write_bytes(b"somebody's own")
    names = {"DESIGN": place / "design", words[-1]: notes, "y.xlsx": place / "out" / "y.xlsx"}
    done = run(*(names.get(word, word) for word in words))
    assert done.returncode == 2 and done.stderr.strip().endswith(f"its name ends with {needed}")
    assert notes.read_bytes() == b"somebody's own"
    assert os.listdir(place / "out") == [notes.name]


def test_places_are_checked_before_anything_is_read(run, place):
    """The design cannot be used, and the place neither: the place is told, nothing is built."""
    done = run("workbook", place / "nowhere.csv", "-o", place / "gone" / "x.xlsx")
    assert done.returncode == 2 and "does not exist" in done.stderr


def test_what_a_killed_run_left_is_cleared(tmp_path):
    out = tmp_path / ("n" * 251 + ".csv")  # 255 letters, as long as a name can be
    write_beside_and_rename(out, lambda: b"1")

    def build():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_beside_and_rename(out, build)
    child = os.fork()
    if not child:
        os._exit(0)
    os.waitpid(child, 0)
    from backhaul import safe_file

    left = tmp_path / f"{safe_file._beside(out)}{child}.part"
    foreign = tmp_path / ".backhaul-0-0.part"
    running = tmp_path / f"{safe_file._beside(out)}{os.getppid()}.part"
    for each in (left, foreign, running):
        each.write_bytes(b"half")
    write_beside_and_rename(out, lambda: b"2")
    assert out.read_bytes() == b"2"
    assert not left.exists() and foreign.exists() and running.exists()


def test_a_failed_write_leaves_the_old_file(tmp_path, monkeypatch):
    out = tmp_path / "x.xlsx"
    out.write_bytes(b"old")

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        write_beside_and_rename(out, lambda: b"new")
    assert out.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["x.xlsx"]


def test_permissions_are_kept(tmp_path):
    out = tmp_path / "x.csv"
    out.write_bytes(b"old")
    out.chmod(0o640)
    write_beside_and_rename(out, lambda: b"new")
    assert stat.S_IMODE(out.stat().st_mode) == 0o640


def test_what_looks_like_a_design(place):
    assert looks_like(place / "filled.xlsx") == "a design"
    assert looks_like(place / "other" / "demand.tsv") == "a table of a design"
    assert looks_like(place / "spare.txt") == "a catalogue"
    (place / "x.xlsx").write_bytes(b"PK\x03\x04 no zip")
    assert looks_like(place / "x.xlsx") == ""
    with pytest.raises(OutputError, match="a design"):
        check_outputs([place / "filled.xlsx"])
    check_outputs([place / "filled.xlsx"], force=True)
