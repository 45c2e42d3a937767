"""Site cards: readings judged at once, limits worked by hand.

Outside references: the loss limit of TIA-568.3-D and ISO/IEC 14763-3 (0.75 dB a pair, 0.30 dB a
splice, 0.50 dB for the single-mode pairs at the test cords, as quoted in trade guidance), worked by
hand below. Designs are invented.
"""

import pytest
from site_card_designs import LIGHT, SHEETS, WATER, cards, keys, whole
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


@pytest.fixture(scope="module")
def reservoir(tmp_path_factory):
    evaluation = whole(tmp_path_factory.mktemp("cards") / "d", project=WATER)
    return evaluation, Typed(evaluation, *SHEETS)


READINGS = [
    ("loss0b", 1.5, "OK"),
    ("loss0b", 3.784, "OK"),
    ("loss0b", 3.79, "FAIL"),
    ("loss0b", 0.1, "FAIL"),
    ("radio0a", -54.0, "OK"),
    ("radio0a", -20.0, "FAIL"),
    ("radio0a", -95.0, "FAIL"),
    ("line.0", 50.0, "OK"),
    ("line.0", 57.0, "OK"),
    ("line.0", 57.1, "FAIL"),
    ("line.0", 20.0, "FAIL"),
    ("copper.0", 25.0, "OK"),
    ("copper.0", 100.5, "FAIL"),
    ("earth", "yes", "OK"),
    ("earth", "no", "FAIL"),
]


@pytest.mark.parametrize(("name", "reading", "wanted"), READINGS)
def test_a_typed_reading_is_judged(reservoir, name, reading, wanted):
    book = reservoir[1]
    key = f"card.1.{name}"
    found = book.typed({f"{key}.reading": reading})
    assert found[f"{key}.verdict"] == wanted
    others = [
        each
        for each in keys(book.book)
        if each.endswith(".verdict") and each.count(".") > 2 and each != f"{key}.verdict"
    ]
    assert {found[each] for each in others} == {"open"}
    assert found["card.1.verdict"] == ("FAIL" if wanted == "FAIL" else "open")


def test_the_overview_counts(reservoir):
    book = reservoir[1]
    ticks = {
        f"card.2.{name}.reading": answer for name, answer in (("earth", "yes"), ("fixings", "no"))
    }
    found = book.typed(ticks)
    assert (found["card.2.ok"], found["card.2.failed"]) == (1, 1)
    total = sum(key.startswith("card.2.") and key.endswith(".reading") for key in keys(book.book))
    assert found["card.2.open"] == total - 2


def test_a_card_is_ok_when_all_is_read(reservoir):
    book = reservoir[1]
    names = [
        key[: -len(".reading")]
        for key in keys(book.book)
        if key.startswith("card.2.") and key.endswith(".reading")
    ]
    values = {}
    for sheet_row in cards(book.book).rows:
        for cell in sheet_row.cells:
            key = getattr(cell, "key", "")
            if key.endswith(".expected") and key[: -len(".expected")] in names:
                values[f"{key[: -len('.expected')]}.reading"] = cell.value
    values |= {
        f"{name}.reading": "yes"
        for name in names
        if f"{name}.reading" not in values and name.split(".")[-1] in ("earth", "fixings")
    }
    values |= {f"{name}.reading": 8.0 for name in names if name.split(".", 2)[2] == "copper.1"}
    found = book.typed(values)
    assert [name for name in names if found[f"{name}.verdict"] != "OK"] == []
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
    assert found["card.1.loss0b.limit_db"] == pytest.approx(LIMIT_DB)
    assert found["card.1.loss0b.highest"] == pytest.approx(LIMIT_DB)
    assert found["card.0.loss0a.highest"] == pytest.approx(LIMIT_DB)


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
    assert found["card.1.loss0b.highest"] == pytest.approx(LIMIT_DB + 0.4 + 0.5)
    now = book.typed({})
    assert found["card.1.radio0a.highest"] == pytest.approx(now["card.1.radio0a.highest"] + 2.0)
    assert found["card.1.radio0a.lowest"] == pytest.approx(now["card.1.radio0a.lowest"] - 2.0)


def test_what_the_budget_cannot_bear_is_not_accepted(tmp_path):
    """Where the margin runs out before the standard's limit, the budget's limit stands."""
    lines = [line.replace("length_m=1700", "length_m=9900") for line in LIGHT]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = Typed(evaluation, *SHEETS).typed({})
    values = evaluation.optical.values
    bears = float(values["loss_max_db"][0] + values["margin_db"][0])
    assert bears < found["card.1.loss0b.limit_db"]
    assert found["card.1.loss0b.highest"] == pytest.approx(bears)


def test_light_at_a_receiver_is_never_allowed_to_overload(tmp_path):
    lines = [
        line.replace("1000base-lx10-i", "1000base-zx").replace("1000base-lx10", "1000base-zx")
        for line in LIGHT
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = Typed(evaluation, *SHEETS).typed({})
    overload = evaluation.catalog.optics["1000base-zx"].overload_dbm
    assert float(evaluation.optical.values["received_max_dbm"][0]) > overload
    assert found["card.1.light0b.highest"] == pytest.approx(overload)
