"""Many paths: things shared once, one line a path, the same said once, a bar that waits."""

import io
import json

import pytest
from districts import write_district, write_town

from backhaul import evaluate, read_design
from backhaul.report import terminal
from backhaul.report.progress import ProgressBar
from backhaul.report.terminal import report

ROOFS = 12


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    return write_town(tmp_path_factory.mktemp("town"), ROOFS)


def test_a_town_shares_one_cable_one_switch_and_one_trunk(town, run):
    found = json.loads(run("check", town, "--json").stdout)
    assert found["verdict"] == "pass"
    assert found["cables"] == [{"label": "trunk", "strands": 12, "used": 2}]
    (switch,) = (source for source in found["sources"] if source["label"] == "tower-switch")
    links = [link for path in found["paths"] for link in path["links"]]
    runs = [link for link in links if link["kind"] == "copper" and link["first_step"] == 6]
    fed = [link["source_w"] for link in runs]
    assert len(fed) == ROOFS
    assert switch["used_w"] == pytest.approx(sum(fed))
    assert switch["class_w"] == ROOFS * 30  # class 4: 30 W at the source, IEEE 802.3 Table 33-11


def test_the_trunk_carries_every_roof(town):
    evaluation = evaluate(read_design(town))
    (trunk,) = evaluation.network.links["optical"]
    demand = [evaluation.performance.paths[f"roof-{n}"].demand_up_mbps for n in range(1, ROOFS + 1)]
    assert len(trunk.uses) == ROOFS
    assert sum(evaluation.performance.load[trunk.key]) == pytest.approx(ROOFS * (8 + 0.2))
    assert demand == [8.0] * ROOFS


def test_one_line_a_path_with_its_reason(town, tmp_path, monkeypatch):
    monkeypatch.setattr(terminal, "LARGE_DESIGN_PATHS", ROOFS - 1)
    for name in ("segments", "sites", "demand", "project"):  # no terrain: all hops are thin
        (tmp_path / f"{name}.csv").write_bytes((town / f"{name}.csv").read_bytes())
    lines = [text for text, _ in report(evaluate(read_design(tmp_path)), width=100)]
    paths = [text for text in lines if text.startswith("roof-") and ": thin by" in text]
    assert len(paths) == ROOFS
    assert all("radio-clearance step 8" in text for text in paths)
    # the same missing clearance is said once, with all its places
    assert sum("the clearance is not known" in text for text in lines) == 1
    text = " ".join(line.strip() for line in lines)
    assert all(f"roof-{n} step 8" in text for n in range(1, ROOFS + 1))


def test_a_small_district_passes_and_lists_nothing_but_counts(tmp_path):
    evaluation = evaluate(read_design(write_district(tmp_path, 20)))
    lines = [text for text, _ in report(evaluation)]
    assert "20 paths: 0 fail, 0 thin, 20 pass (--all lists them)" in lines
    assert not any(text.startswith("P0:") for text in lines)


class Screen(io.StringIO):
    def __init__(self, is_terminal: bool):
        super().__init__()
        self.is_terminal = is_terminal

    def isatty(self) -> bool:
        return self.is_terminal


@pytest.mark.parametrize(
    ("is_terminal", "seconds", "is_drawn"),
    [
        (True, 0.3, True),
        (True, 0.1, False),
        (False, 0.3, False),
    ],
)
def test_a_bar_only_on_a_terminal_and_only_after_a_second(is_terminal, seconds, is_drawn):
    """Five stages of so many seconds each: the last begins after 1.2 s or after 0.4 s."""
    now = [0.0]
    screen = Screen(is_terminal)
    with ProgressBar(5, screen, clock=lambda: now[0]) as progress:
        for stage in ("reading", "light", "copper", "air", "checks"):
            progress(stage)
            now[0] += seconds
    text = screen.getvalue()
    assert bool(text) == is_drawn
    if is_drawn:
        assert "reading" not in text and "checks" in text and "100%" in text
