"""Clearance and its remedies: figures by hand from ITU-R P.530 sec. 2.2.2, and remedies applied.

Worked rule (radio reference of the project's sources, computed by hand from P.530): 40 km,
6.5 GHz, ends at 0 m, an obstacle of 20 m half way: F1 21.476 m, bulge 23.544 m at 4/3 and
42.140 m at k = 0.7450. Equal antennas need 65.02 m (isolated), 68.58 m (extended), 75.03 m
(tropical).
"""

import numpy as np
import pytest

from backhaul.budgets.hop_profiles import HopProfiles, widest_gap
from backhaul.path.waters import NO_WATER
from backhaul.physics.profiles import profiles

KM = 1000


def hill(height_m=20.0, length_m=40 * KM, wide_m=0.0):
    """A steep hill half way on flat ground, 200 m at its foot, or a plateau."""
    middle = length_m / 2
    tops = [middle] if not wide_m else [middle - wide_m / 2, middle, middle + wide_m / 2]
    foot = [(tops[0] - 100, 0, 0, "land")], [(tops[-1] + 100, 0, 0, "land")]
    return [
        (0, 0, 0, "land"),
        *foot[0],
        *((x, height_m, 0, "land") for x in tops),
        *foot[1],
        (length_m, 0, 0, "land"),
    ]


def row(height_m, **more):
    return {
        "length_m": 40 * KM,
        "frequency_ghz": 6.5,
        "height_m": height_m,
        "to_height_m": height_m,
        "terrain": hill(),
        **more,
    }


@pytest.mark.parametrize(
    "more, needed_m",
    [
        ({}, 65.02),
        ({"terrain": hill(wide_m=6000)}, None),
        (
            {"near_latitude": 5, "far_latitude": 5, "near_longitude": 0, "far_longitude": 0.36127},
            75.03,
        ),
    ],
)
def test_worked_rule(hops, more, needed_m):
    if needed_m is None:  # a plateau 6 km wide: 0.3 F1 at its edges and middle
        needed_m = 68.58
    below, above = (hops(row(needed_m + by, **more)) for by in (-0.02, 0.02))
    assert [f["severity"] for f in below.findings("radio-clearance")] == ["thin"]
    assert above.findings("radio-clearance") == []


def test_limits_of_the_project(hops):
    """0.6 F1 at 4/3: 20 + 23.544 + 12.886 = 56.430 m; grazing at 0.7450: 62.140 m."""
    for height, severity in ((56.41, "fail"), (62.12, "fail"), (62.16, "thin"), (65.04, None)):
        found = hops(row(height)).findings("radio-clearance")
        assert [f["severity"] for f in found] == ([severity] if severity else [])


def test_clearance_by_hand(hops):
    hop = hops(row(60.0)).hop
    assert hop["clearance_ratio_median_k"] == pytest.approx((60 - 20 - 23.544) / 21.476, abs=5e-5)
    assert hop["clearance_ratio_worst_k"] == pytest.approx((60 - 20 - 42.140) / 21.476, abs=5e-5)
    assert hop["clearance_ratio"] == hop["clearance_ratio_worst_k"]
    assert hop["clearance_k"] == pytest.approx(0.7450, abs=5e-5)
    assert hop["clearance_at_km"] == pytest.approx(20)


@pytest.mark.parametrize(
    "terrain",
    [
        hill(),
        hill(wide_m=6000),
        hill(45.0),
        [
            (0, 5, 9, "land"),
            (9 * KM, 31, 12, "land"),
            (30 * KM, 1, 0, "sea"),
            (40 * KM, 2, 7, "land"),
        ],
    ],
)
@pytest.mark.parametrize("height_m", [25, 58.3, 61])
def test_the_remedy_settles_it(hops, terrain, height_m):
    import re

    project = {"water_high_m": 2.5, "wave_height_m": 1.5}
    found = hops(row(height_m, terrain=terrain), **project)
    remedy = found.findings("radio-clearance")[0]["remedy"]
    both = float(re.search(r"both (?:antennas )?by ([\d.]+) m", remedy)[1])
    one = re.search(r"the (far|first) antenna by ([\d.]+) m", remedy)
    changes = [(both, both)]
    if one:
        by = float(one[2])
        changes.append((0, by) if one[1] == "far" else (by, 0))
    for near, far in changes:
        mended = hops(row(height_m + near, terrain=terrain, to_height_m=height_m + far), **project)
        assert mended.findings("radio-clearance") == []
    # and it asks for no more than needed: a decimetre and a half less does not do
    short = hops(row(height_m + both - 0.15, terrain=terrain), **project)
    assert short.findings("radio-clearance")


def test_cover_counts_between_the_ends_only(hops):
    """Cover stands from its row to the next; at the ends there is none."""
    plain, base = hill(), hill()[:2]
    wooded = [*base, (20 * KM, 12, 8, "land"), (20 * KM + 1, 12, 0, "land"), *hill()[-2:]]
    end = [*plain[:-1], (40 * KM, 0, 30, "land")]
    by_hill, by_wood, by_end = (hops(row(66, terrain=t)).hop for t in (plain, wooded, end))
    assert by_hill["clearance_ratio"] == by_end["clearance_ratio"]
    assert by_hill["clearance_ratio"] == pytest.approx(by_wood["clearance_ratio"], abs=1e-3)
    assert by_hill["diffraction_loss_db"] == by_end["diffraction_loss_db"]
    forest = [(0, 0, 25, "land"), *plain[1:]]
    assert hops(row(66, terrain=forest)).hop["clearance_ratio"] < by_hill["clearance_ratio"]


def test_water_stands_at_its_crest(hops):
    """104 + 0.93 * 0.4 = 104.372 m, whatever bed the terrain gives; 2 km, 5.8 GHz, F1 5.084 m,
    bulge 0.059 m at 4/3."""
    for bed in (20, 103):
        hop = hops(
            {
                "length_m": 2000,
                "near_ground_m": 90,
                "far_ground_m": 90,
                "terrain": [(0, 106, 0, "land"), (200, bed, 0, "fresh"), (2000, 106, 0, "land")],
            },
            water_high_m=104,
            water_low_m=96,
            wave_height_m=0.4,
        ).hop
        assert hop["clearance_ratio_median_k"] == pytest.approx(
            (110 - 104.372 - 0.0589) / 5.0837, abs=2e-4
        )


def test_terrain_off_by_a_percent_is_scaled(hops):
    """Turned to its ratios the profile is the same: 1 % longer distances change nothing."""
    exact = hops(row(66)).hop
    scaled = hops(row(66, terrain=hill(length_m=40 * KM * 0.9901))).hop
    assert scaled["clearance_ratio"] == pytest.approx(exact["clearance_ratio"])
    from backhaul.errors import InputError

    with pytest.raises(InputError, match="within 1 %"):
        hops(row(66, terrain=hill(length_m=40 * KM * 0.98)))


def test_terrain_may_begin_beside_the_first_end(hops):
    first = hops(row(66, terrain=[(200, 0, 0, "land"), *hill()[1:]], near_ground_m=0)).hop
    assert first["clearance_ratio"] == pytest.approx(hops(row(66)).hop["clearance_ratio"])


def test_lower_frequency_of_a_pair_counts(hops):
    pair = {"part": "any-radio-fdd", "frequency_ghz": 7.0, "to_frequency_ghz": 6.5}
    there = hops(row(66, **pair)).hop
    back = hops(row(66, **pair | {"frequency_ghz": 6.5, "to_frequency_ghz": 7.0})).hop
    alone = hops(row(66)).hop
    assert there["clearance_ratio"] == back["clearance_ratio"] == alone["clearance_ratio"]
    assert there["diffraction_loss_db"] == back["diffraction_loss_db"]


def test_diffraction_of_a_lone_edge(hops):
    """Single edge on a path that grazes at 4/3: J(0) = 6.03 dB, and Bullington's addition
    (1 - exp(-6.03/6)) (10 + 0.02 * 40) = 6.85 dB; the smooth-earth part adds some (P.526)."""
    hop = hops(row(20 + 23.544)).hop
    assert hop["clearance_ratio_median_k"] == pytest.approx(0, abs=1e-4)
    assert hop["diffraction_loss_db"] >= 6.033 + 6.85 - 0.02
    level = hop["directions"][0]["received_dbm"]
    high = hops(row(90)).hop
    assert high["diffraction_loss_db"] == pytest.approx(0, abs=1e-9)
    assert high["directions"][0]["received_dbm"] - level == pytest.approx(
        hop["diffraction_loss_db"]
    )


@pytest.mark.parametrize(
    "missing, says",
    [
        ({"terrain": ()}, "neither terrain nor water is given"),
        ({"near_ground_m": None}, "ground_m of a site"),
        ({"to_height_m": None}, "height of an antenna"),
        (
            {"terrain": [(0, 0, 0, "land"), (20 * KM, 0, 0, "sea"), (40 * KM, 0, 0, "land")]},
            "its highest level is not given",
        ),
    ],
)
def test_unknown_clearance_is_thin_and_says_why(hops, missing, says):
    found = hops(row(66, **missing))
    assert found.hop["clearance_ratio"] is None
    (thin,) = found.findings("radio-clearance")
    assert thin["severity"] == "thin" and says in thin["message"]
    assert found.hop["verdict"] != "pass"


@pytest.mark.parametrize(
    ("gap_km", "hop_km", "wide"),
    [(0.5, 20.0, False), (0.501, 20.0, True), (0.1, 2.0, False), (0.101, 2.0, True)],
)
def test_gaps_just_inside_and_outside(gap_km, hop_km, wide):
    """500 m or a twentieth of the hop, the smaller (common practice)."""
    km = np.concatenate(([0.0], np.arange(gap_km, hop_km, gap_km * 0.8), [hop_km]))
    profile = profiles(distance_km=km, ground_m=np.zeros(km.size), count=[km.size])
    land = np.full(km.size, NO_WATER)
    none = np.full(km.size, np.nan)
    made = HopProfiles((), np.array([0]), profile, land, none, np.array([False]), {}, ((),))
    found = widest_gap(made, 0)
    assert found.from_km == 0 and (found.width_km > found.allowed_km) == wide
