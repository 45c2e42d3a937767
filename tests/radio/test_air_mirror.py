"""The water's mirror through the whole tool: geometry, screens, remedies, curve."""

import re

import numpy as np
import pytest

from backhaul.budgets.water_reflection import reflection_curve

KM = 1000
#: 12 km, 5.8 GHz, 20 m and 16 m over mean water: ITU-R P.530 sec. 6.1, radio tables.
SEA = {"length_m": 12 * KM, "height_m": 20, "to_height_m": 16, "surface": "sea"}
TIDE = {"water_low_m": -2.5, "water_high_m": 2}


def shore(*points):
    return [(x * KM, ground, cover, surface) for x, ground, cover, surface in points]


def test_deepest_fade_is_found_between_the_steps(hops):
    """With |rho| 0.9992 and divergence D the null is 20 log10(1 - 0.9992 D): at k = 3, where D is
    nearest 1, deeper than any level of the tide table (-15.99 dB at -2 m, k = 4/3)."""
    hop = hops(SEA, **TIDE).hop
    assert hop["reflection_k"] == 3.0
    assert hop["reflection_loss_db"] == pytest.approx(26.12, abs=0.02)  # doctest of the sweep
    assert hop["reflection_loss_db"] > 15.99
    assert -2.5 <= hop["reflection_at_water_m"] <= 2


@pytest.mark.parametrize("pair", [("H", "V")])
def test_either_polarization_is_the_worse(hops, pair):
    losses = {
        pol: hops({**SEA, "polarization": pol}, **TIDE).hop["reflection_loss_db"]
        for pol in ("H", "V", "VH", None)
    }
    assert losses["VH"] == losses[None] == max(losses[pol] for pol in pair)


def test_blank_low_water_is_the_high_one(hops):
    still = hops(SEA, water_high_m=1.0).hop
    same = hops(SEA, water_low_m=1.0, water_high_m=1.0).hop
    assert still["reflection_loss_db"] == same["reflection_loss_db"]
    assert still["reflection_at_water_m"] == 1.0


def test_margin_holds_the_reflection(hops):
    dry = hops(
        {**SEA, "terrain": shore((0, -30, 0, "land"), (6, -30, 0, "land"), (12, -30, 0, "land"))}
    )
    wet = hops(SEA, **TIDE)
    modes = [found.hop["directions"][0]["modes"][0]["margin_db"] for found in (dry, wet)]
    assert dry.hop["reflection_loss_db"] == 0
    assert modes[0] - modes[1] == pytest.approx(
        wet.hop["reflection_loss_db"] + wet.hop["diffraction_loss_db"]
    )


def test_waves_stand_beside_the_calm(hops):
    calm, rough = (hops(SEA, **TIDE, wave_height_m=h).hop for h in (0, 4))
    assert calm["reflection_loss_waves_db"] == pytest.approx(calm["reflection_loss_db"])
    assert rough["reflection_loss_db"] == calm["reflection_loss_db"]
    assert rough["reflection_loss_waves_db"] < rough["reflection_loss_db"] - 3


def test_land_takes_its_share_of_the_mirror(hops):
    """The Fresnel zone of the reflection is kilometres long here: F1 of 12.5 m over the sine of
    0.15 degrees. An island in its middle hides the rest from one end, land takes all but a pond."""
    sea = shore((0, 0, 0, "land"), (3, -3, 0, "sea"), (9, -3, 0, "sea"), (12, 0, 0, "land"))
    island = shore(
        (0, 0, 0, "land"),
        (3, -3, 0, "sea"),
        (5.9, -3, 0, "sea"),
        (6, 3, 0, "land"),
        (7.4, 3, 0, "land"),
        (7.5, -3, 0, "sea"),
        (12, 0, 0, "land"),
    )
    pond = shore((0, 0, 0, "land"), (0.1, -3, 0, "sea"), (0.2, 3, 0, "land"), (12, 0, 0, "land"))
    open_sea = hops({**SEA, "terrain": sea}, **TIDE).hop
    assert 5.9 < open_sea["reflection_at_km"] < 7.4
    broken = hops({**SEA, "terrain": island}, **TIDE).hop
    dry = hops({**SEA, "terrain": pond}, **TIDE)
    losses = [hop["reflection_loss_db"] for hop in (open_sea, broken, dry.hop)]
    assert losses[0] > 15 and losses[1] < 3 and losses[2] < 0.5
    assert dry.findings("radio-reflection") == []


def test_a_river_counts_by_its_width(hops):
    """Strip of 60 m at the mirror of 10 km, 5.8 GHz, 30 m up: v = 0.0224 at each edge (the zone's
    edge parameter), so 2 x 0.0224 / sqrt(2) = 3.2 % of the amplitude: 20 log(1 - 0.032) = 0.28 dB.
    Nothing at all is left of it as it narrows."""
    losses = []
    for wide in (0.06, 0.006, 0.0006):
        bank = (5 - wide / 2, 5 + wide / 2)
        land = [(0, 0, 0, "land"), (bank[0], -1, 0, "fresh"), (bank[1], 0, 0, "land")]
        row = {"length_m": 10 * KM, "height_m": 30, "to_height_m": 30}
        hop = hops(
            {**row, "terrain": shore(*land, (10, 0, 0, "land"))}, water_high_m=0, water_low_m=0
        ).hop
        losses.append(hop["reflection_loss_db"])
    assert losses[0] == pytest.approx(0.28, abs=0.1)
    assert losses[0] > losses[1] > losses[2]
    assert losses[2] < 0.01


def test_a_screen_on_either_leg_breaks_the_mirror(hops):
    """Antennas at 30 m: 1.5 km from the point of reflection half way the reflected ray passes
    7 m over the water, the direct one 27 m: a wall of 14 m takes the one and leaves the other."""
    for place in (4.5, 7.5):
        points = [
            (0, 0, 0, "land"),
            (1, 0, 0, "sea"),
            (place, 0, 14, "land"),
            (place - 0.1, 0, 0, "sea"),
            (place + 0.1, 0, 0, "sea"),
            (11, 0, 0, "sea"),
            (12, 0, 0, "land"),
        ]
        found = hops(
            {**SEA, "height_m": 30, "to_height_m": 30, "terrain": shore(*sorted(points))},
            water_low_m=-1,
            water_high_m=1,
        )
        bare = hops(
            {
                **SEA,
                "height_m": 30,
                "to_height_m": 30,
                "terrain": shore(*((x, g, 0, s) for x, g, c, s in sorted(points))),
            },
            water_low_m=-1,
            water_high_m=1,
        )
        assert bare.hop["reflection_loss_db"] > 10
        assert found.hop["reflection_loss_db"] == 0


@pytest.mark.parametrize(
    "given, project, says",
    [
        ({"to_height_m": 1.5}, TIDE, "is not above the highest water"),
        ({"to_height_m": None}, TIDE, "height of an antenna"),
        ({"near_ground_m": None}, TIDE, "ground_m of a site"),
        ({"length_m": 60 * KM, "height_m": 3, "to_height_m": 3}, TIDE, "do not see each other"),
        (
            {"terrain": shore((0, 0, 0, "land"), (6, None, 0, "sea"), (12, 0, 0, "land"))},
            {},
            "the highest level of the water under the hop is not given",
        ),
    ],
)
def test_unknown_mirror_is_null_and_says_why(hops, given, project, says):
    found = hops({**SEA, **given}, **project)
    assert found.hop["reflection_loss_db"] is None
    assert says in found.findings("radio-reflection", "thin")[0]["message"]


def test_hop_not_known_to_be_over_water_has_no_figure(hops):
    hop = hops(SEA).hop
    assert hop["reflection_loss_db"] is None and hop["directions"][0]["modes"][0]["margin_db"]


@pytest.mark.parametrize(
    "given, project",
    [
        (SEA, {"water_low_m": -2.5, "water_high_m": 0}),
        (
            {"length_m": 5 * KM, "height_m": 20, "to_height_m": 14, "surface": "sea"},
            {"water_low_m": 0, "water_high_m": 1},
        ),
        (
            {
                "length_m": 2 * KM,
                "height_m": 14,
                "to_height_m": 16,
                "terrain": shore(
                    (0, 5, 0, "land"), (0.2, 0, 0, "fresh"), (1.9, 0, 0, "fresh"), (2, 6, 0, "land")
                ),
            },
            {"water_low_m": 0, "water_high_m": 1},
        ),
        (
            {"length_m": 8 * KM, "height_m": 22, "to_height_m": 33, "surface": "sea"},
            {"water_low_m": 0, "water_high_m": 2},
        ),
        (
            {"length_m": 5 * KM, "height_m": 39, "to_height_m": 30, "surface": "sea"},
            {"water_low_m": 0, "water_high_m": 1},
        ),
        (
            {"length_m": 20 * KM, "height_m": 26, "to_height_m": 7, "surface": "sea"},
            {"water_low_m": 0, "water_high_m": 2.5},
        ),
    ],
)
def test_the_height_remedy_settles_it(hops, given, project):
    found = hops(given, **project)
    remedy = found.findings("radio-reflection", "thin")[0]["remedy"]
    if remedy.startswith("no change of both heights within 10 m keeps the clearance"):
        assert found.findings("radio-clearance")  # nor does any raise within 10 m mend it
        return
    told = re.findall(r"(raise|lower) the antenna at (near|far)\d+ by ([\d.]+) m", remedy)
    left = float(re.search(r"which leaves ([\d.]+) dB", remedy)[1])
    changes = {end: float(by) * (1 if verb == "raise" else -1) for verb, end, by in told}
    mended = hops(
        {
            **given,
            "height_m": given["height_m"] + changes.get("near", 0),
            "to_height_m": given["to_height_m"] + changes.get("far", 0),
        },
        **project,
    )
    assert mended.hop["reflection_loss_db"] == pytest.approx(left, abs=0.051)
    off = float(re.search(r"\(([\d.]+) dB where mounted 0.3 m off\)", remedy)[1])
    beside = mended.findings("radio-reflection")
    assert bool(beside) == (off > 3) and all("0.3 m off" in f["message"] for f in beside)
    assert mended.findings("radio-clearance") == []


def test_where_no_height_does_a_second_antenna_is_named(hops):
    """Both ends with the spacings told: nothing is left to settle but what the remedy admits."""
    found = hops(SEA, water_low_m=-6, water_high_m=6)
    remedy = found.findings("radio-reflection")[0]["remedy"]
    assert remedy.startswith("no change of both heights within 10 m")
    told = re.findall(
        r"([\d.]+) m (above|below) that at (near|far)\d+ \(leaves ([\d.]+) dB", remedy
    )
    assert {end for *_, end, _ in told} == {"near", "far"}
    columns = {"near": "diversity_m", "far": "to_diversity_m"}
    spaced = {columns[end]: float(by) * (1 if side == "above" else -1) for by, side, end, _ in told}
    mended = hops({**SEA, **spaced}, water_low_m=-6, water_high_m=6)
    left = max(float(db) for *_, db in told)
    assert mended.hop["reflection_loss_db"] == pytest.approx(left, abs=0.2)
    assert mended.hop["reflection_loss_db"] < found.hop["reflection_loss_db"] - 10


def test_antennas_that_tell_the_rays_apart(hops):
    """500 m, 60 GHz, 20 m high: the rays are 2 * 20 / 500 rad = 4.6 degrees apart, and a beam of
    1.2 degrees hardly hears the reflection: the loss falls below 3 dB."""
    row = {
        "length_m": 500,
        "frequency_ghz": 60,
        "height_m": 20,
        "to_height_m": 20,
        "surface": "sea",
    }
    wide = hops(row, water_high_m=1, water_low_m=0).hop
    narrow = hops({**row, "antenna": "dish-43dbi"}, water_high_m=1, water_low_m=0).hop
    assert narrow["reflection_loss_db"] < 3 < wide["reflection_loss_db"]


def test_fresh_water_is_not_sea(hops):
    row = {
        "length_m": 1000,
        "frequency_ghz": 5.8,
        "height_m": 30,
        "to_height_m": 30,
        "polarization": "V",
        "surface": "water",
    }
    losses = [
        hops(row, water=kind, water_high_m=1, water_low_m=-1).hop["reflection_loss_db"]
        for kind in ("sea", "fresh")
    ]
    assert losses[0] != losses[1]


def test_curve_shows_the_deepest_fade(hops):
    found = hops(SEA, **TIDE, wave_height_m=1)
    curve = reflection_curve(found.evaluation.radio, 0)
    hop = found.hop
    assert -np.nanmin(curve.level_db) == pytest.approx(hop["reflection_loss_db"], abs=1e-6)
    assert curve.water_m[0] == -2.5 and curve.water_m[-1] == 2
    assert (np.diff(curve.water_m) > 0).all() and curve.level_db.shape == (4, curve.water_m.size)
    assert list(curve.k_factor[1:]) == [1.0, pytest.approx(4 / 3), 3.0]


def test_both_frequencies_of_a_pair_are_swept(hops):
    pair = {**SEA, "part": "any-radio-fdd"}
    there = hops({**pair, "frequency_ghz": 5.8, "to_frequency_ghz": 6.4}, **TIDE).hop
    singles = [
        hops({**SEA, "frequency_ghz": f}, **TIDE).hop["reflection_loss_db"] for f in (5.8, 6.4)
    ]
    assert there["reflection_loss_db"] == pytest.approx(max(singles))
