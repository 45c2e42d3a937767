"""Feeds of whole designs: shared runs against the exact tree, and what more load or wire does.

The reference is Kirchhoff's laws over the whole tree, solved at once by Newton's method; the
program shares runs out line by line instead. Designs are random, parts those of the catalogue.
"""

import tempfile
from pathlib import Path

import numpy as np
import pytest
from feed_tree import SOURCE, feed_tree
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_designs import evaluated, rows

LOADS = ("converter-1g-ind", "converter-10g-ind", "switch-ind-8-1g", "router-ind")
SUPPLIES = ("supply-12v-120w", "supply-24v-120w", "supply-48v-120w")
#: Two-conductor feeds, thick to thin.
SIZES = ("6mm2-out", "4mm2-out", "2.5mm2-out", "1.5mm2-out")
SAME = 1e-6
SOME = settings(max_examples=40, deadline=None)

metres = st.integers(1, 400)


@st.composite
def plants(draw):
    """Supply, trunk, second trunk, and by load: its part, whether behind the second, its tail."""
    tails = st.tuples(st.sampled_from(LOADS), st.booleans(), metres, st.sampled_from(SIZES))
    return (
        draw(st.sampled_from(SUPPLIES)),
        (draw(metres), draw(st.sampled_from(SIZES))),
        (draw(metres), draw(st.sampled_from(SIZES))),
        draw(st.lists(tails, min_size=1, max_size=4)),
    )


def run(part, length, label=""):
    named = f" label={label}" if label else ""
    return f"feed {part} site=crest to_site=crest length_m={length} route=indoor{named}"


def built(plant):
    supply, first, second, tails = plant
    found = []
    for number, (load, is_behind, length, size) in enumerate(tails):
        found += rows(
            f"p{number}",
            f"device {supply} site=crest label=PS",
            run(first[1], first[0], "TRUNK"),
            *([run(second[1], second[0], "SECOND")] if is_behind else []),
            run(size, length),
            f"device {load} site=crest label=L{number}",
        )
    with tempfile.TemporaryDirectory() as folder:
        return evaluated(Path(folder), found)


def lines_of(evaluation):
    """The line of every load, in the order of the loads."""
    found = {line.equipment[0].label: line for line in evaluation.power.lines}
    return [found[f"L{number}"] for number in range(len(found))]


def exact(plant, evaluation):
    """The same plant as one tree: trunk, second trunk, a feed a load."""
    lines = lines_of(evaluation)
    ohm = {}
    for number, line in enumerate(evaluation.power.lines):
        for row, loop in zip(line.rows, evaluation.power.rows["loop_ohm"][number], strict=True):
            ohm[row.row.label or line.equipment[0].label] = loop
    parent, loops, watts = [SOURCE, 0], [ohm["TRUNK"], ohm.get("SECOND", 0.0)], [0.0, 0.0]
    for number, (line, (_, is_behind, _, _)) in enumerate(zip(lines, plant[3], strict=True)):
        parent.append(1 if is_behind else 0)
        loops.append(ohm[f"L{number}"])
        watts.append(line.values["load_w"])
    return feed_tree(
        source_v=lines[0].values["source_v"],
        parent=parent,
        loop_ohm=loops,
        loop_reactance_ohm=0.0,
        load_w=watts,
        power_factor=1.0,
    )


def volts(evaluation):
    return np.array([line.values["load_v"] for line in lines_of(evaluation)])


@SOME
@given(plants())
def test_shared_runs_are_the_exact_tree(plant):
    evaluation = built(plant)
    found = exact(plant, evaluation)
    ours = volts(evaluation)
    if not found.solvable:
        assert np.isnan(ours).any()  # a load that nothing can carry is told, never a voltage
        return
    if found.load_v[2:].min() < 0.52 * lines_of(evaluation)[0].values["source_v"]:
        return  # within a hair of collapse the shares creep: told as no solution
    assert ours == pytest.approx(found.load_v[2:], rel=1e-6)
    drawn = sum(line.values["current_a"] for line in lines_of(evaluation))
    assert drawn == pytest.approx(found.current_a[0], rel=1e-6)
    (source,) = (s for s in evaluation.context.sources if s.equipment.label == "PS")
    given_w = found.current_a[0] * lines_of(evaluation)[0].values["source_v"]
    assert source.used_w == pytest.approx(given_w, rel=1e-6)


def changes(plant):
    """Each feed longer, each feed thinner, a load more."""
    supply, first, second, tails = plant

    def longer(feed):
        return (feed[0] + 50, feed[1])

    def thinner(feed):
        return (feed[0], SIZES[min(SIZES.index(feed[1]) + 1, len(SIZES) - 1)])

    for change in (longer, thinner):
        yield supply, change(first), second, tails
        yield supply, first, change(second), tails
        load, is_behind, length, size = tails[0]
        tail = (load, is_behind, *change((length, size)))
        yield supply, first, second, [tail, *tails[1:]]
    yield supply, first, second, [*tails, ("router-ind", False, 1, SIZES[0])]
    yield supply, first, second, [*tails, ("router-ind", True, 1, SIZES[0])]


@SOME
@given(plants(), st.integers(0, 7))
def test_a_longer_or_thinner_feed_or_a_load_more_never_helps(plant, which):
    """No voltage rises, and no sum of watts or amperes falls."""
    more = list(changes(plant))[which]
    before, after = built(plant), built(more)
    old, new = volts(before), volts(after)[: len(plant[3])]
    assume(not np.isnan(old).all())
    assert not np.isnan(new[np.isnan(old)]).size or np.isnan(new[np.isnan(old)]).all()
    both = ~np.isnan(old) & ~np.isnan(new)
    assert (new[both] <= old[both] + SAME).all()
    if np.isnan(new).any():
        return
    for key in ("current_a", "source_w"):
        sums = [sum(line.values[key] for line in lines_of(each)) for each in (before, after)]
        assert sums[1] >= sums[0] - SAME
    used = [next(s.used_w for s in each.context.sources) for each in (before, after)]
    assert used[1] >= used[0] - SAME
