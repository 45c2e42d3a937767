"""A later check takes readings into account: what was measured stands for what was computed."""

import shutil
from pathlib import Path

import agreement
import pytest
from compact import write_tables
from filled_cards import expected
from hypothesis import given, settings
from hypothesis import strategies as st
from revision_designs import CATALOG, read, tables

import backhaul.api
from backhaul.budgets.as_built import built_loss_max_db, built_loss_min_db
from backhaul.budgets.site_readings import readings_of
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.report.record import record

ROOT = Path(__file__).parents[2]
DESIGNS = [ROOT / "demo" / "reservoir", ROOT / "demo" / "estuary"]
DESIGNS += [ROOT / "tests" / "designs" / name for name in ("quarry", "ferry", "ski-lift")]
NEAR, FAR = "sw1.sfp1.loss", "tower.8.loss"


def checked(folder, readings: dict, water_m: dict | None = None, **setting):
    """The design of two paths with readings, as it is checked later."""
    design = tables()
    design["project"] += [{"setting": k, "value": v} for k, v in setting.items()]
    sites = {"sw1": "works", "tower": "crest", "hop": "crest"}
    design["readings"] = [
        {
            "site": sites[key.partition(".")[0]],
            "reading": key,
            "value": value,
            "water_level_m": (water_m or {}).get(key, ""),
        }
        for key, value in readings.items()
    ]
    return evaluate(read(folder, "checked", design), CATALOG, seek=False)


def light(evaluation) -> dict:
    links = next(p for p in record(evaluation)["paths"] if p["path"] == "tower")["links"]
    return next(link for link in links if link["kind"] == "optical")["directions"]


@pytest.fixture(scope="module")
def designed(tmp_path_factory):
    return evaluate(read(tmp_path_factory.mktemp("d"), "designed", tables()), CATALOG, seek=False)


@pytest.mark.parametrize("design", DESIGNS, ids=lambda path: path.name)
def test_readings_as_expected_change_no_verdict(design, tmp_path):
    before = backhaul.api.evaluate(backhaul.api.read_design(design))
    copy = tmp_path / design.name
    shutil.copytree(design, copy)
    rows = [
        {"site": site, "reading": reading.key, "value": f"{reading.limits.expected:.9f}"}
        for site, readings in readings_of(before).items()
        for reading in readings
        if site and reading.limits.expected == reading.limits.expected
    ]
    write_tables(copy, {"readings": rows})
    after = backhaul.api.evaluate(backhaul.api.read_design(copy))
    assert after.verdict == before.verdict
    assert after.path_verdicts == before.path_verdicts
    fails = [
        [
            (f.check, f.path, f.step, f.severity)
            for f in e.findings
            if f.severity in ("fail", "thin")
        ]
        for e in (before, after)
    ]
    assert fails[0] == fails[1]


def test_a_measured_loss_stands_for_the_computed(designed, tmp_path):
    """The margin falls dB by dB with the loss (IEEE 802.3 Clauses 38 and 59). By hand, the highest loss
    is three pairs of 0.75 dB (TIA-568) and 1.71 km at 0.4 dB/km (ISO/IEC 11801-1): 2.934 dB; 4.0 dB
    read take 1.07 dB off.
    """
    [there, back] = light(designed)
    assert there["loss_max_db"] == pytest.approx(3 * 0.75 + 1.71 * 0.4, abs=0.01)
    after = light(checked(tmp_path, {NEAR: 4.0, FAR: 4.0}))
    for before, direction in zip((there, back), after, strict=True):
        assert direction["margin_db"] == before["margin_db"]  # the designed one stays beside it
        lost = 4.0 - before["loss_max_db"]
        assert direction["remaining_margin_db"] == pytest.approx(before["margin_db"] - lost)
        assert direction["built_loss_db"] == 4.0


def test_one_reading_stands_for_both_ways_of_one_wavelength(tmp_path):
    both = light(checked(tmp_path, {NEAR: 4.0}))
    assert [direction["built_loss_db"] for direction in both] == [4.0, 4.0]


@pytest.mark.parametrize(("read_db", "verdict"), [(3.9, "pass"), (4.05, "thin"), (7.2, "fail")])
def test_the_verdict_follows_the_remaining_margin(designed, tmp_path, read_db, verdict):
    """Around the loss that leaves just the healthy margin, 1 dB here: a little less passes, a little
    more is thin; 3.2 dB more breaks the limit with the repair allowance of 1 dB as well."""
    margin = light(designed)[0]["margin_db"]
    loss = light(designed)[0]["loss_max_db"]
    healthy_loss = loss + margin - 1.0  # with a healthy margin of 1 dB typed
    shift = read_db - 4.0
    evaluation = checked(tmp_path, {NEAR: healthy_loss + shift}, optical_margin_db=1.0)
    found = [f.severity for f in evaluation.findings if f.check == "optical-margin"]
    if verdict == "pass":
        assert found == []
    else:
        assert found == [verdict]


def test_with_one_cord_reference_the_reading_holds_both_end_pairs(designed, tmp_path):
    """ISO/IEC 14763-3: one test cord as reference, so that the reading is the link and both its end
    pairs; a good reading is thus above the link's own mean and confirms the budget."""
    mean = designed.optical.values["mean_db"][0]
    both_pairs = 2 * 0.2  # reference-grade single-mode plugs, at most 0.2 dB a pair
    after = light(checked(tmp_path, {NEAR: float(mean) + both_pairs}))
    assert after[0]["remaining_margin_db"] == pytest.approx(after[0]["margin_db"])


@given(
    readings=st.lists(st.floats(0, 30), min_size=2, max_size=2).map(sorted),
    mean=st.floats(0.1, 10),
    spread=st.floats(0, 5),
)
@settings(max_examples=200)
def test_a_higher_reading_never_leaves_more_margin(readings, mean, spread):
    less, more = (
        built_loss_max_db(reading_db=r, expected_db=mean, loss_max_db=mean + spread)
        for r in readings
    )
    assert more >= less - 1e-9
    assert built_loss_max_db(
        reading_db=mean, expected_db=mean, loss_max_db=mean + spread
    ) == pytest.approx(mean + spread)


@given(
    readings=st.lists(st.floats(0, 30), min_size=2, max_size=2).map(sorted),
    mean=st.floats(0.1, 10),
    share=st.floats(0, 1),
)
@settings(max_examples=200)
def test_a_lower_reading_never_leaves_more_room_below_overload(readings, mean, share):
    given_ = {"expected_db": mean, "loss_min_db": mean * share, "end_pairs_db": 0.7}
    less, more = (built_loss_min_db(reading_db=r, **given_) for r in readings)
    assert more >= less - 1e-9
    assert built_loss_min_db(reading_db=mean, **given_) == pytest.approx(mean * share)


def hop(evaluation) -> dict:
    links = next(p for p in record(evaluation)["paths"] if p["path"] == "tower")["links"]
    return next(link for link in links if link["kind"] == "radio")


def test_levels_calibrate_the_fixed_losses_of_a_hop(designed, tmp_path):
    right = expected(designed)
    after = checked(tmp_path, {"hop.level.near": right["hop.level.near"] - 2.5})
    for before, now in zip(hop(designed)["directions"], hop(after)["directions"], strict=True):
        assert now["received_dbm"] == pytest.approx(before["received_dbm"] - 2.5)
        for mode, was in zip(now["modes"], before["modes"], strict=True):
            assert mode["margin_db"] == pytest.approx(was["margin_db"] - 2.5)
        in_use = {m["mode"]: m["margin_db"] for m in before["modes"]}[before["mode_at_target"]]
        assert now["designed_margin_db"] == pytest.approx(in_use)


def test_the_way_that_lacks_more_tells(designed, tmp_path):
    right = expected(designed)
    readings = {
        name: right[name] - by for name, by in (("hop.level.near", 1), ("hop.level.far", 3))
    }
    after = checked(tmp_path, readings)
    assert hop(after)["directions"][0]["received_dbm"] == pytest.approx(
        hop(designed)["directions"][0]["received_dbm"] - 3
    )


def test_a_level_above_the_expected_gains_no_more_than_the_typed_loss(designed, tmp_path):
    right = expected(designed)
    after = checked(tmp_path, {"hop.level.near": right["hop.level.near"] + 2})
    assert hop(after)["directions"][0]["received_dbm"] == pytest.approx(
        hop(designed)["directions"][0]["received_dbm"]
    )


def test_the_note_says_what_was_taken(designed, tmp_path):
    right = expected(designed)
    after = checked(tmp_path, {NEAR: 4.0, "hop.level.near": right["hop.level.near"] - 2.5})
    [note] = [f.message for f in after.findings if f.message.startswith("readings taken")]
    assert "loss of HOP 2.5 dB, 0 dB were designed" in note
    assert "stands for the computed: 1" in note


@pytest.mark.parametrize("loss", [2.9, 4.6, 7.5])
def test_terminal_json_and_book_agree_with_readings(designed, tmp_path, loss):
    right = expected(designed)
    evaluation = checked(tmp_path, {NEAR: loss, "hop.level.near": right["hop.level.near"] - 6})
    book = agreement.Recalculated(evaluation)
    for said in (*agreement.verdicts(evaluation, book), *agreement.links(evaluation, book)):
        told = {each for each in (said.terminal, said.book) if each is not None}
        assert told <= {said.json}, said


def test_a_reading_below_what_the_glass_loses_gains_nothing(designed, tmp_path):
    after = light(checked(tmp_path, {NEAR: 0.05}))
    assert after[0]["remaining_margin_db"] is None


def test_the_design_is_read_with_its_own_readings_only_once(tmp_path):
    design = read_design(
        write_tables(
            tmp_path / "d",
            tables() | {"readings": [{"site": "works", "reading": NEAR, "value": 1.5}]},
        ),
        CATALOG,
    )
    found = backhaul.api.read_readings(design)
    assert [each.reading.key for each in found.judged if each.taken] == [NEAR]
