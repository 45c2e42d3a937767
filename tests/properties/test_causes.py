"""Causes first, each once; acceptance covers what is thin and lapses where it got worse."""

import math
from pathlib import Path
from types import SimpleNamespace

import compact
import pytest
from hypothesis import given
from hypothesis import strategies as st

import backhaul.api
from backhaul.budgets.backup import Outage, _carries, _in_one_rain, both_out
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


@pytest.mark.parametrize(("up_mbps", "told"), [(700, False), (701, True)])
def test_a_rate_that_is_too_low_is_told_of_a_path_that_is_dark_elsewhere(tmp_path, up_mbps, told):
    """Of 1 Gb/s a headroom of 30 % leaves 700 Mb/s, whatever light lacks before it."""
    text = f"{DARK} | copper t-cat5e 20m | device t-switch"
    others = f"project rate_headroom_percent=30 | demand P1 up_mbps={up_mbps}"
    evaluation = compact.run(tmp_path, text, others)
    assert evaluation.performance.paths["P1"].is_stopped
    rates = [f for f in evaluation.findings if f.check == "path-rate"]
    assert [(f.step, f.severity, f.cause) for f in rates] == [(6, "thin", None)] * told


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
    assert any("has no effect" in finding.message for finding in evaluation.findings)


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


#: What follows from what on the wired side: a design, what stands below, and what it stands below.
BELOW = {
    "direct current into alternating": (
        "device supply-24v-120w | feed 2.5mm2 2m | device switch-8-1g",
        "feed-power",
        "supply-type",
    ),
    "mains into a load of direct current": (
        "device mains-230v | feed 2.5mm2-3c 20m | device switch-ind-8-1g",
        "over-voltage",
        "supply-type",
    ),
    "a class into a passive load": (
        (
            "device injector-at-1g site=A | copper cat6a site=A to_site=A 20m | "
            "radio radio-5ghz-ht-int site=A"
        ),
        "over-voltage",
        "poe-type",
    ),
    "a port too weak, its budget": (
        "device injector-at-1g | copper cat6a 60m | device camera-class6",
        "poe-budget",
        "poe-power",
    ),
    "a port too weak, what arrives": (
        "device injector-at-1g | copper cat6a 90m | device camera-class6",
        "poe-power",
        "poe-power",
    ),
    "a protector for another run": (
        (
            "device supply-48v-240w site=A | protector protector-copper-1g site=A | feed 2.5mm2-out "
            "site=A to_site=A 30m route=buried | device switch-24-1g-dc site=A"
        ),
        "surge",
        "chain-broken",
    ),
    "optics of two rates": (
        (
            "device switch-12-sfp+ | optic 1000base-lx10 | fiber os2-12 500m | optic 10gbase-lr | "
            "device switch-12-sfp+"
        ),
        "receiver-overload",
        "optics-speed",
    ),
    "a fiber of the other mode": (
        (
            "device switch-12-sfp | optic 1000base-lx10 | fiber cord-os2-lcupc-lcupc 3m | connector "
            "lc-upc count=4 | fiber om3-12 400m | connector lc-upc | fiber cord-os2-lcupc-lcupc 3m | "
            "optic 1000base-lx10 | device switch-12-sfp"
        ),
        "optical-margin",
        "fiber-mode",
    ),
    "dispersion of a reach": (
        (
            "device switch-12-sfp | optic 1000base-lx10 | fiber os2-12 10100m measured_db=3 | "
            "optic 1000base-lx10 | device switch-12-sfp"
        ),
        "fiber-dispersion",
        "fiber-reach",
    ),
}


@pytest.mark.parametrize("name", BELOW)
def test_what_follows_stands_below_its_cause(name, tmp_path):
    segments, follower, cause = BELOW[name]
    evaluation = compact.run(tmp_path, segments, "site A outdoor=no")
    by_id = {finding.id: finding for finding in evaluation.findings}
    found = [f for f in evaluation.findings if f.check == follower and f.cause]
    assert found, [(f.check, f.message) for f in evaluation.findings]
    assert {by_id[finding.cause].check for finding in found} == {cause}
    heads = [f for f in evaluation.findings if f.check == cause and not f.cause]
    assert len(heads) == 1


def test_a_partial_overlap_is_not_why_a_margin_is_short(tmp_path):
    """1000BASE-LX and -LX10 overlap in all but 15 nm: light arrives, the loss is another matter."""
    segments = (
        "device switch-12-sfp | optic 1000base-lx | fiber os2-12 4000m | connector lc-upc count=6 | "
        "optic 1000base-lx10 | device switch-12-sfp"
    )
    evaluation = compact.run(tmp_path, segments)
    (margin,) = (f for f in evaluation.findings if f.check == "optical-margin")
    assert any(f.check == "optics-wavelength" for f in evaluation.findings)
    assert margin.cause is None


def test_a_budget_that_many_ports_break_stands_alone(tmp_path):
    drops = " || ".join(
        f"device switch-8-1g-poe-120 label=SW | copper cat6a 30m port={n} | device camera-class4"
        for n in range(1, 7)
    )
    evaluation = compact.run(tmp_path, drops)
    (budget,) = (f for f in evaluation.findings if f.check == "poe-budget")
    assert budget.cause is None


SHARE = st.floats(0, 5)


@given(SHARE, SHARE, SHARE, SHARE)
def test_one_rain_is_no_better_than_chance_and_no_worse_than_one_path(r1, r2, o1, o2):
    one, other = Outage(r1, o1), Outage(r2, o2)
    together = sum(both_out(one, other, same_rain=True))
    assert together >= sum(both_out(one, other, same_rain=False)) - 1e-12
    assert together == pytest.approx(sum(both_out(other, one, same_rain=True)))
    assert together <= min(r1, r2) + max(o1, o2) + 1e-12


@pytest.mark.parametrize(("apart_km", "same"), [(19.99, True), (20.01, False)])
def test_hops_stand_in_one_rain_up_to_20_km(apart_km, same):
    """Two hops from east to west, one north of the other: 6371 km x the angle between them."""
    north = math.degrees(apart_km / 6371)
    places = {"a": (0, 0), "b": (0, 0.05), "c": (north, 0), "d": (north, 0.05)}
    sites = {
        name: SimpleNamespace(latitude=latitude, longitude=longitude)
        for name, (latitude, longitude) in places.items()
    }
    one, other = (
        SimpleNamespace(rows=[SimpleNamespace(site=near, to_site=far)])
        for near, far in ("ab", "cd")
    )
    assert _in_one_rain(one, other, SimpleNamespace(sites=sites)) == same


@pytest.mark.parametrize("target, waits", [("99", False), ("99.9999999", True)])
def test_a_rate_that_waits_for_the_year_follows_from_it(tmp_path, target, waits):
    """The hop of the cases that misses a target: no mode holds it, so none carries the demand."""
    wanted = f"demand P1 up_mbps=1 | paths P1 availability_percent={target}"
    hop, healthy = HOP.format("extra_loss_db=40"), "project radio_margin_db=0"
    evaluation = compact.run(tmp_path, hop, f"{SITES} | {healthy} | {wanted}")
    found = {f.check: f for f in evaluation.findings if f.severity == "fail"}
    assert ("path-availability" in found) == ("path-rate" in found) == waits
    if waits:
        assert found["path-rate"].cause == found["path-availability"].id


@pytest.mark.parametrize(
    "up_mbps, down_mbps, is_stopped, counts",
    [
        (10.0, 2.0, False, True),
        (9.9, 2.0, False, False),
        (10.0, 1.9, False, False),
        (None, None, False, False),
        (10.0, 2.0, True, False),
    ],
)
def test_a_backup_counts_only_where_it_carries_the_demand(up_mbps, down_mbps, is_stopped, counts):
    """10 Mb/s up and 2 down are asked for: a slower or a dead backup saves no time of the year."""
    asked = SimpleNamespace(demand_up_mbps=10.0, demand_down_mbps=2.0)
    backup = SimpleNamespace(rate_up_mbps=up_mbps, rate_down_mbps=down_mbps, is_stopped=is_stopped)
    assert _carries(backup, asked) == counts
