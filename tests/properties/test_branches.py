"""Branches: which path grows out of which, whatever the order of the rows; loops are refused."""

import csv
import itertools
import shutil
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import compact

from backhaul import evaluate, read_design
from backhaul.errors import InputError
from backhaul.report.record import record

DEMO = Path(__file__).parents[2] / "demo"
RUN = "copper t-cat5e 20m"
#: paths; demand; the parent of each branch, and the demand up of every path [Mb/s]
TREES = (
    (
        "a camera behind a switch of the trunk",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch label=S2 | {RUN} | device t-switch"
            f" || B: device t-switch label=S2 | {RUN} | device t-switch"
        ),
        "demand A up_mbps=10 | demand B up_mbps=5",
        {"B": "A"},
        {"A": 15, "B": 5},
    ),
    (
        "a branch of a branch",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch label=S2"
            f" || B: device t-switch label=S2 | {RUN} | device t-switch label=S3"
            f" || C: device t-switch label=S3 | {RUN} | device t-switch"
        ),
        "demand B up_mbps=5 | demand C up_mbps=7",
        {"B": "A", "C": "B"},
        {"A": 12, "B": 12, "C": 7},
    ),
    (
        "two paths from one switch are no branches of each other",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch"
            f" || B: device t-switch label=S1 | {RUN} | device t-switch"
        ),
        "demand A up_mbps=10 | demand B up_mbps=5",
        {},
        {"A": 10, "B": 5},
    ),
    (
        "one run written from both of its ends",
        (
            "A: device t-switch label=S1 | copper t-cat5e 20m label=R | device t-switch label=S2"
            " || B: device t-switch label=S2 | copper t-cat5e 20m label=R | device t-switch label=S1"
        ),
        "demand A up_mbps=10 | demand B up_mbps=5",
        {},
        {"A": 10, "B": 5},
    ),
    (
        "a ring whose second half backs up the first",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch label=S2"
            f" || B: device t-switch label=S2 | {RUN} | device t-switch label=S1"
        ),
        "demand A up_mbps=10 | paths B backs_up=A",
        {},
        {"A": 10, "B": 0},
    ),
)
LOOPS = (
    (
        "two paths",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch label=S2"
            f" || B: device t-switch label=S2 | {RUN} | device t-switch label=S1"
        ),
        {"A", "B"},
    ),
    (
        "three paths, with a branch outside",
        (
            f"A: device t-switch label=S1 | {RUN} | device t-switch label=S2"
            f" || B: device t-switch label=S2 | {RUN} | device t-switch label=S3"
            f" || C: device t-switch label=S3 | {RUN} | device t-switch label=S1"
            f" || D: device t-switch label=S3 | {RUN} | device t-switch"
        ),
        {"A", "B", "C"},
    ),
)


@pytest.mark.parametrize(
    ("text", "others", "parents", "demand"), [pytest.param(*tree[1:], id=tree[0]) for tree in TREES]
)
def test_trees_in_every_order(tmp_path, text, others, parents, demand):
    for number, order in enumerate(itertools.permutations(text.split("||"))):
        evaluation = compact.run(tmp_path / str(number), "||".join(order), others)
        assert evaluation.branches.parent == parents, order
        served = evaluation.performance.paths
        assert {name: served[name].demand_up_mbps for name in served} == demand, order


@pytest.mark.parametrize(
    ("text", "members"), [pytest.param(*loop[1:], id=loop[0]) for loop in LOOPS]
)
def test_a_loop_is_refused_with_its_members(tmp_path, text, members):
    with pytest.raises(InputError) as caught:
        compact.run(tmp_path, text)
    (problem,) = caught.value.problems
    assert problem.where == "segments.csv:2 label"
    named = {name for name in "ABCD" if f"{name} begins at" in problem.found}
    assert named == members
    assert "backs up" in problem.remedy


def test_power_paths_before_the_data_change_nothing(tmp_path):
    """A camera behind a switch that a feed supplies: its traffic runs over the hop."""
    shutil.copytree(DEMO / "reservoir", tmp_path, dirs_exist_ok=True)
    with (tmp_path / "segments.csv").open(newline="", encoding="utf-8") as file:
        heads, *rows = csv.reader(file)
    rows.sort(key=lambda row: not row[0].startswith("power"))
    with (tmp_path / "segments.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([heads, *rows])
    first, second = (
        {path["path"]: path for path in record(evaluate(read_design(folder)))["paths"]}
        for folder in (DEMO / "reservoir", tmp_path)
    )
    assert list(first) != list(second)
    for name, path in first.items():
        assert second[name] == path
