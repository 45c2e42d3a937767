"""What settles a hub changes its one terminal: every hop of it, in one go, evaluated together.

Three hides of an invented marsh on one sector; limits of EIRP are those of ETSI EN 302 502 as
`bands.csv` quotes it.
"""

import csv
from pathlib import Path

import pytest

from backhaul.api import evaluate, load_catalog, read_design, settle
from backhaul.evaluation import evaluate as proved
from backhaul.report.changed_design import write_changed
from backhaul.report.settlement import settlement_lines

MARSH = Path(__file__).parents[1] / "designs" / "marsh"
CATALOG = load_catalog()
FEW = ("hide-1", "hide-2", "hide-3")


def tables(folder: Path, **changes) -> Path:
    """The marsh with its first hides, cells of all hops changed."""
    folder.mkdir()
    for file in MARSH.glob("*.csv"):
        with file.open(encoding="utf-8", newline="") as source:
            rows = list(csv.DictReader(source))
        if "path" in rows[0]:
            rows = [row for row in rows if row["path"] in FEW]
        if file.stem == "terrain":
            rows = [row for row in rows if row["label"] in ("hop-1", "hop-2", "hop-3")]
        if file.stem == "segments":
            rows = [row | changes if row["hub"] else row for row in rows]
        heads = list(dict.fromkeys(head for row in rows for head in row))
        with (folder / file.name).open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, heads, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def of_hub(design, column: str) -> list:
    return [getattr(row, column) for row in design.segments if row.hub]


def verdicts(evaluation, check: str) -> list[str]:
    return [f.severity for f in evaluation.findings if f.check == check and f.verdict != "pass"]


@pytest.mark.parametrize(
    ("check", "column", "value"),
    [
        ("radio-eirp", "tx_power_dbm", "27"),
        ("radio-pair", "frequency_ghz", "6.3"),
        ("radio-clearance", "height_m", "-3"),
    ],
)
def test_all_hops_change_together(check, column, value, tmp_path):
    source = tables(tmp_path / "in", **{column: value})
    design = read_design(source)
    before = evaluate(design)
    assert "fail" in verdicts(before, check)
    settled = settle(design)
    assert not verdicts(settled.after, check)
    (now,) = set(of_hub(settled.design, column))
    assert now != float(value)
    edits = [edit for edit in settled.edits if edit.column == column]
    assert [edit.hub for edit in edits] == ["marsh-hub"]  # one thing, changed once
    assert edits[0].record()["hub"] == "marsh-hub"
    assert "all hops of marsh-hub" in "\n".join(settlement_lines(settled))
    write_changed(source, tmp_path / "out", design, settled.design, settled.edits)
    again = read_design(tmp_path / "out")
    assert set(of_hub(again, column)) == {now}
    assert evaluate(again).verdict == settled.after.verdict


def test_another_class_of_terminal_is_one_at_every_hop(tmp_path):
    """No channel is as wide as asked for: whoever changes the class, changes it at all ends."""
    from backhaul.findings import Finding
    from backhaul.remedies.moves import scene_of
    from backhaul.remedies.terminal_moves import terminals

    evaluation = evaluate(read_design(tables(tmp_path / "in")))
    hop = next(row for row in evaluation.design.segments if row.hub)
    finding = Finding("radio-margin", "fail", "x", path=hop.path[0], step=hop.step, rows=(hop.id,))
    tried = list(terminals(scene_of(evaluation.context, finding)))
    assert tried
    from backhaul.design.edits import edited

    for candidate in tried:
        changed = edited(evaluation.design, candidate.edits, CATALOG)
        assert len(set(of_hub(changed, "part"))) == 1
        assert set(of_hub(changed, "to_part")) == set(of_hub(changed, "part"))
        assert len(set(of_hub(changed, "antenna"))) == 1
        assert candidate.changes.count("terminal") == 1 + len(FEW)


def test_a_hub_that_is_there_in_part_stays(tmp_path):
    source = tables(tmp_path / "in", tx_power_dbm="27")
    with (source / "segments.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    last = next(row for row in reversed(rows) if row["hub"])
    last["by"] = "existing"
    heads = [*rows[0], "by"]
    with (source / "segments.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, heads, restval="")
        writer.writeheader()
        writer.writerows(rows)
    design = read_design(source)
    settled = settle(design)
    assert set(of_hub(settled.design, "tx_power_dbm")) == {27.0}
    assert set(of_hub(settled.design, "height_m")) == set(of_hub(design, "height_m"))
    settled = settle(design, may_change_existing=True)
    assert set(of_hub(settled.design, "tx_power_dbm")) != {27.0}


@pytest.mark.parametrize(("column", "odd"), [("channel_mhz", "20"), ("frequency_ghz", "5.3")])
def test_a_hop_that_strays_takes_the_channel_of_its_hub(column, odd, tmp_path):
    source = tables(tmp_path / "in")
    with (source / "segments.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    last = next(row for row in reversed(rows) if row["hub"])
    usual, last[column] = float(last[column]), odd
    with (source / "segments.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    design = read_design(source)
    before = proved(design, CATALOG, remedies=True)
    (found,) = (f for f in before.findings if f.check == "radio-pair" and "hub" in f.message)
    assert [edit.to for edit in found.edits] == [usual]
    assert set(of_hub(settle(design).design, column)) == {usual}
