"""Site cards of a project in US units: the metric cards in feet, live in the same way.

The foot is 0.3048 m, exact. The reference is the metric book of the same design, recalculated by a
second engine; limits of it are worked by hand in the tests of the metric cards.
"""

import re
from pathlib import Path

import book_formulas
import openpyxl
import pytest
import recalculation
from book_reading import load
from site_card_designs import SHEETS, WATER, whole
from small_designs import Typed

from backhaul.api import read_design
from backhaul.as_built.acceptance import accept
from backhaul.book.keys import safe
from backhaul.budgets.site_readings import readings_of

FOOT = 0.3048
RESERVOIR = Path(__file__).parents[2] / "demo" / "reservoir"


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    """The metric book and the same in feet."""
    made = {}
    for units in ("metric", "US"):
        folder = tmp_path_factory.mktemp(units) / "d"
        evaluation = whole(folder, project={**WATER, "units": units})
        made[units] = evaluation, Typed(evaluation, *SHEETS, "open_points")
    return made


@pytest.fixture(scope="module")
def cards(books):
    return {
        units: recalculation.recalculate(book.data, "formualizer")["Site cards"]
        for units, (_, book) in books.items()
    }


def test_a_second_engine_computes_what_is_stored(books):
    data = books["US"][1].data
    assert not recalculation.compare(data)
    assert not book_formulas.empty_references(data)


def test_each_figure_is_the_metric_one_or_that_in_feet(books, cards):
    """Cells by key: a page may break elsewhere where a line is longer."""
    turned = set()
    for key in books["metric"][1].layout.spots:
        (sheet, place), (_, other_place) = (books[units][1].place(key) for units in books)
        if sheet != "Site cards" or place not in cards["metric"]:
            continue
        value, other = cards["metric"][place], cards["US"][other_place]
        is_same = (
            value == other or isinstance(value, str) or value == pytest.approx(other, rel=1e-12)
        )
        if isinstance(value, float | int) and not is_same:
            feet = value / FOOT
            if key.endswith(".keep_away_m"):  # kept for safety: rounded up again
                assert feet - 1e-6 <= other <= feet + 0.1, key
                feet = other
            assert other == pytest.approx(feet), key
            turned.add(key)
        # every figure whose key says metres, and those of a reading of a height or length
        if isinstance(value, float | int) and re.search(r"_m$|\.(height|length)\..*est$", key):
            assert key in turned or value == 0, key
    assert len(turned) > 10


def test_each_reading_is_the_metric_one_in_the_unit_of_its_row(books, cards):
    """By hand: a foot is 0.3048 m. `readings` judges by the same limits, in metres."""
    found = readings_of(books["US"][0]).values()
    judged = {safe(reading.key): reading for listed in found for reading in listed}
    sheet, seen = load(books["US"][1].data, values=True)["Site cards"], set()
    for key in books["US"][1].layout.spots:
        found = re.fullmatch(r"card\.\d+\.(.*)\.(expected|lowest|highest)", key)
        if not found or found[1] not in judged:  # slices of the water stand beside the card
            continue
        (_, place), (_, metric_place) = (books[units][1].place(key) for units in ("US", "metric"))
        value, metric = cards["US"].get(place), cards["metric"].get(metric_place)
        unit = sheet[re.sub("^[A-Z]+", "F", place)].value
        if not isinstance(metric, float | int):
            assert value == metric, key
            continue
        foot = FOOT if unit == "ft" else 1.0
        assert unit != "m"
        assert value * foot == pytest.approx(metric, rel=1e-9), key
        limits = judged[found[1]].limits
        assert value * foot == pytest.approx(getattr(limits, found[2]), rel=1e-9), key
        seen.add((judged[found[1]].kind, unit))
    assert {("channel", "ft"), ("height", "ft"), ("length", "ft"), ("level", "dBm")} <= seen


def test_no_metre_is_left_on_a_card(books):
    """Words, heads and links on the printed columns."""
    sheet = load(books["US"][1].data, values=True)["Site cards"]
    told = [cell for row in sheet.iter_rows(max_col=12) for cell in row]
    texts = [str(cell.value) for cell in told if cell.value is not None]
    assert sum(" ft" in text for text in texts) > 10
    assert not [text for text in texts if re.search(r"\d k?m(?![\w/²])|, k?m$|^k?m$", text)]


@pytest.mark.parametrize("height", [6.2, 6.4])
def test_a_height_typed_in_feet_is_judged_as_in_metres(height, books):
    words = {
        units: books[units][1].typed({"card.1.h1.height.near.reading": typed})[
            "card.1.h1.height.near.verdict"
        ]
        for units, typed in (("metric", height), ("US", height / FOOT))
    }
    assert words["metric"] == words["US"] == ("OK" if height == 6.2 else "FAIL")


@pytest.mark.parametrize("level_m", [98.0, 99.9, 101.3, 150.0])
def test_a_water_level_typed_in_feet_narrows_the_same_limits(level_m, books):
    found = {}
    for units, level in (("metric", level_m), ("US", level_m / FOOT)):
        key = "card.1.h1.level.near"
        typed = books[units][1].typed({f"{key}.water_m": level, f"{key}.reading": -45.0})
        found[units] = [typed[f"{key}.{name}"] for name in ("lowest", "highest", "verdict")]
    for one, other in zip(found["metric"], found["US"], strict=True):
        assert other == (one if isinstance(one, str) else pytest.approx(one, abs=1e-6))


def test_readings_in_feet_come_back_in_metres(books, tmp_path):
    evaluation, book = books["US"]
    (tmp_path / "filled.xlsx").write_bytes(book.data)
    filled = openpyxl.load_workbook(tmp_path / "filled.xlsx")
    for key, value in (("height.near.reading", 20.5), ("level.near.water_m", 328.0)):
        sheet, address = book.place(f"card.1.h1.{key}")
        filled[sheet][address] = value
    sheet, address = book.place("card.1.h1.level.near.reading")
    filled[sheet][address] = -45.0
    filled.save(tmp_path / "filled.xlsx")
    found = accept(evaluation, [tmp_path / "filled.xlsx"])
    assert not found.not_used
    taken = {each.reading.key: each for each in found.judged if each.taken}
    assert taken["h1.height.near"].value == pytest.approx(20.5 * FOOT)
    assert taken["h1.level.near"].taken.water_level_m == pytest.approx(328.0 * FOOT)


def test_a_readings_table_may_be_in_feet(tmp_path):
    import shutil

    shutil.copytree(RESERVOIR, tmp_path / "d")
    (tmp_path / "d" / "readings.csv").write_text(
        "site,reading,value,unit,water_level_ft\n"
        "Crest mast,crest-hop.height.near,22.96588,ft,\n"
        "Crest mast,crest-hop.level.near,-48,dBm,680\n"
    )
    from backhaul.api import evaluate, read_readings

    design = read_design(tmp_path / "d")
    assert evaluate(design).verdict
    judged = {each.reading.key: each for each in read_readings(design).judged if each.taken}
    assert judged["crest-hop.height.near"].value == pytest.approx(7.0, abs=1e-5)
    assert judged["crest-hop.level.near"].taken.water_level_m == pytest.approx(680 * FOOT)


def test_the_order_list_tells_feet_and_gauges_besides(tmp_path):
    """Reels in feet, and what is ordered is their sum; areas with their gauges."""
    evaluation = whole(tmp_path / "d", project={**WATER, "units": "US"})
    book = Typed(evaluation, *SHEETS, "order_list", "order_runs", "requirements")
    assert not recalculation.compare(book.data)
    found = recalculation.recalculate(book.data, "formualizer")["Order list"]
    told = []
    for key in book.layout.spots:
        if re.fullmatch(r"order\.\d+\.pack", key):
            words = str(found.get(book.place(key)[1], ""))
            ordered = found.get(book.place(key.replace(".pack", ".ordered"))[1])
            told += [(words, ordered)] if " ft" in words and "×" in words else []
    assert told
    for words, ordered in told:
        reels = re.findall(r"(\d+) × ([\d.]+) ft", words)
        feet = sum(int(count) * float(size) for count, size in reels)
        assert feet == pytest.approx(ordered, abs=0.51)
        assert all(
            float(size) * FOOT == pytest.approx(round(float(size) * FOOT), abs=0.02)
            for _, size in reels
        )
    sheet = load(book.data, values=True)["Order list"]
    texts = " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row)
    assert "mm² (" in texts and "AWG)" in texts
