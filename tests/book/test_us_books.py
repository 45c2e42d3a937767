"""Whole books of projects in US units, held to the metric books of the same designs, cell by cell.

Units by hand: 0.3048 m a foot, 1.609344 km a mile, 25.4 mm an inch, °F = 9/5 °C + 32 (NIST SP 811,
appendix B.8). The metric book is the reference; a second engine computes both.
"""

import csv
import re
import shutil
from functools import cache
from pathlib import Path

import pytest
import recalculation
from all_designs import DESIGNS
from book_reading import load
from thorough import one_in
from typed_books import LiveBook

from backhaul.api import evaluate, read_design
from backhaul.book.us_sheet import UsSheet
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Sheet

DEMO = Path(__file__).parents[2] / "demo"
FOOT = 0.3048
#: How many of the metric unit one of the US is, and what it shows at 0.
BY_HAND = {
    "ft": (FOOT, 0),
    "mi": (1.609344, 0),
    "in": (25.4, 0),
    "°F": (5 / 9, 32),
    "°F rise": (5 / 9, 0),
    "ohm/kft": (1 / FOOT, 0),
    "mph": (0.44704, 0),
}
#: Keys of figures in metric units by their names: a length, a temperature.
METRIC_KEY = re.compile(
    r"(?<!per)(?<!db)(?<!nm2)_(m|km)$|\.(?:ambient_m\w+|temp_m\w+|\w*temperature)_c$"
)
#: What bears a metric unit in a book without being a figure of the design in one.
ALLOWED = (
    r"\w+\.csv:\d+ \w+",  # cells of the design
    r"[\d.]+ mm[²2] \([^)]*(?:AWG|kcmil)\)",  # an area with its gauge
    r"− 20 °C",  # a constant of a formula holds in its own unit
    r"beside the print area stay in m and °C",
    r"k = [\d.e-]+ J/K, T0 = \d+ K",
    r"dB/km|mm/h|g/m³|ps/nm",  # as the trade of the US writes them, too
)
METRIC = re.compile(
    r"\d ?(?:k?m|mm[²2]?|cm)(?![\w/²³·^])|(?:^|, |\[|\()(?:k?m|mm²?|°C)(?:\]|$|\))|°[Cc]|ohm/km|m/s|"
    r"\bin (?:k?m|mm)\b(?![/²³])|\b\d+ K\b|\b[a-z]\w*_m\b|\bkN|\bmetres?\b"
)


def us_copy(design: Path, folder: Path) -> Path:
    shutil.copytree(design, folder)
    project = folder / "project.csv"
    head = "" if project.exists() else "setting,value\n"
    with project.open("a", encoding="utf-8") as file:
        file.write(f"{head}units,US\n")
    return folder


@cache
def _metric(design: Path) -> LiveBook:
    return LiveBook(evaluate(read_design(design)))


OTHERS = [design for design in DESIGNS if design.parent.name == "designs"]


@pytest.fixture(
    scope="module",
    params=[DEMO / "reservoir", DEMO / "estuary", *one_in(4, OTHERS)],
    ids=lambda design: design.name,
)
def books(request, tmp_path_factory):
    """The metric book of a demo and the same in US units."""
    folder = us_copy(request.param, tmp_path_factory.mktemp("us") / request.param.name)
    us = LiveBook(evaluate(read_design(folder)))
    us.demo = request.param
    return _metric(request.param), us


def turned_of(book: LiveBook) -> dict[str, str]:
    sheets = [sheet for sheet in book.book.sheets if isinstance(sheet, UsSheet)]
    return {
        key: "°F rise" if unit.metric == "K" else unit.name
        for sheet in sheets
        for key, unit in sheet.turned.items()
    }


def by_hand(figure: float, unit: str) -> float:
    factor, zero = BY_HAND[unit]
    return figure / factor + zero


def test_every_sheet_is_in_us_units(books):
    assert not [sheet.name for sheet in books[1].book.sheets if type(sheet) is Sheet]


def test_a_second_engine_computes_what_is_stored(books):
    assert not recalculation.compare(books[1].data)


def test_every_cell_is_the_metric_one_or_that_by_hand(books):
    """Verdicts and words that say a verdict the same, figures converted, sheet by sheet."""
    metric, us = books
    turned, compared = turned_of(us), {}
    values = [recalculation.recalculate(book.data, "formualizer") for book in books]
    for key, spot in metric.layout.spots.items():
        other = us.layout.spots.get(key)
        if other is None:
            assert key.startswith("errors."), key
            continue
        one, two = (
            found[book.layout.names[at.sheet]].get(f"{column_letters(at.column)}{at.row}")
            for found, book, at in zip(values, books, (spot, other), strict=True)
        )
        sheet = metric.layout.names[spot.sheet]
        assert type(one) is type(two) or {type(one), type(two)} <= {int, float}, key
        if isinstance(one, int | float) and not isinstance(one, bool):
            wanted = by_hand(one, turned[key]) if key in turned else one
            if key.endswith(".keep_away_m"):  # kept for safety: rounded up again
                assert wanted - 1e-6 <= two <= wanted + 0.1, key
            elif re.fullmatch(r"glance\.confirm\.\d+\.move", key):
                unit = us.shown(key.replace("move", "unit"))
                assert two == pytest.approx(by_hand(one, unit) if unit in BY_HAND else one), key
            else:
                assert two == pytest.approx(wanted, rel=1e-9, abs=1e-9), (key, sheet)
            compared[sheet] = compared.get(sheet, 0) + 1
        elif one in ("pass", "thin", "fail", "OK", "FAIL", "yes", "with care", "not yet"):
            assert two == one, key
    assert len(compared) >= 11 and sum(compared.values()) > 2000


def test_what_a_key_calls_a_length_or_temperature_is_turned(books):
    """On the printed columns; figures beside them stay in SI."""
    us = books[1]
    turned = turned_of(us)
    left = []
    for number, sheet in enumerate(us.book.sheets):
        for row in sheet.rows:
            for cell in row.cells:
                key = getattr(cell, "key", "")
                is_figure = isinstance(getattr(cell, "value", None), int | float)
                if is_figure and METRIC_KEY.search(key) and key not in turned:
                    left.append((us.layout.names[number], key))
    assert not left


def own_words(design: Path) -> set[str]:
    """What somebody typed into the design stays as he wrote it."""
    cells = set()
    for file in design.glob("*.csv"):
        with file.open(encoding="utf-8-sig", newline="") as lines:
            cells.update(cell for row in csv.reader(lines) for cell in row if METRIC.search(cell))
    return cells


@cache
def part_names() -> set[str]:
    """Of the catalogues: they are names, not figures; a longer one first."""
    found = set()
    for file in (DEMO.parent / "catalogs").glob("*.csv"):
        with file.open(encoding="utf-8-sig", newline="") as lines:
            names = [row.get("part", "") for row in csv.DictReader(lines)]
            found.update(name for name in names if METRIC.search(name))
    return found


def told(sheet) -> list[str]:
    cells = [cell for row in sheet.rows for cell in row.cells]
    texts = [cell if isinstance(cell, str) else getattr(cell, "text", "") for cell in cells]
    texts += [cell.value for cell in cells if isinstance(getattr(cell, "value", None), str)]
    texts += [cell.note for cell in cells if getattr(cell, "note", "")]
    for placed in sheet.charts:
        axes = [getattr(placed.chart, name, None) for name in ("x", "y")]
        texts += [placed.chart.title, *(axis.title for axis in axes if axis is not None)]
    return [*texts, sheet.subtitle, sheet.title]


def test_no_metric_unit_is_left(books):
    us = books[1]
    named = own_words(us.demo) | part_names()
    left = {}
    for sheet in us.book.sheets:
        for text in told(sheet):
            plain = text or ""
            for words in sorted(named, key=len, reverse=True):
                plain = plain.replace(words, "")
            for allowed in ALLOWED:
                plain = re.sub(allowed, "", plain)
            if METRIC.search(plain):
                left.setdefault(sheet.name, set()).add(text)
    assert not left


def test_formats_and_limits_say_no_metre(books):
    data = load(books[1].data, values=True)
    formats = {cell.number_format for sheet in data for row in sheet.iter_rows() for cell in row}
    assert not [shown for shown in formats if re.search(r'"[^"]*\b(?:k?m|mm|°C)"', shown)]


def followers(book: LiveBook) -> list[str]:
    """Keys of what moves: answers, states, verdicts, margins, clearances, what is ordered."""
    wanted = re.compile(
        r"answer|status\.\w+|.*(?:verdict|margin_db|ratio_\w+|limit_m|load_v|ordered|rate_up|pack)|"
        r"state\.given\..*(?:_m|_c)"
    )
    return [key for key in book.layout.spots if wanted.fullmatch(key)]


def test_a_cell_typed_in_feet_moves_what_one_in_metres_moves(books):
    """Every yellow cell whose unit is another: by a little, by much, beyond its limits, words."""
    metric, us = books
    turned = turned_of(us)
    yellow = {cell.key: cell for cell in us.yellow}
    pairs = [(cell, yellow[cell.key]) for cell in metric.yellow if cell.key in turned]
    keys = [key for key in followers(metric) if key in us.layout.spots]
    assert len(pairs) > 25 and len(keys) > 200
    for one, other in one_in(6, pairs):
        before = (
            one.cell.value if isinstance(getattr(one.cell, "value", None), int | float) else None
        )
        unit = turned[one.key]
        figures = [5.0] if before is None else [before * 0.97 + 0.1, before * 2 + 1]
        most = one.cell.most
        figures += [most * (1 - 1e-9), most + 1] if most is not None and most < 1e5 else []
        for figure in (*figures, "words"):
            typed = figure if figure == "words" else by_hand(figure, unit)
            metric.engine.set_value(one.sheet, one.row, one.column, figure)
            us.engine.set_value(other.sheet, other.row, other.column, typed)
            for key in keys:
                a, b = metric.shown(key), us.shown(key)
                if isinstance(a, int | float) and isinstance(b, int | float) and key in turned:
                    a = by_hand(a, turned[key])
                if isinstance(a, str) and not key.endswith("verdict"):
                    continue  # words with lengths
                assert b == (
                    pytest.approx(a, rel=1e-9, abs=1e-9) if not isinstance(a, str) else a
                ), (
                    one.key,
                    figure,
                    key,
                )
        metric.engine.set_value(one.sheet, one.row, one.column, before)
        shown = getattr(other.cell, "value", None)
        us.engine.set_value(other.sheet, other.row, other.column, shown)


@pytest.mark.parametrize(
    ("key", "step", "column", "length_ft"),
    [
        ("given.label.crest-cable.length_m", 6, "length_m", 6000.0),
        ("given.label.crest-cable.length_m", 6, "length_m", 17000.0),
        ("given.label.crest-hop.height_m", 15, "height_m", 25.0),
    ],
)
def test_typed_in_feet_is_the_design_evaluated_anew(key, step, column, length_ft, tmp_path):
    us = LiveBook(evaluate(read_design(us_copy(DEMO / "reservoir", tmp_path / "d"))))
    cell = next(cell for cell in us.yellow if cell.key == key)
    us.engine.set_value(cell.sheet, cell.row, cell.column, length_ft)
    design = read_design(DEMO / "reservoir").changed("tower", step, **{column: length_ft * FOOT})
    anew = evaluate(design)
    live = {
        key: us.shown(key)
        for key in us.layout.spots
        if re.fullmatch(r"(?:light|air)\.\d+\..*(?:margin_db|loss_max_db|ratio_median)", key)
        or key in ("light.0.verdict", "light.0.glass_km", "air.0.distance_km")
    }
    again = LiveBook(anew)
    turned = turned_of(us)
    seen = 0
    for name, figure in live.items():
        wanted = again.shown(name)
        if isinstance(wanted, int | float):
            wanted = by_hand(wanted, turned[name]) if name in turned else wanted
            if us.shown("status.stale") == 0 or name.startswith("light"):
                assert figure == pytest.approx(wanted, rel=1e-9, abs=1e-9), name
                seen += 1
        elif name.endswith("verdict"):
            assert figure == wanted, name
    assert seen > 10


@pytest.mark.office
def test_an_office_program_computes_what_is_stored(tmp_path):
    us = LiveBook(evaluate(read_design(us_copy(DEMO / "reservoir", tmp_path / "d"))))
    assert not recalculation.compare(us.data, engine="office")
