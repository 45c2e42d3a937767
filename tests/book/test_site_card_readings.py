"""Site cards: readings judged at once, limits worked by hand.

Outside references: the loss limit of TIA-568.3-D and ISO/IEC 14763-3 (0.75 dB a pair, 0.30 dB a
splice, 0.50 dB for the single-mode pairs at the test cords, as quoted in trade guidance), worked by
hand below. Designs are invented.
"""

import numpy as np
import pytest
from site_card_designs import LIGHT, SHEETS, WATER, keys, whole
from small_designs import Typed, evaluated, rows

from backhaul.book.inputs import row_key
from backhaul.book.sheets.site_card import (
    at_least_verdict,
    at_most_verdict,
    bearing_verdict,
    between_verdict,
    tick_verdict,
)
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.site_readings import readings_of


@pytest.fixture(scope="module")
def reservoir(tmp_path_factory):
    evaluation = whole(tmp_path_factory.mktemp("cards") / "d", project=WATER)
    return evaluation, Typed(evaluation, *SHEETS)


READINGS = [
    ("p.9.loss", 1.5, "OK"),
    ("p.9.loss", 3.784, "OK"),
    ("p.9.loss", 3.79, "FAIL"),
    ("p.9.loss", 0.1, "FAIL"),
    ("h1.level.near", -20.0, "FAIL"),
    ("h1.level.near", -95.0, "FAIL"),
    ("h1.chain1.near", -95.0, "FAIL"),
    ("h1.height.near", 6.2, "OK"),
    ("h1.height.near", 6.4, "FAIL"),
    ("h1.poe.near", 50.0, "OK"),
    ("h1.poe.near", 57.0, "OK"),
    ("h1.poe.near", 57.1, "FAIL"),
    ("h1.poe.near", 20.0, "FAIL"),
    ("s.2.breaker", 10.0, "OK"),
    ("s.2.breaker", 63.0, "FAIL"),
    ("p.12.channel", 25.0, "OK"),
    ("p.12.channel", 100.5, "FAIL"),
    ("p.12.channel", "25 m", "FAIL"),
    ("crest.earth", "yes", "OK"),
    ("crest.earth", "no", "FAIL"),
]


@pytest.mark.parametrize(("name", "reading", "wanted"), READINGS)
def test_a_typed_reading_is_judged(reservoir, name, reading, wanted):
    book = reservoir[1]
    key = f"card.1.{name}"
    water = (
        {f"{key.replace('chain1', 'level')}.water_m": 100.0}
        if "h1.l" in key or "chain" in key
        else {}
    )
    found = book.typed({f"{key}.reading": reading, **water})
    assert found[f"{key}.verdict"] == wanted
    others = [
        each
        for each in keys(book.book)
        if each.endswith(".verdict") and each.count(".") > 2 and each != f"{key}.verdict"
    ]
    assert {found[each] for each in others} == {"open", "–"}
    assert found["card.1.verdict"] == ("FAIL" if wanted == "FAIL" else "open")


def test_the_overview_counts(reservoir):
    book = reservoir[1]
    ticks = {
        f"card.2.tower.{name}.reading": answer
        for name, answer in (("earth", "yes"), ("fixings", "no"))
    }
    found = book.typed(ticks)
    assert (found["card.2.ok"], found["card.2.failed"]) == (1, 1)
    total = sum(
        key.startswith("card.2.") and key.endswith(".verdict") and key.count(".") > 2
        for key in keys(book.book)
    )
    assert found["card.2.open"] == total - 2 - 2  # two chains may be left out


def test_a_card_is_ok_when_all_is_read(reservoir):
    evaluation, book = reservoir
    values: dict = {}
    for reading in readings_of(evaluation)["tower"]:
        key = f"card.2.{reading.key}"
        if reading.is_text or reading.is_optional:
            continue
        if reading.needs_water:
            values[f"{key}.water_m"] = 99.5
        wanted = reading.limits_at(99.5 if reading.needs_water else None).expected
        values[f"{key}.reading"] = "yes" if reading.is_tick else wanted
    found = book.typed(values)
    verdicts = {
        key: found[f"{key.removesuffix('.reading')}.verdict"] for key in values if "reading" in key
    }
    assert set(verdicts.values()) == {"OK"}, verdicts
    assert found["card.2.verdict"] == "OK"


@pytest.mark.parametrize(
    ("reading", "wanted"),
    [
        (359.5, "OK"),
        (0.0, "OK"),
        (2.0, "OK"),
        (358.0, "OK"),
        (2.1, "FAIL"),
        (357.9, "FAIL"),
        (180.0, "FAIL"),
        (-1.0, "OK"),
        (361.0, "OK"),
    ],
)
def test_a_bearing_goes_through_north(reading, wanted):
    assert str(bearing_verdict(reading=reading, lowest=358.0, highest=2.0)) == wanted


@pytest.mark.parametrize(
    ("formula", "limits", "inside", "outside"),
    [
        (between_verdict, {"lowest": -3.0, "highest": 2.0}, (-3.0, 2.0, 0.0), (-3.1, 2.1)),
        (at_least_verdict, {"lowest": 42.5}, (42.5, 50.0), (42.4,)),
        (at_most_verdict, {"highest": 90.0}, (90.0, 3.0), (90.1,)),
    ],
)
def test_limits_belong_to_what_is_accepted(formula, limits, inside, outside):
    assert {str(formula(reading=reading, **limits)) for reading in inside} == {"OK"}
    assert {str(formula(reading=reading, **limits)) for reading in outside} == {"FAIL"}


def test_sums_of_tenths_do_not_fail():
    assert str(at_least_verdict(reading=0.3 - 0.1 - 0.2, lowest=0.0)) == "OK"
    assert str(tick_verdict(reading="perhaps")) == "FAIL"


# 1.71 km at 0.4 dB/km, two pairs at the test cords, two pairs and two splices between
LIMIT_DB = 1.71 * 0.4 + 2 * 0.50 + 2 * 0.75 + 2 * 0.30


def test_the_loss_limit_by_hand(reservoir):
    found = reservoir[1].typed({})
    assert found["light.0.a.accepted_loss_db"] == pytest.approx(LIMIT_DB)
    assert found["card.1.p.9.loss.highest"] == pytest.approx(LIMIT_DB)
    assert found["card.0.p.2.loss.highest"] == pytest.approx(LIMIT_DB)


def test_limits_follow_the_givens(reservoir):
    evaluation, book = reservoir
    cable = next(run.row for run in cable_runs(evaluation) if run.row.label == "C1")
    found = book.typed(
        {
            row_key(cable, "length_m"): 2700,
            "given.rule.end_pair_db.single": 0.75,
            "given.rule.level_tolerance_db": 5.0,
        }
    )
    assert found["card.1.p.9.loss.highest"] == pytest.approx(LIMIT_DB + 0.4 + 0.5)
    now = book.typed({})
    assert found["card.1.h1.level.near.highest"] == pytest.approx(
        now["card.1.h1.level.near.highest"] + 2.0
    )
    assert found["card.1.h1.level.near.lowest"] == pytest.approx(
        now["card.1.h1.level.near.lowest"] - 2.0
    )


def test_what_the_budget_cannot_bear_is_not_accepted(tmp_path):
    """Where the margin runs out before the standard's limit, the budget's limit stands."""
    lines = [line.replace("length_m=1700", "length_m=9900") for line in LIGHT]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = Typed(evaluation, *SHEETS).typed({})
    values = evaluation.optical.values
    bears = float(values["loss_max_db"][0] + values["margin_db"][0])
    assert bears < found["light.0.a.accepted_loss_db"]
    assert found["card.1.p.9.loss.highest"] == pytest.approx(bears)


# By the water level ---------------------------------------------------------------------------

#: Two rays over flat calm water, any handbook: the reflected one turned by half a cycle.
C_M_PER_NS = 0.299792458


def _two_ray_db(*, height1_m, height2_m, distance_m, frequency_ghz):
    half_phase = 2 * np.pi * height1_m * height2_m * frequency_ghz / (C_M_PER_NS * distance_m)
    return 20 * np.log10(np.maximum(2 * np.abs(np.sin(half_phase)), 1e-6))


def _levels(evaluation):
    return next(r for r in readings_of(evaluation)["crest"] if r.key == "h1.level.near")


def test_limits_by_water_level_hold_the_two_rays_of_a_handbook(reservoir):
    """Each slice of the water holds what the flat-earth formula gives there."""
    evaluation = reservoir[0]
    reading, hops = _levels(evaluation), evaluation.radio.hops
    heights, distance_m = hops.height_m[0], 1000 * float(hops.distance_km[0])
    band = reading.band
    middles = (band.from_m + np.append(band.from_m[1:], band.high_m)) / 2
    by_hand = _two_ray_db(
        height1_m=heights[0] - middles,
        height2_m=heights[1] - middles,
        distance_m=distance_m,
        frequency_ghz=5.6,
    )
    strong = by_hand > -10  # a null itself moves with refraction and shallow roughness
    assert strong.mean() > 0.7
    assert np.all(by_hand[strong] <= band.highest_db[strong] + 0.5)
    assert np.all(by_hand[strong] >= band.lowest_db[strong] - 0.5)
    assert np.ptp(band.expected_db) > 3  # it moves


@pytest.mark.parametrize("water_m", [96.0, 98.35, 101.0, 104.0])
def test_a_typed_water_level_moves_expected_and_limits(reservoir, water_m):
    """The workbook and the readings say the same; a level far from expected there fails."""
    evaluation, book = reservoir
    reading, key = _levels(evaluation), "card.1.h1.level.near"
    limits, everywhere = reading.limits_at(water_m), reading.limits
    assert limits.lowest >= everywhere.lowest and limits.highest <= everywhere.highest
    found = book.typed({f"{key}.water_m": water_m, f"{key}.reading": limits.expected})
    for name, value in limits._asdict().items():
        assert found[f"{key}.{name}"] == pytest.approx(value, abs=1e-5)
    assert found[f"{key}.verdict"] == "OK"
    for far in (limits.lowest - 0.1, limits.highest + 0.1):
        judged = book.typed({f"{key}.water_m": water_m, f"{key}.reading": far})
        assert judged[f"{key}.verdict"] == "FAIL"


def test_one_level_is_good_at_one_water_and_not_at_another(reservoir):
    evaluation, book = reservoir
    band, reading, key = _levels(evaluation).band, _levels(evaluation), "card.1.h1.level.near"
    weakest = float(band.from_m[int(np.argmin(band.highest_db))]) + 0.05
    strong = reading.limits_at(float(band.from_m[int(np.argmax(band.lowest_db))]) + 0.05).highest
    found = book.typed({f"{key}.water_m": weakest, f"{key}.reading": strong})
    assert found[f"{key}.verdict"] == "FAIL"


def test_without_a_water_level_nothing_is_accepted(reservoir):
    book, key = reservoir[1], "card.1.h1.level.near"
    found = book.typed({f"{key}.reading": _levels(reservoir[0]).limits.expected})
    assert found[f"{key}.verdict"] == "water?"
    beyond = book.typed({f"{key}.reading": -60.0, f"{key}.water_m": 120.0})
    assert beyond[f"{key}.lowest"] == "no pass" and beyond[f"{key}.verdict"] == "FAIL"


# Where no reading can be met --------------------------------------------------------------------


def test_no_limits_where_the_lowest_lies_above_the_highest(tmp_path):
    """Too much light: the lowest level of the budget is above what the receiver stands."""
    lines = [
        line.replace("1000base-lx10-i", "1000base-zx").replace("1000base-lx10", "1000base-zx")
        for line in LIGHT
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    reading = next(r for r in readings_of(evaluation)["crest"] if r.key == "p.9.light")
    assert not reading.limits.can_be_met
    book, key = Typed(evaluation, *SHEETS), "card.1.p.9.light"
    found = book.typed({})
    assert (found[f"{key}.lowest"], found[f"{key}.highest"]) == ("no pass", "no pass")
    for reading_dbm in (-3.0, -2.0, 0.0):
        assert book.typed({f"{key}.reading": reading_dbm})[f"{key}.verdict"] == "FAIL"
