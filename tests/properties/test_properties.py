"""What holds for any legal path, whatever the figures."""

import copy
import json
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1]))

import compact
import strategies
from contract_keys import missing_keys

from backhaul.findings import worst
from backhaul.report.record import record

FEW = settings(max_examples=40)
COUNTING = ("fail", "thin")


def evaluated(tables):
    with tempfile.TemporaryDirectory() as folder:
        return compact.run_tables(Path(folder), tables)


def checked(tables) -> dict:
    return record(evaluated(tables))


def directions(data, kind="optical"):
    return [
        way
        for path in data["paths"]
        for link in path["links"]
        if link["kind"] == kind
        for way in link["directions"]
    ]


def close(value):
    return pytest.approx(value, abs=1e-9) if isinstance(value, float) else value


LIGHT = strategies.paths(only=("light",))


@FEW
@given(LIGHT, st.data())
def test_longer_fiber_never_gains(tables, data):
    longer = copy.deepcopy(tables)
    runs = [row for row in longer["segments"] if row["kind"] == "fiber"]
    run = data.draw(st.sampled_from(runs))
    run["length_m"] += data.draw(st.integers(1, 20_000))
    for before, after in zip(directions(checked(tables)), directions(checked(longer)), strict=True):
        assert after["margin_db"] <= before["margin_db"] + 1e-9
        assert after["statistical_margin_db"] <= before["statistical_margin_db"] + 1e-9
        assert after["overload_margin_db"] >= before["overload_margin_db"] - 1e-9
        if before["dispersion_ps_nm"] is not None:
            assert after["dispersion_ps_nm"] >= before["dispersion_ps_nm"] - 1e-9


@FEW
@given(LIGHT, strategies.joints(), st.data())
def test_a_joint_never_gains(tables, joint, data):
    more = copy.deepcopy(tables)
    rows = [{k: v for k, v in row.items() if k not in ("path", "step")} for row in more["segments"]]
    runs = [place for place, row in enumerate(rows) if row["kind"] == "fiber"]
    place = data.draw(st.sampled_from(runs))
    rows.insert(place, joint | {"site": rows[place]["site"]})
    more["segments"] = strategies.numbered(rows, "P")
    for before, after in zip(directions(checked(tables)), directions(checked(more)), strict=True):
        assert after["margin_db"] <= before["margin_db"] + 1e-9
        assert after["overload_margin_db"] >= before["overload_margin_db"] - 1e-9


@FEW
@given(strategies.paths())
def test_turned_round_swaps_directions(tables):
    other = dict(tables, segments=strategies.is_reversed(tables["segments"], "P"))
    has_demand = "demand" in tables  # of links that are narrow alike, the first is named
    other["demand"] = [
        row | {"up_mbps": row["down_mbps"], "down_mbps": row["up_mbps"]}
        for row in tables.get("demand", ())
    ]
    if not other["demand"]:
        del other["demand"]
    there, back = checked(tables)["paths"][0], checked(other)["paths"][0]
    assert there["verdict"] == back["verdict"]
    assert there["rate_up_mbps"] == close(back["rate_down_mbps"])
    assert there["rate_down_mbps"] == close(back["rate_up_mbps"])
    assert there["availability_percent"] == close(back["availability_percent"])
    assert [link["kind"] for link in there["links"]] == [x["kind"] for x in back["links"][::-1]]
    skipped = ("from_step", "to_step")
    for link, twin in zip(there["links"], back["links"][::-1], strict=True):
        assert link["verdict"] == twin["verdict"] or has_demand
        for way, other_way in zip(
            link.get("directions", ()), twin.get("directions", ())[::-1], strict=True
        ):
            for key in way:
                if key not in (*skipped, "modes"):
                    assert way[key] == close(other_way[key]), key
        for key in ("load_v", "source_w", "load_w", "rate_mbps", "distance_km"):
            if key in link:
                assert link[key] == close(twin[key]), key


@FEW
@given(strategies.paths())
def test_verdicts_are_the_worst_of_their_findings(tables):
    evaluation = evaluated(tables)
    data = record(evaluation)
    findings = data["findings"]
    assert data["verdict"] == worst(f["severity"] for f in findings)
    (path,) = data["paths"]
    own = [f for f in findings if path["path"] in f["paths"]]
    assert path["verdict"] == worst(f["severity"] for f in own)
    # a finding stands at its step, and on the rows that it counts for besides
    steps = {row.id: row.step for row in evaluation.design.segments}
    by_step = {}
    for finding in evaluation.findings:
        if path["path"] in finding.paths:
            on = {steps[row] for row in finding.rows}
            assert finding.step is None or finding.step in on
            for step in on:
                by_step.setdefault(step, []).append(finding.severity)
    for segment in path["segments"]:
        assert segment["verdict"] == worst(by_step.get(segment["step"], ()))
    for link in path["links"]:
        first, last = link["first_step"], link["last_step"]
        between = [s for s in path["segments"] if first <= s["step"] <= last]
        if link["kind"] in ("copper", "feed"):
            between = between[1:-1]  # its ends are the equipment
        assert link["verdict"] == worst(s["verdict"] for s in between)


@FEW
@given(strategies.paths())
def test_notes_never_change_a_verdict(tables):
    """Ports named as they were chosen, labels given: fewer notes, the same verdicts."""
    data = checked(tables)
    labelled = copy.deepcopy(tables)
    for number, row in enumerate(labelled["segments"]):
        if row["kind"] == "device":
            row["label"] = f"D{number}"
    quieter = checked(labelled)
    assert data["verdict"] == quieter["verdict"]
    assert [p["segments"] for p in data["paths"]] == [p["segments"] for p in quieter["paths"]]


@FEW
@given(strategies.paths())
def test_labelled_once_counts_once(tables):
    """One row in two paths, and two rows with one label, are one thing."""
    listed, repeated = copy.deepcopy(tables), copy.deepcopy(tables)
    if "demand" in tables:
        for each in (listed, repeated):
            each["demand"] = [row | {"path": "P"} for row in tables["demand"]]
    for number, row in enumerate(listed["segments"]):
        row |= {"path": "P;Q", "label": f"L{number}"}
    rows = [row | {"label": f"L{number}"} for number, row in enumerate(repeated["segments"])]
    repeated["segments"] = [*rows, *(row | {"path": "Q"} for row in rows)]
    one, other = checked(listed), checked(repeated)
    for key in ("verdict", "sources", "cables"):
        assert one[key] == other[key]
    assert [strip(path) for path in one["paths"]] == [strip(path) for path in other["paths"]]
    assert sorted(told(f) for f in one["findings"]) == sorted(told(f) for f in other["findings"])


def strip(path):
    return {key: value for key, value in path.items() if key != "path"}


def told(finding):
    return (
        finding["check"],
        finding["severity"],
        finding["message"],
        tuple(finding["paths"]),
        finding["step"] or 0,
    )


@FEW
@given(strategies.paths())
def test_json_is_finite_with_the_keys_of_the_contract(tables):
    data = checked(tables)
    assert not missing_keys(json.loads(json.dumps(data, allow_nan=False)))
    for way in directions(data):
        for key, value in way.items():
            assert value is None or isinstance(value, (int, float)) or key == "margin_basis"


@FEW
@given(strategies.paths(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(tables, pick):
    assume(len(tables["segments"]) > 2)
    data = checked(tables)
    assert data == checked(tables)
    shuffled = copy.deepcopy(tables)
    pick.shuffle(shuffled["segments"])
    other = checked(shuffled)
    assert data["paths"] == other["paths"]
    assert sorted(told(f) for f in data["findings"]) == sorted(told(f) for f in other["findings"])


@pytest.mark.parametrize("split_m", [(1000, 1000), (500, 1500), (1, 999, 1000)])
def test_statistics_do_not_ask_in_how_many_rows_a_cable_is_written(split_m, tmp_path):
    """Two sections of like cable and a splice: mean + 3 sqrt(0.04^2 + (0.02 x 2)^2 / 2)."""
    first, *rest = (f"fiber t-sm {length}m" for length in split_m)
    rows = (
        "device t-switch",
        "optic t-p",
        first,
        "splice t-fusion",
        *rest,
        "optic t-p",
        "device t-switch",
    )
    evaluation = compact.run(tmp_path, " | ".join(rows))
    wanted = 2 * 0.35 + 0.06 + 3 * (0.04**2 + (0.02 * 2) ** 2 / 2) ** 0.5
    for way in directions(record(evaluation)):
        assert way["statistical_loss_db"] == pytest.approx(wanted, abs=1e-9)


def test_a_splice_that_ends_a_cable_parts_no_sections(tmp_path):
    """One section of cable and a splice: mean + 3 sqrt(0.04^2 + (0.02 x 2)^2)."""
    text = "device t-switch | optic t-p | fiber t-sm 2000m | splice t-fusion | optic t-p"
    evaluation = compact.run(tmp_path, f"{text} | device t-switch")
    wanted = 2 * 0.35 + 0.06 + 3 * (0.04**2 + (0.02 * 2) ** 2) ** 0.5
    for way in directions(record(evaluation)):
        assert way["statistical_loss_db"] == pytest.approx(wanted, abs=1e-9)


@FEW
@given(LIGHT)
def test_statistics_are_never_above_the_worst_case(tables):
    for way in directions(checked(tables)):
        assert way["statistical_loss_db"] <= way["loss_max_db"] + 1e-9
        assert way["statistical_margin_db"] >= way["margin_db"] - 1e-9


ORDER = {"pass": 0, "thin": 1, "fail": 2}
#: What PoE drops and feeds look like over the length of their run [m].
LONGER = {
    "PoE drop": ("device t-switch-poe | copper t-cat5e {}m | device t-camera-big", 150),
    "feed": ("device t-supply-48 | feed t-2.5mm2 {}m | device t-load-dc", 2500),
    "drop behind a feed": (
        (
            "device t-supply-48 | feed t-2.5mm2 {}m | device t-switch-dc-plain | "
            "copper t-cat5e 50m | device t-camera"
        ),
        2500,
    ),
}


@pytest.mark.parametrize("name", LONGER)
def test_a_longer_run_never_makes_its_feed_look_better(name, tmp_path):
    """Ohm's law: no less is drawn, no more arrives, and the verdict is no milder."""
    text, longest = LONGER[name]
    before = None
    for step in range(1, 31):
        found = compact.run(tmp_path / str(step), text.format(longest * step / 30))
        lines = found.power.lines
        drawn = max(float(np.nan_to_num(line.values["source_w"], nan=np.inf)) for line in lines)
        arrives = min(float(np.nan_to_num(line.values["load_v"], nan=0.0)) for line in lines)
        now = (ORDER[found.verdict], drawn, -arrives)
        if before is not None:
            assert now[0] >= before[0] and now[2] >= before[2] - 1e-9
            if np.isfinite(before[1]) and np.isfinite(now[1]):
                assert now[1] >= before[1] - 1e-9
        before = now
