"""Changes of a known kind are told as that, once, and nothing else with them."""

import random
from collections import Counter
from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from revision_designs import (
    CATALOG,
    STEPS,
    moved_site,
    other_label,
    other_path,
    other_site,
    read,
    renumbered,
    rows_of,
    shuffled,
    tables,
)

from backhaul.evaluation import evaluate
from backhaul.revisions.comparison import Comparison


def compared(folder, one, other) -> Comparison:
    designs = [read(folder, name, each) for name, each in (("old", one), ("new", other))]
    return Comparison(*(evaluate(design, CATALOG, seek=False) for design in designs))


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    folder = tmp_path_factory.mktemp("base")
    return evaluate(read(folder, "base", tables()), CATALOG, seek=False)


def beside(base, folder, other) -> Comparison:
    return Comparison(base, evaluate(read(folder, "other", other), CATALOG, seek=False))


def told(found: Comparison) -> list[tuple]:
    return [(c.table, c.what, c.column, c.before, c.after) for c in found.changes]


def test_a_design_differs_from_itself_in_nothing(base):
    found = Comparison(base, base)
    assert found.is_empty
    assert not found.is_worse
    assert found.frame().empty


def test_reordered_rows_differ_in_nothing(base, tmp_path):
    assert beside(base, tmp_path, shuffled(tables(), random.Random(4))).is_empty


def test_renumbered_steps_change_no_thing_no_finding_and_no_figure(base, tmp_path):
    found = beside(base, tmp_path, renumbered(tables(), random.Random()))
    assert (found.changes, found.findings, found.figures, found.verdicts) == ((), [], [], [])
    assert found.order.lines == ()


def test_one_cell(base, tmp_path):
    other = tables()
    rows_of(other)[4]["length_m"] = 2700
    found = beside(base, tmp_path, other)
    assert told(found) == [("segments", "changed", "length_m", 1700.0, 2700.0)]
    change = found.changes[0]
    assert change.where_before == change.where_after == "segments.csv:6 length_m"
    # 1 km more of OS2, 0.4 dB/km at 1310 nm (ISO/IEC 11801-1): the margin falls by just that
    margins = [moved for moved in found.figures if moved.label == "margin"]
    assert [round(m.after - m.before, 6) for m in margins] == [-0.4, -0.4]
    assert all(moved.is_worse for moved in margins)
    assert {card.site for card in found.cards} == {"works", "crest"}
    assert [(line.part, line.more) for line in found.order.lines] == [("os2-12", 2000.0)]
    assert found.exit_status == 1


def test_a_row_put_in_between_is_one_row_whatever_the_numbers_behind_it(base, tmp_path):
    other = tables()
    for row in rows_of(other)[5:]:
        row["step"] += 1
    other["segments"].append(
        {"path": "tower", "step": 6, "kind": "splice", "part": "fusion-splice"}
    )
    assert told(beside(base, tmp_path, other)) == [
        ("segments", "added", "part", None, "fusion-splice")
    ]


def test_a_row_left_out(base, tmp_path):
    other = tables()
    other["segments"].remove(rows_of(other)[5])
    assert told(beside(base, tmp_path, other)) == [("segments", "removed", "part", "lc-upc", None)]


@pytest.mark.parametrize(
    ("step", "expected"),
    [
        (other_path, ("segments", "renamed", "path", "tower", "valve-tower")),
        (other_site, ("sites", "renamed", "site", "crest", "crest mast")),
        (other_label, ("segments", "renamed", "label", "HOP", "crest-hop")),
        (
            moved_site,
            ("sites", "moved", "latitude", "52.115000, -3.525000", "52.115000, -3.528000"),
        ),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_what_bears_another_name_or_stands_elsewhere_is_said_as_such(
    base, tmp_path, step, expected
):
    found = beside(base, tmp_path, step(tables(), random.Random()))
    assert told(found) == [expected]
    if step is not moved_site:
        assert (found.findings, found.figures, found.order.lines) == ([], [], ())


def test_a_site_that_moved_says_how_far(base, tmp_path):
    """0.003 degrees of longitude at 52.115 degrees north are 205.5 m (WGS 84, by hand:
    6391.48 km × cos 52.115° = 3924.9 km, the radius of the parallel, × 0.003° in radians)."""
    change = beside(base, tmp_path, moved_site(tables(), random.Random())).changes[0]
    assert change.text == "205.5 m towards 270°"


def test_a_thing_in_another_place_of_its_path_has_moved(base, tmp_path):
    other = tables()
    rows = rows_of(other)
    rows[3]["step"], rows[5]["step"] = rows[5]["step"], rows[3]["step"]  # 2 pairs and 1 pair
    found = told(beside(base, tmp_path, other))
    assert {(what, column) for _, what, column, *_ in found} <= {
        ("moved", "step"),
        ("changed", "count"),
    }


def test_a_labelled_thing_with_another_part_is_the_same_thing(base, tmp_path):
    other = tables()
    for row in other["segments"]:
        if row.get("label") == "SW2":
            row["part"] = "switch-out-4-1g-poe-120"
    found = told(beside(base, tmp_path, other))
    assert found == [
        ("segments", "changed", "part", "switch-out-8-1g-poe-240", "switch-out-4-1g-poe-120")
    ]


def test_settings_demand_and_extras(base, tmp_path):
    other = tables()
    other["project"][1]["value"] = 8
    other["demand"][0]["up_mbps"] = 9
    other["extras"].append({"site": "crest", "part": "cabinet", "count": 2, "unit": "piece"})
    found = beside(base, tmp_path, other)
    assert told(found) == [
        ("project", "changed", "radio_margin_db", 6.0, 8.0),
        ("demand", "changed", "up_mbps", 8.0, 9.0),
        ("extras", "added", "site", None, "crest cabinet"),
    ]
    assert found.order.newly == ("cabinet",)


def test_findings_that_come_and_go(base, tmp_path):
    other = tables()
    rows_of(other)[9]["length_m"] = 240  # beyond the 100 m of a channel, TIA-568.2-D
    found = beside(base, tmp_path, other)
    new = {f.finding.check: f for f in found.findings if f.what == "new"}
    assert new["copper-reach"].is_worse
    assert found.is_worse
    back = Comparison(found.new, found.old)
    gone = {f.finding.check for f in back.findings if f.what == "gone"}
    assert "copper-reach" in gone
    assert not any(f.is_worse for f in back.findings if f.what == "gone")


def mirror(found: Comparison) -> dict[str, Counter]:
    return {
        "changes": Counter(
            (c.table, c.what, c.column, str(c.before), str(c.after)) for c in found.changes
        ),
        "verdicts": Counter(
            (found.paths.get(path, path), was, now) for path, was, now in found.verdicts
        ),
        "findings": Counter(
            (f.what, f.before and f.before.message, f.after and f.after.message)
            for f in found.findings
        ),
        "figures": Counter((m.label, m.before, m.after) for m in found.figures),
        "order": Counter((line.part, line.before, line.after) for line in found.order.lines),
        "cards": Counter(
            found.sites.get(card.site, card.site) for card in found.cards if card.what != "void"
        ),
    }


_OPPOSITE = {"added": "removed", "removed": "added", "gone": "new", "new": "gone"}


def turned(seen: dict[str, Counter]) -> dict[str, Counter]:
    def entry(name, key):
        if name == "cards":
            return key
        *head, was, now = key
        head = [_OPPOSITE.get(word, word) for word in head]
        return (*head, now, was)

    return {
        name: Counter({entry(name, key): n for key, n in counts.items()})
        for name, counts in seen.items()
    }


@given(st.integers(0, 10_000))
@settings(max_examples=25)
def test_two_revisions_mirror_each_other(tmp_path_factory, seed):
    rng = random.Random(seed)
    folder = tmp_path_factory.mktemp("mirror")
    both = []
    for name in ("old", "new"):
        made = tables()
        for step in rng.sample(STEPS, rng.randint(1, 4)):
            made = step(made, rng)
        both.append(evaluate(read(folder, name, made), CATALOG, seek=False))
    there, back = Comparison(*both), Comparison(*reversed(both))
    seen, other = mirror(there), turned(mirror(back))
    for name in ("changes", "findings", "figures", "order"):
        assert seen[name] == other[name], name
    sites = {now: was for was, now in there.sites.items()}
    assert {sites.get(c.site, c.site) for c in there.cards if c.what == "print again"} == {
        c.site for c in back.cards if c.what == "print again"
    }


def test_one_level_of_a_profile_is_shown_on_both_sides(tmp_path):
    """A change that reads alike on both sides tells nothing."""
    one = tables()
    one["terrain"] = [
        {"label": "HOP", "distance_m": distance, "ground_m": ground}
        for distance, ground in ((0, 60), (400, 20), (800, 25), (1183, 22))
    ]
    other = deepcopy(one)
    other["terrain"][2]["ground_m"] = 23.5
    found = compared(tmp_path, one, other)
    [change] = [each for each in found.changes if each.table == "terrain"]
    assert "800 m: ground 25 m" in change.before
    assert "800 m: ground 23.5 m" in change.after
    assert "400 m: ground 20 m" not in f"{change.before}{change.after}"
