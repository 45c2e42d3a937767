"""Causes first, each once; acceptance covers what is thin and lapses where it got worse."""

from pathlib import Path

import compact
import pytest
from hypothesis import given
from hypothesis import strategies as st

import backhaul.api
from backhaul.budgets.backup import Outage, both_out
from backhaul.checks.accepted import is_worse
from backhaul.checks.groups import causes, takes_down

FERRY = Path(__file__).parents[1] / "designs" / "ferry"
HOP = (
    "device t-switch-poe site=A | copper t-cat5e 20m | radio t-radio site=A to_site=B "
    "frequency_ghz=5.5 channel_mhz=40 height_m=30 to_height_m=30 {} | copper t-cat5e 20m | "
    "device t-switch-poe site=B"
)
SITES = (
    "project region=TEST | site A latitude=45 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200 | "
    "site B latitude=45.03 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200"
)
DARK = "device t-switch label=S | optic t-bx-u | fiber t-sm 1000m | optic t-bx-u | device t-switch"


def test_ids_are_unique_and_causes_are_findings_without_a_cause(tmp_path):
    wall = "terrain h distance_m=0 ground_m=10 | terrain h distance_m=1500 ground_m=10 cover_m=60"
    others = f"{SITES} | {wall} | terrain h distance_m=3336 ground_m=10 | demand P1 up_mbps=20"
    evaluation = compact.run(tmp_path, HOP.format("label=h extra_loss_db=20"), others)
    by_id = {finding.id: finding for finding in evaluation.findings}
    assert len(by_id) == len(evaluation.findings)
    followers = [finding for finding in evaluation.findings if finding.cause]
    assert {"radio-margin", "path-rate"} <= {finding.check for finding in followers}
    assert all(by_id[finding.cause].cause is None for finding in followers)
    (clearance,) = (f for f in evaluation.findings if f.check == "radio-clearance")
    assert {finding.cause for finding in followers} == {clearance.id}
    (group,) = (g for g in causes(evaluation.findings) if g.head.id == clearance.id)
    assert "radio-margin" in takes_down(group) and "path-rate of P1" in takes_down(group)


def test_both_directions_alike_are_one_finding(tmp_path):
    evaluation = compact.run(tmp_path, HOP.format("extra_loss_db=38"), SITES)
    (margin,) = (f for f in evaluation.findings if f.check == "radio-margin")
    assert "A / B" in margin.message


def test_a_branch_of_a_dark_path_carries_nothing_and_names_the_cause(tmp_path):
    branch = "device t-switch label=T | copper t-cat5e 20m | device t-switch"
    text = f"{DARK} label=T || {branch}"
    evaluation = compact.run(tmp_path, text, "demand P2 up_mbps=1")
    trunk, grown = (evaluation.performance.paths[path] for path in ("P1", "P2"))
    assert trunk.rate_up_mbps is None and grown.rate_up_mbps is None
    assert evaluation.path_verdicts == {"P1": "fail", "P2": "fail"}
    (derived,) = (f for f in evaluation.findings if f.path == "P2" and f.check == "path-rate")
    assert derived.cause in {f.id for f in evaluation.findings if f.check == "optics-wavelength"}


def test_a_dead_feed_stops_what_it_feeds_and_what_lies_beyond_no_more():
    """The far landing is dark: its path and the branch there are, a branch before it is not."""
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(FERRY))
    assert any(f.check == "feed-power" and f.severity == "fail" for f in evaluation.findings)
    stopped = {path for path, s in evaluation.performance.paths.items() if s.is_stopped}
    assert stopped == {"far-landing", "ticket-hut"}


def accepted(folder, length_m: float, **row):
    """Copper outdoors without protectors is thin by `surge`."""
    tables = {
        "segments": compact.segments(
            f"device t-switch | copper t-cat5e {length_m}m | device t-switch"
        ),
        **compact.other_tables("demand P1 up_mbps=750"),
        "accepted": [{"by": "A. Engineer", "date": "2026-02-03", "reason": "temporary", **row}],
    }
    return compact.run_tables(folder, tables)


@pytest.mark.parametrize(
    ("value", "verdict"), [("", "pass"), ("750", "pass"), ("760", "pass"), ("740", "thin")]
)
def test_acceptance_holds_until_the_figure_gets_worse(tmp_path, value, verdict):
    """750 Mb/s where 700 are free: more load is worse."""
    evaluation = accepted(tmp_path, 20, check="path-rate", path="P1", value=value)
    (finding,) = (f for f in evaluation.findings if f.check == "path-rate")
    assert finding.severity == "thin" and evaluation.verdict == verdict
    assert bool(finding.accepted) == (verdict == "pass")
    assert ("lapsed" in finding.message) == (verdict == "thin")


def test_acceptance_never_covers_a_failure(tmp_path):
    evaluation = accepted(tmp_path, 150, check="copper-reach", path="P1")
    (finding,) = (f for f in evaluation.findings if f.check == "copper-reach")
    assert finding.accepted is None and evaluation.verdict == "fail"


def test_an_idle_acceptance_is_told(tmp_path):
    evaluation = accepted(tmp_path, 20, check="corrosion", path="P1")
    assert any("idle" in finding.message for finding in evaluation.findings)


@pytest.mark.parametrize(
    ("value", "limit", "was", "worse"),
    [(1.9, 2.0, 1.9, False), (1.8, 2.0, 1.9, True), (5.2, 5.0, 5.1, True), (5.1, 5.0, 5.2, False)],
)
def test_worse_is_away_from_the_limit(value, limit, was, worse):
    assert is_worse(value, limit, was) == worse


def test_backups_in_one_rain_do_not_multiply():
    """Two hops between the same masts, out 0.003 % and 0.01 % by rain: the smaller is common."""
    one, other = Outage(0.003, 0.0), Outage(0.01, 0.0)
    assert sum(both_out(one, other, same_rain=True)) == pytest.approx(0.003)
    assert sum(both_out(one, other, same_rain=False)) == pytest.approx(0.003 * 0.01 / 100)
    fading = Outage(0.0, 0.02)
    assert sum(both_out(fading, fading, same_rain=True)) == pytest.approx(0.02 * 0.02 / 100)


SHARE = st.floats(0, 5)


@given(SHARE, SHARE, SHARE, SHARE)
def test_one_rain_is_no_better_than_chance_and_no_worse_than_one_path(r1, r2, o1, o2):
    one, other = Outage(r1, o1), Outage(r2, o2)
    together = sum(both_out(one, other, same_rain=True))
    assert together >= sum(both_out(one, other, same_rain=False)) - 1e-12
    assert together == pytest.approx(sum(both_out(other, one, same_rain=True)))
    assert together <= min(r1, r2) + max(o1, o2) + 1e-12
