"""Filled cards come back: by their key, whatever a program or a crew has done to the book."""

import openpyxl
import pytest
from filled_cards import HEADS, cell_of, expected, write_cards
from revision_designs import CATALOG, read, renamed, rows_of, tables

from backhaul.as_built import cards
from backhaul.as_built.acceptance import accept
from backhaul.as_built.judged import GOOD, OFF, OPEN
from backhaul.book.book import write_workbook
from backhaul.budgets.site_readings import readings_of
from backhaul.errors import InputError
from backhaul.evaluation import evaluate
from backhaul.report.outputs import looks_like

LEVEL = "hop.level.far"


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    design = read(tmp_path_factory.mktemp("built"), "design", tables())
    return evaluate(design, CATALOG, seek=False)


@pytest.fixture
def good(built):
    """Values that every limit takes: as expected, but for what no reading can meet."""
    return expected(built)


def taken(acceptance) -> dict:
    return {each.reading.key: each.value for each in acceptance.judged if each.taken}


def change(path, act):
    book = openpyxl.load_workbook(path)
    act(book)
    book.save(path)
    return path


def test_every_filled_cell_comes_back(built, good, tmp_path):
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, good)])
    assert not found.not_used
    assert not found.notes
    shown = {key: "yes" if value is True else value for key, value in taken(found).items()}
    figures = {key: value for key, value in good.items() if value != "yes"}
    assert {key: shown[key] for key in figures} == pytest.approx(figures)  # it keeps 16 digits
    assert shown.keys() == good.keys()
    one = next(each for each in found.judged if each.reading.key == LEVEL)
    assert (one.taken.by, one.taken.date) == ("crew one", "2026-05-02")
    assert one.taken.entry.where.startswith("crew.xlsx: card ")


def test_columns_and_sheets_in_another_order(built, good, tmp_path):
    heads = tuple(reversed(HEADS))
    path = write_cards(tmp_path / "crew.xlsx", built, good, heads=heads)
    change(path, lambda book: book._sheets.reverse())
    found = accept(built, [path])
    assert len(taken(found)) == len(good)
    assert not found.not_used


@pytest.mark.parametrize("box", ["Measured by", "Date"])
def test_a_box_left_blank_takes_nothing_from_right_of_the_card(built, good, tmp_path, box):
    """Figures that the sheet keeps for itself stand in the row of the box, outside the print."""
    path = write_cards(tmp_path / "crew.xlsx", built, good)

    def clear(book):
        for sheet in book:
            *_, label = (c for row in sheet.iter_rows() for c in row if c.value == box)
            for row in sheet.iter_rows(min_row=label.row, max_row=label.row):
                for cell in row[label.column :]:
                    cell.value = None
            sheet.cell(label.row, len(HEADS) + 2, 206.1)

    found = accept(built, [change(path, clear)])
    one = next(each for each in found.judged if each.reading.key == LEVEL)
    signed = {"Measured by": one.taken.by, "Date": one.taken.date}
    assert signed[box] in (None, "")


def test_a_head_in_other_letters_is_the_same_head(built, good, tmp_path):
    heads = tuple({"Value": "VALUE ", "Water, m": "Water level (m)"}.get(h, h) for h in HEADS)
    path = write_cards(tmp_path / "crew.xlsx", built, {})
    plain = write_cards(tmp_path / "plain.xlsx", built, good)

    def rename(book):
        for sheet in book:
            for row in sheet.iter_rows():
                for cell in row:
                    cell.value = dict(zip(HEADS, heads, strict=True)).get(cell.value, cell.value)

    assert len(taken(accept(built, [path, change(plain, rename)]))) == len(good)


def test_a_card_whose_heads_were_typed_over_is_named_and_nothing_is_guessed(built, good, tmp_path):
    path = write_cards(tmp_path / "crew.xlsx", built, good)

    def spoil(book):
        for sheet in book:
            cell = next(c for row in sheet.iter_rows() for c in row if c.value == "Value")
            cell.value = "please fill in"

    found = accept(built, [change(path, spoil)])
    assert not taken(found)
    assert len(found.not_used) == sum(map(len, readings_of(built).values()))
    assert "crew.xlsx: card 0!" in found.not_used[0].where


def test_a_figure_whose_key_is_gone_is_told(built, good, tmp_path):
    path = write_cards(tmp_path / "crew.xlsx", built, good)

    def spoil(book):
        for sheet in book:
            for row in sheet.iter_rows():
                if row[0].value == LEVEL:
                    row[0].value = None

    found = accept(built, [change(path, spoil)])
    [refused] = found.not_used
    assert "key beside it is gone" in refused.why and refused.key.startswith("Level")
    assert LEVEL not in taken(found) and len(taken(found)) == len(good) - 1
    assert found.exit_status == 1


@pytest.mark.parametrize(
    ("cell", "value", "why"),
    [
        ("-61.5", -61.5, ""),
        ("−61.5", -61.5, ""),  # the true minus sign
        ("-61,5", -61.5, ""),  # a phone that writes decimal commas
        (" -61.5 ", -61.5, ""),
        ("about -61", None, "about -61"),
        ("-61.5 dBm", None, "write -61.5"),
        ("1.234", 1.234, ""),
        ("1,234", None, "1234 or 1.234"),
        ("61.5", None, "at most 20 dBm; perhaps the sign left out"),
        ("20", 20.0, ""),
        ("n/a", None, "leave the cell blank"),
    ],
)
def test_text_in_a_figure(built, tmp_path, cell, value, why):
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, {LEVEL: cell})])
    assert taken(found).get(LEVEL) == value
    if why:
        [refused] = found.not_used
        assert refused.key == LEVEL
        assert "crew.xlsx: card " in refused.where
        assert why in refused.why
        assert found.exit_status == 1


def test_a_date_that_a_program_made_of_a_figure(built, tmp_path):
    from datetime import datetime

    path = write_cards(tmp_path / "crew.xlsx", built, {LEVEL: datetime(2026, 5, 6)})
    found = accept(built, [path])
    assert "date 2026-05-06" in found.not_used[0].why


def test_cells_merged_over_rows_are_not_used(built, good, tmp_path):
    path = write_cards(tmp_path / "crew.xlsx", built, good)

    def merge(book):
        cell = cell_of(book, LEVEL)
        letter = cell.column_letter
        cell.parent.merge_cells(f"{letter}{cell.row}:{letter}{cell.row + 1}")

    found = accept(built, [change(path, merge)])
    assert found.not_used[0].key == LEVEL
    assert "merged cells" in found.not_used[0].why
    assert LEVEL not in taken(found)


def test_several_crews_and_copies_that_agree(built, good, tmp_path):
    half = dict(list(good.items())[: len(good) // 2])
    one = write_cards(tmp_path / "one.xlsx", built, half)
    two = write_cards(tmp_path / "two.xlsx", built, good, by="crew two")
    found = accept(built, [one, two])
    assert len(taken(found)) == len(good)
    assert not found.not_used


def test_two_readings_that_disagree_are_both_named_and_none_is_taken(built, good, tmp_path):
    one = write_cards(tmp_path / "one.xlsx", built, good)
    two = write_cards(tmp_path / "two.xlsx", built, good | {LEVEL: good[LEVEL] - 2})
    found = accept(built, [one, two])
    assert [each.key for each in found.not_used] == [LEVEL, LEVEL]
    assert {each.where.partition(":")[0] for each in found.not_used} == {"one.xlsx", "two.xlsx"}
    [judged] = [each for each in found.judged if each.reading.key == LEVEL]
    assert judged.status == OPEN
    assert "not used" in judged.why
    assert found.exit_status == 1


def test_cards_of_an_older_revision_are_said_and_matched_by_key(built, good, tmp_path):
    path = write_cards(tmp_path / "crew.xlsx", built, good, digest="0123456789abcdef", revision="A")
    found = accept(built, [path])
    assert len(taken(found)) == len(good)
    [note] = found.notes
    assert "crew.xlsx" in note
    assert "revision A, digest 0123456789abcdef" in note


def test_a_book_of_another_design_is_refused(built, good, tmp_path):
    other = tables()
    for old, new in (
        ("HOP", "X1"),
        ("SW1", "X2"),
        ("SW2", "X3"),
        ("C1", "X4"),
        ("CAM", "X5"),
        ("MAINS", "X6"),
    ):
        other = renamed(other, ("label",), old, new)
    for old in ("works", "crest", "tower"):
        other = renamed(other, ("site", "to_site"), old, f"{old}-2")
    for row in rows_of(other):
        row["step"] += 100
    for row in other["segments"]:
        if row["path"] == "power":
            row["step"] += 100
    design = evaluate(read(tmp_path, "other", other), CATALOG, seek=False)
    with pytest.raises(InputError, match=r"crew.xlsx.*does not have.*digest"):
        accept(design, [write_cards(tmp_path / "crew.xlsx", built, good)])


def test_a_key_that_this_design_lost_is_named(built, good, tmp_path):
    path = write_cards(tmp_path / "crew.xlsx", built, good)
    change(path, lambda book: setattr(cell_of(book, LEVEL, "Key"), "value", "old-hop.level.far"))
    found = accept(built, [path])
    assert found.not_used[0].key == "old-hop.level.far"
    assert "no reading of this design" in found.not_used[0].why


@pytest.mark.parametrize("name", ["missing.xlsx", "empty.xlsx", "words.xlsx"])
def test_files_that_are_no_book_of_cards(built, tmp_path, name):
    path = tmp_path / name
    if name == "empty.xlsx":
        openpyxl.Workbook().save(path)
    elif name == "words.xlsx":
        path.write_text("no workbook")
    with pytest.raises(InputError, match=name):
        accept(built, [path])


def test_a_readings_table_in_a_file_of_its_own(built, good, tmp_path):
    table = tmp_path / "readings.csv"
    table.write_text(
        "site,reading,value,unit,water_level_m,by,date,remark\n"
        f"tower,{LEVEL},{good[LEVEL]},dBm,,crew,2026-05-02,calm\n"
        "tower,hop.height.far,nine,m,,crew,2026-05-02,\n"
    )
    found = accept(built, [table])
    assert taken(found) == {LEVEL: pytest.approx(good[LEVEL])}
    [refused] = found.not_used
    assert refused.key == "hop.height.far"
    assert "readings.csv:3" in refused.where


def test_the_unit_that_is_written_must_be_the_printed_one(built, good, tmp_path):
    table = tmp_path / "readings.csv"
    table.write_text(f"site,reading,value,unit\ntower,{LEVEL},0.0002,mW\n")
    found = accept(built, [table])
    assert "mW" in found.not_used[0].why


def test_statuses(built, good, tmp_path):
    values = good | {LEVEL: good[LEVEL] - 3.5}
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    by_key = {each.reading.key: each for each in found.judged}
    assert by_key[LEVEL].status == OFF  # tolerance of a level: 3 dB
    assert by_key[LEVEL].apart == pytest.approx(-3.5)
    assert by_key["hop.level.near"].status == GOOD
    nothing = accept(built, [])
    assert {each.status for each in nothing.judged} <= {OPEN}
    assert nothing.exit_status == 0
    assert nothing.is_open


def test_the_frame_has_every_reading_once(built, good, tmp_path):
    frame = accept(built, [write_cards(tmp_path / "crew.xlsx", built, good)]).frame()
    assert frame.reading.is_unique
    assert set(frame[frame.value.notna()].reading) == set(good)


def test_a_key_of_path_and_step_is_not_taken_for_another_row(built, good, tmp_path):
    """Two rows put in: the steps behind are renumbered, and a key may be that of another run."""
    by_place = [k for k in good if k.startswith(("tower.", "power.")) and k[6].isdigit()]
    assert by_place
    path = write_cards(tmp_path / "crew.xlsx", built, good, digest="0123456789abcdef")
    for key in by_place:
        change(
            path,
            lambda book, key=key: setattr(cell_of(book, key, "What is read"), "value", "other"),
        )
    found = accept(built, [path])
    assert {each.key for each in found.not_used} == set(by_place)
    assert all("renumbered" in each.why for each in found.not_used)
    assert len(taken(found)) == len(good) - len(by_place)


@pytest.mark.parametrize("kind", ["length", "channel", "breaker"])
@pytest.mark.parametrize("value", [0, -5])
def test_a_length_or_rating_is_above_zero(built, tmp_path, kind, value):
    keys = [key for key in expected(built) if key.endswith(f".{kind}")]
    assert keys
    values = dict.fromkeys(keys, value)
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    assert {each.key for each in found.not_used} == set(keys)
    assert not taken(found)


def test_a_book_is_looked_into_once_over(built, tmp_path, monkeypatch):
    """Before it is written over: its merged cells are asked for labels alone, not for every row."""
    path = tmp_path / "book.xlsx"
    write_workbook(built, path)
    asked = 0
    covers = cards._covers

    def counted(*each):
        nonlocal asked
        asked += 1
        return covers(*each)

    monkeypatch.setattr(cards, "_covers", counted)
    assert looks_like(path) == ""
    merged = sum(len(sheet.merged_cells.ranges) for sheet in openpyxl.load_workbook(path))
    assert asked <= merged
