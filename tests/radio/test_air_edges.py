"""Hops at the edge of what works: dead ones, ends that stand wrong, lengths that contradict."""

import numpy as np
import pytest
from air_rows import KM, ROW, place


def test_where_no_mode_has_a_margin_snow_is_no_question(hops):
    """50° N, antennas 1 km under a rain height of 3 km: snow may fall; 60 dB too much loss."""
    high = place(50.0, -3.4, near_latitude=50.0, near_ground_m=2000, far_ground_m=2000)
    found = hops({**ROW, **high, "length_m": None, "frequency_ghz": 11, "extra_loss_db": 90})
    assert found.findings("radio-margin", "fail")


@pytest.mark.parametrize("typed_m", [None, 3000, 29_000, 29_750, 30_250, 31_000])
def test_no_length_typed_makes_a_hop_shorter_than_its_sites_lie_apart(hops, typed_m):
    """30 km of the equator. Free space at 5.8 GHz by hand: 92.45 + 20 log10(5.8 x 30) = 137.26 dB,
    20 dB more for ten times the length; within 1 % what is typed stands."""
    east = 30 / (2 * np.pi * 6378.137) * 360
    site = place(0.0, east, near_latitude=0.0, near_longitude=0.0)
    found = hops({**site, "length_m": typed_m})
    counts = max(typed_m or 0, 30_000) if abs((typed_m or 0) - 30_000) > 300 else typed_m
    loss = 92.45 + 20 * np.log10(5.8 * counts / KM)
    assert found.hop["free_space_loss_db"] == pytest.approx(loss, abs=0.01)
    told = found.findings("run-length", "thin")
    assert bool(told) == (typed_m is not None and abs(typed_m - 30_000) > 300)


def test_a_length_that_is_too_short_says_which_counts(hops):
    east = 30 / (2 * np.pi * 6378.137) * 360
    site = place(0.0, east, near_latitude=0.0, near_longitude=0.0)
    (told,) = hops({**site, "length_m": 3000}).findings("run-length", "thin")
    assert told["message"].endswith("the longer counts")


def test_a_clearance_that_is_not_known_is_no_cause(hops):
    """Without terrain it takes nothing: what fails fails with the ground given, too."""
    row = {"length_m": 5000, "frequency_ghz": 38, "rain_rate_mm_h": 90}
    free = [(0, -50, 0, "land"), (5000, -50, 0, "land")]
    ends = {"near_ground_m": -50, "far_ground_m": -50, "height_m": 70, "to_height_m": 70}
    wanted = {"availability_percent": 99.99, "region": ""}
    for terrain in ({}, {"terrain": free}):
        found = hops({**row, **ends, **terrain}, **wanted)
        (lacks,) = found.findings("path-availability", "fail")
        assert lacks["cause"] is None
        assert bool(found.findings("radio-clearance", "thin")) == (not terrain)
