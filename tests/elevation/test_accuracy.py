"""Levels from a file that may be more wrong than the first Fresnel zone is wide.

By hand: 1200 m at 73.5 GHz over flat ground, a Fresnel radius of sqrt(0.00407881 x 300) = 1.1062 m
and a bulge of 500 x 0.6 x 0.6 / (6371 x 4/3) = 0.0212 m half way, where the whole zone is asked for.
"""

import pytest
from elevation_files import surface_tif, write_hop

from backhaul.api import evaluate, fill_terrain, read_design
from backhaul.report.ground_lines import ground_lines

HOP = {
    "part": "radio-80ghz-low",
    "to_part": "radio-80ghz-high",
    "antenna": "dish-80ghz-0.3m",
    "frequency_ghz": 73.5,
    "to_frequency_ghz": 83.5,
    "channel_mhz": 250,
    "length_m": 1200,
}


def found(tmp_path, height_m, error_m, *, hill=(), **cells):
    rows = [
        {
            "path": "P",
            "step": 1,
            "distance_m": 50 * n,
            "source": "dem.tif",
            "error_m": error_m,
            "ground_m": dict(hill).get(50 * n, 0),
            **cells,
        }
        for n in range(25)
    ]
    hop = {**HOP, "height_m": height_m, "to_height_m": height_m}
    folder = write_hop(tmp_path, (None, None), (None, None), ground=(0, 0), hop=hop, terrain=rows)
    return evaluate(read_design(folder))


def accuracy(evaluation):
    return [f for f in evaluation.findings if f.check == "terrain-accuracy"]


@pytest.mark.parametrize(
    ("height_m", "error_m", "is_thin"),
    [
        (11.12, 10, True),  # 10 + 1.1062 + 0.0212 = 11.1274
        (11.13, 10, False),
        (2.2, 1.11, True),  # the error is wider than the zone
        (2.2, 1.10, False),  # the zone is wider: P.530's own rules stand
    ],
)
def test_thin_on_either_side_of_the_limit(tmp_path, height_m, error_m, is_thin):
    told = accuracy(found(tmp_path, height_m, error_m))
    assert [f.severity for f in told] == ["thin"] * is_thin
    if is_thin:
        (one,) = told
        assert one.value == pytest.approx(height_m - 0.0212, abs=1e-3)
        assert one.limit == pytest.approx(error_m + 1.1062, abs=1e-3)
        assert "dem.tif" in one.message and "0.60 km" in one.message and "survey" in one.remedy


def test_ground_that_is_seen_from_an_end_decides_nothing(tmp_path):
    """10.2 m clear, 10 m of error, within 100 m of an end: no; 150 m away: thin."""
    assert not accuracy(found(tmp_path, 16, 10, hill=[(50, 5.8), (1150, 5.8)]))
    assert accuracy(found(tmp_path, 16, 10, hill=[(150, 5.8)]))


def test_surveyed_ground_needs_no_reserve(tmp_path):
    assert not accuracy(found(tmp_path, 3, None, source=None))


def test_what_fails_or_is_thin_by_its_figures_is_said_once(tmp_path):
    evaluation = found(tmp_path, 0.9, 10)
    assert not accuracy(evaluation)
    assert [f.severity for f in evaluation.findings if f.check == "radio-clearance"]


def test_the_note_says_where_the_ground_is_from(tmp_path):
    said = [f.message for f in found(tmp_path, 30, 10).findings if f.check == "assumption"]
    assert "the ground is from dem.tif, error 10 m, not surveyed" in said
    said = [f.message for f in found(tmp_path, 30, None, source=None).findings]
    assert not any("not surveyed" in text for text in said)


def test_an_error_that_nobody_states_is_said_to_be_assumed(tmp_path):
    evaluation = found(tmp_path, 11.12, 10, source="dem.tif, error assumed")
    (one,) = accuracy(evaluation)
    assert "from dem.tif with an assumed error of 10 m" in one.message
    assert "--error-m" in one.remedy
    said = [f.message for f in evaluation.findings if f.check == "assumption"]
    assert "the ground is from dem.tif, error 10 m assumed, not surveyed" in said


@pytest.mark.parametrize("step_m", [30, 9.9, 7.5, 1.9, 0.9])
def test_the_cell_does_not_tell_the_error(step_m, tmp_path):
    """A model from space resampled to small cells stays as wrong: 10 m (90 %), from memory."""
    step = step_m / 111_195
    cells = int(0.03 / step) if step_m > 5 else 900
    across = cells * step / 2
    file = surface_tif(
        tmp_path / "dem.tif",
        lambda y, x: 100 + 0 * y + 0 * x,
        left=-20.4 - across,
        top=51.3 + across,
        step=step,
        rows=cells,
        columns=cells,
        crs="EPSG:4326",
    )
    ends = (51.3 - 0.6 * across, -20.4), (51.3 + 0.6 * across, -20.4)
    folder = write_hop(tmp_path / "d", *ends)
    for typed_m, error_m, words in ((None, 10.0, ", error assumed"), (1.0, 1.0, "")):
        filled = fill_terrain(read_design(folder), [file], error_m=typed_m)
        (profile,) = filled.profiles
        assert profile.terrain is not None
        assert set(profile.terrain.error_m) == {error_m}
        assert profile.terrain.sources == (f"dem.tif{words}",)
        said = "\n".join(line for line, _ in ground_lines(filled))
        assert ("error 10 m assumed" in said) == (typed_m is None)
