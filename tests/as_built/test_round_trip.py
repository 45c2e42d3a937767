"""A workbook is written, LibreOffice fills its site cards and saves it, and the readings come back."""

from io import BytesIO
from pathlib import Path

import pytest
from book_reading import load
from filled_cards import expected
from office_fill import filled_by_office

import backhaul.api
from backhaul.as_built.acceptance import accept
from backhaul.as_built.judged import GOOD, NOTED, OFF, OPEN
from backhaul.book.book import build_book
from backhaul.spreadsheet.writer import write_book

RESERVOIR = Path(__file__).parents[2] / "demo" / "reservoir"


@pytest.fixture(scope="module")
def built():
    return backhaul.api.evaluate(backhaul.api.read_design(RESERVOIR))


def fillable(data: bytes) -> dict[str, dict[str, tuple[str, str]]]:
    """Where the printed card asks for the figure of each key, and for its water level."""
    found: dict[str, dict[str, tuple[str, str]]] = {}
    heads: dict[str, int] = {}
    for row in load(data, values=True)["Site cards"].iter_rows(max_col=12):
        words = {str(cell.value): n for n, cell in enumerate(row) if cell.value is not None}
        if "Key" in words and ("Value" in words or "Serial number" in words):
            heads = words
        elif heads and row[heads["Key"]].value:
            key = str(row[heads["Key"]].value)
            at = {
                name: ("Site cards", row[heads[name]].coordinate)
                for name in ("Value", "Serial number", "Water, m", "By", "Date")
                if name in heads
            }
            found.setdefault(key, at)
    return found


@pytest.mark.office
def test_cards_filled_by_libreoffice_come_back_whole(built, tmp_path):
    data = write_book(build_book(built))
    places, right = fillable(data), expected(built)
    water_m = 205.0
    cells, values = [], {}
    for key, value in right.items():
        values[key] = value if isinstance(value, str) else round(value, 2)
        cells.append((*places[key]["Value"], values[key]))
        if "level" in key:
            cells.append((*places[key]["Water, m"], water_m))
            cells.append((*places[key]["By"], "crew two"))
    cells.append((*places["works-switch.serial"]["Serial number"], "A1234"))
    path = tmp_path / "filled.xlsx"
    path.write_bytes(filled_by_office(data, cells))

    found = accept(built, [path])
    assert not found.not_used
    assert not found.notes  # the digest on the cards is that of the design
    back = {each.reading.key: each.value for each in found.judged if each.taken}
    assert back.pop("works-switch.serial") == "A1234"
    assert back.keys() == values.keys()
    for key, value in values.items():
        assert back[key] == (True if value == "yes" else pytest.approx(value, abs=1e-9)), key
    level = next(each for each in found.judged if each.reading.key == "crest-hop.level.near")
    assert (level.taken.water_level_m, level.taken.by) == (water_m, "crew two")


@pytest.mark.office
def test_the_card_and_the_program_judge_alike(built, tmp_path):
    """What LibreOffice computes in the verdict column is what `readings` says."""
    data = write_book(build_book(built))
    places, right = fillable(data), expected(built)
    cells = []
    for number, (key, value) in enumerate(right.items()):
        off = 0.0 if number % 3 else 40.0
        typed = ("no" if off else "yes") if isinstance(value, str) else round(value + off, 2)
        cells.append((*places[key]["Value"], typed))
        if ("level" in key) and number % 2:
            cells.append((*places[key]["Water, m"], 207.3))
    filled = filled_by_office(data, cells)
    path = tmp_path / "filled.xlsx"
    path.write_bytes(filled)
    words = {}
    heads: dict[str, int] = {}
    for row in load(filled, values=True)["Site cards"].iter_rows(max_col=12):
        told = {str(cell.value): n for n, cell in enumerate(row) if cell.value is not None}
        if "Key" in told and "Verdict" in told:
            heads = told
        elif heads and row[heads["Key"]].value:
            words.setdefault(str(row[heads["Key"]].value), row[heads["Verdict"]].value)
    meant = {"OK": GOOD, "FAIL": OFF, "note": NOTED, "open": OPEN, "water?": OPEN, "–": OPEN}
    for each in accept(built, [path]).judged:
        if each.taken is None or each.reading.is_text:
            continue
        word = meant[words[each.reading.key]]
        if each.reading.needs_water and each.taken.water_level_m is None:
            assert word == OPEN  # the card waits for the level; beyond all levels it is off
            assert each.status in (OPEN, OFF)
        else:
            assert each.status == word, each.reading.key
    assert BytesIO(filled).getbuffer().nbytes


def test_a_book_that_nobody_has_filled_holds_no_reading(built, tmp_path):
    path = tmp_path / "empty.xlsx"
    path.write_bytes(write_book(build_book(built)))
    found = accept(built, [path])
    assert found.taken == []
    assert found.not_used == ()
    assert found.notes == ()
