"""The command line: exit status, where messages go, what happens to files."""

import json
import os
import stat
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "demo"
SEGMENTS = "path,step,kind,part\nP1,1,optic,1000base-lx10\nP1,2,optic,{part}\n"


@pytest.fixture
def design(tmp_path):
    """A segments CSV with one fault of the reader's kind, if asked for."""

    def write(part: str) -> Path:
        path = tmp_path / "segments.csv"
        path.write_text(SEGMENTS.format(part=part), encoding="utf-8")
        return path

    return write


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("check", DEMO / "reservoir"), 0),
        (("check", DEMO / "reservoir", "--strict"), 1),
        (("check", DEMO / "estuary.xlsx"), 1),
        (("check", "nowhere.xlsx"), 2),
        (("check",), 2),
        (("chek", DEMO / "reservoir"), 2),
        (("parts", "optics"), 0),
        (("parts", "optix"), 2),
        (("--version",), 0),
        (("--help",), 0),
    ],
    ids=str,
)
def test_exit_status(run, words, status):
    done = run(*words)
    assert done.returncode == status
    assert "Traceback" not in done.stderr + done.stdout
    if status == 2:
        assert done.stdout == ""
        assert done.stderr


def test_problems_go_to_stderr_with_their_cell(run, design):
    done = run("check", design("1000base-lx11"))
    assert done.returncode == 2
    assert "segments.csv:3 part" in done.stderr
    assert "1000base-lx10" in done.stderr  # the nearest name


def test_no_colour_where_it_is_no_terminal(run):
    assert "\x1b[" not in run("check", DEMO / "estuary").stdout


def test_lines_fit_80_columns(run):
    env = {**os.environ, "COLUMNS": "80"}
    done = run("check", DEMO / "reservoir", env=env)
    heads = ("Reservoir", "tower", "crest", "power", "gauge")
    long = [
        line for line in done.stdout.splitlines() if len(line) > 80 and not line.startswith(heads)
    ]
    assert long == []


def test_workbook_is_written_on_0_and_on_1_and_not_on_2(run, tmp_path, design):
    for source, status in ((DEMO / "reservoir", 0), (DEMO / "estuary", 1)):
        target = tmp_path / f"{source.name}.xlsx"
        assert run("workbook", source, "-o", target).returncode == status
        assert target.read_bytes()[:2] == b"PK"
    target = tmp_path / "none.xlsx"
    assert run("workbook", design("1000base-lx11"), "-o", target).returncode == 2
    assert not target.exists()


def test_an_output_never_replaces_its_own_input(run, tmp_path):
    source = tmp_path / "design.xlsx"
    source.write_bytes((DEMO / "reservoir.xlsx").read_bytes())
    before = source.read_bytes()
    done = run("workbook", source, "-o", source)
    assert done.returncode == 2
    assert "design itself" in done.stderr
    assert source.read_bytes() == before


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes anywhere")
def test_a_read_only_folder_keeps_the_old_file(run, tmp_path):
    target = tmp_path / "out.xlsx"
    target.write_bytes(b"old")
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        done = run("workbook", DEMO / "reservoir", "-o", target)
    finally:
        tmp_path.chmod(stat.S_IRWXU)
    assert done.returncode == 2
    assert target.read_bytes() == b"old"


def test_a_missing_folder_is_named(run, tmp_path):
    done = run("workbook", DEMO / "reservoir", "-o", tmp_path / "no" / "out.xlsx")
    assert done.returncode == 2
    assert "does not exist" in done.stderr


def test_json_holds_the_keys_of_the_contract(run):
    data = json.loads(run("check", DEMO / "reservoir", "--json").stdout)
    assert set(data) >= {
        "format",
        "tool",
        "digest",
        "verdict",
        "methods",
        "paths",
        "sources",
        "cables",
        "findings",
    }
    assert data["format"] == 1
    assert {"subject", "document", "edition"} <= set(data["methods"][0])


def test_a_folder_of_designs_gives_one_table(run, tmp_path):
    (tmp_path / "good.xlsx").write_bytes((DEMO / "reservoir.xlsx").read_bytes())
    (tmp_path / "bad.xlsx").write_bytes(b"no workbook")
    done = run("check", tmp_path)
    lines = done.stdout.splitlines()
    assert done.returncode == 2
    assert [line.split()[0] for line in lines] == ["design", "bad.xlsx", "good.xlsx"]


def test_what_a_catalogue_folder_holds_in_vain_is_told(run, design, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "joint.csv").write_text("part\n", encoding="utf-8")
    (folder / "joints.csv").write_text(
        "part,kind,max_db,colour,source,basis\nmine,splice,0.1,9,offer,data sheet\n",
        encoding="utf-8",
    )
    done = run("check", design("1000base-lx10"), "--json", "--catalog", folder)
    told = {f["where"]: f for f in json.loads(done.stdout)["findings"] if f["check"] == "ignored"}
    assert set(told) == {"mine/joint.csv", "mine/joints.csv:1 column 4"}
    assert all(finding["severity"] == "note" for finding in told.values())
    assert told["mine/joint.csv"]["remedy"] == "is joint.csv meant as joints.csv?"
    assert "joint.csv" in run("check", design("1000base-lx10"), "--catalog", folder).stdout


@pytest.mark.parametrize("kind", ["copper", "coppers", "band", "antenna", "Fibre", "splice"])
def test_parts_of_a_kind_or_a_family(run, kind):
    done = run("parts", kind, "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)[0]["part"]


def test_parts_bear_the_column_names_of_the_catalogue(run):
    assert json.loads(run("parts", "protector", "--json").stdout)[0]["for"] in ("copper", "feed")


@pytest.mark.parametrize(
    "words",
    [
        ("check", "TOO LONG"),
        ("workbook", "TOO LONG", "-o", "x.xlsx"),
        ("workbook", DEMO / "reservoir", "-o", "TOO LONG"),
        ("check", DEMO / "reservoir", "--catalog", "TOO LONG"),
        ("map", DEMO / "reservoir", "-o", "TOO LONG"),
        ("blank", "TOO LONG"),
        ("settle", DEMO / "reservoir", "-o", "TOO LONG"),
        ("compare", DEMO / "reservoir", "TOO LONG"),
        ("readings", DEMO / "reservoir", "TOO LONG"),
        ("terrain", DEMO / "reservoir", "-e", "TOO LONG"),
        ("drawing", "TOO LONG", "-o", "x.svg"),
    ],
    ids=lambda words: " ".join(str(word)[-9:] for word in words),
)
def test_a_name_that_no_system_takes_is_no_fault_of_ours(run, tmp_path, words):
    done = run(*("x" * 5000 if word == "TOO LONG" else word for word in words), cwd=tmp_path)
    assert done.returncode == 2
    assert "too long" in done.stderr.lower()
    assert "fault of backhaul" not in done.stderr and not list(tmp_path.iterdir())


def test_a_folder_of_designs_that_may_not_be_entered(monkeypatch, capsys, tmp_path):
    """One of many does not lose the table of the others; alone it is named with the reason."""
    from backhaul import cli

    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "segments.csv").write_text(SEGMENTS.format(part="1000base-lx10"))
    entered = Path.iterdir

    def iterdir(folder):
        if folder.name == "shut":
            raise PermissionError(13, "Permission denied", str(folder))
        return entered(folder)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    monkeypatch.setattr(cli, "prepare_streams", lambda: None)
    (tmp_path / "shut").mkdir()
    for name, fragments in (("shut", ["shut: found permission denied;"]), ("", ["a ", "shut"])):
        monkeypatch.setattr("sys.argv", ["backhaul", "check", str(tmp_path / name)])
        with pytest.raises(SystemExit):
            cli.main()
        told = "".join(capsys.readouterr())
        assert "permission denied" in told and "fault of backhaul" not in told
        assert all(fragment in told for fragment in fragments), told


@pytest.mark.skipif(os.name == "nt", reason="names of POSIX are bytes")
@pytest.mark.parametrize("form", ["folder", "table"])
def test_a_design_whose_name_is_no_text(run, tmp_path, form):
    """Bytes that are text in no encoding: an old archive unpacked, a stick of another country."""
    name = os.fsdecode(b"\xff\xfe" + (b".csv" if form == "table" else b""))
    table = tmp_path / name
    if form == "folder":
        table.mkdir()
        table = table / "segments.csv"
    table.write_text(SEGMENTS.format(part="1000base-lx10"), encoding="utf-8")
    for words in (
        ("check", name, "--json"),
        ("workbook", name, "-o", "x.xlsx", "--order-csv", "order.csv"),
        ("map", name, "-o", "x.geojson"),
        ("drawing", name, "-o", "x.svg"),
    ):
        done = run(*words, cwd=tmp_path)
        assert done.returncode == 1, (words, done.stderr)
        assert "fault of backhaul" not in done.stderr


@pytest.mark.parametrize(
    ("source", "output", "reason"),
    [
        ("reservoir", "full", "not empty"),
        ("reservoir", "full/none/new", "does not exist"),
        ("reservoir", "missing/new", "does not exist"),
        ("reservoir", "x.xlsx", "the name of one"),
        ("reservoir.xlsx", "new", "give the output .xlsx"),
        ("reservoir.xlsx", "x.csv", "give the output .xlsx"),
        ("reservoir/segments.csv", "x.xlsx", "give the output .csv"),
    ],
)
def test_settle_asks_where_to_write_before_it_searches(run, tmp_path, source, output, reason):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "file.txt").write_text("x")
    done = run("settle", DEMO / source, "-o", output, cwd=tmp_path)
    assert done.returncode == 2 and reason in done.stderr
    assert done.stdout == "" and len(list(tmp_path.rglob("*"))) == 2
