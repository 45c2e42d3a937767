"""What somebody answers for is out of the verdict in every outlet, and lapses live in the book."""

import csv
import io
import shutil
from pathlib import Path

import agreement
import compact
import pytest
from small_designs import evaluated, rows

import backhaul.api
from backhaul.evaluation import evaluate
from backhaul.report.accept_rows import accept_rows, accept_rows_csv
from backhaul.spreadsheet.cells import Verdict

ROOT = Path(__file__).parents[2]
DESIGNS = [ROOT / "demo" / "reservoir", ROOT / "demo" / "estuary"]
DESIGNS += [ROOT / "tests" / "designs" / name for name in ("quarry", "ferry", "ski-lift")]


def accepted(design: Path, folder: Path) -> Path:
    """The design with every row that --accept-rows prints, filled in."""
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(design))
    rows = list(csv.DictReader(io.StringIO(accept_rows_csv(evaluation))))
    copy = folder / design.name
    shutil.copytree(design, copy)
    with (copy / "accepted.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        for row in rows:
            writer.writerow(row | {"by": "A. Engineer", "reason": "seen"})
    return copy


@pytest.mark.parametrize("design", DESIGNS, ids=lambda path: path.name)
def test_rows_that_are_pasted_answer_for_all_that_is_thin(design, tmp_path):
    before = backhaul.api.evaluate(backhaul.api.read_design(design))
    after = backhaul.api.evaluate(backhaul.api.read_design(accepted(design, tmp_path)))
    thin = [finding for finding in after.findings if finding.verdict == "thin"]
    assert thin == []
    fails = [[f.id for f in each.findings if f.severity == "fail"] for each in (before, after)]
    assert fails[0] == fails[1]
    assert list(accept_rows(after)) == []
    assert not any("has no effect" in finding.message for finding in after.findings)


@pytest.mark.parametrize("design", DESIGNS[:3], ids=lambda path: path.name)
def test_terminal_json_and_book_agree_on_what_is_accepted(design, tmp_path):
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(accepted(design, tmp_path)))
    book = agreement.Recalculated(evaluation)
    for said in (*agreement.verdicts(evaluation, book), *agreement.links(evaluation, book)):
        told = {each for each in (said.terminal, said.book) if each is not None}
        assert told <= {said.json}, said


def cases_by_check() -> list:
    """Of every check that may be thin the first case that shows it, where nothing fails."""
    found: dict[str, dict[str, str]] = {}
    for file in sorted((ROOT / "tests" / "cases").glob("*.csv")):
        with file.open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                if row["expect"].startswith("thin"):
                    found.setdefault(file.stem, row)
    return [pytest.param(row["segments"], row["others"], id=name) for name, row in found.items()]


@pytest.mark.parametrize(("segments", "others"), cases_by_check())
def test_what_is_accepted_is_called_so_in_every_cell(segments, others, tmp_path):
    """Where somebody answers for all that is thin, no cell of the book calls anything thin."""
    before = compact.run(tmp_path / "before", segments, others)
    rows = list(csv.DictReader(io.StringIO(accept_rows_csv(before))))
    if not rows or before.verdict == "fail":
        pytest.skip("a design of this case fails besides")
    tables = {
        "segments": compact.segments(segments),
        **compact.other_tables(others),
        "accepted": [row | {"by": "A. Engineer", "reason": "seen"} for row in rows],
    }
    evaluation = compact.run_tables(tmp_path / "after", tables)
    assert evaluation.verdict == "pass"
    book = agreement.Recalculated(evaluation)
    words = [
        (cell.key, book.of(cell.key) if cell.formula else cell.value)
        for sheet in book.book.sheets
        if sheet.name != "Open points"
        for row in sheet.rows
        for cell in row.cells
        if isinstance(cell, Verdict) and cell.style != "verdict key" and (cell.key or cell.value)
    ]
    assert [said for said in words if said[1] == "thin"] == []
    answered = [key for key in book.plan.answered if book.has(key)]
    shown = {book.of(key) for key in answered}
    assert shown <= {"pass", "accepted"}
    for said in (*agreement.verdicts(evaluation, book), *agreement.links(evaluation, book)):
        assert said.book in (None, said.json), said


def test_in_the_book_an_acceptance_lapses_once_the_figure_gets_worse(tmp_path):
    """The mirror takes 13.3 dB; with the healthy limit untouched, more water in the profile cannot be
    typed, so the figure itself is moved: its cell is overwritten as a worse level would."""
    design = accepted(DESIGNS[0], tmp_path)
    evaluation = evaluate(backhaul.api.read_design(design), backhaul.api.load_catalog())
    book = agreement.Recalculated(evaluation)
    assert book.answer() == "pass"
    cell = next(key for key in book.layout.spots if key.endswith(".hop_reflection_loss_db"))
    now = float(book.of(cell))  # the deeper of both directions
    both = [cell.replace("hop_reflection", f"{end}.reflection") for end in "ab"]
    assert book.type_in(dict.fromkeys(both, now - 1)).answer() == "pass"
    assert book.type_in(dict.fromkeys(both, now + 1)).answer() == "thin"


def test_in_the_book_an_accepted_margin_lapses_with_a_longer_cable(tmp_path):
    """An optical margin of 1.82 dB is accepted; 0.4 dB less is not."""
    copy = tmp_path / "longer"
    shutil.copytree(DESIGNS[0], copy)
    segments = copy / "segments.csv"
    segments.write_text(segments.read_text().replace("1620", "2700"))
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(accepted(copy, tmp_path / "x")))
    book = agreement.Recalculated(evaluation)
    assert book.answer() == "pass"
    key = next(
        key
        for key in book.layout.spots
        if key.startswith("given") and "length_m" in key and book.of(key) == 2700
    )
    verdict = "chain.tower.verdict"
    assert book.type_in({key: 3700.0}).of(verdict) == "thin"
    assert book.type_in({key: 2600.0}).of(verdict) == "pass"


#: Two wavelengths on one strand (1310 nm loses more), a plant long enough that both are thin.
LONG = "8800"
BOTH_WAYS = (
    "device switch-12-sfp site=works",
    "optic 1000base-bx10-d site=works",
    "fiber os2-12 site=works to_site=crest length_m=LENGTH strand=1 label=C1",
    "connector lc-upc",
    "optic 1000base-bx10-u-i site=crest",
    "device switch-ind-4-1g-poe-120 site=crest label=SW2",
)


@pytest.mark.parametrize("beside", ["demand", "joint"])
def test_in_the_book_both_directions_compare_with_what_is_accepted(beside, tmp_path):
    """What is typed elsewhere ends no answer; a longer cable ends that of the way it makes worse."""
    other = [line.replace("label=C1", "label=C2").replace("LENGTH", "800") for line in BOTH_WAYS]
    other[0] += " label=SW3"
    other[-1] = other[-1].replace("SW2", "SW4")
    segments = [
        *rows("p", *(line.replace("LENGTH", LONG) for line in BOTH_WAYS)),
        *rows("q", *other),
    ]
    demand = [{"path": path, "what": "camera", "up_mbps": "12", "down_mbps": "1"} for path in "pq"]
    before = evaluated(tmp_path / "before", segments, demand=demand)
    answers = list(csv.DictReader(io.StringIO(accept_rows_csv(before))))
    told = [row | {"by": "A. Engineer", "reason": "seen"} for row in answers]
    book = agreement.Recalculated(
        evaluated(tmp_path / "after", segments, demand=demand, accepted=told)
    )
    ways = [f"light.0.{way}.margin_verdict" for way in "ab"]
    assert [book.of(key) for key in (*ways, "light.0.verdict")] == ["accepted", "accepted", "pass"]
    assert len({round(book.of(f"light.0.{way}.margin_db"), 3) for way in "ab"}) == 2
    typed = {"demand": (".up_mbps", 6.0), "joint": (".max_db", 0.2)}[beside]
    keys = [key for key in book.layout.spots if key.startswith("given") and key.endswith(typed[0])]
    assert keys
    changed = book.type_in({keys[-1]: typed[1]})
    assert [changed.of(key) for key in ways] == ["accepted", "accepted"]
    length = next(key for key in book.layout.spots if key == "given.label.C1.length_m")
    worse = book.type_in({length: float(LONG) + 600})
    assert "thin" in [worse.of(key) for key in ways]
    assert worse.of("chain.p.verdict") == "thin"


@pytest.mark.parametrize("design", DESIGNS, ids=lambda path: path.name)
def test_at_a_glance_tells_how_much_is_accepted_by_whom_and_where(design, tmp_path):
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(accepted(design, tmp_path)))
    book = agreement.Recalculated(evaluation)
    count = sum(finding.accepted is not None for finding in evaluation.findings)
    sheets = {sheet.name: sheet for sheet in book.book.sheets}
    glance = [cell for row in sheets["At a glance"].rows for cell in row.cells]
    words = " ".join(str(getattr(cell, "text", getattr(cell, "value", cell))) for cell in glance)
    assert count and f", {count} accepted" in words and "by A. Engineer" in words
    for said in ("no margin is thin", "nothing is thin"):
        assert said not in words and said not in str(book.of("glance.sentence"))
    (link,) = (cell for cell in glance if getattr(cell, "text", "") == f"{count} accepted")
    place = next(
        number
        for number, row in enumerate(sheets["Open points"].rows)
        if any(getattr(cell, "key", "") == link.to for cell in row.cells)
    )
    listed = sheets["Open points"].rows[place + 1 : place + 1 + count]
    assert all("A. Engineer" in str(row.cells[-1]) for row in listed)


def test_rows_with_a_figure_below_zero_are_read_as_they_are_printed(tmp_path):
    """Within the allowance for repairs a margin is thin below zero: no apostrophe before it."""
    segments = rows("p", *(line.replace("LENGTH", "9500") for line in BOTH_WAYS))
    before = evaluated(tmp_path / "before", segments)
    answers = list(csv.DictReader(io.StringIO(accept_rows_csv(before))))
    assert any(float(row["value"] or 0) < 0 for row in answers)
    told = [row | {"by": "A. Engineer", "reason": "seen"} for row in answers]
    assert evaluated(tmp_path / "after", segments, accepted=told).verdict == "pass"
