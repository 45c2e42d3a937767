"""What lies under hops: between typed rows, shores, ponds, and waters with levels of their own.

Geometry by hand from ITU-R P.530 and P.526: F1 = 17.32 sqrt(d1 d2 / (f d)), bulge =
d1 d2 / (12.74 k), both with d in km.
"""

import pytest
from air_rows import KM, severities, water

from backhaul.errors import InputError


# 1. what lies between typed rows is looked at
def test_water_between_two_shores_is_looked_at(hops):
    """11.1 km at 5.8 GHz, antennas at 8 m: half way F1 is 11.98 m and the bulge at 4/3 is 1.81 m,
    so over water at 0 m (8 - 1.81) / 11.98 = 0.52 F1; with waves of 1.2 m less 1.12 m: 0.42."""
    sea = {"length_m": 11.1 * KM, "height_m": 8, "to_height_m": 8}
    tide = {"water_low_m": 0, "water_high_m": 0, "wave_height_m": 1.2}
    sparse = water(
        (0, 0, 0, "land"), (0.05, -2, 0, "sea"), (11.05, -2, 0, "sea"), (11.1, 0, 0, "land")
    )
    fine = [sparse[0], *water(*((0.05 + 0.25 * n, -2, 0, "sea") for n in range(45))), sparse[-1]]
    found = [hops({**sea, "terrain": terrain}, **tide) for terrain in (sparse, fine)]
    for one in found:
        assert one.hop["clearance_ratio_median_k"] == pytest.approx(0.42, abs=0.01)
        assert severities(one, "radio-clearance") == ["fail"]
        assert "the water at 1.1 m" in one.findings("radio-clearance")[0]["message"]
    assert found[0].hop["clearance_ratio"] == pytest.approx(found[1].hop["clearance_ratio"])


def test_flat_land_of_40_km_is_looked_at(hops):
    """10 m masts over 40 km: the bulge half way is 23.5 m, below the ray by nothing."""
    flat = [(0, 0, 0, "land"), (400, 0, 0, "land"), (39600, 0, 0, "land"), (40044, 0, 0, "land")]
    row = {"length_m": 40044, "height_m": 10, "to_height_m": 10, "frequency_ghz": 5.8}
    found = hops({**row, "terrain": flat})
    middle = hops({**row, "terrain": [*flat[:2], (20000, 0, 0, "land"), *flat[2:]]})
    assert found.hop["clearance_ratio_median_k"] == pytest.approx((10 - 23.6) / 22.76, abs=0.01)
    assert found.hop["clearance_ratio"] == pytest.approx(middle.hop["clearance_ratio"])
    assert severities(found, "radio-clearance") == ["fail"]
    gaps = [f for f in found.findings("assumption") if "has no point for" in f["message"]]
    assert gaps[0]["value"] == pytest.approx(39.2) and gaps[0]["limit"] == 0.5


@pytest.mark.parametrize("place_m", [333.3, 1500.0, 2750.0])
def test_a_row_on_the_straight_line_changes_nothing(hops, place_m):
    row = {"length_m": 3000, "height_m": 12, "to_height_m": 9, "frequency_ghz": 5.8}
    rows = [(0, 0, 0, "land"), (1000, 6, 4, "land"), (2000, 3, 0, "land"), (3000, 0, 0, "land")]
    before = max(n for n, point in enumerate(rows) if point[0] <= place_m)
    (x0, g0, cover, kind), (x1, g1, *_) = rows[before : before + 2]
    ground = g0 + (g1 - g0) * (place_m - x0) / (x1 - x0)
    more = [*rows[: before + 1], (place_m, ground, cover, kind), *rows[before + 1 :]]
    one, other = hops({**row, "terrain": rows}).hop, hops({**row, "terrain": more}).hop
    for key in ("clearance_ratio_median_k", "clearance_ratio_worst_k", "clearance_at_km"):
        assert one[key] == pytest.approx(other[key], abs=1e-6), key
    assert one["diffraction_loss_db"] == pytest.approx(other["diffraction_loss_db"], abs=0.02)


# 2. water only where it is said
def test_water_of_one_hop_is_not_under_another(hops):
    """One hop over the sea, one 30 km inland on flat ground at 200 m with masts of 20 m: the bulge
    half way is 13.2 m, F1 19.7 m."""
    inland = {"length_m": 30 * KM, "near_ground_m": 200, "far_ground_m": 200}
    found = hops({"length_m": 5 * KM, "surface": "sea"}, inland, water_high_m=3)
    assert found.hops[1]["clearance_ratio_median_k"] == pytest.approx(
        (20 - 13.24) / 19.69, abs=0.01
    )
    assert found.hops[1]["reflection_loss_db"] is None
    told = [f for f in found.findings("radio-clearance") if f["path"] == "p1"]
    assert told[0]["severity"] == "fail" and "smooth earth" in told[0]["message"]


def test_waters_have_levels_of_their_own(air):
    """A lake at 303 m and the sea at 3 m in one design; each hop stands over its own."""
    sites = [
        {"site": name, "latitude": 52, "longitude": east, "ground_m": ground}
        for name, east, ground in (("a", 0, 305), ("b", 0.03, 305), ("c", 1, 5), ("d", 1.03, 5))
    ]
    common = {"kind": "radio", "part": "any-radio", "antenna": "dish-30dbi", "step": 1}
    common |= {"frequency_ghz": 5.8, "channel_mhz": 40, "height_m": 20, "to_height_m": 20}
    found = air(
        sites=sites,
        project={"region": "US", "water_high_m": 3, "water_low_m": 1},
        waters=[{"water": "mere", "kind": "fresh", "low_m": 300, "high_m": 303}],
        segments=[
            {"path": "p", "site": "a", "to_site": "b", "surface": "mere", **common},
            {"path": "q", "site": "c", "to_site": "d", "surface": "sea", **common},
        ],
    )
    lake, sea = found.hops
    assert 300 <= lake["reflection_at_water_m"] <= 303 and lake["reflection_water"] == "mere"
    assert 1 <= sea["reflection_at_water_m"] <= 3 and sea["reflection_water"] == "sea"
    assert lake["clearance_ratio"] == pytest.approx(sea["clearance_ratio"], rel=0.02)


def test_a_pond_does_not_make_the_hop_fresh(hops):
    row = {"length_m": 8 * KM, "height_m": 20, "to_height_m": 20}
    pond = water((0, 1, 0, "land"), (0.1, -1, 0, "fresh"), (0.2, -3, 0, "sea"), (8, 0, 0, "land"))
    hop = hops({**row, "terrain": pond}, water_high_m=0, water_low_m=-1).hop
    assert hop["reflection_water"] == "sea"


def test_a_bed_above_its_water_is_refused(hops):
    row = {"length_m": 2 * KM}
    lake = water((0, 0, 0, "land"), (0.5, 9, 0, "fresh"), (2, 0, 0, "land"))
    with pytest.raises(InputError, match=r"terrain.csv:3 ground_m: found a bed at 9 m"):
        hops({**row, "terrain": lake}, water_high_m=3)


def test_terrain_that_ends_short_is_told_at_its_last_row(hops):
    short = water((0, 0, 0, "land"), (0.5, 0, 0, "land"), (1, 0, 0, "land"))
    with pytest.raises(InputError, match=r"terrain.csv:4 distance_m: found terrain that ends at"):
        hops({"length_m": 2 * KM, "terrain": short})
